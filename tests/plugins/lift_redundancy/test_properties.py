"""Properties of whole families: probabilities, monotony, duality, and second methods."""

import math
from itertools import product
from typing import Any

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.lift_redundancy import LiftRedundancy, chain
from baywright_plugins.lift_redundancy.availability import (
    k_out_of_n,
    state_probabilities,
    stopped_distribution,
)
from baywright_plugins.lift_redundancy.failure_states import Unit, all_states
from baywright_plugins.lift_redundancy.network import Element, FlowNetwork, lane_flows
from baywright_plugins.lift_redundancy.overflow import gathering_after_stop

CALCULATOR = LiftRedundancy()

shares = st.floats(0.01, 0.999)
odds = st.floats(0.001, 2.0)
rates = st.floats(1.0, 100.0)


@given(st.lists(st.tuples(st.integers(1, 4), odds), min_size=1, max_size=4), st.integers(1, 16))
def test_probabilities_of_all_states_add_to_one(kinds: list[tuple[int, float]], crews: int) -> None:
    units = [
        Unit(f"{kind}-{k}", (), (), str(kind), odds_down=down)
        for kind, (count, down) in enumerate(kinds)
        for k in range(count)
    ]
    space = all_states(units)
    assert sum(space.ways) == 2 ** len(units)
    found = state_probabilities(space.stopped, space.sizes, space.each("odds_down"), crews)
    assert found.sum() == pytest.approx(1.0, abs=1e-12)
    assert (found >= 0).all()


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 10), shares, st.data())
def test_one_more_alike_never_lowers_availability(n: int, share: float, data: Any) -> None:
    k = data.draw(st.integers(1, n))
    assert k_out_of_n(k, n + 1, share) >= k_out_of_n(k, n, share) - 1e-12
    each = {"id": "lift", "capacity_per_min": 1, "availability_ratio": share}
    body = {"required_balls_per_min": k, "repair_crews_count": 64}
    found = []
    for count in (n, n + 1):
        inputs = CALCULATOR.load({**body, "lifts": [{**each, "count": count}]})
        found.append(CALCULATOR.calculate(inputs).value["availability"]["with_crews_ratio"])
    assert found[1] >= found[0] - 1e-12


@given(st.integers(1, 12), odds)
def test_birth_and_death_with_a_repairer_for_each_is_the_binomial(n: int, down: float) -> None:
    up = 1 / (1 + down)
    found = stopped_distribution(n, down, n)
    expected = [math.comb(n, j) * up ** (n - j) * (1 - up) ** j for j in range(n + 1)]
    assert found == pytest.approx(expected, abs=1e-12)


@given(st.integers(1, 8), odds, st.integers(1, 4))
def test_alike_units_follow_birth_and_death(n: int, down: float, crews: int) -> None:
    stopped = np.arange(n + 1)[:, None]
    found = state_probabilities(stopped, np.array([n]), np.array([down]), crews)
    assert found == pytest.approx(stopped_distribution(n, down, crews), abs=1e-12)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.01, 1.0), st.floats(0.1, 10.0)), min_size=1, max_size=4),
    st.integers(1, 4),
)
def test_product_form_solves_the_balance_equations(
    units: list[tuple[float, float]], crews: int
) -> None:
    """Second method: the linear system of the Markov chain over all 2^n states."""
    n = len(units)
    states = np.array(list(product((0, 1), repeat=n)))
    index = {tuple(row): k for k, row in enumerate(states.tolist())}
    q = np.zeros((len(states), len(states)))
    for k, row in enumerate(states.tolist()):
        for i, (fail, repair) in enumerate(units):
            other = [*row[:i], 1 - row[i], *row[i + 1 :]]
            rate = repair * min(1.0, crews / sum(row)) if row[i] else fail
            q[k, index[tuple(other)]] += rate
            q[k, k] -= rate
    system = np.vstack([q.T, np.ones(len(states))])
    balance = np.linalg.lstsq(system, np.r_[np.zeros(len(states)), 1.0], rcond=None)[0]
    down = np.array([fail / repair for fail, repair in units])
    found = state_probabilities(states, np.ones(n, dtype=int), down, crews)
    assert found == pytest.approx(balance, abs=1e-9)


@st.composite
def networks(draw: Any) -> FlowNetwork:
    count = draw(st.integers(1, 5))
    names = ["s", *(f"n{k}" for k in range(count)), "t"]
    pairs = [(a, b) for a in names[:-1] for b in names[1:] if a != b]
    chosen = draw(st.lists(st.sampled_from(pairs), min_size=1, max_size=10, unique=True))
    elements, arcs = [], []
    for a, b in chosen:
        elements.append(Element(f"{a}>{b}", float(draw(st.integers(0, 20)))))
        arcs += [(a, f"{a}>{b}"), (f"{a}>{b}", b)]
    return FlowNetwork(elements, arcs, "s", "t")


