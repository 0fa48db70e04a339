"""The shapes of a drawing on a PDF page: lines and text, nothing rastered.

Lengths on paper are points (1/72 inch), y up as in drawings.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from ..drawing import (
    Circle,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Point,
    Polygon,
    Segments,
    Simple,
    bounds,
    simple,
    unit_of,
)
from .colour import share
from .fonts import BOLD, REGULAR, printable, register, width_of

MM = 72.0 / 25.4
#: No finer line than this prints well, points.
_FINEST = 0.2
_ASCENT, _DESCENT = 0.76, 0.24


@dataclass(frozen=True)
class Extent:
    """What a drawing covers with its text: mm from `left`, `low` to the right and up."""

    left: float
    low: float
    width: float
    height: float


def extent_of(drawing: Drawing) -> Extent:
    """The room for every shape and every word of a drawing that has shapes."""
    unit = unit_of(drawing)
    parts = [part for shape in drawing.shapes for part in simple(shape, unit)]
    corners = [corner for part in parts if isinstance(part, Label) for corner in _box(part, unit)]
    x0, y0, x1, y1 = bounds(drawing.shapes)
    xs, ys = [x0, x1, *(x for x, _ in corners)], [y0, y1, *(y for _, y in corners)]
    edge = 0.6 * unit  # half of the widest line, and a little air
    left, low = min(xs) - edge, min(ys) - edge
    return Extent(left, low, max(xs) + edge - left, max(ys) + edge - low)


def _box(label: Label, unit: float) -> Iterable[Point]:
    """The corners of a label's text, mm."""
    size = label.size * unit
    long = width_of(label.text, size, bold=label.bold)
    start = {"middle": -long / 2, "end": -long}.get(label.anchor, 0.0)
    angle = math.radians(label.turned_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    for along in (start, start + long):
        for up in (-_DESCENT * size, _ASCENT * size):
            yield label.at[0] + along * cos - up * sin, label.at[1] + along * sin + up * cos


class Painter:
    """Draws on a canvas, with (`x`, `y`) of the page for the drawing's origin."""

    def __init__(self, canvas: Any, x: float, y: float, scale: float, unit: float) -> None:
        register()
        self.canvas, self.x, self.y, self.scale, self.unit = canvas, x, y, scale, unit

    def paint(self, shapes: Iterable[Simple]) -> None:
        """Every shape, in its order."""
        for shape in shapes:
            match shape:
                case Label():
                    self._label(shape)
                case Circle():
                    x, y = self._on_page(shape.centre)
                    path = self.canvas.beginPath()
                    path.circle(x, y, max(shape.radius * self.scale, 1e-3))
                    self._draw(path, shape.ink, self._around(shape))
                case Line() | Polygon() if not shape.points:
                    continue
                case Line():
                    self._draw(self._path(shape.points), shape.ink, None)
                case Polygon():
                    around = _around([self._on_page(point) for point in shape.points])
                    self._draw(self._path(shape.points, closed=True), shape.ink, around)
                case Segments():
                    path = self.canvas.beginPath()
                    for start, end in shape.pairs:
                        path.moveTo(*self._on_page(start))
                        path.lineTo(*self._on_page(end))
                    self._draw(path, shape.ink, None)

    def _on_page(self, point: Point) -> Point:
        return self.x + point[0] * self.scale, self.y + point[1] * self.scale

    def _path(self, points: Sequence[Point], *, closed: bool = False) -> Any:
        path = self.canvas.beginPath()
        path.moveTo(*self._on_page(points[0]))
        for point in points[1:]:
            path.lineTo(*self._on_page(point))
        if closed:
            path.close()
        return path

    def _around(self, circle: Circle) -> tuple[float, float, float, float]:
        (x, y), r = self._on_page(circle.centre), circle.radius * self.scale
        return x - r, y - r, x + r, y + r

    def _draw(self, path: Any, ink: Ink, around: tuple[float, float, float, float] | None) -> None:
        """Stroke, fill or hatch; `around` is the box of a closed shape on the page."""
        canvas, point = self.canvas, self.unit * self.scale
        canvas.setLineCap(1)
        canvas.setLineJoin(1)
        canvas.setDash([max(part * point, 0.1) for part in ink.dash] if ink.dash else [])
        if ink.hatched and around:
            self._hatch(path, around, 2.0 * point, max(0.2 * point, _FINEST))
        fill = around is not None and ink.fill != "none" and not ink.hatched
        if fill:
            canvas.setFillColorRGB(*share(ink.fill))
        stroke = ink.stroke != "none" and ink.width > 0
        if stroke:
            canvas.setStrokeColorRGB(*share(ink.stroke))
            canvas.setLineWidth(max(ink.width * point, _FINEST))
        if stroke or fill:
            canvas.drawPath(path, stroke=int(stroke), fill=int(fill))

    def _hatch(
        self, path: Any, around: tuple[float, float, float, float], gap: float, width: float
    ) -> None:
        """Lines at 45 degrees, cut off at the path; they start at the page's corner."""
        x0, y0, x1, y1 = around
        canvas = self.canvas
        canvas.saveState()
        canvas.clipPath(path, stroke=0, fill=0)
        canvas.setDash([])
        canvas.setLineWidth(width)
        canvas.setStrokeColorRGB(*share("#1f2933"))
        step = gap * math.sqrt(2.0)
        lines = canvas.beginPath()
        for k in range(math.floor((x0 - y1) / step), math.ceil((x1 - y0) / step) + 1):
            lines.moveTo(y0 + k * step, y0)
            lines.lineTo(y1 + k * step, y1)
        canvas.drawPath(lines, stroke=1, fill=0)
        canvas.restoreState()

    def _label(self, label: Label) -> None:
        x, y = self._on_page(label.at)
        size = label.size * self.unit * self.scale
        self.text(x, y, label.text, size, label.anchor, label.bold, label.colour, label.turned_deg)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        anchor: str = "start",
        bold: bool = False,
        colour: str = "#1f2933",
        turned_deg: float = 0.0,
    ) -> None:
        """Text at a point of the page."""
        canvas = self.canvas
        canvas.setFont(BOLD if bold else REGULAR, size)
        canvas.setFillColorRGB(*share(colour))
        draw = {"middle": canvas.drawCentredString, "end": canvas.drawRightString}.get(
            anchor, canvas.drawString
        )
        if turned_deg:
            canvas.saveState()
            canvas.translate(x, y)
            canvas.rotate(turned_deg)
            draw(0, 0, printable(text))
            canvas.restoreState()
        else:
            draw(x, y, printable(text))


def _around(points: Sequence[Point]) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def place(
    canvas: Any,
    drawing: Drawing,
    left: float,
    low: float,
    width: float,
    height: float,
    scale: float,
) -> None:
    """The shapes of `drawing` in the middle of a box of the page; `scale` is points for a mm."""
    extent = extent_of(drawing)
    x = left + (width - extent.width * scale) / 2 - extent.left * scale
    y = low + (height - extent.height * scale) / 2 - extent.low * scale
    unit = unit_of(drawing)
    painter = Painter(canvas, x, y, scale, unit)
    painter.paint(part for shape in drawing.shapes for part in simple(shape, unit))


def sample(canvas: Any, entry: Legend, x: float, y: float, width: float, height: float) -> None:
    """What an ink of the legend looks like, in a box of the page."""
    painter = Painter(canvas, 0.0, 0.0, 1.0, 2.2)
    if entry.ink.fill != "none" or entry.ink.hatched:
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        painter.paint([Polygon(corners, entry.ink)])
    else:
        painter.paint([Line(((x, y + height / 2), (x + width, y + height / 2)), entry.ink)])
