"""A ball on each support, cut across, all to one scale."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Circle, Drawing, Ink, Label, Legend, Line, Polygon, Shape

Given = Mapping[str, Any]
Point = tuple[float, float]

_A_ROW = 3  # supports side by side
_CUT = Ink("#1f2933", 0.2, hatched=True)
_BALL = Ink("#1f2933", 0.4)
_AXIS = Ink("#52606d", 0.2, (1.0, 0.6))
_TOUCH = Ink("#b91c1c", 0.3)
_DOT = Ink("#b91c1c", 0.1, (), "#b91c1c")


def section(value: Given, inputs: Given) -> Drawing:
    """Ball, contacts, axis of turning; where the ball falls through, words."""
    size = inputs["ball"]["diameter_mm"]
    pairs = list(zip(value["supports"], inputs["supports"], strict=True))
    rows = [pairs[k : k + _A_ROW] for k in range(0, len(pairs), _A_ROW)]
    halves = [[_half_width(given, size) for _, given in row] for row in rows]
    wide = max(sum(2 * half + 0.6 * size for half in row) for row in halves)
    tall = [_height(row, size) for row in rows]
    step = 0.026 * max(wide, sum(tall))  # from one line of text to the next
    shapes: list[Shape] = []
    base = 0.0
    for row, widths, high in zip(rows, halves, tall, strict=True):
        at = 0.0
        for (found, given), half in zip(row, widths, strict=True):
            at += half
            shapes += _one(found, given, size, (at, base), step)
            at += half + 0.6 * size
        base -= high + 5 * step
    said = [_sentence(found) for found, _ in pairs]
    return Drawing(
        f"Ball of {size:g} mm on {'its support' if len(said) == 1 else 'its supports'}",
        " ".join(said),
        shapes,
        [
            Legend(_CUT, "rails, ribs or channel, cut"),
            Legend(_TOUCH, "from the ball's centre to where it touches (dots)"),
            Legend(_AXIS, "axis about which it turns; r from there to the line of contacts"),
            Legend(Ink("#ffffff"), "share: how much of gravity's pull along a slope speeds it up"),
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


def _height(row: Sequence[tuple[Given, Given]], size: float) -> float:
    """What a row takes below its words: the ball, the deepest support, a fallen ball."""
    deep = [given.get("depth_mm", 0.0) for _, given in row]
    return float(1.6 * size + min(max(deep), 3 * size))


def _one(found: Given, given: Given, size: float, where: Point, step: float) -> list[Shape]:
    """Words above, ball and support below; contacts stand at height 0 of `where`."""
    at, base = where
    radius, top = size / 2, base + max(1.1 * size, given.get("depth_mm", 0.0)) + step

    def line(row: int, text: str, bold: bool = False, colour: str = "#1f2933") -> Label:
        height = top + (2 - row) * step
        return Label((at, height), text, 1.8, "middle", bold=bold, colour=colour)

    words = line(0, f"{found['id']} ({given['kind']})", bold=True)
    angle = math.radians(found.get("contact_angle_deg", 0.0))
    shapes: list[Shape] = [words, *_support(given, size, where, math.degrees(angle))]
    if not found["holds"]:
        fallen = Circle((at, base - 0.2 * size), radius, Ink("#b91c1c", 0.4, (1.2, 0.8)))
        return [*shapes, fallen, line(1, "falls through", colour="#b91c1c")]
    centre = (at, base + found["effective_radius_mm"])
    touches = [
        (at + side * radius * math.sin(angle), centre[1] - radius * math.cos(angle))
        for side in ((-1, 1) if found["contacts_count"] == 2 else (0,))
    ]
    return [
        *shapes,
        Circle(centre, radius, _BALL),
        *(Line((centre, touch), _TOUCH) for touch in touches),
        *(Circle(touch, 0.025 * size, _DOT) for touch in touches),
        Line(((at - 0.62 * size, centre[1]), (at + 0.62 * size, centre[1])), _AXIS),
        line(1, f"r {found['effective_radius_mm']:.1f} mm"),
        line(2, f"share {found['acceleration_ratio']:.2f}"),
    ]


def _support(given: Given, size: float, where: Point, angle_deg: float) -> list[Shape]:
    """What bears the ball; contacts stand at height 0 of `where`."""
    at, base = where
    return [_raised(shape, base) for shape in _at_zero(given, size, at, angle_deg)]


def _raised(shape: Polygon | Circle, by: float) -> Shape:
    if isinstance(shape, Circle):
        return Circle((shape.centre[0], shape.centre[1] + by), shape.radius, shape.ink)
    return Polygon([(x, y + by) for x, y in shape.points], shape.ink)


def _at_zero(given: Given, size: float, at: float, angle_deg: float) -> Sequence[Polygon | Circle]:
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


def _rails(given: Given, size: float, at: float, angle_deg: float) -> Sequence[Polygon | Circle]:
    gauge, rod = given["gauge_mm"], given.get("rod_diameter_mm", 0.0)
    if rod <= 0:
        edges = (at - gauge / 2, at + gauge / 2)
        return [
            _block(edges[0] - 0.3 * size, edges[0], -0.4 * size, 0.0),
            _block(edges[1], edges[1] + 0.3 * size, -0.4 * size, 0.0),
        ]
    below = rod / 2 * math.cos(math.radians(angle_deg))
    return [Circle((at + side * gauge / 2, -below), rod / 2, _CUT) for side in (-1, 1)]


def _sides(at: float, gap: float, deep: float, size: float, angle_deg: float) -> list[Polygon]:
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
