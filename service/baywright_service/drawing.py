"""Shapes first, ink last: a `Drawing` holds shapes in millimetres (y up), `svg_text` writes them.

Line widths and text sizes are in percent of the drawing's longer side, so that a picture of a
door and one of a whole machine read alike.
"""

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

Point = tuple[float, float]


@dataclass(frozen=True)
class Ink:
    """How a shape is drawn. Meaning never rests on `stroke` or `fill` colour alone."""

    stroke: str = "#1f2933"
    width: float = 0.25
    dash: tuple[float, ...] = ()
    fill: str = "none"
    hatched: bool = False


@dataclass(frozen=True)
class Line:
    """An open run of two or more points."""

    points: Sequence[Point]
    ink: Ink = Ink()


@dataclass(frozen=True)
class Segments:
    """Many separate straight lines of one ink, written as one path."""

    pairs: Sequence[tuple[Point, Point]]
    ink: Ink = Ink()


@dataclass(frozen=True)
class Polygon:
    """A closed outline."""

    points: Sequence[Point]
    ink: Ink = Ink()


@dataclass(frozen=True)
class Circle:
    centre: Point
    radius: float
    ink: Ink = Ink()


@dataclass(frozen=True)
class Arrow:
    """A line with a head at `end`."""

    start: Point
    end: Point
    ink: Ink = Ink(width=0.4)


@dataclass(frozen=True)
class Label:
    """Text; `size` in percent of the longer side, `anchor` start, middle or end."""

    at: Point
    text: str
    size: float = 1.8
    anchor: str = "start"
    turned_deg: float = 0.0
    bold: bool = False
    colour: str = "#1f2933"


@dataclass(frozen=True)
class Dimension:
    """A dimension line from `start` to `end`, moved sideways (to the left of the direction)."""

    start: Point
    end: Point
    text: str
    offset: float = 0.0
    size: float = 1.7


Simple = Line | Segments | Polygon | Circle | Label
Shape = Simple | Arrow | Dimension


@dataclass(frozen=True)
class Legend:
    ink: Ink
    text: str


@dataclass(frozen=True)
class Drawing:
    """A picture: title, one or two sentences for who cannot see it, shapes, and what inks mean.

    Without shapes it is a strip that shows the description: why there is nothing to see.
    `to_scale` says whether a length in it is that length of the thing; where it does not say, its
    dimensions do: on paper a scale is stated only for what is true to scale.
    """

    title: str
    description: str
    shapes: Sequence[Shape]
    legend: Sequence[Legend] = field(default=())
    to_scale: bool | None = None


def bounds(shapes: Iterable[Shape]) -> tuple[float, float, float, float]:
    """(x_min, y_min, x_max, y_max) over all points; raises ValueError where there are none."""
    xs: list[float] = []
    ys: list[float] = []
    for shape in shapes:
        for x, y in _points(shape):
            xs.append(x)
            ys.append(y)
    if not xs:
        raise ValueError("a drawing needs at least one shape")
    return min(xs), min(ys), max(xs), max(ys)


def svg_text(drawing: Drawing, *, prefix: str = "bw") -> str:
    """The drawing as a self-contained SVG document; the same drawing gives the same text.

    `prefix` starts every id, so that several pictures can stand in one page.
    """
    if not drawing.shapes:
        return _nothing(drawing, prefix)
    x0, y0, x1, y1 = bounds(drawing.shapes)
    unit = unit_of(drawing)
    writer = _Writer(unit, prefix)
    body = [writer.ink(shape) for shape in drawing.shapes]
    margin = 6.0 * unit
    legend_height = 3.2 * unit * len(drawing.legend) + (2.5 * unit if drawing.legend else 0.0)
    title_height = 5.0 * unit
    left, top = x0 - margin, -y1 - margin - title_height
    least_width = (
        1.35
        * unit
        * max([len(drawing.title) * 1.0, *(len(entry.text) * 0.82 + 8 for entry in drawing.legend)])
    )
    width = max(x1 - x0 + 2 * margin, least_width + 2 * margin)
    height = y1 - y0 + 2 * margin + title_height + legend_height
    heading = writer.text(
        left + margin * 0.5, top + 3.6 * unit, drawing.title, 2.4, "start", bold=True
    )
    key = writer.legend(drawing.legend, x0, -y0 + margin * 0.8)
    pattern = (
        f'<defs><pattern id="{prefix}-hatch" width="{_n(2 * unit)}" height="{_n(2 * unit)}" '
        f'patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" '
        f'y2="{_n(2 * unit)}" stroke="#1f2933" stroke-width="{_n(0.3 * unit)}"/></pattern></defs>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" '
        f'aria-labelledby="{prefix}-title {prefix}-desc" '
        f'viewBox="{_n(left)} {_n(top)} {_n(width)} {_n(height)}" '
        f'font-family="system-ui, sans-serif" stroke-linecap="round">'
        f'<title id="{prefix}-title">{_safe(drawing.title)}</title>'
        f'<desc id="{prefix}-desc">{_safe(drawing.description)}</desc>{pattern}'
        f'<rect x="{_n(left)}" y="{_n(top)}" width="{_n(width)}" height="{_n(height)}" '
        f'fill="#ffffff"/>{heading}{"".join(body)}{key}</svg>\n'
    )


