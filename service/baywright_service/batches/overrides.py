"""What a variant changes, as values by JSON Pointer: `{"/steps/0/inputs/bays": 9}`.

Vary lists, merge patches and JSON patches all become this one form, so that equal variants are
equal in it however they were written. `None` takes a member away. No pointer lies below another
one, so that order does not matter.
"""

from collections.abc import Mapping
from typing import Any

from ..json_patch import put, taken_away
from ..pointers import PointerToNowhere, escape, parts_of, resolve

Overrides = dict[str, Any]


def difference(before: Any, after: Any, place: str = "") -> Overrides:
    """The smallest overrides that make `after` of `before`; lists of another length are set whole.

    >>> difference({"a": 1, "b": [1, 2]}, {"b": [1, 3], "c": 4})
    {'/a': None, '/b/1': 3, '/c': 4}
    """
    if before is after:
        return {}
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        found: Overrides = {}
        for key in before:
            if key not in after:
                found[place + escape(key)] = None
            else:
                found.update(difference(before[key], after[key], place + escape(key)))
        found.update({place + escape(key): after[key] for key in after if key not in before})
        return found
    if isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        return {
            pointer: value
            for k, (old, new) in enumerate(zip(before, after, strict=True))
            for pointer, value in difference(old, new, f"{place}/{k}").items()
        }
    return {} if type(before) is type(after) and before == after else {place: after}


def applied(base: Any, overrides: Mapping[str, Any]) -> Any:
    """`base` with the overrides in place; it is not changed, and shares what stays.

    Raises PointerToNowhere.
    """
    for pointer, value in overrides.items():
        parts = parts_of(pointer)
        if value is not None:
            base = put(base, parts, value)
        elif stands(base, pointer):
            base = taken_away(base, parts)
    return base


def stands(document: Any, pointer: str) -> bool:
    """Whether something stands at `pointer`."""
    try:
        resolve(document, pointer)
    except PointerToNowhere:
        return False
    return True


def at(base: Any, overrides: Mapping[str, Any], pointer: str) -> Any:
    """The value at `pointer` in the variant; None where nothing stands there."""
    if pointer in overrides:
        return overrides[pointer]
    near = {
        key: value
        for key, value in overrides.items()
        if key.startswith(pointer + "/") or pointer.startswith(key + "/")
    }
    try:
        return resolve(applied(base, near), pointer)
    except PointerToNowhere:
        return None
