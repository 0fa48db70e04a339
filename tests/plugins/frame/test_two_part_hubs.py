"""Two-part hubs: the locks of one square face by hand, hubs one by one, and beams of the trade."""

from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from baywright_plugins.frame import Frame, build_frame
from baywright_plugins.frame.schemas import LayoutSchema
from baywright_plugins.frame.two_part_hubs import (
    NoSuchSlide,
    TwoPartHubs,
    diagonals,
    held_by_each_choice,
    largest_slides,
    open_ways,
    seat_tension_n,
    slides,
    sliding_axes,
    two_part_hubs,
)
from baywright_plugins.truss_check.first_slip import first_slip
from baywright_plugins.truss_check.section import section_model
from baywright_plugins.truss_check.solve import Solver
from tests.plugins.frame.test_build import KIT, read

ONE_PIECE, TWO_PART = KIT.hubs[0], KIT.hubs[1]
#: Corners of a square in the xz plane, in the order (0,0), (1,0), (0,1), (1,1).
SQUARE = np.array([[0.0, 0, 0], [1, 0, 0], [0, 0, 1], [1, 0, 1]])
RISING, FALLING = (0, 3), (1, 2)


def square(ways: list[int], pairs: list[tuple[int, int]], axis: int = 0) -> list[bool]:
    """Which hubs of the square are held; ways along the axis, diagonals by their corners."""
    exits = np.zeros((4, 3))
    exits[:, axis] = ways
    start, end = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    unit = (SQUARE[end] - SQUARE[start]) / np.sqrt(2)
    held: list[bool] = largest_slides(exits, start, end, unit).held.tolist()
    return held


OPPOSITE = [1, 1, -1, -1]  # the lower row opens toward +x, the upper toward -x


@pytest.mark.parametrize(
    ("pairs", "held"),
    [
        ([], [False] * 4),
        ([RISING], [True, False, False, True]),
        ([FALLING], [False, True, True, False]),
        ([RISING, FALLING], [True] * 4),
    ],
)
def test_one_square_face_by_hand(pairs: list[tuple[int, int]], held: list[bool]) -> None:
    """No diagonal, four loose; one, its own two hubs locked; both, all locked: both diagonals
    hold a face (common practice, no source; by hand from s_i a_i u = s_j a_j u)."""
    assert square(OPPOSITE, pairs) == held
    assert square(OPPOSITE, pairs, axis=2) == held


def test_all_open_ends_the_same_way_lock_nothing() -> None:
    assert square([1, 1, 1, 1], [RISING, FALLING]) == [False] * 4
    assert square([-1, -1, -1, -1], [RISING, FALLING]) == [False] * 4


def test_a_chequered_face_locks_nothing_either() -> None:
    """Hubs that take turns along both rows: each diagonal joins two that open the same way."""
    assert square([1, -1, -1, 1], [RISING, FALLING]) == [False] * 4


def test_rows_across_the_axis_may_take_turns_too() -> None:
    assert square([1, -1, 1, -1], [RISING, FALLING]) == [True] * 4


@st.composite
def half_hubs(draw: Any) -> tuple[Any, Any, Any, Any, Any, Any]:
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    n, d = draw(st.integers(1, 8)), draw(st.integers(0, 12))
    exits = np.zeros((n, 3))
    for row in exits:
        row[rng.integers(3)] = rng.choice([-1.0, 0.0, 1.0])
    start, end = rng.integers(n, size=d), rng.integers(n, size=d)
    end = np.where(end == start, (end + 1) % n, end)
    if n == 1:
        start, end = start[:0], end[:0]
    away = rng.choice([-120.0, 0.0, 84.8, 120.0], size=(len(start), 3)) + [0, 0, 1e-9]
    unit = away / np.linalg.norm(away, axis=1)[:, None]
    moves = rng.random((2, len(start))) < 0.8
    return exits, start, end, unit, moves[0], moves[1]


@settings(max_examples=60, deadline=None)
@given(half_hubs())
def test_one_programme_finds_what_one_for_each_hub_finds(case: tuple[Any, ...]) -> None:
    """The definition, hub by hub: the largest s_h with every other slide free, capped at 1."""
    exits, start, end, unit, start_moves, end_moves = case
    found = largest_slides(*case)
    n = len(exits)
    rows = np.zeros((len(start), n))
    for row, (i, j, u) in enumerate(zip(start, end, unit, strict=True)):
        rows[row, i] += (u @ exits[i]) * start_moves[row]
        rows[row, j] -= (u @ exits[j]) * end_moves[row]
    rows[np.abs(rows) < 1e-9] = 0.0
    for hub in range(n):
        if not exits[hub].any():
            assert found.held[hub]
            continue
        bounds = [(0, 1 if k == hub else None) for k in range(n)]
        answer: Any = linprog(
            -np.eye(n)[hub],
            A_eq=rows if len(rows) else None,
            b_eq=np.zeros(len(rows)) if len(rows) else None,
            bounds=bounds,
        )
        assert found.held[hub] == (answer.x[hub] < 0.5)
    assert np.abs(rows @ found.slide).max(initial=0.0) < 1e-6
    assert ((found.slide > 0) <= ~found.held).all()


