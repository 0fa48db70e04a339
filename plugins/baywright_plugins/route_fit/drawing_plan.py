"""Each passage from above, with the thing it leaves least room."""

import math
from collections.abc import Mapping
from typing import Any

from baywright_service.contract import (
    Arrow,
    Dimension,
    Drawing,
    Line,
    Polygon,
    Segments,
    Shape,
)

from ..grid_fit.findings import mm
from ..grid_fit.panels import OUTLINE, ROOM, Point, rectangle
from .drawing_panels import STEPS, WALL, Cell, cells
from .drawing_shapes import block, carriers, drawn, is_governing, words
from .passage import USUAL_REVEAL_MM

Row = Mapping[str, Any]


def plan_drawing(value: Row) -> Drawing:
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
        "The route from above",
        "Each passage in plan, to its own scale, with the section it leaves least room; the one "
        "that governs the machine comes first, in a dashed frame.",
        panels,
        "No passage was given.",
    )


def _shapes(value: Row, opening: Row, row: Row, way: Row) -> list[Shape]:
    body, ends = carriers(value, row, way)
    kind, _, number = way["obstacle"].partition("-")
    if kind == "opening":
        return _door(opening, way, body)
    if kind == "turn":
        return _turn(opening, way, body, ends)
    if kind == "corner":
        return _corner(opening, way, int(number) - 1, body, ends)
    if kind == "flight":
        return _flight(opening["flight"], way, body)
    return _landing(opening["flight"], int(number) - 1, way, body, ends)


def _wall(opening: Row, beyond: float) -> list[Shape]:
    """The wall with its gap, from above; the way in is upwards."""
    width = opening["clear_width_mm"]
    reveal = max(opening.get("reveal_mm", USUAL_REVEAL_MM), 20.0)
    shapes: list[Shape] = [
        Polygon(rectangle(-beyond, 0.0, beyond, reveal), WALL),
        Polygon(rectangle(width, 0.0, beyond, reveal), WALL),
    ]
    for part in opening.get("hardware", ()):
        reach = part["projects_mm"]
        x = 0.0 if part["side"] == "left" else width - reach
        shapes.append(Polygon(rectangle(x, 0.2 * reveal, reach, 0.6 * reveal), WALL))
    return shapes


def _door(opening: Row, way: Row, body: float) -> list[Shape]:
    width = opening["clear_width_mm"]
    shapes = _wall(opening, 0.35 * width)
    depth, inside = opening.get("depth_mm"), opening.get("inside_width_mm", width)
    reveal = max(opening.get("reveal_mm", USUAL_REVEAL_MM), 20.0)
    middle = 0.0
    if depth is not None:
        left = (width - inside) / 2
        shapes.append(Polygon(rectangle(left, reveal, inside, depth), OUTLINE))
        right = left + inside
        shapes.append(Dimension((right, reveal + depth), (right, reveal), mm(depth), 2.0))
        middle = reveal + depth / 2
    side = (width - opening["allowed_width_mm"]) / 2
    low, high = middle - body / 2, middle + body / 2
    shapes += block(way, (width / 2, middle), body, way["width_mm"], 90.0)
    shapes += [
        Segments(
            [((x, min(low, -0.2 * width)), (x, max(high, reveal))) for x in (side, width - side)],
            ROOM,
        ),
        Dimension(
            (width / 2 + way["width_mm"] / 2, low),
            (width / 2 - way["width_mm"] / 2, low),
            mm(way["width_mm"]),
            2.0,
        ),
        Arrow((-0.25 * width, -0.55 * width), (-0.25 * width, -0.05 * width)),
    ]
    top = max(high, reveal) if depth is None else 0.0
    if depth is None:
        shapes.append(Dimension((0.0, top), (width, top), mm(width), 0.6))
    else:
        shapes.append(Dimension((width, top), (0.0, top), mm(width), 2.0))
    return shapes


def _turn(opening: Row, way: Row, body: float, ends: float) -> list[Shape]:
    """Out of the passage (below the wall) into the door, where it is tightest."""
    behind = way["obstacle"] == "turn-behind"
    passage = opening["behind_mm"] if behind else opening["before_mm"]
    width, length, breadth = opening["clear_width_mm"], way["length_mm"], way["width_mm"]
    side = (width - opening["allowed_width_mm"]) / 2
    shapes = _wall(opening, 0.6 * length)
    span = (-0.6 * length, width + 0.6 * length)
    reveal = opening.get("reveal_mm", USUAL_REVEAL_MM)
    shapes += [
        Line(((span[0], -passage), (span[1], -passage)), OUTLINE),
        Dimension((0.0, reveal), (width, reveal), mm(width), 0.6),
        Dimension((span[0], -passage), (span[0], 0.0), mm(passage), 0.9),
    ]
    if way["how"] == "sliding":
        shapes += block(way, (width / 2, -breadth / 2 - side), body, breadth, 0.0)
        return shapes
    turn = math.radians(way["angle_deg"])
    c, s = math.cos(turn), math.sin(turn)
    # its lower corner on the far wall, its upper end in the opening or, short of it, below
    top = -passage + length * s + breadth * c
    right = width / 2 + (length * c - breadth * s) / 2
    if top > 0:
        right = width - side - (top * s / max(c, 1e-9) if top < breadth * c else breadth * s)
    centre = (
        right - (length * c - breadth * s) / 2,
        top - (length * s + breadth * c) / 2,
    )
    shapes += block(way, centre, body, breadth, way["angle_deg"], ends)
    return shapes


