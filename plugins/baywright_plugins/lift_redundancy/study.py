"""From inputs to the members of the result, one function for each."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from .availability import shortage, state_probabilities
from .circuit import Circuit, lanes_feed
from .circulation import balls_in_circulation
from .cross_checks import COMMON_CAUSE
from .failure_states import StateSpace
from .generator import Rates, long_run, rates_of
from .network import is_enough, lane_flows
from .overflow import Gathering, gathering_after_stop
from .series_parallel import series_parallel_flow

OWN_NETWORK_SETS = 1100  # sets of parts gone through for minimal cuts; a request's time
CIRCUIT_SETS = 400
MOST_CORNERS = 200_000  # corners times tracks over all states; about 1 s


@dataclass(frozen=True)
class StateFlow:
    """Row `row` of the state space: the largest flow (None: no limit) and what comes round."""

    row: int
    stopped: tuple[str, ...]
    lifts_stopped: int
    ways: int
    capacity_per_min: float | None
    flow_per_min: float | None
    enough: bool
    gathering: Gathering | None


def lift_transit(inputs: Mapping[str, Any], chain: Mapping[str, Any] | None) -> float | None:
    """Seconds from foot to top: as given, else from the chain."""
    given = inputs.get("lift_transit_s")
    if given is None and chain is not None:
        given = chain.get("lift_transit_s")
    return None if given is None else float(given)


def state_flows(
    circuit: Circuit, space: StateSpace, inputs: Mapping[str, Any], transit_s: float | None
) -> list[StateFlow]:
    """Throughput of every state, and what gathers on the return lane after it begins.

    The lane is followed for the states with the fewest lifts stopped first, and only until
    MOST_CORNERS; in the states left over `gathering` is None.

    Raises:
        TooManySteps: one line has too many corners.
    """
    required = inputs.get("required_balls_per_min")
    before = _delivered(circuit.network.max_flow(), required)
    paths = [(p["transit_s"], p["share_ratio"]) for p in inputs.get("paths", [])]
    free = inputs.get("queue", {}).get("free_places_count")
    brought = math.fsum(lift.capacity_per_min for lift in circuit.lifts)
    capacities = state_capacities(circuit, space)
    known: dict[tuple[float, float], Gathering] = {}
    flows, followed = [], 0
    rows = []
    for row, largest in enumerate(capacities.tolist()):
        units = space.units_down(row)
        down = {lift for unit in units for lift in unit.lifts}
        rows.append((row, units, down, None if math.isinf(largest) else largest))
    for row, units, down, capacity in sorted(rows, key=lambda each: len(each[2])):
        gathering = None
        if paths and None not in (transit_s, before, capacity) and brought > 0.0:
            assert transit_s is not None and before is not None and capacity is not None
            left = math.fsum(x.capacity_per_min for x in circuit.lifts if x.id not in down)
            key = (capacity, left)
            if key not in known and followed <= MOST_CORNERS:
                known[key] = gathering_after_stop(
                    before / 60.0, capacity / 60.0, left / brought, transit_s, paths, free
                )
                followed += len(known[key].time_s) * len(paths)
            gathering = known.get(key)
        flows.append(
            StateFlow(
                row=row,
                stopped=tuple(unit.id for unit in units),
                lifts_stopped=len(down),
                ways=space.ways[row],
                capacity_per_min=capacity,
                flow_per_min=_delivered(capacity, required),
                enough=is_enough(capacity, required),
                gathering=gathering,
            )
        )
    return sorted(flows, key=lambda flow: flow.row)


def state_capacities(circuit: Circuit, space: StateSpace) -> np.ndarray[Any, Any]:
    """Largest flow of every row of the state space; shape (states,), infinite: no limit."""
    network = circuit.network
    limits = {
        e.id: math.inf if e.capacity_per_min is None else e.capacity_per_min
        for e in network.elements
    }
    units_of_all = (unit for units in space.classes for unit in units)
    varying = dict.fromkeys(part for unit in units_of_all for part in unit.stops)
    carried = {name: np.full(len(space.stopped), limit) for name, limit in limits.items()}
    for c, units in enumerate(space.classes):
        for k, unit in enumerate(units):
            down = space.stopped[:, c] > k
            for name in unit.stops:
                carried[name] = np.where(down, 0.0, carried[name])
    plain = series_parallel_flow(carried, network.arcs, network.source, network.sink)
    if plain is not None:
        return plain
    modules = network.modules(varying)
    totals = [np.sum([carried[name] for name in module], axis=0) for module in modules]
    shape = (len(space.stopped), len(modules))
    return network.flows_of(modules, np.column_stack(totals) if totals else np.zeros(shape))


def _delivered(capacity: float | None, required: float | None) -> float | None:
    if capacity is None:
        return required
    return capacity if required is None else min(capacity, required)


@dataclass(frozen=True)
class Shares:
    """Probability of each row of the state space: all repaired at once, and with the crews."""

    independent: np.ndarray[Any, Any]
    with_crews: np.ndarray[Any, Any]


def shares_of(space: StateSpace, crews: int, order: Sequence[int] | None = None) -> Shares | None:
    """None where some unit has no failure times, or nothing can fail; `order` of mending."""
    if not space.classes or any(units[0].odds_down is None for units in space.classes):
        return None
    odds, count = space.each("odds_down"), int(space.sizes.sum())
    independent = state_probabilities(space.stopped, space.sizes, odds, count)
    if order is None:
        shared = state_probabilities(space.stopped, space.sizes, odds, crews)
        return Shares(independent, shared)
    return Shares(independent, long_run(rates_in(space, crews, order)))


def rates_in(space: StateSpace, crews: int, order: Sequence[int] | None) -> Rates:
    """The moves between the states; every unit has both times."""
    return rates_of(
        space.stopped,
        space.sizes,
        space.each("failure_per_h"),
        space.each("repair_per_h"),
        crews,
        order,
    )


def by_lifts_alone(circuit: Circuit, flows: Sequence[StateFlow]) -> list[StateFlow]:
    """States in which stations, tracks and lanes run and no common cause stops all lifts."""
    others = {
        unit.id
        for unit in circuit.units
        if unit.id == COMMON_CAUSE
        or (not unit.lifts and circuit.kinds.get(unit.id) in ("station", "track", "lane"))
    }
    return [flow for flow in flows if not others.intersection(flow.stopped)]


def availability_result(
    space: StateSpace,
    flows: Sequence[StateFlow],
    shares: Shares,
    inputs: Mapping[str, Any],
    *,
    spells: bool,
    order: Sequence[int] | None = None,
) -> dict[str, Any]:
    """Share of time the flow is met, minutes short in a day, and how often it becomes short.

    `spells` False leaves the last out: it costs a linear system over all states.
    """
    enough = np.array([flow.enough for flow in flows])
    independent = float(shares.independent[enough].sum())
    with_crews = float(shares.with_crews[enough].sum())
    minutes = inputs["hours_per_day_h"] * 60.0
    crews = inputs["repair_crews_count"]
    out: dict[str, Any] = {
        "independent_ratio": min(independent, 1.0),
        "with_crews_ratio": min(with_crews, 1.0),
        "crews_count": crews,
        "minutes_short_independent_min": float(shares.independent[~enough].sum()) * minutes,
        "minutes_short_with_crews_min": float(shares.with_crews[~enough].sum()) * minutes,
    }
    if spells and all(units[0].failure_per_h is not None for units in space.classes):
        short = shortage(
            space.stopped,
            space.sizes,
            space.each("failure_per_h"),
            space.each("repair_per_h"),
            crews,
            enough,
            order,
        )
        out["short_spells_per_day"] = short.frequency_per_h * inputs["hours_per_day_h"]
        out["mean_short_spell_min"] = short.mean_spell_h * 60.0
        if math.isfinite(short.mean_time_to_first_h):
            out["mean_time_to_short_h"] = short.mean_time_to_first_h
    return out


def unit_results(
    circuit: Circuit, space: StateSpace, flows: Sequence[StateFlow], shares: Shares | None
) -> list[dict[str, Any]]:
    """Each unit with its availability and Birnbaum importance (independent repair)."""
    place = {u.id: c for c, units in enumerate(space.classes) for u in units}
    capacity = {lift.id: lift.capacity_per_min for lift in circuit.lifts}
    enough = np.array([flow.enough for flow in flows])
    out = []
    for unit in circuit.units:
        row: dict[str, Any] = {"id": unit.id, "lifts": list(unit.lifts)}
        if unit.lifts:
            row["capacity_per_min"] = math.fsum(capacity[x] for x in unit.lifts)
        if unit.availability is not None and unit.odds_down is not None:
            up = unit.availability
            row["availability_ratio"] = up
            if shares is not None and 0.0 < up < 1.0:
                c = place[unit.id]
                down = space.stopped[:, c] / len(space.classes[c])
                with_it = float((shares.independent * (1.0 - down))[enough].sum()) / up
                without = float((shares.independent * down)[enough].sum()) / (1.0 - up)
                row["importance_ratio"] = with_it - without
        out.append(row)
    return out


def state_results(
    flows: Sequence[StateFlow], shares: Shares | None, required: float | None
) -> list[dict[str, Any]]:
    """One row for each state, alike ones together."""
    rows = []
    for flow in flows:
        row: dict[str, Any] = {
            "stopped": list(flow.stopped),
            "lifts_stopped_count": flow.lifts_stopped,
            "ways_count": flow.ways,
            "enough": flow.enough,
        }
        if flow.capacity_per_min is not None:
            row["capacity_per_min"] = flow.capacity_per_min
        if flow.flow_per_min is not None:
            row["flow_per_min"] = flow.flow_per_min
        if required is not None and flow.flow_per_min is not None:
            row["short_by_per_min"] = _short_by(required, flow.flow_per_min)
        if shares is not None:
            row["probability_ratio"] = float(shares.independent[flow.row])
            row["probability_with_crews_ratio"] = float(shares.with_crews[flow.row])
        if flow.gathering is not None:
            row["peak_extra_balls"] = flow.gathering.peak_balls
            if flow.gathering.overflow_s is not None:
                row["overflow_s"] = flow.gathering.overflow_s
        rows.append(row)
    return rows


def _short_by(required: float, flow: float) -> float:
    short = required - flow
    return short if short > 1e-9 * max(required, 1.0) else 0.0


def by_stopped_results(
    circuit: Circuit, flows: Sequence[StateFlow], shares: Shares | None, required: float | None
) -> list[dict[str, Any]]:
    """States summed by the number of lifts stopped; the line of extra balls is the worst one's."""
    rows = []
    alone = by_lifts_alone(circuit, flows)
    for count in sorted({flow.lifts_stopped for flow in alone}):
        those = [flow for flow in alone if flow.lifts_stopped == count]
        delivered = [flow.flow_per_min for flow in those if flow.flow_per_min is not None]
        row: dict[str, Any] = {
            "stopped_count": count,
            "ways_count": sum(flow.ways for flow in those),
        }
        if len(delivered) == len(those):
            row["flow_worst_per_min"] = min(delivered)
            row["flow_best_per_min"] = max(delivered)
        if required is not None and delivered:
            row["short_by_per_min"] = _short_by(required, min(delivered))
        if shares is not None:
            index = [flow.row for flow in flows if flow.lifts_stopped == count]
            row["probability_ratio"] = float(shares.independent[index].sum())
            row["probability_with_crews_ratio"] = float(shares.with_crews[index].sum())
        lines = [flow.gathering for flow in those if flow.gathering is not None]
        if lines and len(lines) == len(those):
            line = min(
                lines,
                key=lambda g: (
                    math.inf if g.overflow_s is None else g.overflow_s,
                    -g.peak_balls,
                ),
            )
            row |= {
                "time_s": np.array(line.time_s),
                "extra_balls": np.array(line.extra_balls),
                "peak_extra_balls": line.peak_balls,
                "peak_s": line.peak_s,
            }
            if line.overflow_s is not None:
                row["overflow_s"] = line.overflow_s
        rows.append(row)
    return rows


