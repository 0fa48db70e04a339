"""The pictures, by their geometry."""

import math

from pytest import approx

from baywright_plugins.carry_and_stand.drawing_marks import CENTRE, HAND, LEANS, PLUMB
from baywright_plugins.grid_fit.panels import FITS, STICKS
from baywright_service.contract import Arrow, Drawing, Label, Line, Polygon, svg_text
from tests.plugins.carry_and_stand.machines import CALCULATOR, Json, box, stated


def draw(inputs: Json, view: str) -> Drawing:
    loaded = CALCULATOR.load(inputs)
    return CALCULATOR.draw(loaded, CALCULATOR.calculate(loaded), view)


def test_the_drawn_angle_is_the_tip_angle() -> None:
    """Between plumb line and line to the centre, for the machine and its one section."""
    picture = draw(stated({**box("A"), "centre_mm": [300, 250, 700]}), "stand")
    lines = [s for s in picture.shapes if isinstance(s, Line) and s.ink == CENTRE]
    edges = [s for s in picture.shapes if isinstance(s, Line) and s.ink == PLUMB]
    assert len(edges) == 2
    (x0, y0), (x1, y1) = lines[0].points
    assert edges[0].points[0] == (x0, y0)
    drawn = math.degrees(math.atan2(abs(x1 - x0), y1 - y0))
    assert drawn == approx(math.degrees(math.atan2(250, 700)))
    words = [s.text for s in picture.shapes if isinstance(s, Label)]
    assert any(text == "A, standing: 19.7° to the front" for text in words)
    assert sum(isinstance(s, Arrow) and s.ink == LEANS for s in picture.shapes) == 2


def test_what_fails_the_ten_degrees_is_hatched() -> None:
    tall = {**box("A", 20, (400, 400, 2000)), "centre_mm": [200, 200, 1300]}
    picture = draw(stated(tall), "stand")
    assert any(isinstance(s, Polygon) and s.ink == STICKS for s in picture.shapes)


def test_hands_and_shares_on_stairs() -> None:
    """Two ways, two hands each; the stairs' grips lie on a line of 32 degrees."""
    picture = draw(stated(box("A", 18, (600, 600, 1800))), "carry")
    hands = [s for s in picture.shapes if isinstance(s, Arrow) and s.ink == HAND]
    assert len(hands) == 4
    (ax, ay), (bx, by) = hands[2].end, hands[3].end
    assert math.degrees(math.atan2(by - ay, bx - ax)) == approx(32)
    words = {s.text for s in picture.shapes if isinstance(s, Label)}
    assert {"A level, upright: 2 people", "9.0 kg"} <= words


def test_a_label_for_each_section_with_its_centre() -> None:
    picture = draw(stated(box("A"), {**box("B"), "centre_mm": [150, 300, 300]}), "labels")
    words = [s.text for s in picture.shapes if isinstance(s, Label)]
    assert "A" in words and "B" in words and words.count("UP") == 2
    fronts = [s for s in picture.shapes if isinstance(s, Polygon) and s.ink == FITS]
    crosses = [s for s in picture.shapes if isinstance(s, Line) and s.ink == CENTRE]
    (x0, _), (x1, _) = fronts[1].points[:2]
    middle = (crosses[2].points[0][0] + crosses[2].points[1][0]) / 2
    assert (middle - x0) / (x1 - x0) == approx(150 / 600)


def test_every_view_of_every_example_is_an_svg() -> None:
    for example in CALCULATOR.examples:
        loaded = CALCULATOR.load(example.inputs)
        result = CALCULATOR.calculate(loaded)
        for view in CALCULATOR.views:
            text = svg_text(CALCULATOR.draw(loaded, result, view))
            assert text.startswith("<svg") and "nan" not in text and "inf" not in text.lower()
