"""A section between its carriers, level and on stairs."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Arrow, Label, Line, Polygon, Shape

from ..grid_fit.panels import FITS, STICKS, rectangle
from ..route_fit.drawing_panels import Cell
from .drawing_marks import HAND, STAIRS, centre_mark

Row = Mapping[str, Any]
Point = tuple[float, float]

_RISE, _STEPS = 175.0, 14
_NAMES = {"level": "level", "stairs": "on stairs"}


def carry_panels(sections: Sequence[Row]) -> list[Cell]:
    """Level and stairs of each section; the tilted way is in the result."""
    return [
        Cell(_shapes(row, way), _words(row, way))
        for row in sections
        for way in row["ways"]
        if way["way"] in _NAMES
    ]


def _words(row: Row, way: Row) -> list[str]:
    count = way.get("people_count")
    people = (
        "more than the crew should" if count is None
        else "one person" if count == 1 else f"{count} people"
    )  # fmt: skip
    words = [f"{row['id']} {_NAMES[way['way']]}, {way['pose']}: {people}"]
    low, high = way["ends"]
    if count == 1:
        return [*words, f"{row['mass_kg']:.1f} kg held close to the body"]
    slope = "" if way["way"] == "level" else " (low)"
    return [
        *words,
        f"{low['end']}{slope} {low['share_kg']:.1f} kg{_each(low)}",
        f"{high['end']} {high['share_kg']:.1f} kg{_each(high)}",
    ]


def _each(end: Row) -> str:
    count = end.get("people_count", 1)
    return f", {count} people, {end['each_kg']:.1f} kg each" if count > 1 else ""


def _shapes(row: Row, way: Row) -> list[Shape]:
    """The line of the grips runs from the origin up to the right by the tilt."""
    turn = math.radians(way["tilt_deg"])
    c, s = math.cos(turn), math.sin(turn)

    def to(along: float, above: float) -> Point:
        return c * along - s * above, s * along + c * above

    span, above = way["span_mm"], way["above_mm"]
    low, high = way["ends"]
    share = low["share_kg"] / row["mass_kg"]
    centre = to(span * (1 - share) + above * math.tan(turn), above)
    x0, y0, length, height = _box(row, way)
    size = max(length, height)
    body = [to(x, y) for x, y in rectangle(x0, y0, length, height)]
    ink = FITS if "people_count" in way else STICKS
    shapes: list[Shape] = [
        Polygon(tuple(body), ink),
        *centre_mark(centre, 0.03 * size),
        *_floor(way, body, to),
    ]
    for at, end, side in ((to(0.0, 0.0), low, -1), (to(span, 0.0), high, 1)):
        down = 0.3 * size if end["share_kg"] >= 0 else -0.3 * size
        shapes += [
            Arrow((at[0], at[1] - down), at, HAND),
            Label(
                (at[0] + 0.06 * side * size, at[1] - 0.3 * size),
                f"{end['share_kg']:.1f} kg",
                anchor="end" if side < 0 else "start",
            ),
        ]
    return shapes


def _box(row: Row, way: Row) -> tuple[float, float, float, float]:
    """Lower left corner of the body from the lower grip, its length and its height."""
    size, grips = row["size_mm"], row["grips"]
    if way["pose"] == "lying":
        start = (
            grips["lying_low_mm"]
            if way["ends"][0]["end"] == "its foot"
            else size[2] - grips["lying_high_mm"]
        )
        return -start, 0.0, size[2], size[1]
    along = size[0] if size[0] >= size[1] else size[1]
    return -(along - way["span_mm"]) / 2, -grips["height_mm"], along, size[2]


def _floor(way: Row, body: Sequence[Point], to: Callable[[float, float], Point]) -> list[Shape]:
    """A level floor, or a flight under the body."""
    x0, x1 = min(p[0] for p in body), max(p[0] for p in body)
    low, y1 = min(p[1] for p in body), max(p[1] for p in body)
    tilt = math.tan(math.radians(way["tilt_deg"]))
    if way["way"] == "level" or tilt < 0.05:
        y = low - 150.0
        return [Line(((x0 - 200.0, y), (x1 + 200.0, y)), STAIRS)]
    drop = min(p[1] - tilt * p[0] for p in body) - 0.6 * max(y1 - low, x1 - x0)
    going = (x1 - x0 + 400.0) / _STEPS
    points: list[Point] = []
    for k in range(_STEPS):
        x = x0 - 200.0 + k * going
        y = drop + tilt * x
        points += [(x, y), (x + going, y)]
    return [Line(tuple(points), STAIRS)]
