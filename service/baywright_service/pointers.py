"""JSON Pointer (RFC 6901) and JSON Merge Patch (RFC 7396) on plain JSON values."""

from collections.abc import Iterable, Mapping
from typing import Any


class PointerToNowhere(LookupError):
    """A pointer names no place in the document; `pointer` is the part that failed."""

    def __init__(self, pointer: str) -> None:
        super().__init__(pointer)
        self.pointer = pointer


def escape(*parts: str | int) -> str:
    """The pointer made of `parts`.

    >>> escape("a/b", 3, "m~n")
    '/a~1b/3/m~0n'
    """
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)


def parts_of(pointer: str) -> list[str]:
    """The unescaped parts of a pointer; raises ValueError where it does not start with "/"."""
    if pointer == "":
        return []
    if not pointer.startswith("/"):
        raise ValueError(pointer)
    return [part.replace("~1", "/").replace("~0", "~") for part in pointer[1:].split("/")]


def resolve(document: Any, pointer: str) -> Any:
    """The value at `pointer`. Raises PointerToNowhere."""
    value = document
    done: list[str] = []
    for part in parts_of(pointer):
        done.append(part)
        value = _step(value, part, done)
    return value


def _step(value: Any, part: str, done: Iterable[str]) -> Any:
    if isinstance(value, Mapping) and part in value:
        return value[part]
    if isinstance(value, (list, tuple)) and part.isdecimal() and int(part) < len(value):
        return value[int(part)]
    raise PointerToNowhere(escape(*done))


def replaced(document: Any, pointer: str, value: Any) -> Any:
    """`document` with `value` in place of what stands at `pointer`; all else is shared with it.
    Raises PointerToNowhere.

    >>> replaced({"a": [1, 2], "b": 3}, "/a/1", 4)
    {'a': [1, 4], 'b': 3}
    """
    return _replaced(document, parts_of(pointer), 0, value)


def _replaced(at: Any, parts: list[str], depth: int, value: Any) -> Any:
    if depth == len(parts):
        return value
    part = parts[depth]
    inner = _replaced(_step(at, part, parts[: depth + 1]), parts, depth + 1, value)
    if isinstance(at, Mapping):
        return {**at, part: inner}
    index = int(part)
    return [*at[:index], inner, *at[index + 1 :]]


def merge_patch(target: Any, patch: Any) -> Any:
    """`target` with `patch` merged in (RFC 7396, section 2); neither argument is changed.

    >>> merge_patch({"a": {"b": 1, "c": 2}}, {"a": {"b": None}})
    {'a': {'c': 2}}
    """
    if not isinstance(patch, Mapping):
        return patch
    merged = dict(target) if isinstance(target, Mapping) else {}
    for key, value in patch.items():
        if value is None:
            merged.pop(key, None)
        else:
            merged[key] = merge_patch(merged.get(key), value)
    return merged
