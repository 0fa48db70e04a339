"""Several small pictures on one sheet, all to one scale."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

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
)

Point = tuple[float, float]

OUTLINE = Ink("#1f2933", 0.3)
FITS = Ink("#0b5394", 0.22, (), "#e3ecf5")
STICKS = Ink("#9a031e", 0.32, (0.9, 0.5), "none", hatched=True)
ROOM = Ink("#52606d", 0.13, (0.3, 0.35))
FINE = Ink("#9aa5b1", 0.12)
SKIN = Ink("#6b4e00", 0.2, (), "#f0e6d2")


@dataclass(frozen=True)
class Panel:
    """Shapes about their own lower left corner, with the room they take up."""

    shapes: Sequence[Shape]
    width_mm: float
    height_mm: float


PLAIN = Ink("none", 0.0, (), "#ffffff")


def rectangle(x: float, y: float, width: float, height: float) -> tuple[Point, ...]:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def sheet(
    title: str,
    description: str,
    rows: Sequence[Sequence[Panel]],
    legend: Sequence[Legend],
    *,
    gap: float = 0.12,
) -> Drawing:
    """Panels in rows from the top left; `gap` is a share of the largest panel's longer side."""
    space = gap * max(max(p.width_mm, p.height_mm) for row in rows for p in row)
    wide = [
        max(row[k].width_mm for row in rows if k < len(row))
        for k in range(max(len(row) for row in rows))
    ]
    shapes: list[Shape] = []
    y = 0.0
    for row in rows:
        y -= max(panel.height_mm for panel in row)
        x = 0.0
        for k, panel in enumerate(row):
            shapes += [moved(shape, x, y) for shape in panel.shapes]
            x += wide[k] + space
        y -= space
    return Drawing(title, description, shapes, tuple(legend))


def empty(title: str, words: str) -> Drawing:
    """A sheet that says why there is nothing on it."""
    return Drawing(title, words, [])


def moved(shape: Shape, dx: float, dy: float) -> Shape:
    """The shape, shifted."""

    def to(point: Point) -> Point:
        return (point[0] + dx, point[1] + dy)

    match shape:
        case Line() | Polygon():
            return replace(shape, points=tuple(to(p) for p in shape.points))
        case Segments():
            return replace(shape, pairs=tuple((to(a), to(b)) for a, b in shape.pairs))
        case Circle():
            return replace(shape, centre=to(shape.centre))
        case Arrow() | Dimension():
            return replace(shape, start=to(shape.start), end=to(shape.end))
        case Label():
            return replace(shape, at=to(shape.at))
