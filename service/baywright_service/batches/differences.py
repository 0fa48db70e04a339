"""What a variant changes, as values by JSON Pointer: `{"/steps/0/inputs/bays": 9}`.

Vary lists, merge patches and JSON patches all become this one form, so that equal variants are
equal in it however they were written. None takes a member away. No pointer lies below another
one, so that order does not matter.
"""

from collections.abc import Mapping
from typing import Any

from ..pointers import PointerToNowhere, escape, resolve
from .overrides import applied

Changes = dict[str, Any]


def difference(before: Any, after: Any, place: str = "") -> Changes:
    """The smallest changes that make `after` of `before`; lists of another length are set whole.

    >>> difference({"a": 1, "b": [1, 2]}, {"b": [1, 3], "c": 4})
    {'/a': None, '/b/1': 3, '/c': 4}
    """
    if before is after:
        return {}
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        found: Changes = {}
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


def changed(base: Any, changes: Mapping[str, Any]) -> Any:
    """`base` with the changes in place; what they leave alone is shared."""
    return applied(base, {"set": changes}) if changes else base


def stands(document: Any, pointer: str) -> bool:
    """Whether something stands at `pointer`."""
    try:
        resolve(document, pointer)
    except PointerToNowhere:
        return False
    return True


def value_at(base: Any, changes: Mapping[str, Any], pointer: str) -> Any:
    """The value at `pointer` once the changes are made; None where nothing stands there."""
    if pointer in changes:
        return changes[pointer]
    near = {
        key: value
        for key, value in changes.items()
        if key.startswith(pointer + "/") or pointer.startswith(key + "/")
    }
    try:
        return resolve(changed(base, near), pointer)
    except PointerToNowhere:
        return None
