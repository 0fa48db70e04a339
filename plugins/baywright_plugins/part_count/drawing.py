"""Pictures of a count: a table of bars by section, and needed against the shelf."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import (
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

from .bars import strokes

_ROD = Ink("#1f2933", 0.15, (), "#52606d")
_HUB = Ink("#1f2933", 0.15, (), "none", True)
_ITEM = Ink("#1f2933", 0.2, (1.0, 0.7), "#ffffff")
_SHELF = Ink("#1f2933", 0.2, (), "#ffffff")
_USED = Ink("#1f2933", 0.1, (), "#9fb3c8")
_SHORT = Ink("#1f2933", 0.2, (), "none", True)
_RULE = Ink("#9aa5b1", 0.1)

_KINDS = (
    ("rod", _ROD, "rods (solid)"),
    ("hub", _HUB, "hubs and mid-hubs (hatched)"),
    ("item", _ITEM, "other parts (dashed outline)"),
)

_ROW = 9.0
_NAME = 34.0
_COLUMN = 27.0
_TEXT = 3.4
_MOST_ROWS = 60

Row = Mapping[str, Any]


@dataclass(frozen=True)
class _Sheet:
    """Writes text of one height whatever the size of the whole picture."""

    width: float
    height: float

    def text(self, x: float, y: float, words: str, *, bold: bool = False) -> Label:
        size = _TEXT * 100.0 / max(self.width, self.height)
        return Label((x, y), words, size, bold=bold)

    def rule(self, y: float, ink: Ink = _RULE) -> Line:
        return Line(((0.0, y), (self.width, y)), ink)


def draw_by_section(result: Mapping[str, Any], title: str) -> Drawing:
    """A row for each part, a column for each place; number above a bar, one scale for all."""
    every = [row for row in result["parts"] if row["total_count"] or row["needed_count"]]
    rows = every[:_MOST_ROWS]
    columns = _columns(rows)
    most = max((count for row in rows for count in _cells(row, columns)), default=0) or 1
    wide = _NAME + _COLUMN * (len(columns) + 1)
    sheet = _Sheet(max(wide, 190.0), _ROW * (len(rows) + 1))
    names = [*columns[:-1], "in all"] if columns[-1] == "needed_count" else columns
    shapes: list[Shape] = [
        sheet.text(_NAME + _COLUMN * number, 2.5, name.removesuffix("_count"), bold=True)
        for number, name in enumerate(names)
    ]
    shapes.append(sheet.rule(1.0, Ink("#1f2933", 0.25)))
    for place, row in enumerate(rows):
        y = -_ROW * (place + 1)
        shapes += _row(row, columns, y, most, sheet)
        shapes.append(sheet.rule(y - 0.6))
    legend = [Legend(ink, text) for kind, ink, text in _KINDS if kind in map(_group, rows)]
    words = "; ".join(f"{row['item']} {row['needed_count']}" for row in rows)
    more = f" The first {_MOST_ROWS} of {len(every)} parts." if len(every) > len(rows) else ""
    description = f"Needed in all: {words}.{more}"
    return Drawing(f"Parts by section: {title}", description, shapes, legend)


def _group(row: Row) -> str:
    return {"rod": "rod", "hub": "hub", "mid-hub": "hub"}.get(row["kind"], "item")


def _columns(rows: Sequence[Row]) -> list[str]:
    columns = list(rows[0]["sections"])[:12] if rows else []
    for name in ("joints_count", "accessories_count"):
        if any(row[name] for row in rows):
            columns.append(name)
    return [*columns, "needed_count"]


def _cells(row: Row, columns: Sequence[str]) -> list[int]:
    """Counts by column; the last one, the sum, draws no bar beside others."""
    counts = [row["sections"][name] if name in row["sections"] else row[name] for name in columns]
    return counts[:-1] if len(counts) > 1 else counts


def _row(row: Row, columns: Sequence[str], y: float, most: int, sheet: _Sheet) -> list[Shape]:
    ink = {kind: ink for kind, ink, _ in _KINDS}[_group(row)]
    shapes: list[Shape] = [sheet.text(0.0, y + 2.6, row["item"], bold=True)]
    counts = _cells(row, columns)
    longest = sheet.width - _NAME if len(columns) == 1 else _COLUMN - 5.0
    for number, count in enumerate(counts):
        x = _NAME + _COLUMN * number
        if not count:
            shapes.append(sheet.text(x, y + 3.6, "-"))
            continue
        shapes.append(sheet.text(x, y + 3.9, str(count)))
        shapes += _bar(x, y + 0.4, longest * count / most, 2.6, ink)
    if len(counts) < len(columns):
        x = _NAME + _COLUMN * len(counts)
        shapes.append(sheet.text(x, y + 2.6, str(row["needed_count"]), bold=True))
    return shapes


def draw_stock(result: Mapping[str, Any], title: str) -> Drawing:
    """Each part on a scale of its own: used of the shelf, left there, to buy."""
    heading = f"Needed against the shelf: {title}"
    held = [row for row in result["parts"] if "free_count" in row and row["total_count"]]
    if not held:
        words = "No stock was given, so nothing is held against the shelf."
        sheet = _Sheet(120.0, 20.0)
        return Drawing(heading, words, [sheet.rule(-4.0), sheet.text(0.0, 0.0, words)])
    rows = held[:_MOST_ROWS]
    sheet = _Sheet(_NAME + 160.0, _ROW * (len(rows) + 1))
    shapes: list[Shape] = [sheet.rule(0.0, Ink("#1f2933", 0.25))]
    for place, row in enumerate(rows):
        y = -_ROW * (place + 1)
        shapes += _against_shelf(row, y + 1.0, sheet)
        shapes.append(sheet.rule(y - 0.6))
    legend = [
        Legend(_USED, "used from the shelf (filled)"),
        Legend(_SHELF, "left on the shelf (outline)"),
        Legend(_SHORT, "to buy (hatched)"),
    ]
    words = "; ".join(f"{row['item']} {_shelf_words(row)}" for row in rows)
    return Drawing(heading, f"Each part on its own scale. {words}.", shapes, legend)


def _against_shelf(row: Row, y: float, sheet: _Sheet) -> list[Shape]:
    full = 90.0
    total, free = row["total_count"], row["free_count"]
    scale = full / max(total, free, 1)
    used = min(total, free) * scale
    shapes: list[Shape] = [sheet.text(0.0, y + 1.4, row["item"], bold=True)]
    shapes += _bar(_NAME, y, used, 5.0, _USED)
    if total != free:
        shapes += _bar(_NAME + used, y, full - used, 5.0, _SHORT if total > free else _SHELF)
    words = sheet.text(_NAME + full + 3.0, y + 1.4, _shelf_words(row), bold=total > free)
    return [*shapes, words]


def _shelf_words(row: Row) -> str:
    outcome = f"buy {row['to_buy_count']}" if row["to_buy_count"] else f"{row['left_count']} left"
    if row["kind"] == "assembly" and row["total_count"] > row["free_count"]:
        outcome = f"build {row['total_count'] - row['free_count']}"
    words = f"{row['total_count']} of {row['free_count']}, {outcome}"
    if row["replaced_count"]:
        words += f" ({row['replaced_count']} as pairs)"
    return words


def _bar(x: float, y: float, width: float, height: float, ink: Ink) -> list[Shape]:
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    if not ink.hatched:
        return [Polygon(corners, ink)]
    outline = Polygon(corners, Ink(ink.stroke, ink.width))
    return [outline, Segments(strokes(x, y, width, height), Ink(ink.stroke, 0.12))]
