"""One variant made again: the whole it stands for, and its whole answer.

Stored documents are those of the batch, as they were when it was made.
"""

from collections.abc import Mapping
from typing import Any

from .. import plans
from ..documents import Fetched, is_reference
from ..plans import SHARED, Run
from ..problems import errors_from, invalid_input
from ..registry import Registry
from .model import Base, Item
from .overrides import applied
from .shelf import Shelf


def whole(base: Base, item: Item) -> Any:
    """The plan, or the inputs, that a variant stands for; stored documents by their revisions."""
    return _pinned(applied(base.body, item.overrides), Shelf(base.documents))


def answer(base: Base, item: Item, registry: Registry, run_one: Run) -> dict[str, Any]:
    """What a variant answers. Raises Problem."""
    body, shelf = applied(base.body, item.overrides), Shelf(base.documents)
    if not base.calculator:
        return plans.run(plans.check(body, registry, shelf), shelf, run_one)
    calculator, fetched = registry.find(base.calculator), Fetched(shelf)
    filled = fetched.fill(calculator.inputs_schema(), body)
    if fetched.faults:
        raise invalid_input(errors_from(fetched.faults))
    return run_one(calculator, filled, fetched.used)


def _pinned(value: Any, shelf: Shelf) -> Any:
    """`value` with the revision beside each id of a stored kit or stock."""
    if isinstance(value, list):
        return [_pinned(inner, shelf) for inner in value]
    if not isinstance(value, Mapping):
        return value
    return {
        key: _named(key, inner, shelf) if _is_name(key, inner) else _pinned(inner, shelf)
        for key, inner in value.items()
    }


def _is_name(key: str, value: Any) -> bool:
    return key in SHARED and is_reference(value) and "revision" not in value


def _named(kind: str, reference: Mapping[str, Any], shelf: Shelf) -> Mapping[str, Any]:
    stored = shelf.current(kind, reference["id"])
    return {**reference, "revision": stored.revision} if stored else reference
