"""Pictures by their geometry: the section that sticks crosses its door."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.grid_fit import GridFit
from baywright_plugins.grid_fit.panels import FITS, SKIN, STICKS
from baywright_service.contract import Dimension, Drawing, Label, Polygon, Result

Desk = Callable[[str], Any]
CALCULATOR = GridFit()


@pytest.fixture(scope="module")
def planned(desk: Desk) -> tuple[Any, Result]:
    inputs = CALCULATOR.load(desk("planned"))
    return inputs, CALCULATOR.calculate(inputs)


def picture(planned: tuple[Any, Result], view: str) -> Drawing:
    return CALCULATOR.draw(*planned, view)


def polygons(drawing: Drawing, ink: Any) -> list[Polygon]:
    return [s for s in drawing.shapes if isinstance(s, Polygon) and s.ink == ink]


def width(polygon: Polygon) -> float:
    xs = [x for x, _ in polygon.points]
    return max(xs) - min(xs)


def labels(drawing: Drawing) -> str:
    return " | ".join(s.text for s in drawing.shapes if isinstance(s, Label))


def test_what_sticks_is_dashed_and_wider_than_its_door(planned: tuple[Any, Result]) -> None:
    """Two panels stick (twins share one): 754 wide in an opening of 745."""
    drawing = picture(planned, "passages")
    stuck = polygons(drawing, STICKS)
    assert [width(p) for p in stuck] == pytest.approx([754.0, 754.0])
    assert STICKS.dash and STICKS.hatched
    assert len(polygons(drawing, FITS)) == 7
    assert labels(drawing).count("25 mm over in width") == 2


def test_fronts_have_their_sizes(planned: tuple[Any, Result]) -> None:
    """Width and height over the hub ends, and over all where feet stick out."""
    drawing = picture(planned, "sections")
    sizes = [s.text for s in drawing.shapes if isinstance(s, Dimension)]
    assert sizes == ["634", "1834", "1903", "1114", "1474", "1499", "874", "1114", "1139"]


def test_the_box_stays_in_the_corner(planned: tuple[Any, Result]) -> None:
    """No corner of a box that goes round lies beyond the outer walls."""
    drawing = picture(planned, "corner")
    assert len(polygons(drawing, FITS)) == 3
    assert len(polygons(drawing, SKIN)) == 6
    assert "36.1 mm spare" in labels(drawing)


def test_a_row_is_drawn_rod_by_rod(planned: tuple[Any, Result]) -> None:
    """The dimensions of a row add up to its length."""
    body = dict(CALCULATOR.examples[3].inputs)
    inputs = CALCULATOR.load(body)
    result = CALCULATOR.calculate(inputs)
    drawing = CALCULATOR.draw(inputs, result, "rows")
    chain = [s for s in drawing.shapes if isinstance(s, Dimension)]
    assert [s.text for s in chain] == ["R240", "2 x R170", "R120"]
    assert chain[-1].end[0] - chain[0].start[0] == pytest.approx(699.2)


def test_nothing_to_draw_is_said(planned: tuple[Any, Result]) -> None:
    """A sheet without a picture says why."""
    assert picture(planned, "rows").description == "No row of rods was asked for."
