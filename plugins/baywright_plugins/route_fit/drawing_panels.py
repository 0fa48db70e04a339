"""Panels of one size, each to its own scale, with words beneath."""

import math
from collections.abc import Callable, Sequence
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

from ..grid_fit.panels import FITS, OUTLINE, ROOM, SKIN, STICKS, Point, empty, moved

WIDTH, HEIGHT = 1000.0, 850.0
COLUMNS = 3
TEXT = 1.3

STEPS = Ink("#52606d", 0.18)
FRAME = Ink("#9a031e", 0.35, (1.4, 0.6))
WALL = Ink("#1f2933", 0.15, (), "#c9d1d9")

LEGEND = (
    Legend(OUTLINE, "walls, floor, ceiling as measured"),
    Legend(ROOM, "what hands, lifting and headroom leave"),
    Legend(FITS, "section that gets past"),
    Legend(STICKS, "section that sticks, with the mm it is over"),
    Legend(SKIN, "carriers at its ends"),
    Legend(FRAME, "frame: what governs the whole machine"),
)


@dataclass(frozen=True)
class Cell:
    """Shapes in mm of what is drawn, and the lines of words beneath (the first in bold)."""

    shapes: Sequence[Shape]
    words: Sequence[str]
    framed: bool = False


def cells(title: str, description: str, panels: Sequence[Cell], nothing: str) -> Drawing:
    """All panels in rows of four, each fitted into its cell."""
    if not panels:
        return empty(title, nothing)
    columns = min(COLUMNS, len(panels))
    rows = math.ceil(len(panels) / columns)
    lines = 2.5 + max(len(panel.words) for panel in panels)
    broad, tall = 1.2 * WIDTH * columns, HEIGHT * rows
    line = 0.0175 * max(broad, tall / (1 - 0.0175 * lines * rows))
    deep = HEIGHT + line * lines
    shapes: list[Shape] = []
    for k, panel in enumerate(panels):
        row, column = divmod(k, columns)
        x, y = column * 1.2 * WIDTH, -row * deep
        shapes += [moved(shape, x, y) for shape in _fitted(panel.shapes, line)]
        for n, text in enumerate(panel.words):
            at = (x + WIDTH / 2, y - line * (1.3 + n))
            shapes.append(Label(at, text, TEXT, "middle", bold=n == 0))
        if panel.framed:
            low = y - line * (len(panel.words) + 0.9)
            x0, x1, y1 = x - 0.06 * WIDTH, x + 1.06 * WIDTH, y + HEIGHT + 0.4 * line
            frame = ((x0, low), (x1, low), (x1, y1), (x0, y1), (x0, low))
            shapes.append(Line(frame, FRAME))
    return Drawing(title, description, shapes, LEGEND)


def _fitted(shapes: Sequence[Shape], line: float) -> list[Shape]:
    """Scaled and moved into a cell; dimension lines keep clear of what they measure."""
    points = [point for shape in shapes for point in _points(shape)]
    x0, x1 = min(p[0] for p in points), max(p[0] for p in points)
    y0, y1 = min(p[1] for p in points), max(p[1] for p in points)
    margin = 2.6 * line
    scale = min(
        (WIDTH - 2 * margin) / max(x1 - x0, 1e-6), (HEIGHT - 2 * margin) / max(y1 - y0, 1e-6)
    )
    left = (WIDTH - scale * (x1 - x0)) / 2

    def to(point: Point) -> Point:
        return left + scale * (point[0] - x0), margin + scale * (point[1] - y0)

    return [_scaled(shape, to, scale, line) for shape in shapes]


def _points(shape: Shape) -> Sequence[Point]:
    match shape:
        case Line() | Polygon():
            return tuple(shape.points)
        case Segments():
            return tuple(point for pair in shape.pairs for point in pair)
        case Circle():
            return (shape.centre,)
        case Arrow() | Dimension():
            return (shape.start, shape.end)
        case Label():
            return (shape.at,)


def _scaled(shape: Shape, to: Callable[[Point], Point], scale: float, line: float) -> Shape:
    match shape:
        case Line() | Polygon():
            return replace(shape, points=tuple(to(p) for p in shape.points))
        case Segments():
            return replace(shape, pairs=tuple((to(a), to(b)) for a, b in shape.pairs))
        case Circle():
            return replace(shape, centre=to(shape.centre), radius=scale * shape.radius)
        case Arrow():
            return replace(shape, start=to(shape.start), end=to(shape.end))
        case Dimension():
            return replace(
                shape, start=to(shape.start), end=to(shape.end), offset=shape.offset * line,
                size=TEXT,
            )  # fmt: skip
        case Label():
            return replace(shape, at=to(shape.at), size=TEXT)
