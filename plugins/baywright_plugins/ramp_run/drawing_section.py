"""A ball on each support, cut across, all to one scale."""

import math
from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Circle, Drawing, Ink, Label, Legend, Line, Polygon, Shape

Given = Mapping[str, Any]
Point = tuple[float, float]

_CUT = Ink("#1f2933", 0.2, hatched=True)
_BALL = Ink("#1f2933", 0.4)
_AXIS = Ink("#52606d", 0.2, (1.0, 0.6))
_TOUCH = Ink("#b91c1c", 0.3)
_DOT = Ink("#b91c1c", 0.1, (), "#b91c1c")


def section(value: Given, inputs: Given) -> Drawing:
    """Ball, contacts, axis of turning; where the ball falls through, words."""
    size = inputs["ball"]["diameter_mm"]
    shapes: list[Shape] = []
    at, said = 0.0, []
    for found, given in zip(value["supports"], inputs["supports"], strict=True):
        half = _half_width(given, size)
        at += half
        shapes += _one(found, given, size, at)
        at += half + 0.6 * size
        said.append(_sentence(found))
    return Drawing(
        f"Ball of {size:g} mm on {'its support' if len(said) == 1 else 'its supports'}",
        " ".join(said),
        shapes,
        [
            Legend(_CUT, "rails, ribs or channel, cut"),
            Legend(_TOUCH, "from the ball's centre to where it touches (dots)"),
            Legend(_AXIS, "axis about which it turns"),
        ],
    )


def _sentence(found: Given) -> str:
    if not found["holds"]:
        return f"{found['id']}: the ball falls through."
    return (
        f"{found['id']}: contacts {found['effective_radius_mm']:.1f} mm from the axis, it speeds "
        f"up with {found['acceleration_ratio']:.2f} of the pull of gravity."
    )


def _half_width(given: Given, size: float) -> float:
    spread = {
        "rails": given.get("gauge_mm", 0.0) / 2 + given.get("rod_diameter_mm", 0.0),
        "ribs-along": given.get("gap_mm", 0.0) / 2 + 0.3 * size,
        "square-channel": given.get("width_mm", 0.0) / 2 + 0.2 * size,
        "u-channel": given.get("radius_mm", 0.0) + 0.2 * size,
    }
    half = max(spread.get(given["kind"], 0.0), 0.9 * size)
    return float(min(half, 3 * size))


def _one(found: Given, given: Given, size: float, at: float) -> list[Shape]:
    radius = size / 2
    words = [Label((at, 1.75 * size), f"{found['id']} ({given['kind']})", 2.0, "middle", bold=True)]
    if not found["holds"]:
        centre = (at, -0.2 * size)
        return [
            *words,
            *_support(given, size, at, 0.0),
            Circle(centre, radius, Ink("#b91c1c", 0.4, (1.2, 0.8))),
            Label((at, centre[1] - 0.9 * size), "falls through", 2.0, "middle", colour="#b91c1c"),
        ]
    angle = math.radians(found["contact_angle_deg"])
    centre = (at, found["effective_radius_mm"])
    touches = [
        (at + side * radius * math.sin(angle), centre[1] - radius * math.cos(angle))
        for side in ((-1, 1) if found["contacts_count"] == 2 else (0,))
    ]
    shapes: list[Shape] = [*words, *_support(given, size, at, found["contact_angle_deg"])]
    shapes.append(Circle(centre, radius, _BALL))
    shapes += [Line((centre, touch), _TOUCH) for touch in touches]
    shapes += [Circle(touch, 0.025 * size, _DOT) for touch in touches]
    shapes.append(Line(((at - 0.62 * size, centre[1]), (at + 0.62 * size, centre[1])), _AXIS))
    shapes += [
        Label((at, 1.55 * size), f"r {found['effective_radius_mm']:.1f} mm", 1.8, "middle"),
        Label(
            (at, 1.36 * size),
            f"{found['acceleration_ratio']:.2f} g sin(slope)",
            1.8,
            "middle",
        ),
    ]
    return shapes


