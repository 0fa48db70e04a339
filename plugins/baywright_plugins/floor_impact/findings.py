"""What the builder should know, in one sentence each. Codes are stable."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Finding, Measure

from ..floor_tiling_ratio.findings import ball_findings
from .words import BUILT, TURNED, count, mm, newton, percent, share, where

#: Winning by less is called a draw.
_CLEARLY = 1.1
_DEEP_DENT = 0.02  # of the ball's diameter; common practice, no source


def all_findings(inputs: Mapping[str, Any], value: Mapping[str, Any]) -> list[Finding]:
    """Every finding, worst things first as they matter to the floor."""
    built = value["comparison"]["built"]
    panel = next(one for one in value["panels"] if one["orientation"] == built)
    return [
        *_strength(value, panel),
        *_orientation(inputs, value),
        *_slips(value, panel),
        *_lifts(inputs, panel),
        *_openings(inputs, value),
        *_wall(inputs, value["ball"]),
        *_cushion(inputs, value, panel),
        *_dents(inputs, value),
        *ball_findings(inputs["ball"]["diameter_mm"]),
        *_test(inputs, value["test"]),
    ]


def _strength(value: Mapping[str, Any], panel: Mapping[str, Any]) -> list[Finding]:
    worst, built = panel["worst"], BUILT[panel["orientation"]]
    at = ("/panel", "/drop/height_mm")
    own = panel["own_weight_ratio"]
    if own >= 1:
        message = (
            f"The panel {built} uses {share(own)} of what it may bear by its own weight alone: "
            f"shorten the span or stand it on edge."
        )
        return [Finding("own-weight-too-much", "stop", message, at, Measure(own, 1.0, "1"))]
    low, high = worst["utilisation_min_ratio"], worst["utilisation_max_ratio"]
    words = (
        f"A ball {where(worst)} pushes the panel {built} with {newton(worst['force_min_n'])} to "
        f"{newton(worst['force_max_n'])} and uses {share(low)} to {share(high)} of what may come "
        f"again and again ({worst['gives_first']})"
    )
    measure = Measure(high, 1.0, "1")
    hits = f"{value['ball']['hits_per_day_count']:.0f} hits a day"
    if high <= 1:
        message = f"{words}: keep drop and panel; {hits} add no slip."
        return [Finding("impact-under-strength", "ok", message, at, measure)]
    level = "stop" if low > 1 else "watch"
    sure = "is" if low > 1 else "may be"
    message = (
        f"{words}: that {sure} too much for {hits}. Slow the ball, lower the drop or stiffen the "
        f"worst place."
    )
    return [Finding("impact-over-strength", level, message, at, measure)]


def _orientation(inputs: Mapping[str, Any], value: Mapping[str, Any]) -> list[Finding]:
    said, at = value["comparison"], ("/panel/built",)
    if "advantage_ratio" not in said:
        if "flat" not in {panel["orientation"] for panel in value["panels"]}:
            message = (
                "A flat grid holds only by hubs that resist turning, and the kit does not say how "
                "stiffly (or so that no sum holds): measure it, give seat_turning_n_mm_per_rad, or "
                "build on edge."
            )
            where_ = ("/panel/seat_turning_n_mm_per_rad",)
            return [Finding("flat-not-worked-out", "watch", message, where_)]
        return []
    better, built, gain = said["better"], said["built"], said["advantage_ratio"]
    measure = Measure(gain, None, "1")
    if built == better or gain < _CLEARLY:
        message = (
            f"Build the panel {BUILT[built]}: the other way uses {gain:.2f} times as much of its "
            f"strength. {said['why']}"
        )
        if gain < _CLEARLY:
            message = f"Both ways are alike (within {gain - 1:.0%}); choose by parts. {said['why']}"
        return [Finding("orientation-chosen", "ok", message, at, measure)]
    message = (
        f"The panel is built {BUILT[built]} and uses {gain:.2f} times as much of its strength as "
        f"{BUILT[TURNED[built]]} would: turn it. {said['why']}"
    )
    return [Finding("orientation-loses", "watch", message, at, measure)]


def _slips(value: Mapping[str, Any], panel: Mapping[str, Any]) -> list[Finding]:
    said, at = value["repeated"], ("/drop/balls_per_min", "/drop/hours_per_day")
    if said["slips"] == "never":
        return []
    high = panel["worst"]["force_max_n"]
    how = "Every hit" if said["slips"] == "at every hit" else "Hard hits"
    tail = ""
    if "hits_to_lose_seat_count" in said:
        tail = (
            f" A seat slides up to {said['slip_per_hit_max_mm']:.2g} mm a hit and may be lost "
            f"after {said['hits_to_lose_seat_count']:.0f} hits on one spot."
        )
    elif "turn_per_hit_max_deg" in said:
        tail = f" A seat turns by up to {said['turn_per_hit_max_deg']:.2g} degrees a hit."
    message = (
        f"{how} at the worst place, up to {newton(high)}, pass the slip of a seat at "
        f"{newton(said['seat_slips_n'])}.{tail} Small slips add up: bring the force below "
        f"{newton(panel['worst']['allowed_n'])}, and check seats there every day until then."
    )
    level = "stop" if said["slips"] == "at every hit" else "watch"
    measure = Measure(high, said["seat_slips_n"], "N")
    return [Finding("slip-adds-up", level, message, at, measure)]


def _lifts(inputs: Mapping[str, Any], panel: Mapping[str, Any]) -> list[Finding]:
    most = max(hit["lifts_max_n"] for hit in panel["hits"])
    least = max(hit["lifts_min_n"] for hit in panel["hits"])
    if inputs["panel"]["supports"]["clipped"] or most < 0.05:
        return []
    message = (
        f"As it swings back from a hit the panel pulls up at one support with {newton(least)} to "
        f"{newton(most)} beyond its own weight and hops: clip each support so that it holds "
        f"{newton(most)} upward, or tie it down."
    )
    at, measure = ("/panel/supports/clipped",), Measure(most, 0.0, "N")
    return [Finding("panel-lifts", "watch", message, at, measure)]


def _openings(inputs: Mapping[str, Any], value: Mapping[str, Any]) -> list[Finding]:
    if "opening_mm" not in value:
        return []
    ball, opening = inputs["ball"]["diameter_mm"], value["opening_mm"]
    if opening < ball:
        return []
    message = (
        f"Between rods there is {mm(opening)} clear and the ball has {mm(ball)}: it falls through. "
        f"Lay a deck or a net on top, or take shorter rods."
    )
    measure = Measure(opening, ball, "mm")
    return [Finding("ball-falls-through", "stop", message, ("/panel/deck",), measure)]


def _wall(inputs: Mapping[str, Any], ball: Mapping[str, Any]) -> list[Finding]:
    if "wall_mm" not in inputs["drop"]:
        return []
    wall, needed = inputs["drop"]["wall_mm"], ball["wall_needed_mm"]
    at, measure = ("/drop/wall_mm",), Measure(wall, needed, "mm")
    if wall < needed:
        message = (
            f"Balls rebound up to {mm(ball['rebound_max_mm'])} and need a wall of {mm(needed)}; it "
            f"is {mm(wall)}: raise it or lay something soft."
        )
        return [Finding("wall-too-low", "stop", message, at, measure)]
    message = (
        f"The wall of {mm(wall)} keeps balls in that rebound up to {mm(ball['rebound_max_mm'])} "
        f"({mm(needed)} needed): build it as planned."
    )
    return [Finding("wall-holds", "ok", message, at, measure)]


def _cushion(
    inputs: Mapping[str, Any], value: Mapping[str, Any], panel: Mapping[str, Any]
) -> list[Finding]:
    if "slowing" not in inputs:
        return []
    slowing = inputs["slowing"]
    flat, force = (
        slowing["travel_mm"] * slowing["stiffness_n_per_mm"],
        max(hit["touch_min_n"] for hit in panel["hits"]),
    )
    if force <= flat:
        return []
    message = (
        f"The {slowing['title']} lies flat at {newton(flat)} and the ball pushes with "
        f"{newton(force)} or more: it hits through. Take it thicker or stiffer."
    )
    at, measure = ("/slowing/travel_mm",), Measure(force, flat, "N")
    return [Finding("cushion-lies-flat", "watch", message, at, measure)]


def _dents(inputs: Mapping[str, Any], value: Mapping[str, Any]) -> list[Finding]:
    if "slowing" in inputs:
        return []
    deep, ball = max(touch["dent_max_mm"] for touch in value["touch"]), inputs["ball"]
    limit = _DEEP_DENT * ball["diameter_mm"]
    if deep <= limit:
        return []
    message = (
        f"Ball and floor dent each other by up to {mm(deep)}, so much that small-dent theory is "
        f"stretched: trust the drop test, and look at the balls for flats."
    )
    measure = Measure(deep, limit, "mm")
    return [Finding("deep-dents", "watch", message, ("/ball/material",), measure)]


def _test(inputs: Mapping[str, Any], test: Mapping[str, Any]) -> list[Finding]:
    wanted, sure = test["reliability_ratio"], test["confidence_ratio"]
    at, allowed = ("/test",), inputs["test"]["failures_allowed_count"]
    failures = "no failure" if allowed == 0 else f"at most {count(allowed, 'failure')}"
    day = ""
    if "for_a_day_count" in test:
        day = (
            f" That is a statement for one drop: to show as much for a whole day takes "
            f"{test['for_a_day_count']:,.0f} drops in a row, {test['for_a_day_h']:.0f} h of the "
            f"machine's own rate, so let it run."
        )
    message = (
        f"Drop the ball {test['drop_height_mm']:g} mm {test['drops_count']} times with {failures}: "
        f"then at least {percent(wanted)} of all drops pass, with {percent(sure)} confidence.{day}"
    )
    found = [Finding("drop-test", "ok", message, at, Measure(test["drops_count"], None, "1"))]
    if "shown_so_far_ratio" in test:
        shown, done = test["shown_so_far_ratio"], inputs["test"]["drops_done_count"]
        measure = Measure(shown, wanted, "1")
        seen = inputs["test"]["failures_seen_count"]
        words = (
            f"{count(done, 'drop')} with {count(seen, 'failure')} show a reliability of "
            f"{percent(shown)}"
        )
        if shown >= wanted:
            message = f"{words}, {percent(wanted)} was wanted: the test is passed; keep the record."
            found.append(Finding("drop-test-passed", "ok", message, at, measure))
        else:
            message = (
                f"{words}, {percent(wanted)} is wanted: go on to {test['plans'][0]['drops_count']} "
                f"drops without failure, or mend and begin again."
            )
            found.append(Finding("drop-test-short", "watch", message, at, measure))
    return found
