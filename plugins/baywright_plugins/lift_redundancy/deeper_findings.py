"""What to improve next, how long lifts may stop, planned work and the box of spares."""

from baywright_service.contract import Finding, Inputs, Measure, Remedy

from .cross_checks import COMMON_CAUSE
from .wording import Value, num

MOSTLY = 0.5  # of the time short: then it is named


def deeper_findings(inputs: Inputs, value: Value) -> list[Finding]:
    return [
        *_may_stop(value),
        *_next(inputs, value),
        *_in_common(inputs, value),
        *_planned(inputs, value),
        *_spares(value),
    ]


def _may_stop(value: Value) -> list[Finding]:
    """The last number that may stop for good, and the first that may not."""
    rows = value.get("may_stop", [])
    ends = [k for k, row in enumerate(rows) if "lasts_s" in row]
    told = rows[max(ends[0] - 1, 0) : ends[0] + 1] if ends else rows[-1:]
    if not told:
        return []
    text = " ".join(row["statement"] for row in told)
    last = told[-1]
    measure = Measure(last["lasts_s"], None, "s") if "lasts_s" in last else None
    return [Finding("lifts-may-stop", "ok", text, ("/queue/free_places_count",), measure)]


def _next(inputs: Inputs, value: Value) -> list[Finding]:
    rows = value.get("improvements", [])
    if not rows or rows[0]["minutes_saved_min"] < 0.05:
        return []
    best, now = rows[0], value["measures_now"]["minutes_short_min"]
    money = "minutes_saved_per_cost" in best and all("cost" in row for row in rows)
    by = "for the money " if money else ""
    return [
        Finding(
            "next-improvement",
            "ok",
            f"The next improvement {by}with the most effect: minutes short in "
            f"{num(inputs['hours_per_day_h'])} hours fall from {now:.1f} to "
            f"{best['minutes_short_min']:.1f}; {len(rows)} were compared.",
            ("/lifts",) if "lifts" in inputs else ("/network",),
            Measure(best["minutes_short_min"], inputs["short_limit_min"], "min"),
            Remedy(best["text"]),
        )
    ]


def _in_common(inputs: Inputs, value: Value) -> list[Finding]:
    row = next((r for r in value.get("importance", []) if r["id"] == COMMON_CAUSE), None)
    if row is None or row["fussell_vesely_ratio"] <= MOSTLY:
        return []
    share = row["fussell_vesely_ratio"]
    return [
        Finding(
            "common-cause-dominates",
            "watch",
            f"Of the time too few balls come round, {100 * share:.0f} percent lies with what "
            f"stops all lifts at once; more lifts do not help against it.",
            ("/common_cause/beta_ratio",),
            Measure(share, MOSTLY, "1"),
            Remedy("Give lifts motors, fuses and supplies of their own, on two circuits."),
        )
    ]


def _planned(inputs: Inputs, value: Value) -> list[Finding]:
    row = value.get("maintenance")
    if row is None:
        return []
    without = [r["id"] for r in value["planned_work"] if not r["enough"]]
    limit = inputs["short_limit_min"]
    if without:
        least = min(value["planned_work"], key=lambda r: r.get("flow_per_min", 0.0))
        return [
            Finding(
                "no-lift-to-spare-for-planned-work",
                "watch",
                f"With {least['id']} out for planned work {num(least.get('flow_per_min', 0.0))} of "
                f"{num(inputs['required_balls_per_min'])} balls per minute come round, even with "
                "all others running.",
                ("/maintenance/duration_h",),
                Measure(least.get("flow_per_min", 0.0), inputs["required_balls_per_min"], "/min"),
                Remedy("Do planned work outside running hours, or build one more lift first."),
            )
        ]
    short = row["minutes_short_min"]
    if short <= limit:
        text = (
            f"With planned work counted too few balls come round for {short:.1f} minutes in "
            f"{num(inputs['hours_per_day_h'])} hours; {num(limit)} are borne."
        )
        place, measure = ("/maintenance/interval_h",), Measure(short, limit, "min")
        return [Finding("planned-work-borne", "ok", text, place, measure)]
    shortest = row.get("shortest_interval_h")
    advice = (
        "Do planned work outside running hours."
        if shortest is None
        else f"Leave {num(shortest)} running hours or more between works on one lift."
    )
    return [
        Finding(
            "planned-work-too-much",
            "watch",
            f"With planned work counted too few balls come round for {short:.1f} minutes in "
            f"{num(inputs['hours_per_day_h'])} hours; {num(limit)} are borne.",
            ("/maintenance/interval_h",),
            Measure(short, limit, "min"),
            Remedy(advice),
        )
    ]


def _spares(value: Value) -> list[Finding]:
    found = []
    for k, row in enumerate(value.get("spares", [])):
        if "in_box_count" not in row or "needed_count" not in row:
            continue
        has, needed, chance = row["in_box_count"], row["needed_count"], row["chance_now_ratio"]
        enough = has >= needed
        found.append(
            Finding(
                "spares-suffice" if enough else "too-few-spares",
                "ok" if enough else "watch",
                f"{has} of {row['id']} in the box suffice with a chance of {100 * chance:.1f} "
                f"percent; {needed} are needed for the chance asked for "
                f"({row['expected_stops_count']:.1f} breakages expected on the tour).",
                (f"/tour/parts/{k}/in_box_count",),
                Measure(float(has), float(needed), "1"),
                None if enough else Remedy(f"Pack {needed - has} more of {row['id']}."),
            )
        )
    return found
