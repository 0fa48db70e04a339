"""Standing, castors and orders against brute force."""

import math
from itertools import permutations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from pytest import approx

from baywright_plugins.carry_and_stand.bodies import Body, bodies_of_rows, together
from baywright_plugins.carry_and_stand.castors import corner_loads, stands_on_three
from baywright_plugins.carry_and_stand.setting_up import best_order, standing_deg
from baywright_plugins.carry_and_stand.support import Lean, edges_of, tip_angle_deg, tipping_push_n
from baywright_plugins.carry_and_stand.team import at_the_ends
from tests.plugins.carry_and_stand.machines import Json, box


def bodies(*rows: Json) -> list[Body]:
    return bodies_of_rows([{"title": "", **row} for row in rows])


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 900)), min_size=3, max_size=8),
    st.integers(50, 2000),
)
def test_tip_angle_against_tilting_in_every_direction(
    feet: list[tuple[int, int]], height: int
) -> None:
    """Tilted toward a direction, a body tips where its centre stands over the farthest foot."""
    centre = (float(np.mean([x for x, _ in feet])), float(np.mean([y for _, y in feet])))
    edge = edges_of([(float(x), float(y)) for x, y in feet], centre)[0]
    turns = np.radians(np.arange(0, 360, 0.25))
    reach = np.max(
        [
            (x - centre[0]) * np.cos(turns) + (y - centre[1]) * np.sin(turns)
            for x, y in feet
        ],
        axis=0,
    )  # fmt: skip
    assert edge.lever_mm <= reach.min() + 1e-6
    assert edge.lever_mm >= reach.min() - 5.0
    assert tip_angle_deg(edge.lever_mm, height) <= math.degrees(math.atan2(900, height)) + 1


def test_feet_in_line_or_in_one_point_hold_nothing() -> None:
    assert edges_of([(0, 0), (100, 100), (50, 50)], (50, 50))[0].lever_mm == approx(0)
    assert edges_of([(0, 0), (100, 0)], (50, 30))[0].lever_mm == approx(-30)
    assert edges_of([(5, 5)], (5, 5))[0].lever_mm == 0


def test_a_push_on_a_slope_by_turning_the_picture() -> None:
    """At the tip angle no push is left; on the level it is W a / H."""
    angle = tip_angle_deg(300, 750)
    assert tipping_push_n(200, 300, 750, 1200, angle) == approx(0, abs=1e-9)
    assert tipping_push_n(200, 300, 750, 1200) == approx(50)
    assert tipping_push_n(200, 300, 750, 1200, angle + 5) == 0


def test_leaning_by_hand() -> None:
    """0.9 x 700 N x 0.3 m against 1.5 x 300 N x 1.2 m; each remedy brings both sides level."""
    lean = Lean(300, 1200)
    assert not lean.holds(700, 300, 1200)
    assert lean.most_n(700, 300, 1200) == approx(105)
    ballast = lean.ballast_n(700, 300, 1200)
    assert ballast == approx(1300) and lean.holds(700 + 1300, 300, 1200)
    assert lean.holds(700, 300 + lean.outrigger_mm(700, 300, 1200), 1200)
    tie = lean.tie_n(700, 300, 1200, 1800)
    assert tie * 1.8 + 0.9 * 700 * 0.3 == approx(540)
    assert lean.ballast_n(700, 0, 1200) is None


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(0.1, 0.9), st.floats(0.1, 0.9))
def test_castor_loads_against_a_plate_on_springs(u: float, v: float) -> None:
    """Least squares on the stiffness of four springs under a rigid plate."""
    corners = np.array([[0, 0], [800, 0], [0, 500], [800, 500]], dtype=float)
    design = np.column_stack([np.ones(4), corners])
    load = np.array([1.0, u * 800, v * 500])
    loads = design @ np.linalg.solve(design.T @ design, load)
    assert corner_loads((800, 500), (u * 800, v * 500)) == approx(loads.tolist(), abs=1e-9)


def test_one_castor_away() -> None:
    assert stands_on_three((600, 600), (300, 300))
    assert not stands_on_three((600, 600), (310, 300))


@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    st.lists(
        st.tuples(st.integers(5, 40), st.integers(300, 900), st.integers(400, 2200)),
        min_size=2,
        max_size=4,
    ),
    st.integers(0, 7),
)
def test_the_order_against_all_orders(rows: list[tuple[int, int, int]], joined: int) -> None:
    """Every permutation, every state, coupled groups found by spreading from each section."""
    things = bodies(
        *(box(f"s{k}", m, (w, 500, h)) for k, (m, w, h) in enumerate(rows))
    )  # fmt: skip
    pairs = [(k, k + 1) for k in range(len(rows) - 1) if joined >> k & 1]

    def groups(placed: tuple[int, ...]) -> list[set[int]]:
        found: list[set[int]] = []
        for number in placed:
            group = {number}
            for _ in placed:
                group |= {b for a in group for p in pairs for b in p if a in p and b in placed}
            found.append(group)
        return found

    def worst(order: tuple[int, ...]) -> float:
        return min(
            standing_deg([things[n] for n in sorted(group)])
            for k in range(len(order))
            for group in groups(order[: k + 1])
        )

    every = [worst(order) for order in permutations(range(len(rows)))]
    best = best_order(things, pairs)
    assert best.least_tip_deg == approx(max(every), abs=1e-5)
    assert best.worst_order_deg == approx(min(every), abs=1e-5)
    assert worst(tuple(step.section for step in best.steps)) == approx(max(every), abs=1e-5)


def test_upper_sections_go_on_those_below() -> None:
    upper = {**box("U", 5, (600, 600, 500)), "at_mm": [0, 0, 900]}
    lower = {**box("L", 20), "at_mm": [0, 0, 0]}
    best = best_order(bodies(upper, lower), [])
    assert [step.section for step in best.steps] == [1, 0]
    whole = together(bodies(upper, lower))
    assert whole.centre[2] == approx((20 * 450 + 5 * 1150) / 25)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.lists(st.integers(5, 30), min_size=2, max_size=3), st.integers(1, 40), st.integers(0, 10))
def test_people_at_the_ends_keep_every_limit(caps: list[int], mass: int, tenths: int) -> None:
    low = mass * tenths / 10
    ends = at_the_ends(low, mass - low, caps, caps, share_at_ends=True)
    assert ends is not None and sorted((*ends.low, *ends.high)) == list(range(len(caps)))
    share = {2: 2 / 3, 3: 1 / 2}[len(caps)]
    used = (
        mass / (share * sum(caps)),
        low / (share * sum(caps[k] for k in ends.low)),
        (mass - low) / (share * sum(caps[k] for k in ends.high)),
    )
    assert ends.used_ratio == approx(max(used))