def _corner(opening: Row, way: Row, k: int, body: float, ends: float) -> list[Shape]:
    a, b = (float(w) for w in opening["corridors_mm"][k : k + 2])
    length, width = way["length_mm"], way["width_mm"]
    arm = max(1.1 * length, 1.6 * max(a, b))
    shapes: list[Shape] = [
        Line(((0.0, arm), (0.0, 0.0), (arm, 0.0)), OUTLINE),
        Line(((a, arm), (a, b), (arm, b)), OUTLINE),
        Dimension((0.0, arm), (a, arm), mm(a), 0.9),
        Dimension((arm, b), (arm, 0.0), mm(b), 2.0),
    ]
    turn = math.radians(way["angle_deg"])
    c, s = math.cos(turn), math.sin(turn)
    if way["how"] == "sliding":
        along = length <= b  # lies along the first corridor, across the second
        centre = (width / 2, length / 2) if along else (length / 2, width / 2)
        return shapes + block(way, centre, body, width, 90.0 if along else 0.0, ends)
    centre = ((length * c + width * s) / 2, (length * s + width * c) / 2)
    return shapes + block(way, centre, body, width, -way["angle_deg"], ends)


def _treads(flight: Row, count: int) -> list[Shape]:
    going, width = flight["going_mm"], flight["width_mm"]
    run = going * count
    lines = [((0.0, going * k), (width, going * k)) for k in range(count + 1)]
    return [
        Segments(lines, STEPS),
        Segments([((0.0, 0.0), (0.0, run)), ((width, 0.0), (width, run))], OUTLINE),
        Dimension((0.0, run), (width, run), mm(width), 0.9),
    ]


def _flight(flight: Row, way: Row, body: float) -> list[Shape]:
    width, going = flight["width_mm"], flight["going_mm"]
    slope = math.radians(flight["slope_deg"]) if way["how"] == "along-the-stairs" else 0.0
    along = body * math.cos(slope) + (way["height_mm"] * math.sin(slope))
    count = min(max(math.ceil(1.5 * along / going), 6), 40)
    shapes = _treads(flight, count)
    middle = going * count / 2
    shapes += block(way, (width / 2, middle), along, way["width_mm"], 90.0)
    low = middle - along / 2
    half = way["width_mm"] / 2
    shapes += [
        Dimension((width / 2 + half, low), (width / 2 - half, low), mm(way["width_mm"]), 1.9),
        Arrow((-0.15 * width, 0.1 * middle), (-0.15 * width, 0.9 * middle)),
    ]
    return shapes


def _landing(flight: Row, k: int, way: Row, body: float, ends: float) -> list[Shape]:
    landing = flight["landings"][k]
    deep, broad, width = landing["length_mm"], landing["width_mm"], flight["width_mm"]
    count = 4
    going = flight["going_mm"]
    shapes: list[Shape] = [
        Polygon(rectangle(0.0, 0.0, broad, deep), OUTLINE),
        *_steps_down(width, going, count),
        Dimension((0.0, deep), (broad, deep), mm(broad), 0.9),
        Dimension((0.0, 0.0), (0.0, deep), mm(deep), 0.9),
    ]
    shapes.append(Segments(_steps_on(landing, width, going, count), STEPS))
    turned = landing["turn"] != "straight" and way["how"] == "turning"
    along = way["length_mm"] if way["how"] == "on-end" else body
    shapes += block(
        way, (broad / 2, deep / 2), along, way["width_mm"], 45.0 if turned else 90.0, ends
    )
    return shapes


def _steps_on(landing: Row, width: float, going: float, count: int) -> list[tuple[Point, Point]]:
    """The step edges of the flight that goes on from a landing."""
    deep, broad = landing["length_mm"], landing["width_mm"]
    away = [going * n for n in range(1, count + 1)]
    if landing["turn"] == "half":
        return [((broad - width, -x), (broad, -x)) for x in away]
    if landing["turn"] == "quarter":
        return [((broad + x, max(deep - width, 0.0)), (broad + x, deep)) for x in away]
    return [((0.0, deep + x), (width, deep + x)) for x in away]


def _steps_down(width: float, going: float, count: int) -> list[Shape]:
    lines = [((0.0, -going * n), (width, -going * n)) for n in range(1, count + 1)]
    return [Segments(lines, STEPS), Arrow((width / 2, -going * count), (width / 2, -0.3 * going))]
