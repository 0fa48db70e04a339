"""Pictures are asked by their shapes."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.fit_remedies import FitRemedies
from baywright_plugins.fit_remedies.drawing import draw_view
from baywright_service.contract import Label, Line, Polygon, Result

Run = Callable[[Any], Result]


@pytest.fixture(scope="module")
def door(run: Run) -> Any:
    """The first example: two sections too deep for a door."""
    return run(FitRemedies.examples[0].inputs).value


def width(shape: Polygon) -> float:
    xs = [x for x, _ in shape.points]
    return max(xs) - min(xs)


def test_bars_are_as_long_as_the_parts_changed(door: Any) -> None:
    """Twice the parts, twice the bar; a way that is not braced would be hatched."""
    value = door
    drawing = draw_view(value, "options")
    bars = [shape for shape in drawing.shapes if isinstance(shape, Polygon)]
    parts = [way["parts_changed_count"] for way in value["ways"]]
    for bar, count in zip(bars, parts, strict=False):
        assert abs(width(bar) / width(bars[0]) - count / parts[0]) < 1e-6
        assert not bar.ink.hatched
    assert len(bars) == len(parts) + len(value["alternatives"][:4])
    texts = " ".join(shape.text for shape in drawing.shapes if isinstance(shape, Label))
    assert f"{parts[0]} parts changed" in texts and "R120 fewer" in texts


def test_a_section_that_sticks_is_wider_than_what_is_left(door: Any) -> None:
    """Before: hatched, across the walls of the opening; after: within them, not hatched."""
    value = door
    drawing = draw_view(value, "sections")
    boxes = [s for s in drawing.shapes if isinstance(s, Polygon) and s.ink.fill != "none"]
    stuck = [s for s in drawing.shapes if isinstance(s, Polygon) and s.ink.hatched]
    walls = [s for s in drawing.shapes if isinstance(s, Line) and len(s.points) == 4]
    assert len(stuck) == 1 and len(boxes) == 1 and len(walls) == 2
    clear = abs(walls[0].points[3][0] - walls[0].points[0][0])
    assert width(stuck[0]) > clear > width(boxes[0])


def test_round_a_corner_sections_are_seen_from_above(run: Run) -> None:
    value = run(FitRemedies.examples[2].inputs).value
    drawing = draw_view(value, "sections")
    texts = [shape.text for shape in drawing.shapes if isinstance(shape, Label)]
    assert any("seen from above" in text for text in texts)
    assert "clear opening" not in [entry.text for entry in drawing.legend]
