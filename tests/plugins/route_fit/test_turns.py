"""Corridors, doors in side walls, outlines round corners: against sweeps of angles."""

import math
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.corners import round_corner
from baywright_plugins.route_fit.carried import hull
from baywright_plugins.route_fit.corridor import through_corridors
from baywright_plugins.route_fit.doorway_turn import passage_needed, passages_both_sides
from baywright_plugins.route_fit.outline_corner import outline_round_corner
from baywright_plugins.route_fit.rolled import hull_lean

HARD = settings(deadline=None, derandomize=True, max_examples=15)
Points = list[tuple[float, float]]


def clipped(points: Points, axis: int, limit: float, sign: int) -> Points:
    """The part of a polygon where sign x (coordinate - limit) >= 0."""
    kept: Points = []
    for p, q in zip(points, points[1:] + points[:1], strict=True):
        f, g = sign * (p[axis] - limit), sign * (q[axis] - limit)
        if f >= 0:
            kept.append(p)
        if (f < 0) != (g < 0):
            r = f / (f - g)
            kept.append((p[0] + r * (q[0] - p[0]), p[1] + r * (q[1] - p[1])))
    return kept


def rectangle(corner: tuple[float, float], length: float, width: float, turn: float) -> Points:
    """A rectangle from its lowest corner, its length at an angle to the first axis."""
    c, s = math.cos(turn), math.sin(turn)
    x, y = corner
    return [
        (x, y), (x + length * c, y + length * s),
        (x + length * c - width * s, y + length * s + width * c), (x - width * s, y + width * c),
    ]  # fmt: skip


ANGLES = np.linspace(0.0, math.pi / 2, 1441)


def turns(passage: float, length: float, width: float, door: float, reveal: float) -> bool:
    """At every angle the part within the wall must be no wider than the door, until one angle
    lets the box be pushed straight on."""
    for turn in ANGLES.tolist():
        strip = width + reveal * math.cos(turn)  # of endless length, across the wall
        if turn > 0 and strip / math.sin(turn) <= door + 1e-9:
            return True
        box = rectangle((0.0, -passage), length, width, turn)
        if door_width(box, reveal) > door + 1e-9:
            return False
    return False


def door_width(box: Points, reveal: float) -> float:
    part = clipped(clipped(box, 1, 0.0, 1), 1, reveal, -1)
    return max(p[0] for p in part) - min(p[0] for p in part) if part else 0.0


@pytest.mark.parametrize(
    ("length", "width", "door", "reveal"),
    [(1814, 634, 745, 150), (1114, 634, 700, 0), (2600, 300, 800, 100), (900, 880, 900, 300),
     (3000, 60, 760, 600)],
)  # fmt: skip
def test_turning_into_a_door(length: float, width: float, door: float, reveal: float) -> None:
    """Against clipped outlines at 1,441 angles: it turns, and in a bit less it does not."""
    need = passage_needed(length, width, door, reveal).need_mm
    between = 1.1 * length * float(ANGLES[1])  # what lies between two angles
    assert turns(need, length, width, door, reveal)
    assert not turns(need - between, length, width, door, reveal)


@HARD
@given(*[st.floats(100, 1500)] * 3)
def test_a_deep_wall_is_nearly_a_corner(more: float, width: float, room: float) -> None:
    """With a very deep wall the door is the second corridor of a corner (Stewart, Calculus), but
    the passage goes on past it: what goes round such a corner turns here too."""
    length, door = width + more, width + room
    found = passage_needed(length, width, door, 1e8)
    corner = round_corner(length, width, (found.need_mm - 0.1, door))
    assert corner.turning_spare_mm <= 0


def test_a_deep_wall_is_a_corner_for_a_long_box() -> None:
    """A long box is tightest with its end within the wall, as in a corner."""
    for length, width, door in ((2400.0, 300.0, 700.0), (3000.0, 60.0, 760.0)):
        need = passage_needed(length, width, door, 1e8).need_mm
        corner = round_corner(length, width, (need, door))
        assert corner.turning_spare_mm == pytest.approx(0.0, abs=0.1)


def test_passages_on_both_sides() -> None:
    """Two narrow passages must hold the box between them; one side alone asks for less."""
    one, side, _ = passages_both_sides(1500.0, 500.0, 700.0, 100.0, 1300.0, None)
    two, _, _ = passages_both_sides(1500.0, 500.0, 700.0, 100.0, 1300.0, 1300.0)
    tight, _, _ = passages_both_sides(1500.0, 500.0, 700.0, 100.0, 1300.0, 200.0)
    assert side == "before" and one > 0 and two == one and tight < 0


def sequences(
    length: float, width: float, widths: tuple[float, ...], legs: tuple[float, ...]
) -> float:
    """Best sequence of lying along and across, every one of them tried."""
    size = {"along": (length, width), "across": (width, length)}
    best = -math.inf
    for states in product(size, repeat=len(widths)):
        room = math.inf
        for k, (now, then) in enumerate(zip(states, states[1:], strict=False)):
            down, across = size[now]
            corner = round_corner(down, across, (widths[k], widths[k + 1]))
            way = corner.turning_spare_mm
            if now != then:
                way = min(widths[k] - across, widths[k + 1] - down)
            room = min(room, way)
        for k, leg in enumerate(legs):
            room = min(room, leg - size[states[k + 1]][0])
        best = max(best, room)
    return best


@HARD
@given(st.floats(300, 2500), st.floats(100, 900), st.lists(st.floats(700, 2500), min_size=2,
       max_size=4), st.data())  # fmt: skip
