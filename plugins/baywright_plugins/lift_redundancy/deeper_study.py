"""Members of the result beyond the machine as it stands, one function for each."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from baywright_service.contract import CannotCalculate

from . import planned_work as planned
from .availability import state_probabilities
from .circuit import Circuit
from .cross_checks import COMMON_CAUSE
from .failure_states import StateSpace
from .generator import long_run, rates_of, show_of
from .importance import Importance, importances
from .spares import enough_of, loss_chances, poisson_chances
from .study import Shares, StateFlow, rates_in

MOST_ORDERED_STATES = 1024
MOST_SHOW_STATES = 300
INTERVAL_STEPS = (0.25, 0.5, 1.0, 2.0, 4.0, 8.0)
Array = np.ndarray[Any, Any]


def has_times(space: StateSpace) -> bool:
    """Whether every unit has its two times, and there is one."""
    return bool(space.classes) and all(u[0].failure_per_h is not None for u in space.classes)


def enough_in(flows: Sequence[StateFlow]) -> Array:
    return np.array([flow.enough for flow in flows])


def short_by(flows: Sequence[StateFlow], required: float | None) -> Array:
    """Balls a minute short in each state; zeros without a requirement."""
    if required is None:
        return np.zeros(len(flows))
    return np.array(
        [
            required - f.flow_per_min if f.flow_per_min is not None and not f.enough else 0.0
            for f in flows
        ]
    )


def importance_of(
    space: StateSpace, flows: Sequence[StateFlow], independent: Array, required: float | None
) -> list[Importance | None]:
    """By class of the state space, all repaired at once."""
    return importances(
        space.stopped,
        space.sizes,
        space.each("availability"),
        independent,
        enough_in(flows),
        short_by(flows, required),
    )


def mending_order(
    inputs: Mapping[str, Any], space: StateSpace, flows: Sequence[StateFlow]
) -> list[int] | None:
    """Classes in the order in which they are mended; None: the crews share their time.

    Raises:
        CannotCalculate: an order is asked for, and times are missing or the states too many.
    """
    asked = inputs["repair_order"]
    if (
        asked == "shared"
        or not space.classes
        or any(units[0].odds_down is None for units in space.classes)
    ):
        return None
    if not has_times(space):
        reason = "An order of mending needs mtbf_h and mttr_h of everything that can stop."
        raise CannotCalculate("/repair_order", reason)
    if len(space.stopped) > MOST_ORDERED_STATES:
        reason = (
            f"{len(space.stopped)} failure states; an order of mending is followed through at "
            f"most {MOST_ORDERED_STATES}. Make parts alike, or take shared."
        )
        raise CannotCalculate("/repair_order", reason)
    classes = list(range(len(space.classes)))
    if asked == "quickest-first":
        return sorted(classes, key=lambda c: -(space.classes[c][0].repair_per_h or 0.0))
    if asked == "important-first":
        odds, count = space.each("odds_down"), int(space.sizes.sum())
        independent = state_probabilities(space.stopped, space.sizes, odds, count)
        found = importance_of(space, flows, independent, inputs.get("required_balls_per_min"))
        return sorted(classes, key=lambda c: -_birnbaum(found[c]))
    return classes


def _birnbaum(importance: Importance | None) -> float:
    return 0.0 if importance is None else round(importance.birnbaum, 12)


def importance_results(
    circuit: Circuit,
    space: StateSpace,
    flows: Sequence[StateFlow],
    shares: Shares,
    inputs: Mapping[str, Any],
) -> list[dict[str, Any]]:
    """Everything that can stop, the one most often to blame first."""
    found = importance_of(space, flows, shares.independent, inputs.get("required_balls_per_min"))
    minutes = inputs["hours_per_day_h"] * 60.0
    causes = {cause["id"] for cause in inputs["shared_causes"]}
    rows = []
    for units, importance in zip(space.classes, found, strict=True):
        if importance is None:
            continue
        for unit in units:
            kind = "lift" if unit.lifts else "part"
            kind = "common-cause" if unit.id == COMMON_CAUSE else kind
            kind = "shared-cause" if unit.id in causes else kind
            rows.append(
                {
                    "id": unit.id,
                    "kind": kind,
                    "birnbaum_ratio": importance.birnbaum,
                    "criticality_ratio": importance.criticality,
                    "fussell_vesely_ratio": importance.fussell_vesely,
                    "gain_min": importance.gain * minutes,
                    "gain_balls": importance.gain_loss * minutes,
                }
            )
    rows.sort(
        key=lambda row: (-round(row["criticality_ratio"], 12), -_round(row["birnbaum_ratio"]))
    )
    places: dict[tuple[float, float], int] = {}
    for place, row in enumerate(rows, 1):
        key = (_round(row["criticality_ratio"]), _round(row["birnbaum_ratio"]))
        row["rank"] = places.setdefault(key, place)
    return rows


def _round(value: float) -> float:
    return round(value, 12)


def show_result(
    space: StateSpace,
    flows: Sequence[StateFlow],
    inputs: Mapping[str, Any],
    order: Sequence[int] | None,
) -> dict[str, Any] | None:
    """A show that begins with everything running; None where states are too many or timeless."""
    if not has_times(space) or len(space.stopped) > MOST_SHOW_STATES:
        return None
    hours = inputs["hours_per_day_h"]
    show = show_of(rates_in(space, inputs["repair_crews_count"], order), enough_in(flows), hours)
    return {
        "hours_h": hours,
        "enough_ratio": show.mean_ratio,
        "end_ratio": show.end_ratio,
        "no_shortage_ratio": show.never_left_ratio,
    }


def planned_results(
    space: StateSpace,
    flows: Sequence[StateFlow],
    shares: Shares,
    inputs: Mapping[str, Any],
    order: Sequence[int] | None,
) -> dict[str, Any]:
    """Each lift out on purpose, and planned work counted in where it is given."""
    enough, crews = enough_in(flows), inputs["repair_crews_count"]
    brought = np.array([f.flow_per_min if f.flow_per_min is not None else 0.0 for f in flows])
    hours, borne_h = inputs["hours_per_day_h"], inputs["short_limit_min"] / 60.0
    causes = {cause["id"] for cause in inputs["shared_causes"]} | {COMMON_CAUSE}

    def left_over(stopped: Array, sizes: Array) -> Array:
        if order is None:
            return state_probabilities(stopped, sizes, space.each("odds_down"), crews)
        failing, mending = space.each("failure_per_h"), space.each("repair_per_h")
        return long_run(rates_of(stopped, sizes, failing, mending, crews, order))

    now = float(shares.with_crews[enough].sum())
    rows, out_shares, out_flows = [], [], []
    for c, units in enumerate(space.classes):
        if not units[0].lifts or units[0].id in causes:
            continue
        places, share = planned.shares_with_one_out(space.stopped, space.sizes, c, left_over)
        alone = int(places[space.stopped[places].sum(axis=1) == 1][0])
        meets = min(float(share[enough[places]].sum()), 1.0)
        row: dict[str, Any] = {"enough": flows[alone].enough, "availability_ratio": meets}
        if flows[alone].flow_per_min is not None:
            row["flow_per_min"] = flows[alone].flow_per_min
        out_h = planned.may_be_out_h(1.0 - now, 1.0 - meets, hours, borne_h)
        if out_h is not None:
            row["may_be_out_h"] = out_h
        line = flows[alone].gathering
        if line is not None and line.overflow_s is not None:
            row["overflow_s"] = line.overflow_s
        rows += [{"id": unit.id, **row} for unit in units]
        out_shares += [meets] * len(units)
        out_flows += [float(share @ brought[places])] * len(units)
    found: dict[str, Any] = {"planned_work": rows} if rows else {}
    if rows and "maintenance" in inputs:
        found["maintenance"] = _maintenance(
            inputs, now, float(shares.with_crews @ brought), out_shares, out_flows
        )
    return found


def _maintenance(
    inputs: Mapping[str, Any],
    now: float,
    flow_now: float,
    out_shares: Sequence[float],
    out_flows: Sequence[float],
) -> dict[str, Any]:
    given, count = inputs["maintenance"], len(out_shares)
    duration, minutes = given["duration_h"], inputs["hours_per_day_h"] * 60.0
    if planned.out_share(count, duration, given["interval_h"]) > 1.0:
        reason = (
            f"{count} lifts, one at a time, cannot each be out {duration:.4g} h after every "
            f"{given['interval_h']:.4g} h."
        )
        raise CannotCalculate("/maintenance/interval_h", reason)

    def at(interval: float) -> tuple[float, float]:
        each = planned.out_share(1, duration, interval)
        rest = max(1.0 - count * each, 0.0)
        meets = rest * now + each * math.fsum(out_shares)
        return min(meets, 1.0), rest * flow_now + each * math.fsum(out_flows)

    intervals = [
        given["interval_h"] * step
        for step in INTERVAL_STEPS
        if planned.out_share(count, duration, given["interval_h"] * step) <= 1.0
    ]
    meets, flow = at(given["interval_h"])
    others = [at(interval) for interval in intervals]
    found = {
        "out_ratio": planned.out_share(count, duration, given["interval_h"]),
        "availability_ratio": meets,
        "minutes_short_min": (1.0 - meets) * minutes,
        "mean_flow_per_min": flow,
        "interval_h": np.array(intervals),
        "availability_at_interval_ratio": np.array([x for x, _ in others]),
        "mean_flow_at_interval_per_min": np.array([x for _, x in others]),
    }
    more = math.fsum(now - share for share in out_shares)
    borne = inputs["short_limit_min"] / minutes
    shortest = planned.shortest_interval_h(1.0 - now, more, duration, count, borne)
    if shortest is not None and math.isfinite(shortest):
        found["shortest_interval_h"] = shortest
    return found


def spare_results(tour: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Spares for each part of the box.

    Raises:
        CannotCalculate: more breakages expected than spares are counted to.
    """
    rows = []
    confidence = tour["confidence_ratio"]
    for k, part in enumerate(tour["parts"]):
        rate = part["in_machine_count"] / part["mtbf_h"]
        expected, least = rate * tour["running_hours_h"], part.get("in_box_count", 0)
        away = part.get("renewed_after_h")
        if expected > 1000.0 or (away is not None and rate * away > 1000.0):
            reason = "Over 1000 breakages are expected; mend the cause, or give a longer MTBF."
            raise CannotCalculate(f"/tour/parts/{k}/mtbf_h", reason)
        renewed = away is not None and away < tour["running_hours_h"]
        if away is not None and renewed:
            chances = loss_chances(rate * away, confidence, least)
        else:
            chances = poisson_chances(expected, confidence, least)
        row: dict[str, Any] = {
            "id": part["id"],
            "expected_stops_count": expected,
            "counted": "each-breakage" if renewed else "whole-tour",
            "chance_ratio": np.array(chances),
        }
        needed = enough_of(chances, confidence)
        if needed is not None:
            row["needed_count"] = needed
        if "in_box_count" in part:
            row["in_box_count"] = least
            row["chance_now_ratio"] = chances[least]
        rows.append(row)
    return rows