def needed_lifts(circuit: Circuit, flows: Sequence[StateFlow], required: float) -> int | None:
    """Lifts that must run whichever they are: ceil(required / each) where all are alike.

    None where not even all suffice and it is not for want of lifts alone.
    """
    count = len(circuit.lifts)
    alone = by_lifts_alone(circuit, flows)
    short = [flow.lifts_stopped for flow in alone if not flow.enough]
    if not short:
        return 0
    if min(short) > 0:
        return count - min(short) + 1
    rates = {lift.capacity_per_min for lift in circuit.lifts}
    if len(rates) == 1 and max(rates) > 0.0 and max(rates) * count < required:
        return math.ceil(required / max(rates) - 1e-9)
    return None


def structure_results(
    circuit: Circuit, required: float | None, *, own_network: bool, sets: bool
) -> dict[str, Any]:
    """Minimum cut, single points of failure; with `sets` minimal cuts and, where small, paths."""
    network, groups = circuit.network, circuit.groups
    capacity = {e.id: e.capacity_per_min for e in network.elements}
    largest = _largest_set(len(groups), OWN_NETWORK_SETS if own_network else CIRCUIT_SETS)
    network.learn(
        [part for parts in chosen for part in parts]
        for size in range(1, (largest if sets else 1) + 1)
        for chosen in combinations(groups.values(), size)
    )
    cut = network.min_cut()
    out: dict[str, Any] = {
        "limited_by": [{"id": x, "capacity_per_min": capacity[x]} for x in cut.elements]
    }
    if not network.enough(required):
        return out | {"single_points": [], "minimal_cuts": []}
    out["single_points"] = [
        {
            "id": point.elements[0],
            "kind": circuit.kinds[point.elements[0]],
            "flow_left_per_min": _delivered(point.flow_per_min, required) or 0.0,
        }
        for point in network.single_points(required, groups)
    ]
    if not sets:
        return out
    out["minimal_cuts"] = [
        list(cut) for cut in network.minimal_cuts(required, groups, largest=largest)
    ]
    out["minimal_cuts_largest_count"] = largest
    if own_network and largest == len(groups):
        out["minimal_paths"] = [list(path) for path in network.minimal_paths(required, groups)]
    return out


