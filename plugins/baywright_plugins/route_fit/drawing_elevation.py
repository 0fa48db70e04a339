"""Each passage from the side or along the way, with the thing it leaves least room."""

import math
from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Dimension, Drawing, Line, Polygon, Shape

from ..grid_fit.findings import mm
from ..grid_fit.panels import OUTLINE, ROOM, rectangle
from .drawing_panels import WALL, Cell, cells
from .drawing_shapes import block, carriers, drawn, is_governing, rectangle_about, words
from .passing import RouteClearances

Row = Mapping[str, Any]

_AXES = "xyz"
_UP = {"upright": "z", "on-back": "y", "on-end": "x"}


def elevation_drawing(value: Row) -> Drawing:
    """One panel for each obstacle of each passage; the one that governs is framed."""
    panels = [
        Cell(
            _shapes(value, opening, row, way),
            words(opening, row, way),
            framed=is_governing(value, row, way),
        )
        for opening, row, way in drawn(value)
    ]
    return cells(
        "The route from the side",
        "Openings along the way through, corridors and stairs from the side, each to its own "
        "scale, with the section it leaves least room; the one that governs the machine comes "
        "first, in a dashed frame.",
        panels,
        "No passage was given.",
    )


def _shapes(value: Row, opening: Row, row: Row, way: Row) -> list[Shape]:
    one = next(s for s in value["sections"] if s["id"] == row["section"])
    kind, _, number = way["obstacle"].partition("-")
    if kind == "opening":
        return _opening(opening, one, way)
    body, ends = carriers(value, row, way)
    if kind in ("turn", "corner"):
        return _corridor(opening, way, body, ends)
    if kind == "flight":
        return _flight(opening["flight"], way, body)
    return _landing(opening["flight"], int(number) - 1, way, body)


def _opening(opening: Row, one: Row, way: Row) -> list[Shape]:
    width, height = opening["clear_width_mm"], opening["clear_height_mm"]
    allowed = (opening["allowed_width_mm"], opening["allowed_height_mm"])
    side, floor = (width - allowed[0]) / 2, opening["lifted_mm"]
    middle = (width / 2, floor + way["height_mm"] / 2)
    shapes: list[Shape] = [
        *_cross_section(opening, one, way, middle),
        Polygon(rectangle(side, floor, max(allowed[0], 0.0), max(allowed[1], 0.0)), ROOM),
        Line(((0.0, 0.0), (0.0, height), (width, height), (width, 0.0)), OUTLINE),
        Line(((-0.2 * width, 0.0), (1.2 * width, 0.0)), OUTLINE),
    ]
    for part in opening["hardware"]:
        reach, low = part["projects_mm"], part["from_mm"]
        x = 0.0 if part["side"] == "left" else width - reach
        shapes.append(Polygon(rectangle(x, low, reach, min(part["to_mm"], height) - low), WALL))
    if opening["threshold_mm"] > 0:
        shapes.append(Polygon(rectangle(0.0, 0.0, width, opening["threshold_mm"]), WALL))
    shapes += [
        Dimension((0.0, height), (width, height), mm(width), 0.9),
        Dimension((0.0, 0.0), (0.0, height), mm(height), 1.2),
        Dimension((width, floor + way["height_mm"]), (width, floor), mm(way["height_mm"]), 2.2),
    ]
    return shapes


def _cross_section(opening: Row, one: Row, way: Row, middle: tuple[float, float]) -> list[Shape]:
    """The thing along the way through: its box, and within it the blocks of its outline."""
    size = one["outside_mm"]
    if way["attitude"] == "tilted":
        across, up = (axis for axis in _AXES if axis != way["travel_axis"])
        if "outline" not in one:
            across, up = sorted((across, up), key=lambda axis: -size[axis])
        wide = opening["allowed_width_mm"] >= opening["allowed_height_mm"]
        turn = way["angle_deg"] + (0.0 if wide or "outline" in one else 90.0)
    else:
        up = _UP[way["attitude"]]
        across, turn = next(a for a in _AXES if a not in (up, way["travel_axis"])), 0.0
    whole = block(way, middle, size[across], size[up], turn)
    if "outline" not in one:
        return whole
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    a, u = _AXES.index(across), _AXES.index(up)
    shapes: list[Shape] = [
        Polygon(rectangle_about(middle, size[across], size[up], turn), ROOM),
    ]
    for part in one["outline"]:
        low, high = part["low_mm"], part["high_mm"]
        x = (low[a] + high[a] - size[across]) / 2
        y = (low[u] + high[u] - size[up]) / 2
        centre = (middle[0] + c * x - s * y, middle[1] + s * x + c * y)
        shapes += block(way, centre, high[a] - low[a], high[u] - low[u], turn)
    return shapes


