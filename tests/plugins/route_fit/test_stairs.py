"""Stairs: flights, bends and landings against searches over positions; outcomes by hand."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.route_fit.passage import Flight, Landing
from baywright_plugins.route_fit.passing import Carried, RouteClearances, RoutePassage, cross
from baywright_plugins.route_fit.stairs import along_need, bend_room, landing_need, level_need

HARD = settings(deadline=None, derandomize=True, max_examples=20)
BARE = RouteClearances(
    carrier_each_end_mm=0, stairs_each_side_mm=0, stairs_lifted_mm=0, stairs_above_mm=0
)
GOING, RISE = 280.0, 170.0
SLOPE = math.atan2(RISE, GOING)


def steps_at(x: np.ndarray) -> np.ndarray:
    """Height of the steps: step k starts at k goings with its edge k + 1 rises up."""
    return RISE * (np.floor(x / GOING) + 1)


def edge_line(x: np.ndarray) -> np.ndarray:
    """The line through the step edges."""
    return RISE * (x / GOING + 1)


def test_a_level_box_against_real_steps() -> None:
    """Slid up real steps in 2,000 positions, resting on what is under it: the headroom that the
    lowest edge of its top asks for, above the line through the step edges."""
    length, height = 1300.0, 700.0
    least = 0.0
    for start in np.linspace(0.0, 5 * GOING, 2000):
        under = steps_at(np.linspace(start, start + length, 500))
        top = float(under.max()) + height
        least = max(least, top - float(edge_line(np.array([start]))[0]))
    assert level_need(length, height, SLOPE) == pytest.approx(least, abs=2.0)
    assert level_need(length, height, SLOPE) >= least - 1e-9


def test_a_box_along_the_stairs_rests_on_step_edges() -> None:
    """Its top is this far, plumb, above the line through the step edges."""
    height = 640.0
    base = np.array([(0.0, RISE), (3 * GOING, 4 * RISE)])
    along = (base[1] - base[0]) / np.hypot(*(base[1] - base[0]))
    top = base[0] + height * np.array([-along[1], along[0]])
    plumb = float(top[1] - edge_line(np.array([top[0]]))[0])
    assert along_need(height, SLOPE) == pytest.approx(plumb)


def searched_bend(length: float, slope: float, landing: float, flight: float) -> float:
    """Greatest height of a box for which, at 500 angles, the edge of the ceiling at the foot of
    the flight stays outside it, both ends of its base on floor and slope."""
    edge_x = (landing - flight) / math.tan(slope)
    corner = np.array([edge_x, landing])
    best = math.inf
    for turn in np.linspace(0.0, slope, 500):
        # the lower end on the floor, the upper on the slope: found by intersecting, not by sines
        low, high = -length, 0.0
        for _ in range(50):
            middle = (low + high) / 2
            x, y = middle + length * math.cos(turn), length * math.sin(turn)
            above = y > max(x, 0.0) * math.tan(slope)
            low, high = (middle, high) if above else (low, middle)
        foot = np.array([high, 0.0])
        normal = np.array([-math.sin(turn), math.cos(turn)])
        best = min(best, float(normal @ (corner - foot)))
    return best


@pytest.mark.parametrize(
    ("length", "landing", "flight"),
    [(1900.0, 2300.0, 2100.0), (1200.0, 2100.0, 2100.0), (2600.0, 2000.0, 2400.0)],
)
def test_the_bend_at_the_foot(length: float, landing: float, flight: float) -> None:
    """Where the box leaves the level for the slope: as the search finds it."""
    found = bend_room(length, 300.0, SLOPE, landing, flight)
    assert found == pytest.approx(searched_bend(length, SLOPE, landing, flight) - 300.0, abs=0.2)


def test_the_bend_meets_both_ends() -> None:
    """A very short box has at the bend what it has on landing and flight."""
    found = bend_room(1e-6, 0.0, SLOPE, 2200.0, 2000.0)
    assert found == pytest.approx(2000.0 * math.cos(SLOPE), abs=0.1)


@HARD
@given(st.floats(300, 2500), st.floats(100, 900), st.floats(600, 2000), st.floats(600, 2000))
def test_turning_level_on_a_landing(length: float, width: float, a: float, b: float) -> None:
    """The bound on reach over the flights holds at every angle of the sweep."""
    t = np.linspace(0.0, math.pi / 2, 2001)
    down = np.maximum(length * np.sin(t) + width * np.cos(t) - b, 0.0)
    up = np.maximum(length * np.cos(t) + width * np.sin(t) - a, 0.0)
    need = 500.0 + math.tan(SLOPE) * float((down + up).max())
    assert landing_need(length, width, 500.0, SLOPE, (a, b)) >= need - 1e-9


def stairs(*landings: Landing, headroom: float = 2300.0, width: float = 1000.0) -> RoutePassage:
    return RoutePassage(
        "stairs", "Stairs", "stairs", flight=Flight(GOING, RISE, width, headroom, landings)
    )


def test_level_before_along_before_lying() -> None:
    """A box goes level where there is headroom, else along the stairs, else lying."""
    slope = math.tan(SLOPE)
    for size, attitude, how, spare in (
        ((900.0, 600.0, 1700.0), "upright", "level", 2300.0 - 1700.0 - 600.0 * slope),
        ((900.0, 1400.0, 1800.0), "upright", "along-the-stairs", 0.0),
        ((800.0, 600.0, 2600.0), "on-back", "level", 0.0),
    ):
        found = cross(Carried("b", size), [stairs()], BARE)[0]
        assert (found.passes, found.attitude, found.how) == (True, attitude, how)
        if spare:
            assert found.spare_mm == pytest.approx(min(spare, 1000.0 - 900.0))


def test_kept_upright_it_is_not_leant_on_the_stairs() -> None:
    """This side up: level or not at all."""
    box = Carried("b", (900.0, 1400.0, 1800.0), keep_upright=True)
    found = cross(box, [stairs()], BARE)[0]
    assert not found.passes and found.governs.how == "level"


def test_quarter_landing_on_end() -> None:
    """Too long to turn level, a box stood on end turns on the spot: its side diagonal upwards,
    its end's diagonal within the landing."""
    landing = Landing("quarter", 1000.0, 1000.0, 2600.0)
    found = cross(Carried("b", (2100.0, 500.0, 600.0)), [stairs(landing)], BARE)[0]
    turn = found.ways[1]
    assert found.passes and (turn.obstacle, turn.how) == ("landing-1", "on-end")
    assert turn.spare_mm == pytest.approx(1000.0 - math.hypot(500.0, 600.0))
    low = Landing("quarter", 1000.0, 1000.0, 2050.0)
    stuck = cross(Carried("b", (2100.0, 500.0, 600.0)), [stairs(low)], BARE)[0]
    assert not stuck.passes


def test_half_landing_needs_its_length() -> None:
    """Half a turn: the box must lie on the landing whole, or be short enough to slide over."""
    wide = Landing("half", 1400.0, 2600.0, 2300.0)
    box = Carried("b", (1300.0, 500.0, 500.0))
    assert cross(box, [stairs(wide)], BARE)[0].passes
    narrow = Landing("half", 520.0, 2100.0, 1200.0)
    assert not cross(box, [stairs(narrow)], BARE)[0].passes


def test_the_tightest_is_named() -> None:
    """A flight narrower than the box's smallest side: the width decides."""
    found = cross(Carried("b", (900.0, 900.0, 900.0)), [stairs(width=850.0)], BARE)[0]
    assert (found.passes, found.governs.tight) == (False, "width")
    assert found.spare_mm == pytest.approx(-50.0)
