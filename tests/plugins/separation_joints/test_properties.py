"""Short ways of counting against long ones: whole ranks, every subset, linear programs."""

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from baywright_plugins.separation_joints.bridging import Piece, crossing
from baywright_plugins.separation_joints.couplings import layout_coupling
from baywright_plugins.separation_joints.cut_layout import Cut, pieces_of
from baywright_plugins.separation_joints.joint_facts import change_at, facts_of
from baywright_plugins.separation_joints.play import sideways_mm
from baywright_plugins.separation_joints.taking_apart import pulls_apart
from baywright_plugins.truss_check.stability import internal_stability
from tests.plugins.separation_joints.builds import (
    Json,
    frame_and_kit,
    machine,
    run,
    section,
)

PATTERNS = st.sampled_from(["none", "single", "crossed"])


@given(st.lists(st.tuples(PATTERNS, PATTERNS, PATTERNS), min_size=2, max_size=3))
@settings(deadline=None, derandomize=True, max_examples=6)
def test_bodies_put_together_count_as_the_whole_frame(kinds: list[tuple[str, str, str]]) -> None:
    """Sections with mechanisms of their own too: the same number as the rank of all rods."""
    sections = [
        section(
            f"S{k}", 1, 1, 2, cross_faces={"every": 0},
            side_faces={"default": sides, "x_plus": end, "z_plus": top},
        )
        for k, (sides, end, top) in enumerate(kinds)
    ]  # fmt: skip
    inputs = machine(*sections, rod="R120")
    frame, _ = frame_and_kit(inputs)
    whole = internal_stability(frame.nodes_mm, frame.start, frame.end).mechanisms
    assert run(inputs, bare=True).value["machine"]["mechanisms_count"] == whole


@st.composite
def machines(draw: Any) -> tuple[int, list[tuple[int, int, int]], list[float]]:
    """Sections on a small grid of places, jointed to some neighbours, with masses."""
    spots = sorted(draw(st.sets(st.tuples(*[st.integers(0, 2)] * 2, st.integers(0, 1)),
                                min_size=2, max_size=6)))  # fmt: skip
    links = []
    for a, b in itertools.permutations(range(len(spots)), 2):
        apart = [y - x for x, y in zip(spots[a], spots[b], strict=True)]
        if sorted(apart) == [0, 0, 1] and draw(st.booleans()):
            links.append((a, b, apart.index(1)))
    masses = draw(st.lists(st.integers(1, 9), min_size=len(spots), max_size=len(spots)))
    return len(spots), links, [float(m) for m in masses]


@given(machines())
@settings(deadline=None, derandomize=True, max_examples=60)
def test_every_pull_is_free_and_none_is_missed(
    case: tuple[int, list[tuple[int, int, int]], list[float]],
) -> None:
    """Every subset tried: each pull crosses joints of one axis and one side only, and where the
    search stops no subset can be pulled."""
    sections, links, masses = case
    apart = pulls_apart(sections, links, masses)
    left = set(range(len(links)))
    for pull in apart.pulls:
        free = _free(set(pull.moved), links, left)
        assert free == (pull.axis, pull.plus, set(pull.joints))
        left -= set(pull.joints)
    assert left == set(apart.locked)
    for size in range(1, sections):
        for subset in itertools.combinations(range(sections), size):
            free = _free(set(subset), links, left)
            assert free is None


def _free(
    moved: set[int], links: list[tuple[int, int, int]], left: set[int]
) -> tuple[int, bool, set[int]] | None:
    """Axis, side and joints of a free pull of a subset; None where it is not free."""
    crossing_joints = {j for j in left if (links[j][0] in moved) != (links[j][1] in moved)}
    ways = {(links[j][2], links[j][1] in moved) for j in crossing_joints}
    if len(ways) != 1:
        return None
    axis, plus = ways.pop()
    return None if axis == 2 and not plus else (axis, plus, crossing_joints)


def test_a_ring_that_no_pull_opens() -> None:
    """Four sections round a hole can be pulled apart in halves; with one joint turned, not all."""
    ring = [(0, 1, 0), (2, 3, 0), (0, 2, 1), (1, 3, 1)]
    assert pulls_apart(4, ring, [1.0] * 4).locked == ()
    assert pulls_apart(2, [(0, 1, 0), (0, 1, 1)], [1.0, 1.0]).locked == (0, 1)


