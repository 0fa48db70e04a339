"""Falls from a free end: catch and wall."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Finding, Measure

from .wording import mm, span

Given = Mapping[str, Any]


def landing_findings(k: int, segment: Given, inputs: Given) -> list[Finding]:
    """Of one segment that is a drop."""
    if "landing" not in segment:
        return []
    landing, given = segment["landing"], inputs["segments"][k]
    found = _catch(k, segment, given)
    if "wall_mm" in given:
        found += _wall(k, segment, given)
    elif not given.get("caught", False):
        message = (
            f"After {segment['name']} balls bounce on to {mm(landing['rests_high_mm'])} from the "
            f"end and rise to {mm(landing['rebound_high_mm'])}: give it a wall of "
            f"{mm(landing['wall_needed_mm'])}."
        )
        found.append(Finding("no-wall", "watch", message, (f"/segments/{k}",)))
    return found


def _catch(k: int, segment: Given, given: Given) -> list[Finding]:
    landing, name = segment["landing"], segment["name"]
    low, high = landing["touch_low_mm"], landing["touch_high_mm"]
    if "catch_to_mm" not in given:
        return []
    found = []
    start, end = given["catch_from_mm"], given["catch_to_mm"]
    if high > end:
        message = (
            f"After {name} the fastest ball lands {mm(high)} from the end, the landing ends at "
            f"{mm(end)}: move or lengthen it, or let balls come slower."
        )
        measure, at = Measure(high, end, "mm"), f"/segments/{k}/catch_to_mm"
        found.append(Finding("overshoots-landing", "stop", message, (at,), measure))
    if low < start:
        message = (
            f"After {name} the slowest ball lands {mm(low)} from the end, the landing begins at "
            f"{mm(start)}: move it closer."
        )
        measure, at = Measure(low, start, "mm"), f"/segments/{k}/catch_from_mm"
        found.append(Finding("lands-short", "stop", message, (at,), measure))
    if not found:
        message = (
            f"After {name} every ball lands {span(low, high, 'mm', 0)} from the end, within the "
            f"landing of {start:g} to {end:g} mm. Leave it there."
        )
        both = (f"/segments/{k}/catch_from_mm", f"/segments/{k}/catch_to_mm")
        found.append(Finding("lands-in-catch", "ok", message, both, Measure(high, end, "mm")))
    return found


def _wall(k: int, segment: Given, given: Given) -> list[Finding]:
    landing, has = segment["landing"], given["wall_mm"]
    needed, at = landing["wall_needed_mm"], (f"/segments/{k}/wall_mm",)
    measure = Measure(has, needed, "mm")
    if has < needed:
        message = (
            f"The wall after {segment['name']} is {mm(has)} high, a ball may come at {mm(needed)}: "
            f"raise it."
        )
        return [Finding("wall-too-low", "stop", message, at, measure)]
    message = (
        f"The wall after {segment['name']} is {mm(has)} high; {mm(needed)} is needed. Keep it."
    )
    return [Finding("wall-holds", "ok", message, at, measure)]
