"""Pictures asked by their shapes; models name their sources."""

import doctest
import inspect
import math
from typing import Any

import pytest

from baywright_plugins.ramp_run import (
    RampRun,
    ball,
    bends,
    contact,
    edges,
    flight,
    resistance,
    ribs,
    slip,
    stretch,
)
from baywright_service.contract import Circle, Drawing, Label, Line, Polygon, Segments

CALCULATOR = RampRun()


def drawn(view: str, body: Any) -> Drawing:
    inputs = CALCULATOR.load(body)
    return CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), view)


def test_profile_joins_its_segments() -> None:
    """Each segment starts where the one before it ended; a loop comes back to its start."""
    drawing = drawn("profile", CALCULATOR.examples[3].inputs)
    width = CALCULATOR.examples[3].inputs["segments"]
    track = [s for s in drawing.shapes if isinstance(s, Line)][1 : 1 + len(width)]
    for before, after in zip(track, track[1:], strict=False):
        assert before.points[-1] == pytest.approx(after.points[0], abs=1e-6)
    loop = track[2].points
    assert loop[0] == pytest.approx(loop[-1], abs=1e-6)
    assert max(y for _, y in loop) - min(y for _, y in loop) == pytest.approx(240, rel=1e-6)


def test_trouble_is_marked_where_the_ball_stops() -> None:
    """A ring with a cross and a word, at the height of the track there."""
    body = {
        "ball": {"diameter_mm": 48, "mass_kg": 0.041, "restitution_min_ratio": 0.45},
        "rolling_resistance": {"min_ratio": 0.01, "max_ratio": 0.01},
        "air": {"density_kg_per_m3": 0},
        "supports": [{"id": "plane", "kind": "plane"}],
        "segments": [
            {"kind": "straight", "run_mm": 1000, "slope_percent": 4},
            {"kind": "level", "length_mm": 5000},
        ],
    }
    drawing = drawn("profile", body)
    ring = next(s for s in drawing.shapes if isinstance(s, Circle))
    # c = h/(run + level): 40 mm of fall at 0.01 last for 4000 mm, 3000 of them level.
    assert ring.centre[0] == pytest.approx(4000, rel=0.01)
    assert ring.centre[1] == pytest.approx(0, abs=1e-6)
    assert "stops" in {s.text for s in drawing.shapes if isinstance(s, Label)}
    assert any(isinstance(s, Segments) for s in drawing.shapes)


def test_balls_touch_the_ground_where_they_land() -> None:
    """Rings of the ball's radius stand on the floor, at both bounds."""
    body = CALCULATOR.examples[0].inputs
    landing = CALCULATOR.calculate(CALCULATOR.load(body)).value["segments"][1]["landing"]
    drawing = drawn("landing", body)
    rings = [s for s in drawing.shapes if isinstance(s, Circle)]
    on_floor = sorted(s.centre[0] for s in rings if s.centre[1] == pytest.approx(24))
    assert on_floor == pytest.approx([landing["touch_low_mm"], landing["touch_high_mm"]])
    assert any(isinstance(s, Polygon) for s in drawing.shapes)


def test_landing_without_a_drop_says_what_to_give() -> None:
    drawing = drawn("landing", CALCULATOR.examples[3].inputs)
    assert not drawing.shapes and "drop" in drawing.description


def test_section_touches_the_rods() -> None:
    """Distance of the centres is the sum of the radii."""
    drawing = drawn("section", CALCULATOR.examples[0].inputs)
    circles = [s for s in drawing.shapes if isinstance(s, Circle)]
    rods = [s for s in circles if s.radius == 4]
    big = next(s for s in circles if s.radius == 24)
    assert len(rods) == 2
    for rod in rods:
        assert math.dist(rod.centre, big.centre) == pytest.approx(28)


@pytest.mark.parametrize(
    "module", [ball, bends, contact, flight, resistance, slip, stretch], ids=lambda m: m.__name__
)
def test_examples_in_docstrings(module: object) -> None:
    outcome = doctest.testmod(module)  # type: ignore[arg-type]
    assert outcome.attempted > 0 and outcome.failed == 0


@pytest.mark.parametrize(
    "function",
    [
        ball.rolling_acceleration,
        bends.curve_limit,
        bends.curve_push,
        bends.loop_height,
        contact.rails,
        edges.cross,
        flight.fly,
        flight.release,
        flight.wall_height,
        resistance.from_test,
        ribs.least_slope,
        ribs.settled_speed,
        slip.gripped_speed,
        stretch.uniform,
    ],
    ids=lambda f: f.__name__,
)
def test_models_name_source_and_limits(function: object) -> None:
    words = inspect.getdoc(function) or ""
    assert "Source:" in words and "Leaves out:" in words