@settings(max_examples=100, deadline=None)
@given(networks())
def test_flow_equals_the_cut_and_another_algorithm(network: FlowNetwork) -> None:
    flow = network.max_flow()
    assert flow is not None
    cut, capacity = network.min_cut(), {e.id: e.capacity_per_min for e in network.elements}
    assert sum(capacity[name] or 0.0 for name in cut.elements) == pytest.approx(flow)
    if flow > 0:
        assert network.max_flow(cut.elements) == 0.0
    plain: Any = nx.DiGraph()
    plain.add_nodes_from(("s", "t"))
    for element in network.elements:
        start, end = element.id.split(">")
        plain.add_edge(start, end, capacity=element.capacity_per_min)
    assert nx.maximum_flow_value(plain, "s", "t") == pytest.approx(flow)


@settings(max_examples=60, deadline=None)
@given(networks(), st.data())
def test_flows_of_many_states_equal_one_flow_each(network: FlowNetwork, data: Any) -> None:
    names = [e.id for e in network.elements]
    varying = data.draw(st.lists(st.sampled_from(names), unique=True, max_size=5))
    modules = network.modules(varying)
    place = {name: k for k, module in enumerate(modules) for name in module}
    limit = {e.id: e.capacity_per_min or 0.0 for e in network.elements}
    states = list(product((0, 1), repeat=len(varying)))
    capacities = np.zeros((len(states), len(modules)))
    for row, state in enumerate(states):
        for name, down in zip(varying, state, strict=True):
            capacities[row, place[name]] += 0.0 if down else limit[name]
    flows = network.flows_of(modules, capacities)
    for flow, state in zip(flows, states, strict=True):
        stopped = [name for name, down in zip(varying, state, strict=True) if down]
        assert flow == pytest.approx(network.max_flow(stopped))


@settings(max_examples=40, deadline=None)
@given(networks(), st.integers(1, 20))
def test_minimal_cuts_and_paths_meet_each_other(network: FlowNetwork, required: int) -> None:
    """Every minimal cut has a part in common with every minimal path, and none is smaller."""
    groups = {e.id: (e.id,) for e in network.elements[:6]}
    if not network.enough(required):
        return
    cuts = network.minimal_cuts(required, groups, largest=6)
    paths = network.minimal_paths(required, groups)
    assert all(set(cut) & set(path) for cut in cuts for path in paths)
    for cut in cuts:
        assert not network.enough(required, cut)
        assert all(network.enough(required, [x for x in cut if x != one]) for one in cut)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(rates, st.sets(st.integers(0, 4), min_size=1)), min_size=1, max_size=4),
    st.lists(rates, min_size=5, max_size=5),
    rates,
)
def test_lanes_in_order_reach_the_largest_flow(
    lanes: list[tuple[float, set[int]]], lifts: list[float], arriving: float
) -> None:
    flows = lane_flows([(rate, sorted(fed)) for rate, fed in lanes], lifts, arriving)
    assert all(-1e-9 <= flow <= rate + 1e-9 for flow, (rate, _) in zip(flows, lanes, strict=True))
    elements = [Element("in", arriving)]
    elements += [Element(f"lane{k}", rate) for k, (rate, _) in enumerate(lanes)]
    elements += [Element(f"lift{k}", rate) for k, rate in enumerate(lifts)]
    arcs = [("in", f"lane{k}") for k in range(len(lanes))]
    arcs += [(f"lane{k}", f"lift{i}") for k, (_, fed) in enumerate(lanes) for i in fed]
    arcs += [(f"lift{i}", "out") for i in range(len(lifts))]
    whole = FlowNetwork(elements, arcs, "in", "out").max_flow()
    assert sum(flows) == pytest.approx(whole)
    first_alone = min(lanes[0][0], arriving, sum(lifts[i] for i in lanes[0][1]))
    assert flows[0] == pytest.approx(first_alone)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.floats(1.0, 60.0), min_size=1, max_size=4),
    st.floats(0.05, 1.5),
    st.floats(0.0, 1.0),
    st.floats(3.0, 40.0),
)
def test_line_of_extra_balls_equals_small_time_steps(
    transits: list[float], capacity: float, running: float, lift_s: float
) -> None:
    """Second method: the same fluid, stepped through in hundredths of a second."""
    step, share = 0.01, 1.0 / len(transits)
    transits = [round(t, 2) for t in transits]
    lift_s = round(lift_s, 2)
    line = gathering_after_stop(1.0, capacity, running, lift_s, [(t, share) for t in transits])
    ticks = int(round((max(transits) + lift_s) / step))
    picked, extra, lag = np.zeros(ticks), np.zeros(ticks + 1), int(round(lift_s / step))
    top = np.zeros(ticks)
    delays = [int(round(t / step)) for t in transits]
    for k in range(ticks):
        top[k] = running if k < lag else (picked[k - lag] if running > 0 else 0.0)
        arriving = sum(share * (1.0 if k < d else top[k - d]) for d in delays)
        picked[k] = min(capacity, arriving + extra[k] / step)
        extra[k + 1] = extra[k] + (arriving - picked[k]) * step
    times = np.arange(ticks + 1) * step
    assert np.interp(times, line.time_s, line.extra_balls) == pytest.approx(extra, abs=0.05)
    assert line.peak_balls == pytest.approx(extra.max(), abs=0.05)
    assert min(line.extra_balls) >= 0.0


