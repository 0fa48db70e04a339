"""A drawing for those who cut parts: DXF R2010 in millimetres, one to one.

Layers tell what a line is: those of the legend by their words, and outlines, hatches, dimensions,
arrows and text apart; fills are on layers that are switched off. The same drawing gives the same
bytes.
"""

import io
import re
import threading
from collections.abc import Mapping
from typing import Any

from ..drawing import (
    Arrow,
    Circle,
    Dimension,
    Drawing,
    Ink,
    Label,
    Line,
    Point,
    Polygon,
    Segments,
    Shape,
    Simple,
    bounds,
    simple,
    unit_of,
)
from .colour import rgb
from .fonts import printable

#: Height of a capital letter as a share of the size its font is set in (DejaVu Sans).
_CAPITAL = 0.73
_MILLIMETRES = 4
_STYLE = "SANS"
_WRITING = threading.Lock()
_BORN = 2451544.5  # 2000-01-01 as a Julian date


def dxf_bytes(drawing: Drawing) -> bytes:
    """The drawing as DXF; one without shapes holds its title and why there is nothing to see."""
    from ezdxf import options  # type: ignore[attr-defined]

    with _WRITING:  # what makes the file the same each time is a setting of the whole library
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            return _written(drawing)
        finally:
            options.write_fixed_meta_data_for_testing = before


def _written(drawing: Drawing) -> bytes:
    from ezdxf.filemanagement import new

    document: Any = new("R2010", setup=False, units=_MILLIMETRES)
    document.header["$MEASUREMENT"] = 1
    document.styles.add(_STYLE, font="DejaVuSans.ttf")
    _Sheet(document, drawing).draw()
    file = io.StringIO()
    document.write(file)
    return file.getvalue().encode("utf-8")


