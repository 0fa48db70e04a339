"""Pictures and rows of a floor over sections, asked by their shapes."""

import re
from collections.abc import Callable
from typing import Any

import pytest

from baywright_service.contract import (
    Circle,
    Drawing,
    Polygon,
    Segments,
    svg_text,
)
from tests.plugins.floor_tiling_ratio.bodies import (
    CALCULATOR,
    net,
    rows,
    run,
    slope,
)


def drawn(view: str, body: dict[str, Any]) -> Drawing:
    inputs = CALCULATOR.load(body, proving=True)
    return CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), view)


def test_plan_shows_sections_cut_pieces_and_what_comes_off() -> None:
    """Every section once; cut pieces hatched; pieces over joints in their own ink."""
    body = rows(along="5 5", way="start-anew", edges=[{"side": "far", "wall_mm": 20}])
    drawing = drawn("laid", body)
    polygons = [shape for shape in drawing.shapes if isinstance(shape, Polygon)]
    laid = run(body).value["laid"]
    sections = [p for p in polygons if p.ink.fill == "#f5f7fa"]
    assert [min(x for x, _ in p.points) for p in sections] == [0, 660]
    hatched = [p for p in polygons if p.ink.hatched]
    assert len(hatched) == laid["along"]["strips_count"] + laid["across"]["strips_count"]
    off = [p for p in polygons if p.ink.fill == "#fdf0d5"]
    assert len(off) == laid["along"]["coming_off_count"]
    dots = [shape for shape in drawing.shapes if isinstance(shape, Circle)]
    fixed = [way["ways"][0]["on_bearers_count"] for way in (laid["along"], laid["across"])]
    assert len(dots) == fixed[0] * fixed[1]
    assert {entry.text for entry in drawing.legend} >= {"wall", "piece cut from a panel"}


def test_slope_says_how_much_higher_it_is_drawn() -> None:
    """The exaggeration stands in the title, and the drawn heights follow it."""
    body = slope()
    drawing = drawn("slope", body)
    times = int(re.search(r"drawn (\d+) times", drawing.title).group(1))  # type: ignore[union-attr]
    (supports,) = (s for s in drawing.shapes if isinstance(s, Segments) and s.ink.width == 0.5)
    tops = [pair[1][1] for pair in supports.pairs]
    record = run(body).value["slope_steps"]
    assert max(tops) - min(tops) == pytest.approx(times * record["rise_mm"])


def test_wall_shows_posts_panels_and_spacers_of_one_repeat() -> None:
    """Two bays a repeat, drawn twice: five posts, six net panels in each of three rows."""
    drawing = drawn("wall", net())
    polygons = [shape for shape in drawing.shapes if isinstance(shape, Polygon)]
    assert sum(p.ink.hatched for p in polygons) == 4
    assert sum(not p.ink.hatched for p in polygons) == 6 * 3
    posts = [s for s in drawing.shapes if isinstance(s, Segments) and s.ink.width == 0.8]
    assert [pair[0][0] for pair in posts[0].pairs] == [0, 120, 240, 360, 480]


def test_views_without_their_inputs_say_what_to_give() -> None:
    """A sentence in place of a picture."""
    for view in ("laid", "slope", "wall"):
        drawing = drawn(view, dict(CALCULATOR.examples[0].inputs))
        assert "Give" in drawing.description and not drawing.shapes


def test_marks_are_rows_that_follow_one_another() -> None:
    """CSV: pieces from front to back, bearers and joints with what happens there."""
    body = rows(along="5 5")
    inputs = CALCULATOR.load(body, proving=True)
    result = CALCULATOR.calculate(inputs)
    table = CALCULATOR.table(inputs, result)
    assert table.columns[:4] == ("direction", "what", "from_mm", "to_mm")
    along = [row for row in table.rows if row[0] == "along"]
    whats = {row[1] for row in along}
    assert {"section", "whole panel", "bearer of the frame", "separation joint"} <= whats
    panels = [row for row in along if row[1] == "whole panel"]
    assert len(panels) == result.value["laid"]["along"]["whole_count"]
    assert all(row[4] == pytest.approx(51.4) for row in panels)


@pytest.mark.parametrize("number", [4, 5])
def test_examples_answer_with_pictures(
    number: int, assert_example_holds: Callable[..., None]
) -> None:
    """Inputs and result follow the published schemas; equal inputs draw equal pictures."""
    body = CALCULATOR.examples[number].inputs
    assert_example_holds(CALCULATOR, body)
    for view in ("laid", "slope", "wall"):
        assert svg_text(drawn(view, dict(body))) == svg_text(drawn(view, dict(body)))
