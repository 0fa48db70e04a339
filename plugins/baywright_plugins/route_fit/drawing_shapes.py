"""Shapes that plan and elevation share: things, carriers, walls, and which rows are drawn."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Polygon, Shape

from ..grid_fit.panels import FITS, SKIN, STICKS, Point
from .words import GOVERNS, how_words, spare_words

Row = Mapping[str, Any]

MOST_PANELS = 16


def drawn(value: Row) -> list[tuple[Row, Row, Row]]:
    """(passage, row, way) of each obstacle, for the thing with least room at each passage; the
    passage that governs comes first, then the route in order."""
    governing = (value["governing"]["passage"], value["governing"]["section"])
    rows = {(row["passage"], row["section"]): row for row in value["passages"]}
    found = []
    for opening in value["openings"]:
        row = rows[opening["id"], opening["tightest"]]
        first = (row["passage"], row["section"]) == governing
        ways = sorted(row["ways"], key=lambda way: way["spare_mm"]) if first else row["ways"]
        found.append((not first, [(opening, row, way) for way in ways]))
    ordered = sorted(found, key=lambda item: item[0])
    return [panel for _, panels in ordered for panel in panels][:MOST_PANELS]


def words(opening: Row, row: Row, way: Row) -> list[str]:
    """Lines beneath a panel."""
    return [
        f"{opening['title']}: {row['section']}",
        how_words(way),
        _what(way["obstacle"], opening),
        spare_words(way["spare_mm"]),
        f"decided by {GOVERNS[way['governs']][1]}",
    ]


def is_governing(value: Row, row: Row, way: Row) -> bool:
    governing = value["governing"]
    return (row["passage"], row["section"], way["obstacle"]) == (
        governing["passage"], governing["section"], governing["obstacle"]
    )  # fmt: skip


def _what(obstacle: str, opening: Row) -> str:
    name, _, number = obstacle.partition("-")
    if name == "corner":
        turns = len(opening["corridors_mm"]) - 1
        return f"corner {number} of {turns}" if turns > 1 else "corner"
    if name == "landing":
        turn = opening["flight"]["landings"][int(number) - 1]["turn"]
        return f"landing {number}: {turn} turn" if turn != "straight" else f"landing {number}"
    return {"opening": "opening", "turn": "turning into the opening", "flight": "flight"}[name]


def block(
    way: Row, centre: Point, along: float, across: float, turn_deg: float, ends: float = 0.0
) -> list[Shape]:
    """A thing seen as a rectangle about its centre, turned, with carriers at its two ends."""
    ink = FITS if way["passes"] else STICKS
    shapes: list[Shape] = [Polygon(rectangle_about(centre, along, across, turn_deg), ink)]
    if ends > 0:
        turn = math.radians(turn_deg)
        for sign in (-1, 1):
            away = sign * (along + ends) / 2
            middle = (centre[0] + away * math.cos(turn), centre[1] + away * math.sin(turn))
            shapes.append(Polygon(rectangle_about(middle, ends, across, turn_deg), SKIN))
    return shapes


def rectangle_about(
    centre: Point, along: float, across: float, turn_deg: float
) -> tuple[Point, ...]:
    """Corners of a rectangle about its centre."""
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    x0, y0 = centre
    corners = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    return tuple(
        (x0 + c * x * along / 2 - s * y * across / 2, y0 + s * x * along / 2 + c * y * across / 2)
        for x, y in corners
    )


def carriers(value: Row, row: Row, way: Row) -> tuple[float, float]:
    """Length of the thing itself in plan, and what a carrier takes at each end."""
    one = next(s for s in value["sections"] if s["id"] == row["section"])
    size: Sequence[float] = [one["outside_mm"][way["travel_axis"]]]
    if way["obstacle"].startswith(("corner", "turn")):
        up = {"upright": "z", "on-back": "y", "on-end": "x"}[way["attitude"]]
        size = [one["outside_mm"][axis] for axis in "xyz" if axis != up]
    body = float(max(size))
    return body, max(way["length_mm"] - body, 0.0) / 2 if way["how"] != "on-end" else 0.0