class _Sheet:
    def __init__(self, document: Any, drawing: Drawing) -> None:
        self.document, self.drawing = document, drawing
        self.space = document.modelspace()
        self.unit = unit_of(drawing) if drawing.shapes else 1.0
        self.of_ink: Mapping[Ink, str] = {
            entry.ink: _layer_name(entry.text) for entry in reversed(drawing.legend)
        }

    def draw(self) -> None:
        """Every shape, then the title and the words below."""
        for shape in self.drawing.shapes:
            for part in simple(shape, self.unit):
                self._add(part, self._layer(shape, part))
        x0, y0, _, y1 = bounds(self.drawing.shapes) if self.drawing.shapes else (0.0,) * 4
        self._words((x0, y1 + 8 * self.unit), self.drawing.title, 2.4)
        self._words((x0, y0 - 8 * self.unit), self.drawing.description, 1.8)

    def _layer(self, shape: Shape, part: Simple) -> str:
        """Which layer a part of a shape lies on; made where it is the first there."""
        match shape, part:
            case Dimension(), _:
                name = "DIMENSIONS"
            case _, Label():
                name = "TEXT"
            case Arrow(), _:
                name = self.of_ink.get(shape.ink, "ARROWS")
            case _, Line() | Segments() | Polygon() | Circle():
                name = self.of_ink.get(part.ink, "OUTLINES")
        if name not in self.document.layers:
            self.document.layers.add(name)
        return name

    def _add(self, part: Simple, layer: str) -> None:
        match part:
            case Label():
                self._text(part, layer)
            case Segments():
                for start, end in part.pairs:
                    self.space.add_line(start, end, self._look(part.ink, layer))
            case Line() if part.points:
                self.space.add_lwpolyline(part.points, dxfattribs=self._look(part.ink, layer))
            case Polygon() if part.points:
                self._filled(part, layer)
                look = self._look(part.ink, layer)
                self.space.add_lwpolyline(part.points, close=True, dxfattribs=look)
            case Circle():
                self._filled(part, layer)
                radius = max(part.radius, 1e-6)
                self.space.add_circle(part.centre, radius, dxfattribs=self._look(part.ink, layer))

    def _filled(self, part: Polygon | Circle, layer: str) -> None:
        """Hatches and fills lie on layers of their own; those of light fills are switched off."""
        ink = part.ink
        if ink.fill in ("none", "#ffffff", "#fff") and not ink.hatched:
            return
        name = f"{layer} {'HATCH' if ink.hatched else 'FILL'}"
        if name not in self.document.layers:
            made = self.document.layers.add(name)
            if not ink.hatched and layer != "ARROWS":
                made.off()
        hatch = self.space.add_hatch(dxfattribs={"layer": name})
        if ink.hatched:
            lines: list[Any] = [(45.0, (0.0, 0.0), (-1.4142 * self.unit, 1.4142 * self.unit), [])]
            hatch.set_pattern_fill("LINES", color=7, definition=lines)
        elif "color" in _colour(ink.fill):
            hatch.set_solid_fill(color=7)
        else:
            hatch.set_solid_fill(color=7, rgb=rgb(ink.fill))
        if isinstance(part, Polygon):
            hatch.paths.add_polyline_path(part.points, is_closed=True)
        else:
            hatch.paths.add_edge_path().add_arc(part.centre, max(part.radius, 1e-6), 0.0, 360.0)

    def _look(self, ink: Ink, layer: str) -> dict[str, Any]:
        return {
            "layer": layer,
            "lineweight": _line_weight(ink.width),
            "linetype": self._line_type(ink.dash),
            **_colour(ink.stroke),
        }

    def _line_type(self, dash: tuple[float, ...]) -> str:
        if not dash:
            return "Continuous"
        pattern = dash if len(dash) % 2 == 0 else dash * 2
        name = "DASH_" + "_".join(f"{part:g}".replace(".", "P") for part in pattern)
        if name not in self.document.linetypes:
            lengths = [
                part * self.unit * (1 if k % 2 == 0 else -1) for k, part in enumerate(pattern)
            ]
            whole = sum(map(abs, lengths))
            self.document.linetypes.add(name, [whole, *lengths], description=name)
        return name

    def _text(self, label: Label, layer: str) -> None:
        from ezdxf.enums import TextEntityAlignment as Align

        align = {"middle": Align.CENTER, "end": Align.RIGHT}.get(label.anchor, Align.LEFT)
        text = self.space.add_text(
            _uncoded(label.text),
            height=label.size * self.unit * _CAPITAL,
            rotation=label.turned_deg,
            dxfattribs={"layer": layer, "style": _STYLE, **_colour(label.colour)},
        )
        text.set_placement(label.at, align=align)

    def _words(self, at: Point, text: str, size: float) -> None:
        if "TITLE" not in self.document.layers:
            self.document.layers.add("TITLE")
        height = size * self.unit * _CAPITAL
        words = re.sub(r"([\\{}])", r"\\\1", _uncoded(text))
        attributes = {
            "layer": "TITLE",
            "style": _STYLE,
            "char_height": height,
            "width": 100 * self.unit,
            "insert": at,
        }
        self.space.add_mtext(words, dxfattribs=attributes)


def _uncoded(text: str) -> str:
    """Text without control characters; signs that begin a code are written so that they stay."""
    return printable(text).replace("^", "^ ").replace("%%", "%%%%%%")


def _layer_name(text: str) -> str:
    """A legend's words as the name of a layer.

    >>> _layer_name("members: 50 % or more / not sized")
    'MEMBERS 50 OR MORE NOT SIZED'
    """
    words = re.sub(r"[^A-Za-z0-9]+", " ", text).split()
    return " ".join(words).upper()[:60].strip() or "LEGEND"


def _colour(text: str) -> dict[str, int]:
    """Dark ink is colour 7, which a program shows black on white and white on black."""
    red, green, blue = rgb(text)
    if 0.3 * red + 0.59 * green + 0.11 * blue < 70:
        return {"color": 7}
    return {"true_color": (red << 16) + (green << 8) + blue}


def _line_weight(percent: float) -> int:
    """The nearest line weight of DXF, hundredths of a millimetre, for a sheet 200 mm wide."""
    known = (13, 18, 25, 35, 50, 70, 100, 140, 200)
    return min(known, key=lambda weight: abs(weight - percent * 100))
