"""The way round: time short, single points, tracks, return lane, divider, balls."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Inputs, Measure, Remedy

from .circuit import Circuit, station_names
from .cross_checks import STATION_ORDER, link_name
from .wording import Rerun, Value, and_words, clears, num, plural


def way_findings(inputs: Inputs, value: Value, circuit: Circuit, rerun: Rerun) -> list[Finding]:
    """In the order of the day: what stands alone, what is short, what runs over, what is needed."""
    return [
        *_single_points(inputs, value, circuit),
        *_paths_overloaded(inputs),
        *_minutes_short(inputs, value),
        *_overflow(inputs, value, rerun),
        *_spill(inputs, value),
        *_balls(inputs, value, rerun),
    ]


def _minutes_short(inputs: Inputs, value: Value) -> list[Finding]:
    share = value.get("availability")
    if share is None or "required_balls_per_min" not in inputs:
        return []
    alone, crew = share["minutes_short_independent_min"], share["minutes_short_with_crews_min"]
    limit, hours = inputs["short_limit_min"], inputs["hours_per_day_h"]
    crews = plural(share["crews_count"], "repairer")
    return [
        Finding(
            "minutes-short",
            "ok" if crew <= limit else "watch",
            f"Too few balls come round for {_short(alone)} minutes in {num(hours)} hours when "
            f"every stopped lift is mended at once, {_short(crew)} with {crews}; {num(limit)} are "
            "borne.",
            ("/short_limit_min",),
            Measure(crew, limit, "min"),
            None
            if crew <= limit
            else Remedy("Add a lift, mend faster, or make lifts that run longer between stops."),
        )
    ]


def _short(minutes: float) -> str:
    return f"{minutes:.0f}" if minutes >= 10 else f"{minutes:.1f}"


def _single_points(inputs: Inputs, value: Value, circuit: Circuit) -> list[Finding]:
    told_above = ("lift", "shared-cause")
    points = [p for p in value.get("single_points", []) if p["kind"] not in told_above]
    if not points:
        return []
    names = [p["id"] for p in points]
    others = len(circuit.groups)
    text = "is a single point" if len(names) == 1 else "are single points"
    return [
        Finding(
            "single-point-of-failure",
            "watch",
            f"{and_words(names)} {text} of failure: the flow falls short when "
            f"{'it' if len(names) == 1 else 'any one of them'} is blocked.",
            _places_of(inputs, names),
            Measure(float(len(names)), float(others), "1"),
            Remedy(
                "Make each easy to reach and quick to clear, and keep a spare of what can break; "
                "a second one beside it would lift the limit."
            ),
        )
    ]


def _places_of(inputs: Inputs, names: Sequence[str]) -> tuple[str, ...]:
    """Pointers into the inputs to parts by name."""
    places = {
        name: f"/stations/{key}_per_min"
        for key in STATION_ORDER
        for name in station_names(inputs, key)
    }
    for key in ("paths", "divider_lanes"):
        places |= {e["id"]: f"/{key}/{k}" for k, e in enumerate(inputs.get(key, []))}
    if "network" in inputs:
        own = inputs["network"]
        places = {node["id"]: f"/network/nodes/{k}" for k, node in enumerate(own["nodes"])}
        places |= {link_name(e): f"/network/links/{k}" for k, e in enumerate(own["links"])}
    return tuple(places[name] for name in names)


def _paths_overloaded(inputs: Inputs) -> list[Finding]:
    required = inputs.get("required_balls_per_min")
    found = []
    for k, path in enumerate(inputs.get("paths", [])):
        capacity = path.get("capacity_per_min")
        if required is None or capacity is None:
            continue
        load = required * path["share_ratio"]
        if load > capacity * (1 + 1e-9):
            found.append(
                Finding(
                    "track-overloaded",
                    "stop",
                    f"Track {path['id']} gets {num(load)} balls per minute by its share and "
                    f"carries {num(capacity)}.",
                    (f"/paths/{k}",),
                    Measure(load, capacity, "/min"),
                    Remedy(
                        f"Send it at most {num(100 * capacity / required)} percent of the balls."
                    ),
                )
            )
    return found


def _spill(inputs: Inputs, value: Value) -> list[Finding]:
    spill = value.get("spill_per_min", 0.0)
    if spill <= 0.0:
        return []
    return [
        Finding(
            "divider-spills",
            "stop",
            f"The divider lanes pass {num(inputs['required_balls_per_min'] - spill)} balls per "
            f"minute; {num(spill)} run over the last lane.",
            ("/divider_lanes",),
            Measure(spill, 0.0, "/min"),
            Remedy("Widen a lane, or let it feed a lift that has room."),
        )
    ]


def _overflow(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    """The fewest lifts whose stop overflows the return lane, and the stop of all of them."""
    free = inputs.get("queue", {}).get("free_places_count")
    rows = [row for row in value.get("by_stopped", []) if row["stopped_count"] > 0]
    if free is None or not rows or "peak_extra_balls" not in rows[-1]:
        return []
    count = value["lift_count"]
    over = [row for row in rows if "overflow_s" in row]
    partly = [row for row in over if row["stopped_count"] < count][:1]
    wholly = [row for row in over if row["stopped_count"] == count]
    found = [_overflow_finding(inputs, row, count, free, rerun) for row in partly + wholly]
    held = [row["stopped_count"] for row in rows if row not in over]
    if held and not partly:
        most = max(held)
        peak = max(row["peak_extra_balls"] for row in rows if row not in over)
        found.append(
            Finding(
                "return-lane-holds",
                "ok",
                f"With up to {most} of {count} lifts stopped at most {num(peak)} extra balls "
                f"gather on the return lane; it has {num(free)} free places.",
                ("/queue/free_places_count",),
                Measure(peak, free, "1"),
            )
        )
    return found


def _overflow_finding(
    inputs: Inputs, row: Mapping[str, Any], count: int, free: float, rerun: Rerun
) -> Finding:
    stopped, peak = row["stopped_count"], row["peak_extra_balls"]
    who = f"all {count}" if stopped == count else f"{stopped} of {count}"
    places = float(-(-peak // 1))
    remedy = Remedy(f"Make room for {num(places)} extra balls, or lead the overflow to a basket.")
    if not inputs.proving:
        patch = {"queue": {"free_places_count": places}}
        again = rerun(inputs, patch)
        rows = again.value["by_stopped"] if again is not None else []
        same = [r for r in rows if r["stopped_count"] == stopped]
        if same and "overflow_s" not in same[0]:
            remedy = Remedy(remedy.message, patch)
    return Finding(
        "return-lane-overflows",
        "stop" if stopped <= inputs["tolerate_stopped_count"] else "watch",
        f"With {who} lifts stopped the return lane overflows after "
        f"{row['overflow_s']:.0f} s: {num(peak)} extra balls gather, {num(free)} places are free.",
        ("/queue/free_places_count",),
        Measure(peak, free, "1"),
        remedy,
    )


def _balls(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    balls = value.get("balls")
    if balls is None:
        return []
    needed, order = balls["needed_count"], balls["order_count"]
    sum_up = (
        f"{needed} balls are in use: {num(balls['on_tracks_count'])} on the tracks, "
        f"{num(balls['on_lifts_count'])} on the lifts, {num(balls['in_queue_count'])} waiting, "
        f"{num(balls['in_basin_count'])} in the basin"
    )
    at_hand = inputs.get("balls_count")
    if at_hand is None or at_hand >= order:
        end = f"order {order} with spares" if at_hand is None else f"{at_hand} are at hand"
        measure = Measure(float(needed), None if at_hand is None else float(at_hand), "1")
        return [Finding("balls-needed", "ok", f"{sum_up}; {end}.", ("/balls_count",), measure)]
    patch = {"balls_count": order}
    proven = not inputs.proving and clears(rerun(inputs, patch), "too-few-balls")
    return [
        Finding(
            "too-few-balls",
            "stop" if at_hand < needed else "watch",
            f"{sum_up}; {at_hand} are at hand"
            + ("." if at_hand < needed else f", without the spares that make it {order}."),
            ("/balls_count",),
            Measure(float(at_hand), float(needed if at_hand < needed else order), "1"),
            Remedy(f"Get {order - at_hand} more balls.", patch if proven else None),
        )
    ]
