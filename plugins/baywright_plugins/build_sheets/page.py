"""A sheet laid out on paper: its panels at a scale, and below them what is on it in words."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from baywright_service.contract import (
    Circle,
    Dimension,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

from .marks import centred, hub_symbol, letter, width_mm
from .panels import Panel, Point
from .scales import TEXT_MM, scale_for

#: Between lines of the words below, and the least width they get, mm on paper.
_LINE, _LEAST_WIDTH, _ABOVE = 4.4, 105.0, 4.0


@dataclass(frozen=True)
class Entry:
    """Words below the panels; with a kind of hub its symbol before them."""

    text: str
    hub: int | None = None

    @property
    def width(self) -> float:
        """On paper, mm, with the room to the next."""
        return width_mm(self.text) + (7.0 if self.hub is not None else 3.0)


def scale_of(panels: Sequence[Panel], entries: Sequence[Sequence[Entry]], paper: str) -> int:
    """The standard scale at which a sheet fits the paper."""
    return scale_for(lambda scale: _size(panels, entries, scale), paper)


def _size(
    panels: Sequence[Panel], entries: Sequence[Sequence[Entry]], scale: int
) -> tuple[float, float]:
    wide, high = sum(_columns(panels, scale)), sum(_rows(panels, scale))
    lines = _lines(entries, max(wide, _LEAST_WIDTH))
    longest = max((sum(e.width for e in line) for line in lines), default=0.0)
    return max(wide, longest), high + _ABOVE + _LINE * len(lines)


def origins(panels: Sequence[Panel], scale: int) -> list[Point]:
    """Where the origin of each panel stands in the drawing, mm of the thing. Panels of a column
    share their coordinate to the right, those of a row theirs upward."""
    columns = [0.0, *accumulate(_columns(panels, scale))]
    rows = [0.0, *accumulate(_rows(panels, scale))]
    found = []
    for panel in panels:
        left = min(_box(p, scale)[0] for p in panels if p.column == panel.column)
        below = min(_box(p, scale)[1] for p in panels if p.row == panel.row)
        x, y = columns[panel.column] - left, rows[panel.row] - below
        found.append((x * scale, y * scale))
    return found


def _box(panel: Panel, scale: int) -> tuple[float, float, float, float]:
    """What a panel covers with its words, mm on paper from its origin: low x, y, high x, y."""
    left, below, right, above = (
        margin + beyond / scale for margin, beyond in zip(panel.margins, panel.beyond, strict=True)
    )
    (x0, y0), (x1, y1) = panel.low, panel.high
    return x0 / scale - left, y0 / scale - below, x1 / scale + right, y1 / scale + above


def _columns(panels: Sequence[Panel], scale: int) -> list[float]:
    """Widths of the columns, mm on paper."""
    return [
        max(box[2] for box in boxes) - min(box[0] for box in boxes)
        for column in range(1 + max(panel.column for panel in panels))
        if (boxes := [_box(panel, scale) for panel in panels if panel.column == column])
    ]


def _rows(panels: Sequence[Panel], scale: int) -> list[float]:
    """Heights of the rows from below, mm on paper."""
    return [
        max(box[3] for box in boxes) - min(box[1] for box in boxes)
        for row in range(1 + max(panel.row for panel in panels))
        if (boxes := [_box(panel, scale) for panel in panels if panel.row == row])
    ]


def _lines(entries: Sequence[Sequence[Entry]], wide: float) -> list[list[Entry]]:
    """Each group begins a line, and goes on on the next where it is too long."""
    lines: list[list[Entry]] = []
    for group in entries:
        lines.append([])
        for entry in group:
            if lines[-1] and sum(e.width for e in lines[-1]) + entry.width > wide:
                lines.append([])
            lines[-1].append(entry)
    return lines


def words_below(
    panels: Sequence[Panel],
    entries: Sequence[Sequence[Entry]],
    scale: int,
    kinds: Sequence[int],
) -> list[Shape]:
    """The entries as lines of text under the panels."""
    shapes: list[Shape] = []
    lines = _lines(entries, max(sum(_columns(panels, scale)), _LEAST_WIDTH))
    for number, line in enumerate(lines):
        x, y = 1.0, -_ABOVE - _LINE * number
        for entry in line:
            start = x
            if entry.hub is not None:
                at = ((x + 1.9) * scale, (y + 0.95) * scale)
                shapes.append(hub_symbol(at, 1.6 * scale, entry.hub, kinds))
                shapes.append(centred(at, letter(entry.hub, kinds), scale))
                start += 4.6
            shapes.append(Label((start * scale, y * scale), entry.text, TEXT_MM))
            x += entry.width
    return shapes


def on_paper(
    shapes: Sequence[Shape], legend: Sequence[Legend], scale: int
) -> tuple[list[Shape], list[Legend]]:
    """Shapes whose sizes are in mm on paper as shapes of a drawing, whose sizes are shares of its
    longer side."""
    share = scale * 100.0 / _longer(shapes)
    return (
        [_resized(shape, share) for shape in shapes],
        [Legend(_ink(entry.ink, share), entry.text) for entry in legend],
    )


def _longer(shapes: Sequence[Shape]) -> float:
    points = [point for shape in shapes for point in _points(shape)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return max(max(xs) - min(xs), max(ys) - min(ys)) or 1.0


def _points(shape: Shape) -> Sequence[Point]:
    match shape:
        case Line() | Polygon():
            return shape.points
        case Segments():
            return [point for pair in shape.pairs for point in pair]
        case Circle():
            (x, y), r = shape.centre, shape.radius
            return (x - r, y - r), (x + r, y + r)
        case Label():
            return (shape.at,)
        case Dimension():
            # only level and upright ones are drawn here
            (x0, y0), (x1, y1) = shape.start, shape.end
            level = abs(y1 - y0) < abs(x1 - x0)
            dx, dy = (0.0, shape.offset) if level else (-shape.offset, 0.0)
            return shape.start, shape.end, (x0 + dx, y0 + dy), (x1 + dx, y1 + dy)
        case _:
            return ()


def _resized(shape: Shape, share: float) -> Shape:
    match shape:
        case Label() | Dimension():
            return replace(shape, size=shape.size * share)
        case Line() | Segments() | Polygon() | Circle():
            return replace(shape, ink=_ink(shape.ink, share))
        case _:
            return shape


def _ink(ink: Ink, share: float) -> Ink:
    dash = tuple(round(part * share, 4) for part in ink.dash)
    return replace(ink, width=round(ink.width * share, 4), dash=dash)
