"""Where balls come down after the last free end."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import (
    Circle,
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

Given = Mapping[str, Any]

_TRACK = Ink("#1f2933", 0.5)
_FLOOR = Ink("#1f2933", 0.35)
_SLOW = Ink("#0b7285", 0.35, (1.6, 0.8))
_FAST = Ink("#c2410c", 0.35)
_ZONE = Ink("#1f2933", 0.15, (), "#dbe7f0")
_WALL = Ink("#1f2933", 0.3, (), "#cbd2d9")
_NEEDED = Ink("#b91c1c", 0.35, (0.6, 0.6))


def landing(value: Given, inputs: Given) -> Drawing:
    """The last drop from the side: both ways of the ball's centre, landing, wall."""
    drops = [k for k, segment in enumerate(value["segments"]) if "landing" in segment]
    if not drops:
        words = "No ball falls from a free end here: give a segment of kind drop to see where."
        return Drawing("Landing", words, [])
    k = drops[-1]
    segment, given = value["segments"][k], inputs["segments"][k]
    found, drop = segment["landing"], given["drop_mm"]
    size = inputs["ball"]["diameter_mm"]
    wall_at = given.get("wall_distance_mm")
    far = max(
        found["second_high_mm"],
        found["touch_high_mm"] + size,
        given.get("catch_to_mm", 0.0) if given.get("catch_to_mm", 0.0) < 3 * drop else 0.0,
        wall_at or 0.0,
    )
    back = 0.25 * max(drop, size)
    rise = back * segment.get("slope_start_percent", 0.0) / 100
    unit = max(far + back, drop + rise)
    thick = 0.025 * unit
    shapes: list[Shape] = [
        Line(((-back, drop + rise), (0.0, drop)), _TRACK),
        Line(((-back, 0.0), (far + 2 * thick, 0.0)), _FLOOR),
        Dimension((0.0, 0.0), (0.0, drop), f"{drop:g} mm", 0.04 * unit),
    ]
    if "catch_to_mm" in given:
        start, end = given["catch_from_mm"], min(given["catch_to_mm"], far + 2 * thick)
        shapes.insert(0, Polygon(((start, 0), (end, 0), (end, -thick), (start, -thick)), _ZONE))
    shapes += _wall(found, given, far, thick, unit)
    for path, ink in (("slow_path_mm", _SLOW), ("fast_path_mm", _FAST)):
        points = [(x, y) for x, y in found[path]]
        stopped = given.get("wall_mm", 0.0) >= found["wall_needed_mm"] and wall_at is not None
        reach = wall_at - size / 2 if stopped else points[-1][0]
        before = [point for point in points if point[0] <= reach]
        if len(before) > 1:
            shapes.append(Line(before, ink))
        touch = points[len(points) // 2]
        if touch in before:
            shapes.append(Circle(touch, size / 2, ink))
    shapes += [
        Circle(tuple(found["fast_path_mm"][0]), size / 2, _TRACK),
        Dimension(
            (0.0, 0.0), (found["touch_low_mm"], 0.0), f"{found['touch_low_mm']:.0f}", -0.09 * unit
        ),
        Dimension(
            (0.0, 0.0),
            (found["touch_high_mm"], 0.0),
            f"{found['touch_high_mm']:.0f} mm",
            -0.16 * unit,
        ),
    ]
    flat, steep = found["angle_low_deg"], found["angle_high_deg"]
    return Drawing(
        f"Landing after {segment['name']}",
        f"Balls come down {found['touch_low_mm']:.0f} to {found['touch_high_mm']:.0f} mm from the "
        f"end, {flat:.0f} to {steep:.0f} degrees below the level, and rise to "
        f"{found['rebound_high_mm']:.0f} mm; a wall of {found['wall_needed_mm']:.0f} mm holds.",
        shapes,
        [
            Legend(_FAST, "centre of the fastest ball, ring where it touches"),
            Legend(_SLOW, "centre of the slowest ball, ring where it touches"),
            Legend(_NEEDED, "height of wall that is needed"),
            *([Legend(_WALL, "wall")] if "wall_mm" in given else []),
            *([Legend(_ZONE, "landing as given")] if "catch_to_mm" in given else []),
        ],
    )


def _wall(found: Given, given: Given, far: float, thick: float, unit: float) -> list[Shape]:
    at = given.get("wall_distance_mm", far)
    needed = found["wall_needed_mm"]
    shapes: list[Shape] = []
    if "wall_mm" in given:
        high = given["wall_mm"]
        shapes.append(Polygon(((at, 0), (at + thick, 0), (at + thick, high), (at, high)), _WALL))
    shapes += [
        Segments([((at - 3 * thick, needed), (at + 3 * thick, needed))], _NEEDED),
        Label((at - 3.3 * thick, needed + 0.01 * unit), f"wall {needed:.0f} mm", 1.8, "end"),
    ]
    return shapes