def _support(given: Given, size: float, at: float, angle_deg: float) -> list[Shape]:
    """What bears the ball; contacts stand at height 0."""
    deep = given.get("depth_mm", 0.3 * size)
    match given["kind"]:
        case "plane":
            return [_block(at - 0.8 * size, at + 0.8 * size, -0.25 * size, 0.0)]
        case "rails":
            return _rails(given, size, at, angle_deg)
        case "ribs-along":
            return _sides(at, given["gap_mm"], deep, size, angle_deg)
        case "square-channel":
            return _sides(at, given["width_mm"], deep, size, angle_deg)
        case "v-channel":
            return [_vee(given, size, at, angle_deg)]
        case _:
            return [_round(given, size, at, angle_deg)]


def _block(left: float, right: float, low: float, high: float) -> Polygon:
    return Polygon(((left, low), (right, low), (right, high), (left, high)), _CUT)


def _rails(given: Given, size: float, at: float, angle_deg: float) -> list[Shape]:
    gauge, rod = given["gauge_mm"], given.get("rod_diameter_mm", 0.0)
    if rod <= 0:
        edges = (at - gauge / 2, at + gauge / 2)
        return [
            _block(edges[0] - 0.3 * size, edges[0], -0.4 * size, 0.0),
            _block(edges[1], edges[1] + 0.3 * size, -0.4 * size, 0.0),
        ]
    below = rod / 2 * math.cos(math.radians(angle_deg))
    return [Circle((at + side * gauge / 2, -below), rod / 2, _CUT) for side in (-1, 1)]


def _sides(at: float, gap: float, deep: float, size: float, angle_deg: float) -> list[Shape]:
    """Two walls with ground between: the ball on their edges, or on the ground."""
    top = 0.0 if angle_deg else deep
    ground = top - deep
    wide, thick = gap / 2, 0.15 * size
    return [
        _block(at - wide - 0.2 * size, at - wide, ground, top),
        _block(at + wide, at + wide + 0.2 * size, ground, top),
        _block(at - wide - 0.2 * size, at + wide + 0.2 * size, ground - thick, ground),
    ]


def _vee(given: Given, size: float, at: float, angle_deg: float) -> Polygon:
    half = math.radians(given["included_deg"] / 2)
    deep, thick = given["depth_mm"], 0.15 * size
    on_walls = abs(angle_deg - (90 - given["included_deg"] / 2)) < 1e-6
    # Contacts stand at height 0: on a wall they are that far above the vertex, else at the rims.
    vertex = -size / 2 * math.cos(half) ** 2 / math.sin(half) if on_walls else -deep
    rim, wide = vertex + deep, deep * math.tan(half)
    outer = wide + thick
    return Polygon(
        (
            (at - outer, rim),
            (at - wide, rim),
            (at, vertex),
            (at + wide, rim),
            (at + outer, rim),
            (at + outer, vertex - thick),
            (at - outer, vertex - thick),
        ),
        _CUT,
    )


def _round(given: Given, size: float, at: float, angle_deg: float) -> Polygon:
    radius = given["radius_mm"]
    deep, thick = min(given["depth_mm"], radius), 0.15 * size
    rim = math.acos((radius - deep) / radius)
    bottom = -deep if angle_deg else 0.0
    inner: list[Point] = []
    for k in range(33):
        a = -rim + 2 * rim * k / 32
        inner.append((at + radius * math.sin(a), bottom + radius - radius * math.cos(a)))
    outer = radius * math.sin(rim) + thick
    top = bottom + radius - radius * math.cos(rim)
    frame = ((at + outer, top), (at + outer, bottom - thick), (at - outer, bottom - thick))
    return Polygon((*inner, *frame, (at - outer, top)), _CUT)
