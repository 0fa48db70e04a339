"""Pictures asked by their shapes."""

from typing import Any

import pytest

from baywright_plugins.floor_tiling_ratio import FloorTilingRatio
from baywright_service.contract import Circle, Drawing, Line, Polygon

CALCULATOR = FloorTilingRatio()


def drawn(view: str, body: Any) -> Drawing:
    inputs = CALCULATOR.load(body)
    return CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), view)


def test_meeting_shows_every_bay_panel_and_mark() -> None:
    """5 bays over 12 panels, marks at both ends and at the node inside the third bay."""
    drawing = drawn("meeting", CALCULATOR.examples[1].inputs)
    assert sum(isinstance(shape, Polygon) for shape in drawing.shapes) == 5 + 12
    marks = [shape.centre[0] for shape in drawing.shapes if isinstance(shape, Circle)]
    assert sorted(marks) == [0, 300, 600]


def test_plan_hatches_the_strip_and_keeps_it_off_the_landing() -> None:
    """The strip of 20 mm lies along the far side, hatched."""
    drawing = drawn("plan", CALCULATOR.examples[1].inputs)
    strips = [s for s in drawing.shapes if isinstance(s, Polygon) and s.ink.hatched]
    assert [min(y for _, y in strip.points) for strip in strips] == [600]
    assert [max(y for _, y in strip.points) for strip in strips] == [620]


def test_plan_of_a_floor_too_small_for_a_panel_shows_the_frame_alone() -> None:
    """No panel fits across: bays and sizes are drawn, nothing is filled."""
    body = {**CALCULATOR.examples[1].inputs, "floor": {"along_mm": 1200, "across_mm": 31}}
    drawing = drawn("plan", body)
    filled = [s for s in drawing.shapes if isinstance(s, Polygon) and s.ink.fill == "#e4e7eb"]
    assert filled == []
    assert any(isinstance(shape, Line) for shape in drawing.shapes)


def test_groove_touches_the_ball_at_both_edges() -> None:
    """The edges of the cut panels lie on the ball."""
    drawing = drawn("groove", CALCULATOR.examples[0].inputs)
    ball = next(shape for shape in drawing.shapes if isinstance(shape, Circle))
    edge = next(s for s in drawing.shapes if isinstance(s, Line) and s.ink.dash == ()).points[1]
    distance = ((edge[0] - ball.centre[0]) ** 2 + (edge[1] - ball.centre[1]) ** 2) ** 0.5
    assert distance == pytest.approx(ball.radius)
    assert edge[0] == pytest.approx(3.0)


def test_a_view_without_its_inputs_says_what_to_give() -> None:
    """No floor, no ball: a sentence in place of a picture."""
    for view in ("plan", "groove"):
        drawing = drawn(view, CALCULATOR.examples[2].inputs)
        assert "Give" in drawing.description
