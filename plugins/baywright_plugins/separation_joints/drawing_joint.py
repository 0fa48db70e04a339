"""One joint: its face with the coupled hubs marked, and the gap enlarged."""

from collections.abc import Mapping, Sequence
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

from ..grid_fit.panels import Panel, Point, rectangle, sheet
from .findings import mm

Row = Mapping[str, Any]

_FIRST = Ink("#0b5394", 0.14)
_SECOND = Ink("#6b4e00", 0.2, (0.7, 0.5))
_COUPLED = Ink("#1b5e20", 0.3, (), "#1b5e20")
_FACING = Ink("#1f2933", 0.22, (), "#ffffff")
_ALONE_FIRST = Ink("#0b5394", 0.35)
_ALONE_SECOND = Ink("#6b4e00", 0.35)
_HUB = Ink("#1f2933", 0.2, (), "#e3ecf5")
_ROD = Ink("#1b5e20", 0.8)
_PIECE = Ink("#6b4e00", 0.2, (), "#f0e6d2")
_MARKS = {
    "coupled_mm": (_COUPLED, "coupled by a rod"),
    "facing_mm": (_FACING, "face each other, not coupled"),
    "alone_first_mm": (_ALONE_FIRST, "{first} alone, no partner (slanting cross)"),
    "alone_second_mm": (_ALONE_SECOND, "{second} alone, no partner (upright cross)"),
}


def joint_drawing(value: Mapping[str, Any]) -> Drawing:
    """The joint that needs most attention: most hubs without a partner, then most ways to move,
    then the first."""
    joints = value["joints"]
    if not joints:
        return Drawing("Joint", "There is no joint between sections.", [])
    place = max(
        range(len(joints)),
        key=lambda k: (
            not joints[k].get("matches", True),
            joints[k]["mechanisms_count"],
            joints[k]["alone_first_count"] + joints[k]["alone_second_count"],
            -k,
        ),
    )
    joint = joints[place]
    first, second = joint["between"]
    face = joint["face"]
    panels = [_face(joint), _enlarged(joint, [b for b in value["bridges"] if b["joint"] == place])]
    legend = [Legend(_FIRST, f"rods of {first} in the face"), Legend(_SECOND, f"rods of {second}")]
    legend += [
        Legend(ink, f"{words.format(first=first, second=second)}: {len(face[name])}")
        for name, (ink, words) in _MARKS.items()
        if face[name]
    ]
    about = (
        f"{joint['rods_count']} {joint['rod']} couple {first} and {second} along {joint['axis']}; "
        f"{joint['alone_first_count']} hubs of {first} and {joint['alone_second_count']} of "
        f"{second} have no partner; {mm(joint['clear_gap_mm'])} clear between hub ends."
    )
    title = f"Joint {first}–{second}: {joint['rods_count']} {joint['rod']}"
    return sheet(title, about, [panels], legend, gap=0.1)


def _face(joint: Row) -> Panel:
    face = joint["face"]
    every = [point for name in _MARKS for point in face[name]]
    low = [min(p[k] for p in every) for k in (0, 1)]
    high = [max(p[k] for p in every) for k in (0, 1)]
    width, height = (max(high[k] - low[k], 1.0) for k in (0, 1))
    unit = max(width, height) / 100
    mark = 1.1 * unit

    def to(x: float, y: float) -> Point:
        return x - low[0] + 2 * unit, y - low[1] + 8 * unit

    shapes: list[Shape] = []
    for name, ink in (("lines_second_mm", _SECOND), ("lines_first_mm", _FIRST)):
        pairs = [(to(a, b), to(c, d)) for a, b, c, d in face[name]]
        if pairs:
            shapes.append(Segments(pairs, ink))
    for name, (ink, _) in _MARKS.items():
        for x, y in face[name]:
            shapes += _mark(to(x, y), name, mark, ink)
    coupled = face["coupled_mm"]
    left, right = min(p[0] for p in coupled), max(p[0] for p in coupled)
    bottom, top = min(p[1] for p in coupled), max(p[1] for p in coupled)
    if right > left:
        ends = to(left, low[1]), to(right, low[1])
        shapes.append(Dimension(*ends, f"rods {mm(right - left)} apart", -4 * unit, 1.6))
    if top > bottom:
        ends = to(high[0], bottom), to(high[0], top)
        shapes.append(Dimension(*ends, f"rods {mm(top - bottom)} apart", -5 * unit, 1.6))
    words = f"The face, {face['axes'][0]} to the right, {face['axes'][1]} up"
    shapes.append(Label(to(low[0], high[1] + 3 * unit), words, 1.7, bold=True))
    return Panel(shapes, width + 14 * unit, height + 15 * unit)


def _mark(at: Point, name: str, size: float, ink: Ink) -> list[Shape]:
    x, y = at
    if name == "alone_second_mm":
        return [
            Line(((x - size, y), (x + size, y)), ink),
            Line(((x, y - size), (x, y + size)), ink),
        ]
    if name == "alone_first_mm":
        return [
            Line(((x - size, y - size), (x + size, y + size)), ink),
            Line(((x - size, y + size), (x + size, y - size)), ink),
        ]
    return [Circle(at, size, ink)]


def _enlarged(joint: Row, bridges: Sequence[Row]) -> Panel:
    """The gap from the side, drawn larger: two hubs, the rod, and the pieces across it."""
    face = joint["face"]
    every = [point for name in _MARKS for point in face[name]]
    tall = max(max(p[k] for p in every) - min(p[k] for p in every) for k in (0, 1))
    gap, clear = joint["gap_mm"], joint["clear_gap_mm"]
    overhang = (gap - clear) / 2
    scale = max(0.55 * tall / (gap + 2 * overhang), 1.0)
    unit = max(tall, gap + 2 * overhang) / 100
    base = 14 * unit
    reach, hub = overhang * scale, max(overhang * scale, 2 * unit)
    left, right = hub, hub + gap * scale
    shapes: list[Shape] = [
        Polygon(rectangle(left - hub, base, hub + reach, 2 * hub), _HUB),
        Polygon(rectangle(right - reach, base, hub + reach, 2 * hub), _HUB),
        Line(((left, base + hub), (right, base + hub)), _ROD),
        Label((left - hub, base + 2 * hub + unit), joint["between"][0], 1.7),
        Label((right + hub, base + 2 * hub + unit), joint["between"][1], 1.7, "end"),
        Dimension((left, base), (right, base), f"{mm(gap)} between centres", -9.5 * unit, 1.6),
    ]
    if clear > 0:
        ends = (left + reach, base), (right - reach, base)
        shapes.append(Dimension(*ends, f"{mm(clear)} clear", -4 * unit, 1.6))
    y = base + 2 * hub + 5 * unit
    for piece in bridges[:6]:
        half = min(piece["length_mm"] * scale / 2, (right - left) / 2 + 2 * hub)
        middle = (left + right) / 2
        shapes.append(Polygon(rectangle(middle - half, y, 2 * half, 1.5 * unit), _PIECE))
        words = f"{piece['title'] or piece['id']}, {mm(piece['length_mm'])}"
        words += "" if piece["fits"] else ": does not fit"
        shapes.append(Label((middle, y + 2.2 * unit), words, 1.6, "middle"))
        y += 6 * unit
    words = f"The gap, {scale:.1f} times as large" if scale > 1.05 else "The gap, to the same scale"
    shapes.append(Label((0.0, y + 2 * unit), words, 1.7, bold=True))
    return Panel(shapes, right + hub + 8 * unit, y + 5 * unit)