def test_corridors_against_all_sequences(
    length: float, width: float, widths: list[float], data: st.DataObject
) -> None:
    """Z and U passages: the best of all ways to lie in each corridor."""
    legs = tuple(data.draw(st.floats(500, 4000)) for _ in widths[2:])
    found = through_corridors(length, width, tuple(widths), legs)
    assert found.spare_mm == pytest.approx(sequences(length, width, tuple(widths), legs), abs=1e-6)


@HARD
@given(st.floats(300, 2500), st.floats(100, 900), st.floats(600, 2500), st.floats(600, 2500))
def test_a_rectangle_as_an_outline(length: float, width: float, a: float, b: float) -> None:
    """The sweep of outlines gives a rectangle what the formula gives it, never more."""
    corners = hull([(0, 0), (length, 0), (length, width), (0, width)])
    found = outline_round_corner(corners, (a, b))
    exact = round_corner(length, width, (a, b)).turning_spare_mm
    assert exact - 0.26 <= found
    if length > max(a, b):  # else it may also turn within one corridor
        assert found <= exact + 1e-6


def blocks_in_plan(rng: np.random.Generator) -> list[tuple[float, float, float, float]]:
    body = (0.0, float(rng.uniform(600, 1800)), 0.0, float(rng.uniform(300, 700)))
    found = [body]
    for _ in range(rng.integers(1, 4)):
        x, y = rng.uniform(0, body[1]), rng.uniform(-150, body[3])
        found.append((x, x + rng.uniform(20, 300), y, y + rng.uniform(20, 250)))
    return found


@pytest.mark.parametrize("seed", range(5))
def test_an_outline_never_passes_where_its_blocks_clash(seed: int) -> None:
    """Corridors in which it is said just to pass: at 250 angles no block of it enters the inner
    corner, pushed against the outer walls as it is."""
    rng = np.random.default_rng(seed)
    blocks = blocks_in_plan(rng)
    points = [(x, y) for x0, x1, y0, y1 in blocks for x in (x0, x1) for y in (y0, y1)]
    corners = hull(points)
    a = float(np.ptp(corners[:, 1]) * rng.uniform(1.05, 1.6))
    low, high = a / 4, 8000.0
    for _ in range(20):
        b = (low + high) / 2
        low, high = (low, b) if outline_round_corner(corners, (a, b)) >= 0 else (b, high)
    assert least_depth(blocks, a, high) <= 1e-6
    box = [corners.min(axis=0), corners.max(axis=0)]
    length, width = (float(side) for side in box[1] - box[0])
    around = round_corner(length, width, (a, high)).turning_spare_mm
    assert outline_round_corner(corners, (a, high)) >= around - 0.26
    assert least_depth([], a, high - 3.0, corners) > 0 or high - 3.0 < a / 4


def least_depth(
    blocks: list[tuple[float, float, float, float]], a: float, b: float, outline: Any = ()
) -> float:
    """How deep blocks reach into the inner corner, the better end leading, the worse turn."""
    flat = [[(x0, y0), (x1, y0), (x1, y1), (x0, y1)] for x0, x1, y0, y1 in blocks]
    flat += [[(float(x), float(y)) for x, y in outline]] if len(outline) else []
    turns = np.linspace(0.0, math.pi / 2, 251)
    by_hand = []
    for mirror in (1.0, -1.0):
        ends = []
        for start in (0.0, math.pi):
            worst = -math.inf
            for turn in turns + start:
                c, s = math.cos(turn), math.sin(turn)
                shapes = [
                    [(c * mirror * y - s * x, s * mirror * y + c * x) for x, y in shape]
                    for shape in flat
                ]
                dx = -min(p[0] for shape in shapes for p in shape)
                dy = -min(p[1] for shape in shapes for p in shape)
                worst = max(worst, *(reach([(x + dx, y + dy) for x, y in sh], a, b)
                                     for sh in shapes))  # fmt: skip
            ends.append(worst)
        by_hand.append(min(ends))
    return max(by_hand)


def reach(shape: Points, a: float, b: float) -> float:
    """How far a polygon reaches beyond both x = a and y = b; 0 or less where it does not."""
    part = clipped(shape, 0, a, 1)
    return max((y - b for _, y in part), default=-math.inf)


@pytest.mark.parametrize("seed", range(8))
def test_leaning_outlines(seed: int) -> None:
    """The lean found is a real position of every block, and leaves what it says."""
    rng = np.random.default_rng(seed)
    blocks = blocks_in_plan(rng)
    points = [(x, y) for x0, x1, y0, y1 in blocks for x in (x0, x1) for y in (y0, y1)]
    corners = hull(points)
    wide, high = np.ptp(corners, axis=0)
    opening = (float(wide * 0.92), float(high * 1.5))
    found = hull_lean(corners, opening)
    if found is None:
        return
    angle, width, height, spare = found
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    xs, ys = [c * x - s * y for x, y in points], [s * x + c * y for x, y in points]
    assert max(xs) - min(xs) == pytest.approx(width)
    assert max(ys) - min(ys) == pytest.approx(height)
    assert spare == pytest.approx(min(opening[0] - width, opening[1] - height))


@pytest.mark.parametrize("more", [{}, {"legs_mm": []}])
def test_three_corridors_need_the_length_of_the_middle_one(
    post: Any, faults_of: Any, more: dict[str, Any]
) -> None:
    passage = {"id": "back", "kind": "corridor-corner", "corridors_mm": [1400, 1200, 1300]}
    box = {"id": "case", "outside_mm": {"x": 1200, "y": 600, "z": 900}}
    answer = post("route-fit", {"boxes": [box], "passages": [{**passage, **more}]})
    assert faults_of(answer) == [("/passages/0/legs_mm", "missing")]
