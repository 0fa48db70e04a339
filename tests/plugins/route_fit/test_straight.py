"""Straight through openings: as grid-fit for boxes; hardware and weaving against searches."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.passages import Opening, through_opening
from baywright_plugins.route_fit.carried import Solid
from baywright_plugins.route_fit.hardware import past_hardware
from baywright_plugins.route_fit.passage import Hardware, Inside
from baywright_plugins.route_fit.passing import (
    Carried,
    Doorway,
    RouteClearances,
    RoutePassage,
    cross,
)
from baywright_plugins.route_fit.straight import weaving_size

HARD = settings(deadline=None, derandomize=True, max_examples=60)
BARE = RouteClearances(each_side_mm=0, above_mm=0, lifted_mm=0)
side = st.integers(2, 30).map(lambda n: 70.0 * n)


@HARD
@given(st.tuples(side, side, side), st.tuples(side, side), st.one_of(st.none(), side))
def test_boxes_fare_as_in_grid_fit(
    size: tuple[float, float, float], opening: tuple[float, float], depth: float | None
) -> None:
    """Same room left, same verdict, for doors and lifts alike."""
    door = Doorway(opening[0] + 16.0, opening[1] + 45.0)
    inside = None if depth is None else Inside(depth + 16.0, None, None)
    passage = RoutePassage("door", "Door", doorway=door, inside=inside)
    ours = cross(Carried("x", size), [passage], RouteClearances())[0]
    outside = dict(zip("xyz", size, strict=True))
    theirs = through_opening(outside, Opening(opening[0], opening[1], depth))
    assert ours.passes == theirs.passes
    if ours.passes:
        assert ours.spare_mm == pytest.approx(theirs.best.spare_mm)
        assert ours.attitude == theirs.best.attitude


def outline(rng: np.random.Generator) -> Carried:
    """A body with up to three blocks that stand out of it."""
    blocks = [Solid((20.0, 20.0, 20.0), (60.0, 60.0, 100.0))]
    for _ in range(rng.integers(0, 4)):
        low = rng.integers(0, 8, 3) * 10.0
        high = low + rng.integers(1, 4, 3) * 10.0
        blocks.append(Solid(tuple(low), tuple(high)))
    low = np.array([b.low_mm for b in blocks]).min(axis=0)
    moved = [
        Solid(tuple(np.array(b.low_mm) - low), tuple(np.array(b.high_mm) - low)) for b in blocks
    ]
    size = tuple(np.array([b.high_mm for b in moved]).max(axis=0))
    return Carried("o", size, tuple(moved))


def searched_shift(carried: Carried, door: Doorway, mirrored: bool) -> float:
    """Greatest square of free shifts on a grid of 2.5 mm, by looking at every shift."""
    step = 2.5
    width = carried.along("y")
    free = np.zeros((int(door.width_mm / step) + 1, int(door.height_mm / step) + 1), dtype=bool)
    for i in range(free.shape[0]):
        for k in range(free.shape[1]):
            free[i, k] = fits(carried, door, i * step, k * step, width, mirrored)
    best = -1
    run = np.zeros(free.shape, dtype=int)
    for i in range(free.shape[0]):
        for k in range(free.shape[1]):
            if free[i, k]:
                run[i, k] = 1 + (min(run[i - 1, k], run[i, k - 1], run[i - 1, k - 1])
                                 if i and k else 0)  # fmt: skip
                best = max(best, int(run[i, k]))
    return (best - 1) * step


def fits(
    carried: Carried, door: Doorway, dx: float, dz: float, width: float, mirrored: bool
) -> bool:
    for block in carried.blocks():
        y0, y1 = block.low_mm[1], block.high_mm[1]
        if mirrored:
            y0, y1 = width - y1, width - y0
        z0, z1 = block.low_mm[2] + dz, block.high_mm[2] + dz
        y0, y1 = y0 + dx, y1 + dx
        if y0 < 0 or z0 < 0 or y1 > door.width_mm or z1 > door.height_mm:
            return False
        for part in door.hardware:
            x0, x1 = (0.0, part.projects_mm)
            if part.side == "right":
                x0, x1 = door.width_mm - part.projects_mm, door.width_mm
            if y0 < x1 and y1 > x0 and z0 < part.to_mm and z1 > part.from_mm:
                return False
    return True


@pytest.mark.parametrize("seed", range(12))
def test_past_hardware_against_every_shift(seed: int) -> None:
    """Room past handles: as a search over all shifts finds it, for either end leading."""
    rng = np.random.default_rng(seed)
    carried = outline(rng)
    parts = tuple(
        Hardware(
            str(rng.choice(["left", "right"])), float(rng.integers(1, 4) * 10),
            low := float(rng.integers(0, 10) * 10), low + float(rng.integers(1, 5) * 10),
        )
        for _ in range(rng.integers(1, 4))
    )  # fmt: skip
    door = Doorway(float(rng.integers(7, 14) * 10), 140.0, hardware=parts)
    found = past_hardware(carried, door, BARE, "y", "z").room_mm
    searched = max(searched_shift(carried, door, mirrored) for mirrored in (False, True))
    if searched < 0:
        assert found < 0
    else:
        assert found == pytest.approx(searched, abs=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_weaving_against_a_search(seed: int) -> None:
    """Led through a wall step by step and shifted at every step: the least width that works."""
    rng = np.random.default_rng(100 + seed)
    carried = outline(rng)
    reveal = float(rng.choice([0.0, 10.0, 25.0]))
    low = np.array([b.low_mm for b in carried.blocks()])
    high = np.array([b.high_mm for b in carried.blocks()])

    def gets_through(width: float) -> bool:
        reached: set[int] = set(range(-100, 101))
        for front in np.arange(0.0, carried.along("x") + reveal + 0.1, 2.5):
            here = (low[:, 0] <= front) & (high[:, 0] >= front - reveal)
            if not here.any():
                continue
            first, last = low[here, 1].min(), high[here, 1].max()
            reached = {k for k in range(-100, 101)
                       if k * 2.5 + first >= 0 and k * 2.5 + last <= width}  # fmt: skip
            if not reached:
                return False
        return True

    need = weaving_size(carried, reveal, "x", "y")
    assert gets_through(need) and not gets_through(need - 2.5)


def test_a_motor_passes_above_the_crash_bar() -> None:
    """The box around it would stick; the outline goes through."""
    bar = Hardware("right", 90.0, 850.0, 1100.0)
    door = RoutePassage("d", "Door", doorway=Doorway(800.0, 2040.0, hardware=(bar,)))
    size = (900.0, 760.0, 1500.0)
    shape = (Solid((0, 0, 0), (900, 640, 1500)), Solid((300, 640, 1300), (500, 760, 1500)))
    box = cross(Carried("box", size, keep_upright=True), [door], BARE)[0]
    true = cross(Carried("true", size, shape, keep_upright=True), [door], BARE)[0]
    assert not box.passes and true.passes and true.exactness == "conservative"
    assert true.spare_mm == pytest.approx(40.0)


def test_which_face_to_lie_on() -> None:
    """Laid down, an outline lies on the face that less stands out of; a box on either."""
    size = (700.0, 800.0, 1900.0)
    knob = Solid((100, 700, 900), (200, 800, 1000))
    shape = (Solid((0, 0, 0), (700, 700, 1900)), knob)
    low = RoutePassage("d", "Door", doorway=Doorway(900.0, 1200.0))
    found = cross(Carried("o", size, shape), [low], BARE)[0].governs
    assert found.attitude in ("on-back", "on-end")
    assert found.face_down == {"on-back": "y-minus", "on-end": "x-minus"}[found.attitude]
    plain = cross(Carried("b", size), [low], BARE)[0].governs
    assert plain.face_down == "" and plain.attitude == found.attitude