def _nothing(drawing: Drawing, prefix: str) -> str:
    """A narrow strip that says why there is nothing to see; `data-empty` tells programs."""
    width = max(100.0, 2.0 * len(drawing.description) + 8.0)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" data-empty="true" '
        f'aria-labelledby="{prefix}-title {prefix}-desc" viewBox="0 0 {_n(width)} 14" '
        f'font-family="system-ui, sans-serif">'
        f'<title id="{prefix}-title">{_safe(drawing.title)}</title>'
        f'<desc id="{prefix}-desc">{_safe(drawing.description)}</desc>'
        f'<rect width="{_n(width)}" height="14" fill="#ffffff"/>'
        f'<text x="4" y="8.5" font-size="4" fill="#1f2933">{_safe(drawing.description)}</text>'
        f"</svg>\n"
    )


def _points(shape: Shape) -> Iterable[Point]:
    match shape:
        case Line() | Polygon():
            return shape.points
        case Segments():
            return (point for pair in shape.pairs for point in pair)
        case Circle():
            (x, y), r = shape.centre, shape.radius
            return ((x - r, y - r), (x + r, y + r))
        case Arrow():
            return (shape.start, shape.end)
        case Dimension():
            return (*_moved(shape), shape.start, shape.end)
        case Label():
            return (shape.at,)


def _moved(dimension: Dimension) -> tuple[Point, Point]:
    (x0, y0), (x1, y1) = dimension.start, dimension.end
    length = math.hypot(x1 - x0, y1 - y0) or 1.0
    dx, dy = -(y1 - y0) / length * dimension.offset, (x1 - x0) / length * dimension.offset
    return (x0 + dx, y0 + dy), (x1 + dx, y1 + dy)


def unit_of(drawing: Drawing) -> float:
    """A hundredth of the drawing's longer side, mm: what widths and text sizes count in."""
    x0, y0, x1, y1 = bounds(drawing.shapes)
    return (max(x1 - x0, y1 - y0) or 1.0) / 100.0


def simple(shape: Shape, unit: float) -> list[Simple]:
    """The shape as lines, outlines, circles and labels: what every writer can draw."""
    match shape:
        case Arrow():
            return _arrow(shape, unit)
        case Dimension():
            return _dimension(shape, unit)
        case _:
            return [shape]


def _arrow(arrow: Arrow, unit: float) -> list[Simple]:
    (x0, y0), (x1, y1) = arrow.start, arrow.end
    length = math.hypot(x1 - x0, y1 - y0) or 1.0
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    head, half = 2.2 * unit, 0.9 * unit
    back = (x1 - ux * head, y1 - uy * head)
    corners = ((x1, y1), (back[0] - uy * half, back[1] + ux * half))
    other = (back[0] + uy * half, back[1] - ux * half)
    filled = Ink(arrow.ink.stroke, 0.1, (), arrow.ink.stroke)
    return [Line((arrow.start, back), arrow.ink), Polygon((*corners, other), filled)]


