"""JSON in, strictly: what RFC 8259 leaves loose is refused here, before any schema sees it."""

import json
import sys
from collections.abc import Iterator
from typing import Any

from .pointers import escape

LARGEST = sys.float_info.max
LARGEST_WHOLE = 2**53 - 1
MOST_DIGITS = len(str(-LARGEST_WHOLE))


class NotJson(ValueError):
    """The text is no JSON that may be read: why, and where if that is known."""

    def __init__(self, detail: str, pointer: str | None = None) -> None:
        super().__init__(detail)
        self.detail, self.pointer = detail, pointer


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
        raise NotJson(f"The name “{twice[:64]}” stands twice in one object.")
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
    raise NotJson(f"The number {digits[:40]} is too large for a double.")


def _int(digits: str) -> int:
    if len(digits) <= MOST_DIGITS and -LARGEST_WHOLE <= (number := int(digits)) <= LARGEST_WHOLE:
        return number
    raise NotJson(f"The whole number {digits[:40]} is beyond 2^53 - 1, where doubles leave gaps.")


def _refuse_constant(word: str) -> Any:
    raise NotJson(f"{word} is not a JSON value.")


def _check_texts(value: Any) -> None:
    """Escapes may hide what UTF-8 cannot carry: lone surrogates, and NUL."""
    for pointer, text in _texts(value):
        if "\x00" in text:
            raise NotJson("A text holds a NUL character.", pointer)
        try:
            text.encode()
        except UnicodeEncodeError:
            raise NotJson("A text holds half a surrogate pair.", pointer) from None


def _texts(value: Any) -> Iterator[tuple[str, str]]:
    waiting: list[tuple[tuple[str | int, ...], Any]] = [((), value)]
    while waiting:
        parts, item = waiting.pop()
        if isinstance(item, str):
            yield escape(*parts), item
        elif isinstance(item, dict):
            for key, inner in item.items():
                yield escape(*parts), key
                waiting.append(((*parts, key), inner))
        elif isinstance(item, list):
            waiting.extend(((*parts, k), inner) for k, inner in enumerate(item))