def beam(bays: int, *, xz: str, xy: str) -> Frame:
    """A box beam along x: patterns of the faces across y and across z; one diagonal at each end."""
    faces = {
        "default": "single",
        **{"y_minus": xz, "y_plus": xz, "z_minus": xy, "z_plus": xy},
    }
    count = {"x": bays, "y": 1, "z": 1}
    spec = {
        "id": "A",
        "rods": {axis: [{"rod": "R120", "count": n}] for axis, n in count.items()},
        "side_faces": faces,
        "cross_faces": {"every": 0},
    }
    return build_frame(LayoutSchema().load({"sections": [spec]}), KIT)


def hubs_of(frame: Frame, **options: Any) -> TwoPartHubs:
    """Hubs that slide along the beam, in one piece where a diagonal lies across it."""
    axis = sliding_axes(frame)
    return two_part_hubs(frame, np.where(axis == 0, 0, -1), **options)


def factors(frame: Frame, held: Any, hubs: TwoPartHubs) -> tuple[Any, Any, Any]:
    """First-slip factors of a cantilever of the beam under 1 N at its tip: from the four sides
    (down, up, front, back), pulled and pushed; members that give and their forces."""
    model = section_model(frame, KIT, gravity_m_s2=9.81, buckling_margin=1.5)
    tension = seat_tension_n(frame, held, hubs.two_part, TWO_PART, ONE_PIECE).min(axis=1)
    fixed = np.repeat(frame.lattice[:, :1] == 0, 3, axis=1)
    tip = frame.lattice[:, 0] == frame.lattice[:, 0].max()
    ways = np.array([[0, 0, -1], [0, 0, 1], [0, -1, 0], [0, 1, 0], [1, 0, 0], [-1, 0, 0]])
    loads = tip[None, :, None] * ways[:, None, :] / 4.0
    force = Solver(model.truss(np.zeros(fixed.shape), fixed)).solve(loads).member_force_n
    slip = first_slip(force, tension, model.compression_n)
    return slip.factor, slip.member, force


PATTERNS = {
    "single": ("alternating", "alternating"),
    "two": ("crossed", "alternating"),
    "four": ("crossed", "crossed"),
}


def test_the_three_brace_patterns_come_out_in_the_order_of_the_trade() -> None:
    """Single diagonals, crosses on two opposite faces, crosses on four: the factors of a beam of
    nine bays grow in this order from each of the four sides (common practice, no source)."""
    found, held = {}, {}
    for name, (xz, xy) in PATTERNS.items():
        frame = beam(9, xz=xz, xy=xy)
        hubs = hubs_of(frame)
        assert hubs.two_part.sum() == 36  # of 40; two at each end bear the end diagonal
        held[name] = slides(frame, hubs).held
        factor, member, force = factors(frame, held[name], hubs)
        found[name] = factor
        assert (force[np.arange(6), member][:5] > 0).all()  # a seat pulled out, but when pushed
    sides = np.array([found[name][:4] for name in PATTERNS])
    assert (sides[1] > 2 * sides[0]).all(), "crosses on two resist both ways, singles neither"
    assert (sides[2] > sides[1]).all() and np.ptp(sides[2]) < 1e-6 * sides[2].max()
    assert held["two"].all() and held["four"].all() and (~held["single"]).sum() == 18
    # singles: every second hub of each chord is loose, so that every chord rod has a loose end
    assert found["single"][4] == pytest.approx(4 * TWO_PART.seat.tension_free_n)
    assert found["single"][5] == pytest.approx(4 * TWO_PART.seat.compression_n)


