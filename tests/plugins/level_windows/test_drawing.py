"""Pictures asked by their shapes."""

from functools import cache
from typing import Any

import pytest

from baywright_plugins.level_windows import LevelWindows
from baywright_plugins.level_windows.drawing_text import spread
from baywright_service.contract import Arrow, Drawing, Label, Line, Polygon, svg_text

CALCULATOR = LevelWindows()


@cache
def drawn(view: str, example: int) -> Drawing:
    inputs = CALCULATOR.load(CALCULATOR.examples[example].inputs)
    return CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), view)


def words(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.shapes if isinstance(shape, Label)]


def test_every_level_is_a_rung_at_its_height() -> None:
    """Eleven rungs between the rails of the tower's ladder, each with its name."""
    drawing = drawn("ladder", 0)
    rails = [s for s in drawing.shapes if isinstance(s, Line) and s.points[0][0] == s.points[1][0]]
    right = max(line.points[0][0] for line in rails[:2])
    rungs = [
        shape.points[0][1]
        for shape in drawing.shapes
        if isinstance(shape, Line) and [x for x, _ in shape.points] == [0.0, right]
    ]
    assert rungs == [42, 162, 222, 342, 402, 702, 1662, 1722, 1782, 1842, 1903]
    assert "Top of the tower  1903" in words(drawing)


def test_chain_is_told_by_width_not_by_colour_alone() -> None:
    """Ten of twelve requirements set the top: their brackets are thick, the others thin."""
    brackets = [s for s in drawn("ladder", 0).shapes if isinstance(s, Line) and len(s.points) == 4]
    widths = [shape.ink.width for shape in brackets]
    assert len(brackets) == 12 and sum(width > 0.5 for width in widths) == 10


def test_windows_are_bars_from_end_to_end() -> None:
    """Floor 180 to 280 and foot of the ramp 300 to 360 under the pinned deck."""
    bars = [s for s in drawn("ladder", 3).shapes if isinstance(s, Polygon)]
    spans = [(min(y for _, y in b.points), max(y for _, y in b.points)) for b in bars]
    assert spans[:2] == [pytest.approx((180, 280)), pytest.approx((300, 360))]


def test_conflict_climbs_and_ends_too_high() -> None:
    """The dashed line stands for the 108 mm missing; rounding is hatched."""
    drawing = drawn("conflict", 0)
    missing = [s for s in drawing.shapes if isinstance(s, Line) and s.ink.dash]
    assert [y for _, y in missing[0].points] == [0, 108]
    assert "108 mm missing" in words(drawing) and "108 mm missing" in drawing.title
    assert any(isinstance(s, Polygon) and s.ink.hatched for s in drawing.shapes)
    arrows = [s for s in drawing.shapes if isinstance(s, Arrow)]
    assert (arrows[-1].start[1], arrows[-1].end[1]) == (1903, 108)


def test_a_ladder_that_cannot_stand_shows_its_conflict() -> None:
    """No heights to draw: the default view shows what is in the way."""
    assert drawn("ladder", 2).title == "Cannot hold together: 5 mm missing"


def test_no_conflict_is_said_in_words() -> None:
    drawing = drawn("conflict", 1)
    assert not drawing.shapes and "no conflict" in drawing.description
    assert "no conflict" in svg_text(drawing)


def test_names_keep_clear_of_one_another() -> None:
    """Words at the left stand in order, a line apart, near what they name."""
    labels = [s for s in drawn("ladder", 0).shapes if isinstance(s, Label) and s.anchor == "end"]
    heights = [label.at[1] for label in labels]
    apart = [above - below for below, above in zip(heights, heights[1:], strict=False)]
    assert min(apart) > 40
    assert spread([5, 5, 5], 2) == [3, 5, 7]


def test_many_levels_are_drawn_in_part_and_say_so() -> None:
    """40 levels: 30 are drawn, the description says how many are not."""
    levels: list[dict[str, Any]] = [{"id": f"l{k}", "at_least_mm": 10 * k} for k in range(40)]
    inputs = CALCULATOR.load({"levels": levels, "grid": {"module_mm": 10}})
    drawing = CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), "ladder")
    assert "10 levels and 0 requirements are not drawn" in drawing.description
