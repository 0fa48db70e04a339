"""Rows of rods as chains of dimensions."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Circle, Dimension, Drawing, Ink, Label, Legend, Line, Shape

from .findings import mm
from .panels import FINE, OUTLINE, Panel, empty, sheet

Row = Mapping[str, Any]

_WANTED = Ink("#0b5394", 0.3, (1.0, 0.5))
_HUB = Ink("#1f2933", 0.2, (), "#ffffff")


def rows_drawing(value: Mapping[str, Any]) -> Drawing:
    """The best row of each span and axis, or the nearest miss; loops have none."""
    records = [*value.get("spans", ()), *value.get("axes", ())][:10]
    chosen = {a["axis"]: a["row"] for s in value.get("solutions", ())[:1] for a in s["axes"]}
    drawn = [(r, chosen.get(r.get("axis")) or _best(r)) for r in records]
    chains = [(record, row) for record, row in drawn if row is not None]
    if not chains:
        return empty("Rows of rods", "No row of rods was asked for.")
    longest = max(row["length_mm"] for _, row in chains)
    panels = [[_chain(record, row, longest)] for record, row in chains]
    return sheet(
        "Rows of rods",
        "The row of rods chosen for each length, rod by rod, with the length wanted below.",
        panels,
        [
            Legend(OUTLINE, "rods, from hub centre to hub centre"),
            Legend(_WANTED, "length wanted"),
        ],
        gap=0.03,
    )


def _best(record: Row) -> Row | None:
    if record["rows"]:
        best: Row = record["rows"][0]
        return best
    return record.get("nearest")


def _chain(record: Row, row: Row, longest: float) -> Panel:
    unit = longest / 100
    base = 9 * unit
    shapes: list[Shape] = []
    x = 0.0
    runs = _runs(row)
    for rod, count, pitch in runs:
        end = x + count * pitch
        text = rod if count == 1 else f"{count} x {rod}"
        size = 1.5 if len(text) * 1.1 * unit < end - x else 1.0
        shapes.append(Dimension((x, base), (end, base), text, 3 * unit, size))
        for _ in range(count):
            shapes.append(Line(((x, base), (x + pitch, base)), OUTLINE))
            shapes.append(Circle((x, base), 0.7 * unit, _HUB))
            x += pitch
    shapes.append(Circle((x, base), 0.7 * unit, _HUB))
    wanted = record["wanted_mm"] - record.get("joints_mm", 0.0)
    name = record.get("id") or f"along {record['axis']}"
    miss = row["misfit_mm"]
    off = "exact" if miss == 0 else f"{mm(abs(miss))} mm {'long' if miss > 0 else 'short'}"
    share = row.get("play_used_ratio")
    forced = "" if share is None or miss == 0 else f", {share:.2f} of its play"
    closes = "closes" if row["closes"] else "does not close"
    if row["closes"] and (share is None or share > 1):
        closes, forced = "within the tolerance", ""
    if record.get("aim") == "stay-within":
        closes, forced = "longest within", ""
    shapes += [
        Line(((0.0, base - 4 * unit), (wanted, base - 4 * unit)), _WANTED),
        Line(((wanted, base - 5 * unit), (wanted, base + 1.5 * unit)), FINE),
        Label(
            (0.0, base - 6.5 * unit),
            f"{name}: wanted {mm(wanted)} mm, laid {mm(row['length_mm'])} mm, {off}{forced}: "
            f"{closes}",
            1.7,
        ),
    ]
    return Panel(shapes, longest, 16 * unit)


def _runs(row: Row) -> Sequence[tuple[str, int, float]]:
    return [(run["rod"], run["count"], run["pitch_mm"]) for run in row["rods"]]