def _largest_set(parts: int, budget: int) -> int:
    """The largest size of set such that all sets up to it are within the budget; 1 at least."""
    total, size = parts, 1
    while size < parts and total + math.comb(parts, size + 1) <= budget:
        size += 1
        total += math.comb(parts, size)
    return size


def lane_results(inputs: Mapping[str, Any], circuit: Circuit) -> dict[str, Any]:
    """Lanes filled in overflow order with all lifts running, and what spills over the last."""
    lanes = inputs.get("divider_lanes")
    required = inputs.get("required_balls_per_min")
    if not lanes or required is None:
        return {}
    fed = lanes_feed(lanes, inputs["lifts"], circuit.lifts)
    flows = lane_flows(
        [(lane.get("capacity_per_min"), ids) for lane, ids in zip(lanes, fed, strict=True)],
        [lift.capacity_per_min for lift in circuit.lifts],
        required,
    )
    return {
        "lanes": [
            {"id": lane["id"], "flow_per_min": flow}
            for lane, flow in zip(lanes, flows, strict=True)
        ],
        "spill_per_min": _short_by(required, math.fsum(flows)),
    }


def balls_result(inputs: Mapping[str, Any], transit_s: float | None) -> dict[str, Any] | None:
    """Balls in circulation at the flow required; None where tracks or lift time are missing."""
    required = inputs.get("required_balls_per_min")
    paths = [(p["transit_s"], p["share_ratio"]) for p in inputs.get("paths", [])]
    if required is None or not paths or transit_s is None:
        return None
    queue = inputs.get("queue", {})
    balls = balls_in_circulation(
        required / 60.0,
        paths,
        transit_s,
        queue=queue.get("usual_count", 0.0),
        basin=queue.get("basin_count", 0.0),
        spares=inputs["spares_ratio"],
    )
    return {
        "on_tracks_count": balls.on_tracks,
        "on_lifts_count": balls.on_lifts,
        "in_queue_count": balls.in_queue,
        "in_basin_count": balls.in_basin,
        "in_use_count": balls.in_use,
        "needed_count": balls.needed,
        "order_count": balls.order,
        "lift_transit_s": transit_s,
        "spill_basket_count": math.ceil(balls.on_tracks - 1e-9),
    }
