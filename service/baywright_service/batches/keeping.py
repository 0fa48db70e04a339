"""Which values of an answer stay with an item."""

from collections.abc import Iterable, Mapping
from typing import Any

from ..pointers import PointerToNowhere, escape, parts_of, resolve


def of_run(keep: Iterable[str], envelope: Mapping[str, Any]) -> dict[str, Any]:
    """The values of one calculator's answer, by pointer; those that it does not have left out."""
    found: dict[str, Any] = {}
    for pointer in keep:
        try:
            found[pointer] = resolve(envelope, pointer)
        except (PointerToNowhere, ValueError):
            continue
    return found


def of_plan(
    keep: Iterable[str], verdict: str, ids: list[str], outcomes: Mapping[str, Mapping[str, Any]]
) -> dict[str, Any]:
    """The same of a plan: /verdict, and of each step, named by id or place, /steps/grid/status,
    /steps/grid/verdict and /steps/grid/result/...; `ids` are those of the steps, in order."""
    found: dict[str, Any] = {}
    for pointer in keep:
        parts = parts_of(pointer)
        if parts == ["verdict"]:
            found[pointer] = verdict
        elif len(parts) > 2 and parts[0] == "steps":
            outcome = outcomes.get(_id(parts[1], ids), {})
            seen = {**outcome, **outcome.get("envelope", {})}
            inside = of_run([escape(*parts[2:])], seen)
            found.update((pointer, value) for value in inside.values())
    return found


def _id(part: str, ids: list[str]) -> str:
    """The id of the step that `part` names."""
    place = part not in ids and part.isdecimal() and int(part) < len(ids)
    return ids[int(part)] if place else part
