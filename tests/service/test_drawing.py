"""Shapes stand where they were put, and nothing a caller sends becomes markup."""

import re
from typing import Any
from xml.etree import ElementTree

import pytest

from baywright_service.contract import (
    Arrow,
    Circle,
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
    svg_text,
)
from baywright_service.drawing import bounds

SVG = "{http://www.w3.org/2000/svg}"


def read(*shapes: Any, **more: Any) -> ElementTree.Element:
    """The picture of some shapes, parsed."""
    return ElementTree.fromstring(svg_text(Drawing("Title", "Words.", shapes, **more)))


def points(element: ElementTree.Element) -> list[tuple[float, float]]:
    """The points of a line or outline."""
    pairs = [pair.split(",") for pair in str(element.get("points")).split()]
    return [(float(x), float(y)) for x, y in pairs]


def test_y_goes_up_in_shapes_and_down_on_paper() -> None:
    line = read(Line(((0, 0), (100, 50)))).find(f"{SVG}polyline")
    assert line is not None and points(line) == [(0, 0), (100, -50)]


def test_an_outline_is_closed_and_a_circle_keeps_its_radius() -> None:
    picture = read(Polygon(((0, 0), (10, 0), (10, 10))), Circle((5, 5), 2.5))
    assert len(points(picture.findall(f"{SVG}polygon")[0])) == 3
    circle = picture.find(f"{SVG}circle")
    assert circle is not None
    assert [circle.get(name) for name in ("cx", "cy", "r")] == ["5", "-5", "2.5"]


def test_many_segments_are_one_path() -> None:
    path = read(Segments((((0, 0), (1, 2)), ((3, 4), (5, 6))))).find(f"{SVG}path")
    assert path is not None and path.get("d") == "M0 0L1 -2M3 -4L5 -6"


def test_bounds_hold_every_shape() -> None:
    shapes: list[Shape] = [
        Circle((0, 0), 5),
        Line(((10, -20), (0, 0))),
        Arrow((0, 0), (-7, 3)),
        Label((2, 9), "x"),
    ]
    assert bounds(shapes) == (-7, -20, 10, 9)
    with pytest.raises(ValueError, match="at least one shape"):
        bounds([])


def test_everything_drawn_lies_inside_the_view_box() -> None:
    shapes: list[Shape] = [Circle((500, 300), 200), Line(((-100, -900), (800, 40)))]
    picture = read(*shapes, legend=[Legend(Ink(dash=(1.0,)), "A dashed line")])
    x, y, width, height = (float(part) for part in str(picture.get("viewBox")).split())
    left, low, right, high = bounds(shapes)
    assert x < left and right < x + width
    assert y < -high and -low < y + height
    for text in picture.iter(f"{SVG}text"):
        assert x <= float(str(text.get("x"))) <= x + width
        assert y <= float(str(text.get("y"))) <= y + height


def test_an_arrow_ends_at_its_head() -> None:
    head = read(Arrow((0, 0), (100, 0))).find(f"{SVG}polygon")
    assert head is not None and points(head)[0] == (100, 0)
    assert max(x for x, _ in points(head)) == 100


def test_a_dimension_stands_beside_what_it_measures_and_reads_upright() -> None:
    picture = read(Line(((0, 0), (100, 0))), Dimension((100, 0), (0, 0), "100 mm", offset=-20))
    lines = [points(line) for line in picture.findall(f"{SVG}polyline")]
    assert [(100, -20), (0, -20)] in lines
    text = [t for t in picture.iter(f"{SVG}text") if t.text == "100 mm"][0]
    turn = re.match(r"rotate\((-?[\d.]+)", str(text.get("transform", "rotate(0")))
    assert turn is not None and abs(float(turn[1])) % 360 in (0, 360)
    assert text.get("text-anchor") == "middle"


def test_what_a_caller_sends_never_becomes_markup() -> None:
    evil = '<script>alert("x")</script>&"\'>'
    drawing = Drawing(evil, evil, [Label((0, 0), evil)], [Legend(Ink(), evil)])
    text = svg_text(drawing)
    assert "<script" not in text
    picture = ElementTree.fromstring(text)
    assert [child.text for child in picture][:2] == [evil, evil]
    assert sum(t.text == evil for t in picture.iter(f"{SVG}text")) == 3


def test_control_characters_do_not_break_the_document() -> None:
    """XML 1.0 has no place for them, not even escaped."""
    ElementTree.fromstring(svg_text(Drawing("a\x01b", "c\x0bd", [Label((0, 0), "e\ufffef")])))


def test_ids_are_prefixed_so_that_pictures_can_share_a_page() -> None:
    text = svg_text(Drawing("T", "D", [Circle((0, 0), 1, Ink(hatched=True))]), prefix="p7")
    ids = set(re.findall(r'\bid="([^"]+)"', text))
    assert ids and all(id.startswith("p7-") for id in ids)
    assert set(re.findall(r"url\(#([^)]+)\)", text)) <= ids


def test_the_same_drawing_gives_the_same_text() -> None:
    drawing = Drawing("T", "D", [Line(((0.1, 0.2), (1 / 3, 2 / 3)))])
    assert svg_text(drawing) == svg_text(drawing)


def test_no_minus_zero_and_no_exponent_is_written() -> None:
    text = svg_text(Drawing("T", "D", [Line(((-0.001, 1e-9), (1e7, 0.0)))]))
    assert "-0 " not in text and "-0," not in text and not re.search(r"\d[eE][-+]?\d", text)


def test_meaning_is_carried_by_dash_or_hatch_too() -> None:
    picture = read(
        Line(((0, 0), (100, 0)), Ink(dash=(2.0, 1.0))), Circle((0, 0), 1, Ink(hatched=True))
    )
    line, circle = picture.find(f"{SVG}polyline"), picture.find(f"{SVG}circle")
    assert line is not None and circle is not None
    assert line.get("stroke-dasharray") == "2.02 1.01"
    assert circle.get("fill") == "url(#bw-hatch)"
