"""Curves, crests, dips and loops: does the ball stay on?"""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Finding, Measure

from .wording import mm, speed

Given = Mapping[str, Any]


def bend_findings(k: int, segment: Given, inputs: Given) -> list[Finding]:
    """Of one segment."""
    if "holds" in segment.get("curve", {}):
        return _curve(k, segment, inputs)
    if "holds" in segment.get("arc", {}):
        return _arc(k, segment, inputs)
    return []


def _curve(k: int, segment: Given, inputs: Given) -> list[Finding]:
    curve, name, at = segment["curve"], segment["name"], (f"/segments/{k}",)
    fastest = segment["speed_most_m_per_s"]
    if curve["holds"]:
        limit = curve.get("speed_limit_m_per_s")
        most = "" if limit is None else f"; it would leave at {speed(limit)}"
        message = f"{name} holds every ball: the fastest comes at {speed(fastest)}{most}. Keep it."
        measure = Measure(fastest, limit, "m/s")
        return [Finding("stays-in-curve", "ok", message, at, measure)]
    limit = curve.get("speed_limit_m_per_s")
    if limit is not None and fastest > limit:
        guard = ""
        if curve["guard_needed_mm"] > inputs["segments"][k].get("guard_mm", 0.0):
            guard = f" or a guard of {mm(curve['guard_needed_mm'])}"
        message = (
            f"The fastest ball leaves {name} outward: it comes at {speed(fastest)}, the curve "
            f"holds {speed(limit)}. Give it a bank of {curve['bank_high_deg']:.0f} "
            f"degrees{guard}, or a larger radius."
        )
        return [Finding("leaves-curve", "stop", message, at, Measure(fastest, limit, "m/s"))]
    least = curve["speed_least_m_per_s"]
    slowest = min(
        segment.get("speed_in_low_m_per_s", 0.0), segment.get("speed_out_low_m_per_s", 0.0)
    )
    message = (
        f"The slowest ball runs down the bank of {name}: it comes at {speed(slowest)} and the "
        f"bank needs {speed(least)}. Lower the bank to about {curve['bank_low_deg']:.0f} degrees "
        f"or put a guard at the inner side."
    )
    return [Finding("runs-down-bank", "stop", message, at, Measure(slowest, least, "m/s"))]


def _arc(k: int, segment: Given, inputs: Given) -> list[Finding]:
    arc, name, at = segment["arc"], segment["name"], (f"/segments/{k}",)
    kind = inputs["segments"][k]["kind"]
    if arc["holds"]:
        if kind != "loop":
            return []
        message = (
            f"Every ball holds on in {name}: at its lightest it is pressed on with "
            f"{arc['load_least_ratio']:.2f} times its weight. Build it and try with the slowest."
        )
        measure = Measure(arc["load_least_ratio"], 0.0, "1")
        return [Finding("holds-in-loop", "ok", message, at, measure)]
    if kind == "loop":
        needed, has = arc["loop_speed_min_m_per_s"], segment["speed_in_low_m_per_s"]
        message = (
            f"The slowest ball falls off {name}: it comes at {speed(has)} and needs at least "
            f"{speed(needed)} at the bottom, that is a start {mm(arc['loop_start_min_mm'])} above "
            f"it without losses. Start higher or make the loop smaller."
        )
        return [Finding("falls-off-loop", "stop", message, at, Measure(has, needed, "m/s"))]
    fastest = segment["speed_most_m_per_s"]
    limit = arc.get("speed_limit_m_per_s")
    most = "" if limit is None else f", faster than the {speed(limit)} it holds"
    message = (
        f"The fastest ball leaves the rails on {name}: it comes at {speed(fastest)}{most}. Give "
        f"it a larger radius, slow the ball before it, or cover it."
    )
    measure = Measure(fastest, limit, "m/s")
    return [Finding("leaves-crest", "stop", message, at, measure)]
