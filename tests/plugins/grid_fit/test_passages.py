"""Boxes through openings: the best position of each kind, never beaten by trying them all."""

import math
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.passages import Opening, through_opening
from baywright_plugins.grid_fit.route import Clearances, at_stop, passage_of

SIDE = st.floats(50.0, 2500.0)
AXES = ("x", "y", "z")


@settings(deadline=None, max_examples=200)
@given(st.tuples(SIDE, SIDE, SIDE), SIDE, SIDE)
def test_passes_exactly_where_some_position_does(
    sides: tuple[float, float, float], width: float, height: float
) -> None:
    """Every way to lead the box, each rolled through 9,001 angles, agrees with the answer."""
    box = dict(zip(AXES, sides, strict=True))
    found = through_opening(box, Opening(width, height))
    turn = np.radians(np.linspace(0, 90, 9_001))
    best = -math.inf
    for travel in AXES:
        p, q = (box[axis] for axis in AXES if axis != travel)
        for one, two in ((p, q), (q, p)):
            wide = width - (one * np.cos(turn) + two * np.sin(turn))
            high = height - (one * np.sin(turn) + two * np.cos(turn))
            best = max(best, float(np.minimum(wide, high).max()))
    if found.passes:
        assert best >= -0.5
    else:
        assert best <= 1e-6


@given(st.tuples(SIDE, SIDE, SIDE), SIDE, SIDE)
def test_upright_means_upright(
    sides: tuple[float, float, float], width: float, height: float
) -> None:
    """Upright: z stays up and the narrower of the two ways round is tried."""
    x, y, z = sides
    found = through_opening(dict(zip(AXES, sides, strict=True)), Opening(width, height))
    assert found.upright is not None
    assert found.upright.passes == (min(x, y) <= width + 1e-9 and z <= height + 1e-9)
    if found.upright.passes:
        assert found.best.attitude == "upright"


@given(st.tuples(SIDE, SIDE, SIDE), SIDE, SIDE)
def test_turned_means_on_a_face(
    sides: tuple[float, float, float], width: float, height: float
) -> None:
    """Laid down: one of the other two axes stands up."""
    found = through_opening(dict(zip(AXES, sides, strict=True)), Opening(width, height))
    fits = any(
        across <= width + 1e-9 and up <= height + 1e-9
        for up_axis, across_axis, _ in permutations(range(3))
        if up_axis != 2
        for up, across in [(sides[up_axis], sides[across_axis])]
    )
    assert found.turned is not None and found.turned.passes == fits


def test_no_turning_helps() -> None:
    """754 against 729: every size of the section exceeds the opening's smaller side."""
    found = through_opening({"x": 1114.0, "y": 754.0, "z": 1499.0}, Opening(729.0, 1915.0))
    assert not found.passes and not found.turning_helps
    assert (found.best.needed_mm, found.best.allowed_mm, found.best.tight_axis) == (754, 729, "y")


def test_a_tall_narrow_frame_leans_under_the_lintel() -> None:
    """2050 x 50 is too tall for 2000, but leans into a clear 900 x 2000."""
    found = through_opening({"x": 2500.0, "y": 50.0, "z": 2050.0}, Opening(900.0, 2000.0))
    assert found.upright is not None and not found.upright.passes
    assert found.turned is not None and not found.turned.passes
    assert found.best.attitude == "tilted"
    assert found.best.spare_mm == pytest.approx(81.97, abs=0.01)


def test_depth_of_a_lift_car() -> None:
    """Through the door of a 630 kg lift (EN 81-70 type 2, car 1400 deep), but too long for it."""
    size = {"x": 1600.0, "y": 600.0, "z": 1200.0}
    lift = Opening(800.0, 2000.0, 1400.0)
    found = through_opening(size, lift)
    assert found.upright is not None
    assert found.upright.tight == "depth" and not found.upright.passes
    assert found.best.attitude == "on-end" and found.best.passes  # 1600 standing up, 1200 long


def test_led_along_one_axis_only() -> None:
    """A flat cross-section led along x: neither turned to lead with y nor with z."""
    size = {"x": 300.0, "y": 100.0, "z": 2100.0}
    assert through_opening(size, Opening(2000.0, 800.0)).passes
    along_x = through_opening(size, Opening(2000.0, 800.0), led_along="x")
    assert not along_x.passes and along_x.best.travel == "x"
    assert through_opening(size, Opening(2000.0, 836.0), led_along="x").best.attitude == "tilted"


def test_clearances_and_threshold() -> None:
    """Hands at each side, room above, lifted at least as high as the threshold."""
    stop = passage_of(
        id="door",
        title="",
        width_mm=745.0,
        height_mm=1960.0,
        depth_mm=None,
        threshold_mm=20.0,
        corner_mm=None,
        clearances=Clearances(),
    )
    assert stop.opening == Opening(729.0, 1915.0)
    high = passage_of(
        id="door",
        title="",
        width_mm=745.0,
        height_mm=1960.0,
        depth_mm=1000.0,
        threshold_mm=50.0,
        corner_mm=None,
        clearances=Clearances(),
    )
    assert high.opening == Opening(729.0, 1895.0, 984.0)


def test_by_hand_goes_before_the_skid() -> None:
    """Where both work the carriers' way is named; where only the skid does, the skid."""
    corner = passage_of(
        id="corner",
        title="",
        width_mm=None,
        height_mm=None,
        depth_mm=None,
        threshold_mm=0.0,
        corner_mm=(1200.0, 1200.0),
        clearances=Clearances(),
    )
    easy = at_stop({"x": 600.0, "y": 600.0, "z": 900.0}, corner, Clearances()).corner
    assert easy is not None and (easy.carried, easy.attitude) == ("by-hand", "upright")
    long = at_stop({"x": 1700.0, "y": 700.0, "z": 1700.0}, corner, Clearances()).corner
    assert long is not None and long.passes and long.carried == "on-skid"
