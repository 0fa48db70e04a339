"""A variant of a checked plan, ready to run without being checked whole again."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from .. import plans
from ..documents import Library
from ..registry import Registry


def varied(
    base: plans.Checked, body: Mapping[str, Any], registry: Registry, store: Library
) -> plans.Checked:
    """`body` ready to run, at little cost where it has the structure of the checked plan `base`.

    Raises PlanNotValid with every fault of it.
    """
    steps = list(_same_structure(base, body))
    if None in steps:
        return plans.check(body, registry, store)
    by_id = {step.id: step for step in steps if step is not None}
    order = [by_id[step.id] for step in base.order]
    return plans.Checked(body, [by_id[step.id] for step in base.steps], order)


def _same_structure(base: plans.Checked, body: Mapping[str, Any]) -> Iterator[plans.Step | None]:
    """The steps of `body`, each None where more than its inputs differs from the base, or a
    reference stands elsewhere."""
    steps = body.get("steps")
    apart = ("steps", *plans.SHARED)
    same = _structure(body, apart, plans.WORDS) == _structure(base.body, apart, plans.WORDS)
    if not (same and isinstance(steps, list) and len(steps) == len(base.steps)):
        yield None
        return
    for step, old, new in zip(base.steps, base.body["steps"], steps, strict=True):
        if new is old:
            yield step
            continue
        same = isinstance(new, Mapping) and _of_step_alone(new) == _of_step_alone(old)
        if not same or not isinstance(new.get("inputs", {}), Mapping):
            yield None
            continue
        faults: list[plans.PlacedFault] = []
        references = tuple(plans.references_in(new.get("inputs", {}), step.place, faults))
        kept = not faults and references == step.references
        yield replace(step, inputs=new.get("inputs", {})) if kept else None


def _of_step_alone(step: Mapping[str, Any]) -> dict[str, Any]:
    return _structure(step, ("inputs",), ("title",))


def _structure(
    members: Mapping[str, Any], apart: Sequence[str], words: Sequence[str]
) -> dict[str, Any]:
    """Members but those `apart`, and but `words`, which take no part in a run."""
    return {
        key: value
        for key, value in members.items()
        if key not in apart
        and not (key in words and isinstance(value, str) and len(value) <= plans.LONGEST_TITLE)
    }
