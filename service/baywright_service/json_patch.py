"""JSON Patch (RFC 6902) on plain JSON values, without changing or copying what stays.

What a patch leaves alone is the same object before and after, so that thousands of patches on one
large document cost little, and what differs is found by identity.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from .contract import Fault
from .pointers import PointerToNowhere, escape, parts_of, resolve

#: Members that each operation needs, beside `op` and `path`.
_NEEDS: Mapping[str, tuple[str, ...]] = {
    "add": ("value",),
    "remove": (),
    "replace": ("value",),
    "move": ("from",),
    "copy": ("from",),
    "test": ("value",),
}


class BadPatch(ValueError):
    """An operation that cannot be carried out: its place in the patch, and why."""

    def __init__(self, pointer: str, fault: Fault) -> None:
        super().__init__(str(fault))
        self.pointer, self.fault = pointer, fault


def json_patch(document: Any, operations: Any) -> Any:
    """`document` with every operation carried out in turn. Raises BadPatch.

    >>> json_patch({"a": [1, 3]}, [{"op": "add", "path": "/a/1", "value": 2}])
    {'a': [1, 2, 3]}
    """
    if not isinstance(operations, list):
        raise BadPatch("", Fault("wrong-type", "Must be a list of operations."))
    for index, operation in enumerate(operations):
        try:
            document = _carried_out(document, _checked(operation))
        except BadPatch as error:
            raise BadPatch(escape(index) + error.pointer, error.fault) from None
    return document


def _checked(operation: Any) -> Mapping[str, Any]:
    if not isinstance(operation, Mapping):
        raise BadPatch("", Fault("wrong-type", "Must be an object."))
    op = operation.get("op")
    if not isinstance(op, str) or op not in _NEEDS:
        raise BadPatch("/op", Fault("out-of-range", f"Must be one of: {', '.join(_NEEDS)}."))
    for name in ("path", *_NEEDS[op]):
        if name not in operation:
            raise BadPatch(escape(name), Fault("missing", f"The operation {op} needs {name}."))
    for name in ("path", "from"):
        value = operation.get(name, "")
        if not isinstance(value, str) or (value and not value.startswith("/")):
            raise BadPatch(escape(name), Fault("wrong-format", "Must be a JSON Pointer."))
    return operation


def _carried_out(document: Any, operation: Mapping[str, Any]) -> Any:
    op, path = operation["op"], operation["path"]
    parts = parts_of(path)
    if op == "add":
        return _added(document, parts, operation["value"])
    if op == "remove":
        return _removed(document, parts, "/path")
    if op == "replace":
        _value(document, path, "/path")
        if not parts:
            return operation["value"]
        return _changed(document, parts, 0, lambda at, key: _with(at, key, operation["value"]))
    if op == "test":
        if not same(_value(document, path, "/path"), operation["value"]):
            raise BadPatch("/value", Fault("unknown-reference", f"{path} holds another value."))
        return document
    source = operation["from"]
    value = _value(document, source, "/from")
    if op == "move":
        if path.startswith(source + "/"):
            raise BadPatch("/path", Fault("cycle", "Nothing can be moved into itself."))
        document = _removed(document, parts_of(source), "/from")
    return _added(document, parts, value)


def same(one: Any, other: Any) -> bool:
    """Equal as JSON: `true` is no number, while 1 and 1.0 are one (RFC 6902, section 4.6)."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return isinstance(one, bool) == isinstance(other, bool) and bool(one == other)


def _value(document: Any, pointer: str, place: str) -> Any:
    try:
        return resolve(document, pointer)
    except PointerToNowhere as error:
        raise _nowhere(place, error.pointer) from None


def _nowhere(place: str, pointer: str) -> BadPatch:
    return BadPatch(place, Fault("unknown-reference", f"Nothing stands at {pointer}."))


def _added(document: Any, parts: Sequence[str], value: Any) -> Any:
    def add(at: Any, key: str) -> Any:
        if isinstance(at, Mapping):
            return {**at, key: value}
        index = len(at) if key == "-" else _index(key, len(at) + 1)
        return [*at[:index], value, *at[index:]]

    try:
        return _changed(document, parts, 0, add) if parts else value
    except PointerToNowhere:
        raise _nowhere("/path", escape(*parts)) from None


def _removed(document: Any, parts: Sequence[str], place: str) -> Any:
    _value(document, escape(*parts), place)
    if not parts:
        raise BadPatch(place, Fault("out-of-range", "The whole cannot be taken away."))
    return _changed(document, parts, 0, _without)


def _changed(
    document: Any, parts: Sequence[str], depth: int, change: Callable[[Any, str], Any]
) -> Any:
    """`document` with the container of its last part replaced by what `change` makes of it."""
    if not isinstance(document, (Mapping, list)):
        raise PointerToNowhere(escape(*parts[: depth + 1]))
    key = parts[depth]
    if depth == len(parts) - 1:
        return change(document, key)
    if isinstance(document, Mapping) and key not in document:
        raise PointerToNowhere(escape(*parts[: depth + 1]))
    inner = document[key] if isinstance(document, Mapping) else document[_index(key, len(document))]
    return _with(document, key, _changed(inner, parts, depth + 1, change))


def _with(at: Any, key: str, value: Any) -> Any:
    if isinstance(at, Mapping):
        return {**at, key: value}
    index = _index(key, len(at))
    return [*at[:index], value, *at[index + 1 :]]


def _without(at: Any, key: str) -> Any:
    if isinstance(at, Mapping):
        return {name: value for name, value in at.items() if name != key}
    index = _index(key, len(at))
    return [*at[:index], *at[index + 1 :]]


def _index(key: str, end: int) -> int:
    """A place in a list: digits without a leading zero (RFC 6901, section 4)."""
    plain = key.isascii() and key.isdecimal() and len(key) < 10 and (key == "0" or key[0] != "0")
    if not plain or int(key) >= end:
        raise PointerToNowhere(escape(key))
    return int(key)