@given(st.integers(6, 60), st.integers(6, 60), st.floats(20.0, 200.0))
def test_even_links_give_back_a_centre_no_shorter(first: int, second: int, centre: float) -> None:
    length = chain.length_in_pitches((first, second), centre)
    links = chain.even_links(length)
    assert links % 2 == 0 and length - 1e-6 <= links < length + 2
    back = chain.centre_in_pitches((first, second), links)
    assert back >= centre - 1e-5
    assert chain.length_in_pitches((first, second), back) == pytest.approx(links)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(rates, shares), min_size=1, max_size=5),
    st.floats(1.0, 150.0),
    st.floats(20.0, 200.0),
)
def test_unlike_lifts_by_plain_enumeration(
    lifts: list[tuple[float, float]], required: float, lane: float
) -> None:
    """Second method: every combination written out, flow by adding up."""
    body = {
        "required_balls_per_min": required,
        "stations": {"return_lane_per_min": lane},
        "lifts": [
            {"id": f"l{k}", "capacity_per_min": rate, "availability_ratio": share}
            for k, (rate, share) in enumerate(lifts)
        ],
    }
    value = CALCULATOR.calculate(CALCULATOR.load(body)).value
    met = 0.0
    for state in product((True, False), repeat=len(lifts)):
        flow = min(lane, sum(r for (r, _), up in zip(lifts, state, strict=True) if up))
        weight = math.prod(a if up else 1 - a for (_, a), up in zip(lifts, state, strict=True))
        met += weight if flow >= required - 1e-9 * required else 0.0
    assert value["availability"]["independent_ratio"] == pytest.approx(met, abs=1e-9)
    assert sum(row["ways_count"] for row in value["states"]) == 2 ** len(lifts)
    assert all(row["flow_per_min"] <= min(lane, required) + 1e-9 for row in value["states"])
    flows = [row["flow_worst_per_min"] for row in value["by_stopped"]]
    assert flows == sorted(flows, reverse=True)


def test_balls_that_choose_at_random_pile_up_about_a_third_higher() -> None:
    """The stated assumption, simulated ball by ball: four lifts, two stop, three tracks."""
    rng = np.random.default_rng(7)
    transit, share, lift_s, gap = [14.0, 32.0, 75.0], [0.4, 0.35, 0.25], 27.334, 1 / 0.6
    peaks = []
    for _ in range(300):
        tops = [float(t) for t in range(-75, 28) if t < 0 or t % 2 == 0]
        arriving = [
            t + transit[k] for t, k in zip(tops, rng.choice(3, len(tops), p=share), strict=True)
        ]
        arriving = [t for t in arriving if t > 0]
        waiting, peak = 0, 0
        for tick in range(1, 67):  # one free hook at the foot every `gap` seconds
            now = tick * gap
            come = [t for t in arriving if t <= now]
            arriving = [t for t in arriving if t > now]
            waiting += len(come)
            peak = max(peak, waiting)
            if waiting:
                waiting -= 1
                arriving.append(now + lift_s + transit[int(rng.choice(3, p=share))])
        peaks.append(peak)
    line = gathering_after_stop(1.0, 0.6, 0.5, lift_s, list(zip(transit, share, strict=True)))
    assert 1.15 < float(np.mean(peaks)) / line.peak_balls < 1.45


def test_a_part_without_capacity_stays_a_part() -> None:
    """An arc of no capacity is dropped by the flow library; ours must still be found."""
    network = FlowNetwork([Element("a", 0.0)], [("s", "a"), ("a", "t")], "s", "t")
    assert network.max_flow() == 0.0
    assert network.flows_of([("a",)], np.array([[0.0], [5.0]])).tolist() == [0.0, 5.0]
