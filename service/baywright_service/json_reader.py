"""JSON in, strictly: what RFC 8259 leaves loose is refused here, before any schema sees it."""

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from .fields import Fault, sorted_faults
from .pointers import escape

LARGEST = sys.float_info.max
LARGEST_WHOLE = 2**53 - 1
MOST_DIGITS = len(str(-LARGEST_WHOLE))


class NotJson(ValueError):
    """The text is no JSON that may be read: why, and every place of it where places are known."""

    def __init__(self, detail: str, faults: Sequence[tuple[str, Fault]] = ()) -> None:
        super().__init__(detail)
        self.detail, self.faults = detail, tuple(faults)


class _Unfit(NotJson):
    """One value that JSON text may not hold, though its brackets and commas are in order."""

    def __init__(self, code: str, detail: str) -> None:
        super().__init__(detail)
        self.fault = Fault(code, detail)


def read_json(content: bytes, *, depth_limit: int = 32, keep_null: bool = False) -> Any:
    """The value that `content` holds; members that are null are left out unless `keep_null`.

    Raises NotJson.
    """
    text = _text(content)
    try:
        value = _decoder(keep_null).decode(text)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise NotJson(f"Not JSON at {place}: {error.msg}.") from None
    except RecursionError:
        raise _too_deep(depth_limit) from None
    except _Unfit as error:
        raise _with_places(text, error) from None
    _check_depth(value, depth_limit)
    if "\\u" in text:
        _check_texts(value)
    return value


def _text(content: bytes) -> str:
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise NotJson(f"Byte {error.start} is not UTF-8.") from None
    if text.startswith("\ufeff"):
        raise NotJson("The text starts with a byte order mark; leave it out.")
    if not text.strip(" \t\r\n"):
        raise NotJson("The body is empty; send a JSON object.")
    return text


def _check_depth(value: Any, limit: int) -> None:
    level = [value] if isinstance(value, (dict, list)) else []
    for _ in range(limit):
        level = [
            inner
            for item in level
            for inner in (item.values() if type(item) is dict else item)
            if type(inner) is list or type(inner) is dict
        ]
    if level:
        raise _too_deep(limit)


def _too_deep(limit: int) -> NotJson:
    return NotJson(f"Arrays and objects stand more than {limit} deep.")


def _decoder(keep_null: bool) -> json.JSONDecoder:
    return json.JSONDecoder(
        object_pairs_hook=_with_null if keep_null else _without_null,
        parse_float=_float,
        parse_int=_int,
        parse_constant=_refuse_constant,
    )


def _with_null(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        seen: set[str] = set()
        twice = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise _twice(twice)
    return members


def _without_null(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) == len(pairs) and None not in members.values():
        return members  # called for every object: the usual case is one look
    return {key: value for key, value in _with_null(pairs).items() if value is not None}


def _float(digits: str) -> float:
    number = float(digits)
    if -LARGEST <= number <= LARGEST:
        return number
    raise _Unfit("out-of-range", f"The number {digits[:40]} is too large for a double.")


def _int(digits: str) -> int:
    if len(digits) <= MOST_DIGITS and -LARGEST_WHOLE <= (number := int(digits)) <= LARGEST_WHOLE:
        return number
    detail = f"The whole number {digits[:40]} is beyond 2^53 - 1, where doubles leave gaps."
    raise _Unfit("out-of-range", detail)


def _refuse_constant(word: str) -> Any:
    raise _Unfit("wrong-format", f"{word} is not a JSON value.")


def _twice(name: str) -> _Unfit:
    return _Unfit("not-unique", f"The name “{name[:64]}” stands twice in one object.")


def _with_places(text: str, first: _Unfit) -> NotJson:
    """Every unfit value of a text whose first one is known, each at its place.

    The text is read once more with each such value kept as a mark; this is the slow way, taken
    only when there is something to say.
    """
    try:
        value = json.JSONDecoder(
            object_pairs_hook=_with_marks,
            parse_float=_mark(_float),
            parse_int=_mark(_int),
            parse_constant=_mark(_refuse_constant),
        ).decode(text)
    except (ValueError, RecursionError):
        return first  # and broken further on
    faults = [(pointer, mark.fault) for pointer, mark in _leaves(value) if isinstance(mark, _Unfit)]
    detail = first.detail if len(faults) == 1 else f"{len(faults)} faults. {first.detail}"
    return NotJson(detail, sorted_faults(faults))


def _mark(read: Callable[[str], Any]) -> Callable[[str], Any]:
    def marked(digits: str) -> Any:
        try:
            return read(digits)
        except _Unfit as unfit:
            return unfit

    return marked


def _with_marks(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members: dict[str, Any] = {}
    for key, value in pairs:
        members[key] = _twice(key) if key in members else value
    return members


def _check_texts(value: Any) -> None:
    """Escapes may hide what UTF-8 cannot carry: lone surrogates, and NUL."""
    faults = []
    for pointer, text in _leaves(value):
        if isinstance(text, str) and "\x00" in text:
            faults.append((pointer, Fault("wrong-format", "A text holds a NUL character.")))
        elif isinstance(text, str) and any("\ud800" <= letter <= "\udfff" for letter in text):
            faults.append((pointer, Fault("wrong-format", "A text holds half a surrogate pair.")))
    if faults:
        raise NotJson(str(faults[0][1]), sorted_faults(faults))


def _leaves(value: Any) -> Iterator[tuple[str, Any]]:
    """Everything that is no object and no list, by its pointer; names of members too."""
    waiting: list[tuple[tuple[str | int, ...], Any]] = [((), value)]
    while waiting:
        parts, item = waiting.pop()
        if isinstance(item, dict):
            for key, inner in item.items():
                yield escape(*parts), key
                waiting.append(((*parts, key), inner))
        elif isinstance(item, list):
            waiting.extend(((*parts, k), inner) for k, inner in enumerate(item))
        else:
            yield escape(*parts), item