@given(st.integers(1, 3), st.integers(1, 4), st.floats(0.01, 1.0))
@settings(deadline=None, derandomize=True, max_examples=15)
def test_tilt_and_gap_are_the_most_that_play_allows(deep: int, tall: int, play: float) -> None:
    """A linear program over all small motions: each rod within its play, the gap at the top edge
    as wide as it can be."""
    inputs = machine(section("A", 1, deep, tall + 2), section("B", 1, deep, tall))
    inputs["kit"]["hubs"][0]["seat_play_mm"] = play / 2
    frame, kit = frame_and_kit(inputs)
    joint = layout_coupling(frame, 0, 1, 0, 0)
    facts = facts_of(frame, kit, joint)
    places = frame.nodes_mm[[a for a, _ in joint.coupled]]
    rows = np.column_stack([np.ones(len(places)), places[:, 1], places[:, 2]])
    top = (tall + 2) * 120.0
    answer = linprog(
        -np.array([1.0, 0.0, top]), A_ub=np.vstack([rows, -rows]),
        b_ub=np.full(2 * len(rows), play), bounds=[(None, None)] * 3,
    )  # fmt: skip
    middle = linprog(
        -np.array([0.0, 0.0, 1.0]), A_ub=np.vstack([rows, -rows]),
        b_ub=np.full(2 * len(rows), play), bounds=[(None, None)] * 3,
    )  # fmt: skip
    opens = change_at(frame, joint, facts.play_mm, top)
    assert opens is not None
    lean = next(tilt for tilt in facts.tilts if tilt.across == 2)
    assert np.tan(lean.tilt_rad) == pytest.approx(abs(float(middle.fun or 0.0)), rel=1e-6)
    at_corner = np.column_stack([np.ones(1), [0.0], [top]]) @ answer.x
    assert opens == pytest.approx(float(at_corner[0]))


@given(st.floats(1.0, 500.0), st.floats(0.001, 2.0))
@settings(deadline=None, derandomize=True, max_examples=40)
def test_sideways_is_where_the_leaning_rod_is_drawn_out(gap: float, play: float) -> None:
    """At that slide the rod's length is its pitch and its play."""
    assert np.hypot(gap, sideways_mm(gap, play)) == pytest.approx(gap + play, rel=1e-12)


@given(
    st.sampled_from(["over", "in", "loose"]), st.floats(5, 200), st.floats(5, 200),
    st.floats(0, 3), st.floats(0, 5), st.floats(0, 20), st.floats(0, 3),
)  # fmt: skip
@settings(deadline=None, derandomize=True, max_examples=150)
def test_a_piece_fits_where_it_fits_at_both_ends_of_the_play(
    how: str, length: float, span: float, change: float, bearing: float, bears: float, grown: float
) -> None:
    """Gap open and gap closed, piece grown and not: the rule holds in all four."""
    found = crossing(Piece(how, length, bearing, bears, grown), span, change)
    states = [(span + s * change, length + g) for s in (-1, 1) for g in (0.0, grown)]
    if how == "over":
        by_hand = all(piece - gap >= 2 * bearing for gap, piece in states)
    elif how == "in":
        by_hand = all(0 <= gap - piece <= bears for gap, piece in states)
    else:
        by_hand = all(piece - gap >= bears for gap, piece in states)
    near = [found.needed_mm - length, (found.most_mm or 1e9) - length]
    if min(abs(x) for x in near) > 1e-3:
        assert (found.long_enough and found.short_enough) == by_hand


@given(
    st.integers(0, 2), st.integers(1, 3), st.booleans(),
    st.tuples(st.integers(2, 4), st.integers(2, 3), st.integers(2, 4)),
    st.lists(st.integers(-3, 4), min_size=1, max_size=3),
)  # fmt: skip
@settings(deadline=None, derandomize=True, max_examples=20)
def test_a_cut_loses_nothing(
    axis: int, after: int, closed: bool, bays: tuple[int, int, int], levels: list[int]
) -> None:
    """Equipment keeps its mass; cut open the plane of hubs is doubled and nothing else is."""
    after = min(after, bays[axis] - 1)
    spec = section("A", *bays, fittings=[{"title": "x", "mass_kg": 7.0, "levels": levels}])
    spec["second_diagonals"] = [[[0, 0, 0], [1, 1, 0]]]
    cut = Cut("A", axis, after, "R60", closed)
    pair = pieces_of(spec, cut, ("A-a", "A-b"))
    mass = sum(f["mass_kg"] for piece in pair for f in piece["fittings"])
    assert mass == pytest.approx(7.0)
    before, _ = frame_and_kit(machine(spec))
    halves: Json = machine(*pair, axis="xyz"[axis])
    after_it, _ = frame_and_kit(halves)
    more = len(after_it.nodes_mm) - len(before.nodes_mm)
    if closed:
        assert more >= _shared(bays, axis, after)
    else:
        assert more == _shared(bays, axis, after)


def _shared(bays: tuple[int, int, int], axis: int, after: int) -> int:
    """Hubs of the plane that bays on both sides of it have as a corner."""
    sides: list[set[tuple[int, ...]]] = [set(), set()]
    for bay in itertools.product(*(range(n) for n in bays)):
        if sum(i in (0, n - 1) for i, n in zip(bay, bays, strict=True)) < 2:
            continue
        for corner in itertools.product(*((i, i + 1) for i in bay)):
            if corner[axis] == after:
                sides[bay[axis] >= after].add(corner)
    return len(sides[0] & sides[1])
