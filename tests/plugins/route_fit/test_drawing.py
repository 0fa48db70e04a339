"""Pictures by their geometry: what sticks crosses its opening, what passes does not."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.grid_fit.panels import FITS, SKIN, STICKS
from baywright_plugins.route_fit import RouteFit
from baywright_service.contract import Drawing, Label, Line, Polygon

CALCULATOR = RouteFit()


@pytest.fixture(scope="module")
def pictures(desk: Callable[[str], Any]) -> dict[str, Drawing]:
    inputs = CALCULATOR.load(desk("planned"))
    result = CALCULATOR.calculate(inputs)
    return {view: CALCULATOR.draw(inputs, result, view) for view in CALCULATOR.views}


def polygons(drawing: Drawing, ink: Any) -> list[Polygon]:
    return [s for s in drawing.shapes if isinstance(s, Polygon) and s.ink == ink]


def width(polygon: Polygon) -> float:
    xs = [x for x, _ in polygon.points]
    return max(xs) - min(xs)


def height(polygon: Polygon) -> float:
    ys = [y for _, y in polygon.points]
    return max(ys) - min(ys)


def texts(drawing: Drawing) -> list[str]:
    return [s.text for s in drawing.shapes if isinstance(s, Label)]


def test_what_governs_comes_first_and_sticks(pictures: dict[str, Drawing]) -> None:
    """Old Chapel, dashed and hatched: 754 in 745, to scale in plan and elevation."""
    for view in ("plan", "elevation"):
        drawing = pictures[view]
        assert texts(drawing)[0] == "Old Chapel branch: S2"
        stuck = polygons(drawing, STICKS)
        assert len(stuck) == 1 and STICKS.dash and STICKS.hatched
    [section] = polygons(pictures["elevation"], STICKS)
    assert height(section) / width(section) == pytest.approx(1499 / 754)
    [section] = polygons(pictures["plan"], STICKS)
    assert height(section) / width(section) == pytest.approx(1114 / 754)


def test_the_corner_has_carriers(pictures: dict[str, Drawing]) -> None:
    """Two carriers at the ends of S2 in the corner; three things pass in all panels."""
    assert len(polygons(pictures["plan"], SKIN)) == 2
    assert len(polygons(pictures["plan"], FITS)) == 3
    assert any(text == "36.1 mm spare" for text in texts(pictures["plan"]))


def test_the_strip_has_a_cell_for_each(pictures: dict[str, Drawing]) -> None:
    """Three rows (twins share one), three passages; two cells stick."""
    words = texts(pictures["route"])
    assert words.count("25 mm over") == 2 and "S2, S3" in words
    assert len(polygons(pictures["route"], STICKS)) == 2
    assert len(polygons(pictures["route"], FITS)) == 6


def test_on_stairs_the_box_keeps_off_steps_and_ceiling() -> None:
    """In elevation no corner of a box that passes lies below the step edges or over the ceiling."""
    body = {
        "boxes": [{"id": "b", "outside_mm": {"x": 900, "y": 1400, "z": 1600}}],
        "passages": [{"id": "s", "flight": {"going_mm": 280, "rise_mm": 170, "width_mm": 1100,
                                            "headroom_mm": 2300}}],
    }  # fmt: skip
    inputs = CALCULATOR.load(body)
    result = CALCULATOR.calculate(inputs)
    drawing = CALCULATOR.draw(inputs, result, "elevation")
    [box] = polygons(drawing, FITS)
    _, edge, ceiling, *_ = [s for s in drawing.shapes if isinstance(s, Line)]
    (x0, y0), (x1, y1) = edge.points
    slope = (y1 - y0) / (x1 - x0)
    (cx, cy), _ = ceiling.points
    for x, y in box.points:
        assert y >= y0 + slope * (x - x0) - 1e-6
        assert y <= cy + slope * (x - cx) + 1e-6
