"""Pictures: what stands where, asked of the shapes."""

import re
from typing import Any
from xml.etree import ElementTree

import pytest

from baywright_plugins.joint_strength import JointStrength
from baywright_plugins.joint_strength.axes import Scale, decade_ticks, round_ticks
from baywright_plugins.joint_strength.drawing import DOTTED, PROOF, STRENGTH
from baywright_plugins.joint_strength.examples import EXAMPLES
from baywright_service.contract import Arrow, Circle, Drawing, Label, Line, svg_text

CALCULATOR = JointStrength()


def draw(example: int, view: str, **changes: Any) -> Drawing:
    inputs = CALCULATOR.load({**EXAMPLES[example].inputs, **changes})
    return CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), view)


def words(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.shapes if isinstance(shape, Label)]


@pytest.mark.parametrize("view", CALCULATOR.views)
@pytest.mark.parametrize("example", range(len(EXAMPLES)))
def test_every_view_of_every_example_is_svg(example: int, view: str) -> None:
    """Well formed, with title and description, the same each time."""
    text = svg_text(draw(example, view))
    assert ElementTree.fromstring(text).tag.endswith("svg")
    assert text == svg_text(draw(example, view)) and "nan" not in text


def test_paper_shows_each_strength_and_the_characteristic_value() -> None:
    """A dot for each strength, rising; the dotted line stands left of the mean of the dots."""
    drawing = draw(0, "probability-plot")
    dots = [s.centre for s in drawing.shapes if isinstance(s, Circle) and s.ink == STRENGTH]
    assert len(dots) == 12 and dots == sorted(dots)
    assert [y for _, y in dots] == sorted(y for _, y in dots)
    line = next(s for s in drawing.shapes if isinstance(s, Line) and s.ink == DOTTED)
    assert line.points[0][0] < dots[0][0]
    assert "74.6 N" in words(drawing)


def test_proof_values_are_arrows() -> None:
    """Never colour alone: what held points to the right."""
    drawing = draw(1, "probability-plot")
    arrows = [s for s in drawing.shapes if isinstance(s, Arrow)]
    assert len(arrows) == 3 and all(s.end[0] > s.start[0] and s.ink == PROOF for s in arrows)
    assert any("proof value" in entry.text for entry in drawing.legend)


def test_losses_name_what_is_left() -> None:
    """Both panels with their factor; a panel without a series says so."""
    assert {"0.848 left after 20 assemblies", "0.955 left after 30 days"} <= set(
        words(draw(0, "losses"))
    )
    assert {"No re-assembly series.", "No standing series."} <= set(words(draw(1, "losses")))


def test_sheet_is_a4() -> None:
    """ISO 216: 210 by 297 mm, and nothing written outside it."""
    for example in range(len(EXAMPLES)):
        drawing = draw(example, "test-sheet", title="A rod of the longest kind, one end " * 2)
        found = re.search(r'viewBox="([-\d. ]+)"', svg_text(drawing))
        assert found is not None
        left, top, width, height = map(float, found.group(1).split())
        assert (width, height) == pytest.approx((210, 297), abs=1.5)
        for label in (s for s in drawing.shapes if isinstance(s, Label)):
            x, y = label.at
            reach = 0.56 * len(label.text) * label.size * 2.54
            assert left <= x and x + reach <= left + width, label.text
            assert top <= -y <= top + height


def test_sheet_says_what_to_do() -> None:
    """Steps in order, rows numbered from the next test on, factors of the method."""
    text = words(draw(0, "test-sheet"))
    assert {"1", "7", "13", "29", "peak, kg", "3.15", "2.05", "75 % confidence"} <= set(text)
    assert "peak, lb" in words(draw(1, "test-sheet"))


def test_wild_wear_series_can_be_drawn() -> None:
    """Strengths over twelve powers of ten: ticks go by powers, none at zero."""
    wild = {"assemblies": [1, 10, 100], "strength": [1e6, 1.0, 1e-6]}
    drawing = draw(0, "losses", reassembly=wild, needed_n=1e-9)
    assert "1" in words(drawing) and "0" not in words(drawing)


def test_ticks() -> None:
    """Round numbers inside the range."""
    assert round_ticks(0.0, 1.0, about=5) == pytest.approx([0, 0.2, 0.4, 0.6, 0.8, 1.0])
    assert decade_ticks(0.9, 45) == pytest.approx([1, 2, 5, 10, 20])
    assert decade_ticks(1, 5000) == pytest.approx([1, 10, 100, 1000])
    assert Scale(1, 100, 0, 50, logarithmic=True).at(10) == pytest.approx(25)
