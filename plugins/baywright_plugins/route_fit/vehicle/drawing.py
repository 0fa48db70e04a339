"""The loaded bay from above and from the side, with the order of loading."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import (
    Arrow,
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Shape,
)

from ...grid_fit.findings import mm
from ...grid_fit.panels import FITS, OUTLINE, SKIN, empty, moved, rectangle

Row = Mapping[str, Any]

UPON = Ink("#0b5394", 0.22, (), "#c9daea")
FAR = Ink("#0b5394", 0.18, (0.6, 0.5))
DOOR = Ink("#1f2933", 0.7, (0.5, 0.6))

_ATTITUDES = {"upright": "upright", "on-back": "on its back", "on-end": "on its end"}
_MOST_LINES = 30
_FEW = 8


def draw_vehicle(record: Row) -> Drawing:
    """Plan and side elevation; a strip with the reason where not everything goes in."""
    title = f"Loading the {record['title']}"
    if record["answer"] != "fits":
        words = {
            "does-not-fit": "Not everything goes in.",
            "not-decided": "Whether everything goes in was not decided.",
        }
        return empty(title, words[record["answer"]])
    length, width, height = record["bay_mm"]
    unit = 0.018 * max(length, width + height)
    shapes = _plan(record, unit)
    low = -(height + 6.0 * unit)
    shapes += [moved(shape, 0.0, low) for shape in _side(record, unit)]
    shapes += _list(record, low - 6.5 * unit, unit)
    rows = record["placements"]
    legend = [Legend(FITS, "stands on the floor")]
    if any(row["on"] != ["floor"] for row in rows):
        legend.append(Legend(UPON, "stands on other things"))
    legend.append(Legend(FAR, "hidden behind or below others"))
    if record["blocked"]:
        legend.append(Legend(SKIN, "fixed to the floor"))
    legend.append(Legend(DOOR, "door"))
    return Drawing(
        title,
        f"{len(rows)} things in the load bay from above and from the side, front wall on the left, "
        f"door on the right; numbers give the order of loading. {mm(record['free_length_mm'])} mm "
        "stay free at the door.",
        shapes,
        tuple(legend),
    )


def _plan(record: Row, unit: float) -> list[Shape]:
    """From above: higher things cover lower ones."""
    length, width, _ = record["bay_mm"]
    frames = [
        (_view(row, 0, 1), row) for row in sorted(record["placements"], key=lambda r: r["at_mm"][2])
    ]
    door = record["door_mm"][0]
    shapes = _blocked(record, 1)
    shapes += _stacked(frames, unit)
    used = record["used_length_mm"]
    shapes += [
        Polygon(rectangle(0, 0, length, width), OUTLINE),
        Line(((length, (width - door) / 2), (length, (width + door) / 2)), DOOR),
        Label((0, width + 5.6 * unit), "From above", 1.9, bold=True),
        Dimension((0, width), (used, width), f"{mm(used)} used", 1.2 * unit, 1.5),
        Dimension((0, 0), (0, width), mm(width), 1.2 * unit, 1.5),
        Arrow((length + 6 * unit, width / 2), (length + 2 * unit, width / 2)),
    ]
    if length - used > 3 * unit:
        free = f"{mm(record['free_length_mm'])} free"
        shapes.append(Dimension((used, width), (length, width), free, 3.4 * unit, 1.5))
    return shapes


def _side(record: Row, unit: float) -> list[Shape]:
    """From the left wall: near things cover far ones."""
    length, _, height = record["bay_mm"]
    frames = [
        (_view(row, 0, 2), row)
        for row in sorted(record["placements"], key=lambda r: -r["at_mm"][1])
    ]
    door = record["door_mm"][1]
    shapes = _blocked(record, 2)
    shapes += _stacked(frames, unit)
    return [
        *shapes,
        Polygon(rectangle(0, 0, length, height), OUTLINE),
        Line(((length, 0), (length, door)), DOOR),
        Label((0, height + 1.0 * unit), "From the side, at the left wall", 1.9, bold=True),
        Dimension((0, 0), (0, height), mm(height), 1.2 * unit, 1.5),
        Dimension((length, 0), (0, 0), mm(length), 2.6 * unit, 1.5),
    ]


def _view(row: Row, across: int, up: int) -> tuple[float, float, float, float]:
    at, size = row["at_mm"], row["size_mm"]
    return at[across], at[up], size[across], size[up]


def _blocked(record: Row, axis: int) -> list[Shape]:
    return [
        Polygon(
            rectangle(
                one["at_mm"][0],
                one["at_mm"][1] if axis == 1 else 0.0,
                one["size_mm"][0],
                one["size_mm"][axis],
            ),
            SKIN,
        )
        for one in record["blocked"]
    ]


def _stacked(
    frames: Sequence[tuple[tuple[float, float, float, float], Row]], unit: float
) -> list[Shape]:
    """Filled outlines from the back, hidden edges dashed over them, then names."""
    shapes: list[Shape] = [
        Polygon(rectangle(*frame), FITS if row["on"] == ["floor"] else UPON)
        for frame, row in frames
    ]
    shapes += [Polygon(rectangle(*frame), FAR) for frame, _ in frames]
    text_size = 1.8 if len(frames) <= _FEW else 1.4
    taken: list[tuple[float, float, float]] = []
    for (x, y, _, b), row in sorted(frames, key=lambda one: one[1]["order"]):
        text = f"{row['order']} {row['id']}"
        at = (x + 0.4 * unit, y + b - 0.85 * text_size * unit)
        wide = 0.42 * text_size * unit * len(text)
        line = 0.8 * text_size * unit
        while any(abs(at[1] - v) < line and u - wide < at[0] < u + w for u, v, w in taken):
            at = (at[0], at[1] - line)
        taken.append((*at, wide))
        shapes.append(Label(at, text, text_size, bold=True))
    return shapes


def _list(record: Row, top: float, unit: float) -> list[Shape]:
    """The order of loading in words."""
    lines = ["Load in this order:"]
    for row in record["placements"][:_MOST_LINES]:
        along, across, high = (mm(side) for side in row["size_mm"])
        on = "" if row["on"] == ["floor"] else f", on {', '.join(row['on'])}"
        shift = row["shift_mm"]
        side = f", shifted {mm(abs(shift))} to the {'right' if shift > 0 else 'left'}"
        lines.append(
            f"{row['order']} {row['id']}: {_ATTITUDES[row['attitude']]}, {along} along, {across} "
            f"across, {high} high{on}{side if shift else ''}"
        )
    return [
        Label((0.0, top - 1.9 * unit * k), line, 1.6, bold=k == 0) for k, line in enumerate(lines)
    ]
