"""What the builder should know about walls of netting."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Finding, Measure

from ..findings import many, mm

Record = Mapping[str, Any]


def net_findings(given: Record, record: Record, ball_mm: float | None) -> list[Finding]:
    """Repeat, height, openings, gaps, shelf."""
    found = [_repeat(given, record)]
    if "wall_needed_mm" in record:
        found.append(_height(record))
    if ball_mm is not None:
        found += _openings(given, record, ball_mm)
    cut = [wall for wall in record["walls"] if wall["cut_count"]]
    if cut:
        message = (
            f"Of {many(len(record['walls']), 'wall')}, {len(cut)} end in a net panel cut to "
            f"{mm(cut[0]['cut_to_mm'])} or so: cut one for each row, "
            f"{len(cut) * record['rows_count']} in all."
        )
        found.append(Finding("net-panels-to-cut", "watch", message, ("/netting/walls",)))
    return [*found, *_shelf(given, record)]


def _repeat(given: Record, record: Record) -> Finding:
    if not record["fits"]:
        message = (
            f"Within {given['most_bays_count']} bays of {mm(record['bay_mm'])} net panels of "
            f"{mm(given['net']['pitch_mm'])} end on no post, with up to "
            f"{given['most_spacers_count']} spacers: add a shorter spacer, or cut the last panel."
        )
        return Finding("net-meets-no-post", "watch", message, ("/netting",))
    fit = record["fits"][0]
    used = [
        f"{n} × {item}" for item, n in zip(fit["spacers"], fit["spacers_count"], strict=True) if n
    ]
    spacers = f" with {' and '.join(used)}" if used else " without spacers"
    gaps = ", ".join(f"{gap:g}" for gap in fit["gaps_mm"][:8])
    where = f" (gaps of {gaps} mm in turn)" if used else ""
    message = (
        f"The net repeats every {many(fit['bays_count'], 'bay')}: "
        f"{many(fit['panels_count'], 'net panel')}{spacers}{where}, "
        f"{mm(abs(fit['misfit_mm']))} off within {mm(fit['play_mm'])} of play: set posts so that "
        f"each such run ends on one."
    )
    measure = Measure(abs(fit["misfit_mm"]), fit["play_mm"], "mm")
    return Finding("net-meets-post", "ok", message, ("/netting",), measure)


def _height(record: Record) -> Finding:
    high, needed, rows = record["wall_mm"], record["wall_needed_mm"], record["rows_count"]
    measure, at = Measure(high, needed, "mm"), ("/netting/rows_count",)
    if high < needed:
        message = (
            f"{many(rows, 'row')} of net make a wall of {mm(high)}, balls need {mm(needed)}: add "
            f"a row."
        )
        return Finding("net-too-low", "stop", message, at, measure)
    message = (
        f"{many(rows, 'row')} of net make a wall of {mm(high)}, {mm(needed)} needed: build it so."
    )
    return Finding("net-high-enough", "ok", message, at, measure)


def _openings(given: Record, record: Record, ball_mm: float) -> list[Finding]:
    passes, found = record["largest_ball_through_mm"], []
    measure = Measure(passes, ball_mm, "mm")
    cord = given["net"]["made_of"] == "cord"
    why = " since cord gives way to a round hole" if cord else ""
    if passes >= ball_mm:
        message = (
            f"Balls up to {mm(passes)} pass the net{why}, and yours are {mm(ball_mm)}: take a "
            f"finer net."
        )
        at = ("/netting/net/opening_mm",)
        found.append(Finding("ball-through-net", "stop", message, at, measure))
    else:
        message = (
            f"Balls up to {mm(passes)} pass the net{why}; yours are {mm(ball_mm)} and stay in."
        )
        found.append(Finding("net-holds-ball", "ok", message, ("/netting/net",), measure))
    if given["bottom_gap_mm"] >= ball_mm:
        message = (
            f"Balls of {mm(ball_mm)} roll out below the net, {mm(given['bottom_gap_mm'])} are "
            f"free: lower it."
        )
        at = ("/netting/bottom_gap_mm",)
        gap = Measure(given["bottom_gap_mm"], ball_mm, "mm")
        found.append(Finding("ball-under-net", "stop", message, at, gap))
    return found


def _shelf(given: Record, record: Record) -> list[Finding]:
    found = []
    for place, spacer in enumerate(given["spacers"]):
        needed = record["rows_count"] * sum(
            wall["spacers_count"][place] for wall in record["walls"]
        )
        on_hand = spacer.get("on_hand_count")
        if on_hand is not None and needed > on_hand:
            message = (
                f"The walls take {needed} {spacer['item']}, {on_hand} are there: get "
                f"{needed - on_hand}."
            )
            at = (f"/netting/spacers/{place}/on_hand_count",)
            measure = Measure(needed, on_hand, "1")
            found.append(Finding("net-spacers-short", "stop", message, at, measure))
    return found