def test_crosses_on_the_wrong_faces_hold_no_more_than_singles() -> None:
    """Moving halves in the plane across z, crosses on the faces across y: the builder must turn
    the hubs so that the moving half lies in the crossed faces."""
    frame = beam(9, xz="crossed", xy="alternating")
    right, wrong = held_by_each_choice(frame, hubs_of(frame, moving="first"))
    assert right.all() and (~wrong).sum() == 18
    assert np.array_equal(slides(frame, hubs_of(frame, moving="second")).held, wrong)
    weak = factors(frame, wrong, hubs_of(frame))[0]
    strong = factors(frame, right, hubs_of(frame))[0]
    singles = beam(9, xz="alternating", xy="alternating")
    single = factors(singles, slides(singles, hubs_of(singles)).held, hubs_of(singles))[0]
    assert (weak[:4] < 1.4 * single[:4]).all() and (strong[:4] > 2 * weak[:4]).all()


def test_same_way_beams_lock_nothing_unless_hubs_in_one_piece_stop_them() -> None:
    frame = beam(6, xz="crossed", xy="crossed")
    hubs = hubs_of(frame, rule="same-way")
    state = slides(frame, hubs)
    assert (state.held == ~hubs.two_part).all()
    assert state.slide[hubs.two_part] == pytest.approx(1.0)
    stopped = slides(frame, hubs, anchors=True).held
    assert stopped.sum() == 2 * 7, "every second hub, all the way from the ends"


def test_explicit_ways_and_planes_go_before_the_rule() -> None:
    frame = beam(3, xz="crossed", xy="none")
    hubs = hubs_of(frame)
    free = np.flatnonzero(hubs.two_part)
    node = int(free[len(free) // 2])
    way = -int(hubs.way[node])
    flipped = hubs_of(frame, explicit_ways={node: way})
    assert flipped.way[node] == way and (flipped.way != hubs.way).sum() == 1
    turned = hubs_of(frame, explicit_moving={node: 2})
    assert not slides(frame, turned).held[node] and slides(frame, hubs).held[node]


def test_two_part_hubs_of_the_demo_machine() -> None:
    """An independent program counted 272 hubs that cannot be two-part, for diagonals in three
    planes or for want of any diagonal, and 976 others."""
    frame = build_frame(LayoutSchema().load(read("changed")), KIT)
    axis = sliding_axes(frame)
    expected = read("expected")["expected"]["parts_changed_plan"]
    which = diagonals(frame)
    ends = np.union1d(frame.start[which], frame.end[which])
    without = len(axis) - len(ends)
    assert (axis < 0).sum() + without == expected["one_piece_needed"]
    assert (axis >= 0).sum() - without == expected["two_part_possible"]
    hubs = two_part_hubs(frame, axis)
    for choice in held_by_each_choice(frame, hubs):
        assert choice[axis < 0].all() and 0 < (~choice).sum() < (axis >= 0).sum()


def test_faults_have_names() -> None:
    frame = beam(2, xz="single", xy="single")
    axis = sliding_axes(frame)
    one_piece = int(np.flatnonzero(axis != 0)[0])
    with pytest.raises(NoSuchSlide, match="no rule"):
        open_ways(frame, axis, "sideways")
    with pytest.raises(NoSuchSlide, match="give 1 or -1"):
        open_ways(frame, axis, "alternate", {0: 2})
    with pytest.raises(NoSuchSlide, match="in one piece") as fault:
        open_ways(frame, np.where(axis == 0, 0, -1), "alternate", {one_piece: 1})
    assert fault.value.node == one_piece
    with pytest.raises(NoSuchSlide, match="no seat"):
        two_part_hubs(frame, np.zeros(len(axis), dtype=np.int64))
    with pytest.raises(NoSuchSlide, match="holds the axis"):
        hubs_of(frame, explicit_moving={int(np.flatnonzero(axis == 0)[0]): 0})
    with pytest.raises(NoSuchSlide, match="no choice"):
        hubs_of(frame, moving="third")
    bare = Frame(
        frame.nodes_mm, np.full_like(frame.lattice, -1), frame.node_section, frame.start,
        frame.end, frame.rod, frame.section, frame.role, frame.sections,
    )  # fmt: skip
    with pytest.raises(NoSuchSlide, match="grid"):
        sliding_axes(bare)


def test_capacity_is_that_of_each_seat() -> None:
    frame = beam(4, xz="alternating", xy="alternating")
    hubs = hubs_of(frame)
    held = slides(frame, hubs).held
    seats = seat_tension_n(frame, held, hubs.two_part, TWO_PART, ONE_PIECE)
    for side, ends in enumerate((frame.start, frame.end)):
        for node, value in zip(ends.tolist(), seats[:, side].tolist(), strict=True):
            free = hubs.two_part[node] and not held[node]
            assert value == (24.0 if free else 60.0)
    assert {tuple(pair) for pair in seats.tolist()} >= set(product((24.0, 60.0), repeat=2)) - {
        (24.0, 24.0)
    }
