"""Labels to print and tie to sections."""

import math
from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Arrow, Drawing, Ink, Label, Legend, Line, Polygon, Shape

from ..grid_fit.panels import FITS, OUTLINE, rectangle
from .drawing_marks import CENTRE, HAND, centre_mark

Row = Mapping[str, Any]

_WIDE, _HIGH, _GAP = 1200.0, 620.0, 60.0
_TEXT, _LINE = 32.0, 62.0
_LONGEST = 36
_UP = Ink("#1f2933", 0.6)


def labels_drawing(value: Row) -> Drawing:
    """A card for each section, in columns: words, the way up, and the front with its marks."""
    labels = value["labels"]
    columns = max(1, min(len(labels), round(math.sqrt(len(labels) / 2 + 0.5))))
    rows = math.ceil(len(labels) / columns)
    longest = max(columns * (_WIDE + _GAP), rows * (_HIGH + _GAP)) - _GAP
    shapes: list[Shape] = []
    for k, (label, section) in enumerate(zip(labels, value["sections"], strict=True)):
        row, column = divmod(k, columns)
        x, y = column * (_WIDE + _GAP), -row * (_HIGH + _GAP) - _HIGH
        shapes += _card(label, section, x, y, 100.0 / longest)
    legend = (
        Legend(_UP, "this side up"),
        Legend(CENTRE, "centre of mass, seen from the front"),
        Legend(HAND, "height of the grips"),
    )
    words = f"{len(labels)} labels with mass, people, grips, centre of mass, van and set-up order."
    return Drawing("Labels for the sections", words, shapes, legend)


def _card(label: Row, section: Row, x: float, y: float, percent: float) -> list[Shape]:
    shapes: list[Shape] = [Polygon(rectangle(x, y, _WIDE, _HIGH), OUTLINE)]
    top = y + _HIGH - 80.0
    for n, line in enumerate(label["lines"]):
        text = line if len(line) <= _LONGEST + 8 * (n > 0) else line[:_LONGEST] + "…"
        size = _TEXT * (1.35 if n == 0 else 1.0) * percent
        shapes.append(Label((x + 40.0, top - n * _LINE), text, size, bold=n < 2))
    shapes += [
        Arrow((x + _WIDE - 350.0, y + 150.0), (x + _WIDE - 350.0, y + _HIGH - 130.0), _UP),
        Label((x + _WIDE - 350.0, y + 90.0), "UP", _TEXT * percent, "middle", bold=True),
    ]
    return [*shapes, *_front(label, section, x + _WIDE - 300.0, y + 70.0)]


def _front(label: Row, section: Row, x: float, y: float) -> list[Shape]:
    size = section["size_mm"]
    scale = min(260.0 / size[0], (_HIGH - 140.0) / size[2])
    wide, high = scale * size[0], scale * size[2]
    left = x + (260.0 - wide) / 2
    at = (left + scale * label["centre_front_mm"][0], y + scale * label["centre_front_mm"][1])
    grip = y + min(scale * section["grips"]["height_mm"], high)
    return [
        Polygon(rectangle(left, y, wide, high), FITS),
        Line(((left, grip), (left + wide, grip)), HAND),
        *centre_mark(at, 14.0),
    ]
