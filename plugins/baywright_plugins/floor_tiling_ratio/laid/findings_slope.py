"""What the builder should know about a slope built from steps."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Finding, Measure

from ..findings import mm

Record = Mapping[str, Any]


def slope_findings(given: Record, record: Record, rolling: Record | None) -> list[Finding]:
    """Errors, fall, level stretches, kinks, shelf."""
    found = [_error(given, record)]
    if "fall_min_percent" in record:
        found += _fall(given, record)
        found += _rolling(record, rolling)
    found += _kinks(given, record)
    found += _shelf(given, record)
    return found


def _error(given: Record, record: Record) -> Finding:
    error, limit = record["error_max_mm"], given["tolerance_mm"]
    measure = Measure(error, limit, "mm")
    low = f"Set the low corner at {record['low_edge_mm']:g} mm"
    best = (
        "no other height in its window is better"
        if record["proven"]
        else "the search was cut short, so another height may be better"
    )
    if error <= limit:
        message = (
            f"{low}: every support is within {mm(error)} of the slope wanted ({mm(limit)} may "
            f"stay); {best}."
        )
        return Finding("slope-on-steps", "ok", message, ("/slope_steps",), measure)
    errors = [abs(e) for e in record["supports"]["error_mm"]]
    at = record["supports"]["along_mm"][errors.index(max(errors))]
    message = (
        f"{low}: still the support at {at:g} mm is {mm(error)} off the slope wanted, {mm(limit)} "
        f"may stay; {best}. Add a finer piece, allow more pieces in one support, or widen the "
        f"window of the low corner."
    )
    return Finding("slope-off-steps", "watch", message, ("/slope_steps/tolerance_mm",), measure)


def _fall(given: Record, record: Record) -> list[Finding]:
    least, most = record["fall_min_percent"], record["fall_max_percent"]
    wanted = given["along_percent"]
    at, measure = ("/slope_steps/along_percent",), Measure(least, 0, "%")
    found = []
    level = record["level_stretches"]
    if level and wanted > 0:
        worst = min(level, key=lambda fall: fall["percent"])
        word = "rises" if worst["percent"] < 0 else "is level"
        message = (
            f"The floor {word} from {worst['start_mm']:g} to {worst['end_mm']:g} mm "
            f"({worst['percent']:.2f} %, {len(level)} such spans): a ball can stop there. Add a "
            f"finer piece, or choose a fall that is a whole number of pieces from bearer to bearer."
        )
        found.append(
            Finding(
                "slope-has-level-stretch",
                "stop" if worst["percent"] < 0 else "watch",
                message,
                at,
                measure,
            )
        )
    elif wanted > 0:
        message = (
            f"Between supports the floor falls {least:.2f} to {most:.2f} %, {wanted:g} % wanted, "
            f"{record['fall_mean_percent']:.2f} % from end to end: build it so."
        )
        found.append(Finding("slope-falls-throughout", "ok", message, at, measure))
    return found


def _rolling(record: Record, rolling: Record | None) -> list[Finding]:
    if rolling is None:
        return []
    least, keep = record["fall_min_percent"], rolling["slope_to_keep_rolling_percent"]
    if not keep or not 0 < least < keep:
        return []
    message = (
        f"The flattest span falls {least:.3f} %, and {keep:.3f} % keep a ball rolling over the "
        f"grooves: steepen that span."
    )
    measure = Measure(least, keep, "%")
    return [Finding("slope-below-rolling", "stop", message, ("/slope_steps",), measure)]


def _kinks(given: Record, record: Record) -> list[Finding]:
    if not record["kinks"]:
        return []
    worst = max(record["kinks"], key=lambda kink: abs(kink["change_percent"]))
    flatter = worst["change_percent"] < 0
    what = (
        f"flattens by {-worst['change_percent']:.2f} %, where a ball knocks and keeps "
        f"{worst['speed_kept_ratio']:.1%} of its speed"
        if flatter
        else f"steepens by {worst['change_percent']:.2f} %, where a fast ball hops"
    )
    bent = sum(kink.get("under_joint") is False for kink in record["kinks"])
    rocks = (
        f" {bent} of these kinks lie under a panel and not at a joint, so it rocks." if bent else ""
    )
    message = (
        f"At {worst['at_mm']:g} mm the floor {what}; {given['kink_percent']:g} % may stay "
        f"({len(record['kinks'])} such kinks).{rocks} Even the heights out with a finer piece."
    )
    measure = Measure(abs(worst["change_percent"]), given["kink_percent"], "%")
    return [Finding("floor-kinks", "watch", message, ("/slope_steps/kink_percent",), measure)]


def _shelf(given: Record, record: Record) -> list[Finding]:
    counts = {piece["item"]: piece["count"] for piece in record["pieces"]}
    found = []
    for place, piece in enumerate(given["pieces"]):
        needed, on_hand = counts.get(piece["item"], 0), piece.get("on_hand_count")
        if on_hand is not None and needed > on_hand:
            message = (
                f"The slope takes {needed} {piece['item']}, {on_hand} are there: get "
                f"{needed - on_hand}, or allow fewer of them in one support."
            )
            at = (f"/slope_steps/pieces/{place}/on_hand_count",)
            measure = Measure(needed, on_hand, "1")
            found.append(Finding("slope-pieces-short", "stop", message, at, measure))
    return found
