"""A variant's own difference, put into the base."""

from collections.abc import Mapping
from typing import Any

from ..json_patch import json_patch
from ..pointers import PointerToNowhere, escape, merge_patch, parts_of


def applied(base: Any, overrides: Mapping[str, Any]) -> Any:
    """`base` with one variant's overrides (see `model.Variant`); `base` itself is not changed, and
    what a variant leaves alone is the same object in both. Raises BadPatch and PointerToNowhere.

    >>> applied({"a": {"b": 1, "c": 2}}, {"set": {"/a/b": 3, "/a/c": None}})
    {'a': {'b': 3}}
    """
    body = base
    for pointer, value in overrides.get("set", {}).items():
        body = _set(body, parts_of(pointer), 0, value)
    if "merge_patch" in overrides:
        body = merge_patch(body, overrides["merge_patch"])
    if "json_patch" in overrides:
        body = json_patch(body, overrides["json_patch"])
    return body


def _set(at: Any, parts: list[str], depth: int, value: Any) -> Any:
    """`at` with `value` at `parts[depth:]`; None removes a member of an object."""
    if depth == len(parts):
        return value
    part = parts[depth]
    last = depth == len(parts) - 1
    if isinstance(at, list) and part.isdecimal() and int(part) < len(at):
        index = int(part)
        if last and value is None:
            return [*at[:index], *at[index + 1 :]]
        return [*at[:index], _set(at[index], parts, depth + 1, value), *at[index + 1 :]]
    if not isinstance(at, Mapping) or (part not in at and not last):
        raise PointerToNowhere(escape(*parts[: depth + 1]))
    if last and value is None:
        return {key: inner for key, inner in at.items() if key != part}
    return {**at, part: _set(at.get(part), parts, depth + 1, value)}