def _corridor(opening: Row, way: Row, body: float, ends: float) -> list[Shape]:
    """Along the longer side, under the ceiling where one was given."""
    height = way["height_mm"]
    lifted = opening.get("lifted_mm", RouteClearances.lifted_mm)
    span = (-0.65 * way["length_mm"], 0.65 * way["length_mm"])
    shapes: list[Shape] = [
        Line(((span[0], 0.0), (span[1], 0.0)), OUTLINE),
        *block(way, (0.0, lifted + height / 2), body, height, 0.0, ends),
        Dimension((span[0], lifted), (span[0], lifted + height), mm(height), 0.9),
        Dimension((-body / 2, lifted + height), (body / 2, lifted + height), mm(body), 0.9),
    ]
    if "ceiling_mm" in opening:
        high = opening["ceiling_mm"]
        shapes += [
            Line(((span[0], high), (span[1], high)), OUTLINE),
            Dimension((span[1], high), (span[1], 0.0), mm(high), 2.0),
        ]
    return shapes


def _flight(flight: Row, way: Row, body: float) -> list[Shape]:
    """The flight from the side; the thing on the line through the step edges."""
    going, rise, headroom = flight["going_mm"], flight["rise_mm"], flight["headroom_mm"]
    slope = math.radians(flight["slope_deg"])
    c, s = math.cos(slope), math.sin(slope)
    height = way["height_mm"]
    reach = body * c + height * s if way["how"] == "along-the-stairs" else body
    count = min(max(math.ceil(1.5 * reach / going), 10), 40)
    run, climb = count * going, count * rise
    steps = [(-1.5 * going, 0.0), (0.0, 0.0)]
    for k in range(count):
        steps += [(k * going, (k + 1) * rise), ((k + 1) * going, (k + 1) * rise)]
    edge = [(0.0, rise), (run, climb + rise)]
    shapes: list[Shape] = [
        Line(steps, OUTLINE),
        Line(edge, ROOM),
        Line([(x, y + headroom) for x, y in edge], OUTLINE),
        Dimension((run, climb + rise + headroom), (run, climb + rise), mm(headroom), 2.0),
    ]
    start = (run - body * c) / 2, rise + (run - body * c) / 2 * rise / going
    if way["how"] == "along-the-stairs":
        off = RouteClearances.stairs_lifted_mm * c
        centre = (
            start[0] + body * c / 2 - (height / 2 + off) * s,
            start[1] + body * s / 2 + (height / 2 + off) * c,
        )
        turn = flight["slope_deg"]
    else:
        left = (run - body) / 2
        base = rise + (left + body) * rise / going + RouteClearances.stairs_lifted_mm
        centre, turn = (left + body / 2, base + height / 2), 0.0
    shapes += block(way, centre, body, height, turn)
    return shapes


def _landing(flight: Row, k: int, way: Row, body: float) -> list[Shape]:
    landing = flight["landings"][k]
    deep, high = landing["length_mm"], landing["headroom_mm"]
    going, rise = flight["going_mm"], flight["rise_mm"]
    steps = [(-4 * going, -4 * rise)]
    for n in range(4, 0, -1):
        steps += [(-n * going, -(n - 1) * rise), (-(n - 1) * going, -(n - 1) * rise)]
    length = way["length_mm"] if way["how"] == "on-end" else body
    lifted = RouteClearances.stairs_lifted_mm
    return [
        Line([*steps, (deep, 0.0)], OUTLINE),
        Line(((0.0, high), (deep, high)), OUTLINE),
        Dimension((deep, high), (deep, 0.0), mm(high), 2.0),
        *block(way, (deep / 2, lifted + way["height_mm"] / 2), length, way["height_mm"], 0.0),
        Dimension((deep, 0.0), (0.0, 0.0), mm(deep), 2.0),
    ]