def _dimension(dimension: Dimension, unit: float) -> list[Simple]:
    start, end = _moved(dimension)
    ink = Ink("#52606d", 0.15)
    away = [Line((dimension.start, start), ink), Line((dimension.end, end), ink)]
    ux, uy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(ux, uy) or 1.0
    ux, uy = ux / length, uy / length
    tick = 0.9 * unit
    ticks = [
        Line(
            (
                (x - (ux - uy) * tick, y - (uy + ux) * tick),
                (x + (ux - uy) * tick, y + (uy + ux) * tick),
            ),
            ink,
        )
        for x, y in (start, end)
    ]
    angle = math.degrees(math.atan2(uy, ux))
    if angle > 90.0 or angle <= -90.0:
        angle += 180.0
    side = math.radians(angle + 90.0)
    middle = (
        (start[0] + end[0]) / 2 + math.cos(side) * 0.7 * unit,
        (start[1] + end[1]) / 2 + math.sin(side) * 0.7 * unit,
    )
    label = Label(middle, dimension.text, dimension.size, "middle", angle)
    return [*away, Line((start, end), ink), *ticks, label]


#: What XML 1.0 has no place for, not even escaped.
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def _safe(text: str) -> str:
    return escape(_NOT_XML.sub("\ufffd", text))


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class _Writer:
    def __init__(self, unit: float, prefix: str) -> None:
        self.unit, self.prefix = unit, prefix

    def ink(self, shape: Shape) -> str:
        match shape:
            case Line():
                return f'<polyline points="{self._run(shape.points)}"{self._look(shape.ink)}/>'
            case Segments():
                run = "".join(
                    f"M{_n(x0)} {_n(-y0)}L{_n(x1)} {_n(-y1)}" for (x0, y0), (x1, y1) in shape.pairs
                )
                return f'<path d="{run}"{self._look(shape.ink)}/>'
            case Polygon():
                return f'<polygon points="{self._run(shape.points)}"{self._look(shape.ink)}/>'
            case Circle():
                x, y = shape.centre
                return (
                    f'<circle cx="{_n(x)}" cy="{_n(-y)}" r="{_n(shape.radius)}"'
                    f"{self._look(shape.ink)}/>"
                )
            case Label():
                x, y = shape.at
                return self.text(
                    x,
                    -y,
                    shape.text,
                    shape.size,
                    shape.anchor,
                    bold=shape.bold,
                    colour=shape.colour,
                    turned_deg=-shape.turned_deg,
                )
            case Arrow() | Dimension():
                return "".join(self.ink(part) for part in simple(shape, self.unit))

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        anchor: str,
        *,
        bold: bool = False,
        colour: str = "#1f2933",
        turned_deg: float = 0.0,
    ) -> str:
        weight = ' font-weight="600"' if bold else ""
        turn = f' transform="rotate({_n(turned_deg)} {_n(x)} {_n(y)})"' if turned_deg else ""
        return (
            f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size * self.unit)}" '
            f'text-anchor="{anchor}" fill="{colour}"{weight}{turn}>{_safe(text)}</text>'
        )

    def legend(self, entries: Sequence[Legend], x: float, y: float) -> str:
        rows = []
        for row, entry in enumerate(entries):
            middle = y + (1.5 + 3.2 * row) * self.unit
            end = x + 7 * self.unit
            if entry.ink.fill != "none" or entry.ink.hatched:
                rows.append(
                    f'<rect x="{_n(x)}" y="{_n(middle - self.unit)}" width="{_n(7 * self.unit)}" '
                    f'height="{_n(2 * self.unit)}"{self._look(entry.ink)}/>'
                )
            else:
                rows.append(
                    f'<line x1="{_n(x)}" y1="{_n(middle)}" x2="{_n(end)}" y2="{_n(middle)}"'
                    f"{self._look(entry.ink)}/>"
                )
            rows.append(
                self.text(end + self.unit, middle + 0.6 * self.unit, entry.text, 1.8, "start")
            )
        return "".join(rows)

    def _run(self, points: Sequence[Point]) -> str:
        return " ".join(f"{_n(x)},{_n(-y)}" for x, y in points)

    def _look(self, ink: Ink) -> str:
        fill = f"url(#{self.prefix}-hatch)" if ink.hatched else ink.fill
        dash = (
            ' stroke-dasharray="' + " ".join(_n(part * self.unit) for part in ink.dash) + '"'
            if ink.dash
            else ""
        )
        return (
            f' fill="{fill}" stroke="{ink.stroke}" stroke-width="{_n(ink.width * self.unit)}"{dash}'
        )
