"""Pictures of a count: a table of bars by section, and needed against the shelf."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Drawing, Ink, Label, Legend, Line, Polygon, Shape

_ROD = Ink("#1f2933", 0.15, (), "#52606d")
_HUB = Ink("#1f2933", 0.15, (), "none", True)
_ITEM = Ink("#1f2933", 0.2, (1.0, 0.7), "#ffffff")
_SHELF = Ink("#1f2933", 0.3, (), "#ffffff")
_USED = Ink("#1f2933", 0.1, (), "#9fb3c8")
_SHORT = Ink("#1f2933", 0.3, (), "none", True)
_RULE = Ink("#9aa5b1", 0.1)

_ROW = 9.0
_NAME = 30.0
_COLUMN = 22.0

Row = Mapping[str, Any]


def draw_by_section(result: Mapping[str, Any], title: str) -> Drawing:
    """A row for each part, a column for each place; number above a bar, one scale for all."""
    rows = [row for row in result["parts"] if row["total_count"] or row["needed_count"]]
    columns = _columns(result, rows)
    most = max((count for row in rows for _, count in _cells(row, columns)), default=0) or 1
    shapes: list[Shape] = []
    for number, name in enumerate([*columns, "needed"]):
        x = _NAME + _COLUMN * number
        shapes.append(Label((x, 2.5), name, 1.9, bold=True))
    width = _NAME + _COLUMN * (len(columns) + 1)
    shapes.append(Line(((0.0, 1.0), (width, 1.0)), Ink("#1f2933", 0.25)))
    for place, row in enumerate(rows):
        y = -_ROW * (place + 1)
        shapes += _row(row, columns, y, most)
        shapes.append(Line(((0.0, y - 0.6), (width, y - 0.6)), _RULE))
    legend = [Legend(ink, text) for kind, ink, text in _KINDS if kind in map(_group, rows)]
    words = "; ".join(f"{row['item']} {row['needed_count']}" for row in rows[:40])
    return Drawing(f"Parts by section: {title}", f"Needed in all: {words}.", shapes, legend)


_KINDS = (
    ("rod", _ROD, "rods (solid)"),
    ("hub", _HUB, "hubs and mid-hubs (hatched)"),
    ("item", _ITEM, "other parts (dashed outline)"),
)


def _group(row: Row) -> str:
    return {"rod": "rod", "hub": "hub", "mid-hub": "hub"}.get(row["kind"], "item")


def _columns(result: Mapping[str, Any], rows: Sequence[Row]) -> list[str]:
    columns = [row["id"] for row in result.get("sections", ())]
    if any(row["joints_count"] for row in rows):
        columns.append("joints")
    if any(row["accessories_count"] for row in rows):
        columns.append("accessories")
    return columns


def _cells(row: Row, columns: Sequence[str]) -> list[tuple[str, int]]:
    beside = {"joints": row["joints_count"], "accessories": row["accessories_count"]}
    return [
        (name, row["sections"][name] if name in row["sections"] else beside[name])
        for name in columns
    ]


def _row(row: Row, columns: Sequence[str], y: float, most: int) -> list[Shape]:
    ink = {kind: ink for kind, ink, _ in _KINDS}[_group(row)]
    shapes: list[Shape] = [Label((0.0, y + 3.0), row["item"], 1.9, bold=True)]
    for number, (_, count) in enumerate(_cells(row, columns)):
        x = _NAME + _COLUMN * number
        if not count:
            shapes.append(Label((x, y + 3.6), "-", 1.8, colour="#52606d"))
            continue
        shapes.append(Label((x, y + 3.9), str(count), 1.8))
        shapes.append(_bar(x, y + 0.4, (_COLUMN - 4.0) * count / most, 2.4, ink))
    x = _NAME + _COLUMN * len(columns)
    shapes.append(Label((x, y + 3.0), str(row["needed_count"]), 1.9, bold=True))
    return shapes


def draw_stock(result: Mapping[str, Any], title: str) -> Drawing:
    """Each part on a scale of its own: what is used of the shelf, what is free, what is missing."""
    rows = [row for row in result["parts"] if "free_count" in row and row["total_count"]]
    if not rows:
        words = "No stock was given, so nothing is held against the shelf."
        return Drawing(f"Needed against the shelf: {title}", words, [Label((0.0, 0.0), words, 3.0)])
    shapes: list[Shape] = []
    for place, row in enumerate(rows):
        shapes += _against_shelf(row, -_ROW * (place + 1))
    legend = [
        Legend(_USED, "used from the shelf (filled)"),
        Legend(_SHELF, "left on the shelf (outline)"),
        Legend(_SHORT, "to buy (hatched)"),
    ]
    words = "; ".join(_shelf_words(row) for row in rows[:40])
    return Drawing(
        f"Needed against the shelf: {title}",
        f"Each part on its own scale. {words}.",
        shapes,
        legend,
    )


def _against_shelf(row: Row, y: float) -> list[Shape]:
    full = 90.0
    total, free = row["total_count"], row["free_count"]
    scale = full / max(total, free, 1)
    used = min(total, free) * scale
    shapes: list[Shape] = [Label((0.0, y + 1.6), row["item"], 1.9, bold=True)]
    shapes.append(_bar(_NAME, y, used, 5.0, _USED))
    rest = _SHORT if total > free else _SHELF
    shapes.append(_bar(_NAME + used, y, full - used, 5.0, rest))
    shapes.append(Label((_NAME + full + 3.0, y + 1.6), _shelf_words(row, named=False), 1.8))
    shapes.append(Line(((_NAME + full + 70.0, y), (_NAME + full + 70.0, y)), _RULE))
    return shapes


def _shelf_words(row: Row, *, named: bool = True) -> str:
    outcome = f"buy {row['to_buy_count']}" if row["to_buy_count"] else f"{row['left_count']} left"
    words = f"{row['total_count']} of {row['free_count']}, {outcome}"
    if row["replaced_count"]:
        words += f" ({row['replaced_count']} replaced)"
    return f"{row['item']} {words}" if named else words


def _bar(x: float, y: float, width: float, height: float, ink: Ink) -> Polygon:
    return Polygon(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), ink)
