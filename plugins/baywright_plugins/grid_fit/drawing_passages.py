"""Sections in openings and round corners."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Dimension, Drawing, Label, Legend, Line, Polygon, Shape

from .findings import mm
from .panels import (
    FITS,
    OUTLINE,
    PLAIN,
    ROOM,
    SKIN,
    STICKS,
    Panel,
    Point,
    empty,
    moved,
    rectangle,
    sheet,
)

Row = Mapping[str, Any]

Groups = Mapping[str, Sequence[Sequence[Row]]]

_MOST_PANELS = 24
_CLEAR = ("clear_width_mm", "clear_height_mm")


def passages_drawing(value: Mapping[str, Any]) -> Drawing:
    """One row of panels for each opening; twins that fare alike share a panel."""
    openings = {o["id"]: o for o in value.get("openings", ()) if "clear_width_mm" in o}
    shown = _by_passage(value, list(openings))
    unit = _line(
        shown, *(max((o[k] for o in openings.values()), default=0.0) for k in _CLEAR), high=1.45
    )
    rows = [
        [_opening_panel(group, openings[stop], unit) for group in groups]
        for stop, groups in shown.items()
    ]
    if not rows:
        return empty("Sections in openings", "No opening among the passages.")
    stuck = [r for r in value["passages"] if not r["passes"] and r["passage"] in openings]
    words = (
        f"{len(stuck)} of {len(value['passages'])} cases stick."
        if stuck
        else "Everything gets through."
    )
    return sheet(
        "Sections in openings",
        f"Each opening to scale with each section in it, seen along the way through. {words}",
        rows,
        [
            Legend(OUTLINE, "clear opening"),
            Legend(ROOM, "what hands, lifting and headroom leave of it"),
            Legend(FITS, "section that passes"),
            Legend(STICKS, "section that sticks, with the mm it is over"),
        ],
    )


def corner_drawing(value: Mapping[str, Any]) -> Drawing:
    """One panel for each corner and section, at the angle where it is tightest."""
    corners = {o["id"]: o for o in value.get("openings", ()) if "corner_mm" in o}
    shown = _by_passage(value, list(corners))
    arms = {stop: _arm(groups, corners[stop]) for stop, groups in shown.items()}
    longest = max(arms.values(), default=0.0)
    unit = _line(shown, longest, longest, high=1.3)
    rows = [
        [_corner_panel(group, corners[stop], arms[stop], unit) for group in groups]
        for stop, groups in shown.items()
    ]
    if not rows:
        return empty("Round the corner", "No corner among the passages.")
    return sheet(
        "Round the corner",
        "Each section from above in the corner of two corridors, where it is tightest.",
        rows,
        [
            Legend(OUTLINE, "walls"),
            Legend(FITS, "section that goes round"),
            Legend(STICKS, "section that sticks, with the mm it is over"),
            Legend(SKIN, "carriers at its ends"),
        ],
    )


def _line(shown: Groups, width: float, height: float, *, high: float) -> float:
    """Height of a line of text, by the size the sheet will have about."""
    columns = max((len(groups) for groups in shown.values()), default=1)
    return 0.0125 * max(high * height * len(shown), 1.5 * width * columns)


def _by_passage(value: Mapping[str, Any], stops: Sequence[str]) -> Groups:
    """Rows of each passage, those of twins that fare alike drawn together."""
    twins = {s["id"]: s.get("twin_of", s["id"]) for s in value.get("sections", ())}
    found: dict[str, dict[Any, list[Row]]] = {stop: {} for stop in stops}
    for row in value.get("passages", ()):
        if row["passage"] in found:
            key = (twins.get(row["section"], row["section"]), round(row["spare_mm"], 6))
            found[row["passage"]].setdefault(key, []).append(row)
    shown = {stop: list(groups.values()) for stop, groups in found.items() if groups}
    while sum(map(len, shown.values())) > _MOST_PANELS and len(shown) > 1:
        shown.popitem()
    return {stop: groups[:_MOST_PANELS] for stop, groups in shown.items()}


def _names(group: Sequence[Row]) -> str:
    names = [row["section"] for row in group]
    return ", ".join(names) if len(names) < 5 else f"{names[0]} and {len(names) - 1} twins"


def _opening_panel(group: Sequence[Row], opening: Row, unit: float) -> Panel:
    row = group[0]
    width, height = opening["clear_width_mm"], opening["clear_height_mm"]
    allowed = (opening["allowed_width_mm"], opening["allowed_height_mm"])
    side, floor = (width - allowed[0]) / 2, opening["lifted_mm"]
    spare, tight = row["spare_mm"], row["tight_side"]
    sticks = not row["passes"] and tight != "corner"
    middle = (width / 2, floor + min(allowed[1], row_height(row)) / 2)
    names = _names(group)
    plate = 0.72 * unit * len(names)
    shapes: list[Shape] = [
        Polygon(_cross_section(row, middle, opening), STICKS if sticks else FITS),
        Polygon(rectangle(side, floor, *allowed), ROOM),
        Line(((0.0, 0.0), (0.0, height), (width, height), (width, 0.0)), OUTLINE),
        Line(((-0.15 * width, 0.0), (1.15 * width, 0.0)), OUTLINE),
        Polygon(rectangle(middle[0] - plate / 2, middle[1] - 0.3 * unit, plate, 1.5 * unit), PLAIN),
        Label(middle, names, 1.4, "middle", bold=True),
        Dimension((0.0, height), (width, height), mm(width), 1.2 * unit, 1.2),
        Dimension((0.0, 0.0), (0.0, height), mm(height), 1.2 * unit, 1.2),
    ]
    how = f"{mm(-spare)} mm over" if spare < 0 else f"{mm(spare)} mm spare"
    how += " at the corner" if tight == "corner" else f" in {tight}"
    words = [(opening["title"], True), (_place(row), False), (how, spare < 0)]
    shapes += [
        Label((width / 2, -unit * (1.8 + 1.6 * k)), text, 1.25, "middle", bold=bold)
        for k, (text, bold) in enumerate(words)
    ]
    lowest = 6.2 * unit
    broad = max(1.3 * width, 13 * unit)
    left = (broad - width) / 2
    return Panel(
        [moved(shape, left, lowest) for shape in shapes], broad, height + lowest + 3 * unit
    )


def row_height(row: Row) -> float:
    """Height of a section in the opening, in the position drawn."""
    return float(_position(row)["height_mm"])


def _position(row: Row) -> Row:
    names = {"upright": "upright_position", "tilted": "tilted_position"}
    position: Row = row[names.get(row["attitude"], "turned_position")]
    return position


def _place(row: Row) -> str:
    if row["attitude"] == "tilted":
        return f"leaning {row['angle_deg']:.0f} degrees"
    return str(row["attitude"].replace("-", " "))


def _cross_section(row: Row, middle: Point, opening: Row) -> tuple[Point, ...]:
    position = _position(row)
    if row["attitude"] != "tilted":
        w, h = position["width_mm"], position["height_mm"]
        return rectangle(middle[0] - w / 2, middle[1] - h / 2, w, h)
    sides = sorted(v for axis, v in row["outside_mm"].items() if axis != row["travel_axis"])
    wide = opening["allowed_width_mm"] >= opening["allowed_height_mm"]
    turn = math.radians(row["angle_deg"] + (0.0 if wide else 90.0))
    c, s = math.cos(turn), math.sin(turn)
    x0, y0 = middle
    return tuple(
        (x0 + c * x - s * y, y0 + s * x + c * y)
        for x, y in rectangle(-sides[1] / 2, -sides[0] / 2, sides[1], sides[0])
    )


def _arm(groups: Sequence[Sequence[Row]], opening: Row) -> float:
    """Length of corridor drawn, the same for every section at one corner."""
    longest = max(group[0]["corner"]["length_mm"] for group in groups)
    return float(max(1.1 * longest, 1.6 * max(opening["corner_mm"])))


def _corner_panel(group: Sequence[Row], opening: Row, arm: float, step: float) -> Panel:
    row = group[0]["corner"]
    a, b = (float(x) for x in opening["corner_mm"])
    length, width = row["length_mm"], row["width_mm"]
    turn = math.radians(row["angle_deg"])
    c, s = math.cos(turn), math.sin(turn)
    sticks = not row["passes"]

    def piece(start: float, end: float) -> tuple[Point, ...]:
        """A stretch of the box along its outer side, from the end on the lower wall."""
        corners = ((start, 0.0), (end, 0.0), (end, width), (start, width))
        return tuple(
            (length * c - c * along + s * across, s * along + c * across)
            for along, across in corners
        )

    carrier = row["carriers_mm"] / 2
    shapes: list[Shape] = [Polygon(piece(carrier, length - carrier), STICKS if sticks else FITS)]
    if carrier:
        shapes += [
            Polygon(piece(0.0, carrier), SKIN),
            Polygon(piece(length - carrier, length), SKIN),
        ]
    points = piece(carrier, length - carrier)
    middle = (sum(p[0] for p in points) / 4, sum(p[1] for p in points) / 4)
    spare = row["spare_mm"]
    how = f"{mm(-spare)} mm over" if spare < 0 else f"{mm(spare)} mm spare"
    shapes += [
        Line(((0.0, arm), (0.0, 0.0), (arm, 0.0)), OUTLINE),
        Line(((a, arm), (a, b), (arm, b)), OUTLINE),
        Dimension((0.0, arm), (a, arm), mm(a), 0.8 * step, 1.4),
        Dimension((arm, b), (arm, 0.0), mm(b), 0.8 * step, 1.4),
        Label(middle, _names(group), 1.9, "middle", bold=True),
    ]
    words = (
        (f"{opening['title']}: {row['attitude'].replace('-', ' ')}", True),
        (f"{row['carried'].replace('-', ' ')}, {row['way']}", False),
        (how, spare < 0),
    )
    shapes += [
        Label((arm / 2, -step * (2.0 + 1.6 * k)), text, 1.4, "middle", bold=bold)
        for k, (text, bold) in enumerate(words)
    ]
    lowest = 6.5 * step
    return Panel([moved(shape, 0.0, lowest) for shape in shapes], 1.05 * arm, 1.1 * arm + lowest)
