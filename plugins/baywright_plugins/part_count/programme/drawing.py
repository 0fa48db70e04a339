"""Pictures of the programme: where parts come from, and which members are changed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from baywright_service.contract import Drawing, Ink, Label, Legend, Line, Polygon, Segments, Shape

from ...frame import Frame, axonometric
from ..bars import strokes

Row = Mapping[str, Any]

_FAINT = Ink("#9aa5b1", 0.1)
_PAIR = Ink("#0b5394", 0.5)
_OUT = Ink("#9a031e", 0.4, (1.0, 0.8))
_RULE = Ink("#9aa5b1", 0.1)

#: What a bar is made of, in order: field, ink, words.
_PIECES = (
    ("from_shelf_count", Ink("#1f2933", 0.12, (), "#9fb3c8"), "from the shelf (filled)"),
    ("salvaged_count", Ink("#1f2933", 0.12, (), "#d9e2ec"), "from old machines (pale)"),
    ("sawn_count", Ink("#1f2933", 0.2, (0.6, 0.5), "#ffffff"), "sawn (dashed outline)"),
    ("bought_count", Ink("#1f2933", 0.2, (), "none", True), "bought (hatched)"),
    ("still_short_count", Ink("#9a031e", 0.4, (1.6, 0.8), "#ffffff"), "missing (heavy dashes)"),
    ("saved_count", Ink("#1f2933", 0.3, (0.15, 0.5), "#f5f7fa"), "replaced or left out (dotted)"),
    ("idle_count", Ink("#1f2933", 0.15, (), "#ffffff"), "left on the shelf (outline)"),
)

_ROW, _NAME, _BAR, _TEXT = 9.0, 34.0, 90.0, 3.2
_MOST_ROWS = 60


@dataclass(frozen=True)
class _Sheet:
    """Writes text of one height whatever the size of the whole picture."""

    width: float
    height: float

    def text(self, x: float, y: float, words: str, *, bold: bool = False) -> Label:
        return Label((x, y), words, _TEXT * 100.0 / max(self.width, self.height), bold=bold)


def draw_supplies(programme: Row, title: str) -> Drawing:
    """Each part on a scale of its own: what is used, saved by changes, and left on the shelf."""
    rows = [
        {
            **row,
            "saved_count": max(row["needed_count"] - row["built_in_count"], 0),
            "idle_count": row["on_shelf_count"] - row["from_shelf_count"],
        }
        for row in programme["supplies"][:_MOST_ROWS]
    ]
    longest = max((len(_words(row)) for row in rows), default=0)
    sheet = _Sheet(_NAME + _BAR + max(100.0, 2.0 * longest), _ROW * (len(rows) + 1))
    shapes: list[Shape] = [Line(((0.0, 0.0), (sheet.width, 0.0)), Ink("#1f2933", 0.25))]
    used: dict[str, None] = {}
    for place, row in enumerate(rows):
        y = -_ROW * (place + 1)
        shapes += _supply(row, y + 1.0, sheet, used)
        shapes.append(Line(((0.0, y - 0.6), (sheet.width, y - 0.6)), _RULE))
    legend = [Legend(ink, words) for field, ink, words in _PIECES if field in used]
    words = "; ".join(f"{row['item']}: {_words(row)}" for row in rows)
    return Drawing(
        f"Where parts come from: {title}", f"Each part on its own scale. {words}.", shapes, legend
    )


def _supply(row: Row, y: float, sheet: _Sheet, used: dict[str, None]) -> list[Shape]:
    made_up = sum(row[field] for field, _, _ in _PIECES)
    scale = _BAR / max(made_up, 1)
    shapes: list[Shape] = [sheet.text(0.0, y + 1.4, row["item"], bold=True)]
    x = _NAME
    for field, ink, _ in _PIECES:
        wide = row[field] * scale
        if not wide:
            continue
        used[field] = None
        corners = ((x, y), (x + wide, y), (x + wide, y + 5.0), (x, y + 5.0))
        if ink.hatched:
            shapes.append(Polygon(corners, Ink(ink.stroke, ink.width)))
            shapes.append(Segments(strokes(x, y, wide, 5.0), Ink(ink.stroke, 0.12)))
        else:
            shapes.append(Polygon(corners, ink))
        x += wide
    bold = bool(row["bought_count"] or row["still_short_count"])
    shapes.append(sheet.text(_NAME + _BAR + 3.0, y + 1.4, _words(row), bold=bold))
    return shapes


def _words(row: Row) -> str:
    said = [f"{row['from_shelf_count']} of {row['on_shelf_count']} on the shelf"]
    for field, word in (
        ("saved_count", "replaced"),
        ("reserve_count", "as spares"),
        ("sawn_up_count", "sawn up"),
        ("salvaged_count", "salvaged"),
        ("sawn_count", "sawn"),
        ("bought_count", "bought"),
        ("still_short_count", "MISSING"),
    ):
        if row[field]:
            said.append(f"{row[field]} {word}")
    return ", ".join(said)


def draw_substitutes(frame: Frame, changes: Sequence[Row], title: str) -> Drawing:
    """A frame with the members that are changed, numbered in the order of the list."""
    flat = axonometric(frame.nodes_mm)
    shapes: list[Shape] = [
        Segments(_ends(flat[frame.start], flat[frame.end]), _FAINT),
    ]
    legend = [Legend(_FAINT, "stays as it is")]
    for what, ink, words in (
        ("pair", _PAIR, "two rods in line (solid)"),
        ("left-out", _OUT, "left out (dashed)"),
    ):
        mine = [row for row in changes if row["what"] == what]
        if not mine:
            continue
        a = axonometric(np.array([row["from_mm"] for row in mine]))
        b = axonometric(np.array([row["to_mm"] for row in mine]))
        shapes.append(Segments(_ends(a, b), ink))
        legend.append(Legend(ink, f"{words}: {len(mine)}"))
    if not changes:
        words = "Nothing is changed: every member is the rod that the layout states."
        return Drawing(f"Changed members: {title}", words, shapes, legend)
    per: dict[str, int] = {}
    for row in changes:
        per[row["section"]] = per.get(row["section"], 0) + 1
    for number, section in enumerate(frame.sections):
        nodes = flat[frame.node_section == number]
        if len(nodes):
            above = float(nodes[:, 1].max()) + 0.03 * float(np.ptp(flat, axis=0).max())
            words = f"{section.id}: {per.get(section.id, 0)}"
            shapes.append(
                Label((float(nodes[:, 0].mean()), above), words, 2.2, "middle", bold=True)
            )
    listed = ", ".join(f"{count} in {name}" for name, count in per.items())
    about = f"{len(changes)} members changed: {listed}. Mark them before you build."
    return Drawing(f"Changed members: {title}", about, shapes, legend)


def _ends(a: Any, b: Any) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    return [((p[0], p[1]), (q[0], q[1])) for p, q in zip(a.tolist(), b.tolist(), strict=True)]
