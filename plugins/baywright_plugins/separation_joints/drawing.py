"""The whole machine with its gaps, and one joint's face."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import (
    Arrow,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

from ..grid_fit.panels import PLAIN, Panel, Point, rectangle, sheet
from .drawing_joint import joint_drawing
from .findings import count_of, kg, mm

Row = Mapping[str, Any]

VIEWS = {
    "plan": "The machine from above and from the front: sections, gaps and what bridges them.",
    "joint": "The face of the joint that needs most attention: which hubs are coupled, and the "
    "gap enlarged.",
}

RIGID = Ink("#1f2933", 0.25, (), "#e3ecf5")
FOLDS = Ink("#9a031e", 0.35, (0.9, 0.5), "none", hatched=True)
_NODES = Ink("#52606d", 0.12, (0.6, 0.4))
ROD = Ink("#1b5e20", 0.35)
BRIDGE = Ink("#6b4e00", 0.9)
CUT = Ink("#9a031e", 0.4, (1.2, 0.6))
_PULL = Ink("#52606d", 0.3)
#: Joints whose gaps are written out, rods drawn of each, and steps of taking apart.
MOST = 24


def draw_view(value: Mapping[str, Any], view: str) -> Drawing:
    """One of VIEWS, from the result alone."""
    return joint_drawing(value) if view == "joint" else _plan(value)


def _plan(value: Mapping[str, Any]) -> Drawing:
    sections, joints = value["sections"], value["joints"]
    above, front = _panel(value, "xy", "From above"), _panel(value, "xz", "From the front")
    folding = [row["id"] for row in sections if not row["rigid"]]
    outside = value["machine"]["outside_mm"]
    size = " × ".join(f"{outside[axis]:.0f}" for axis in "xyz")
    about = (
        f"{len(sections)} section(s) and {len(joints)} joint(s), {size} mm over the hub ends. "
        f"{', '.join(folding) + ' not rigid alone' if folding else 'Every section is rigid alone'}."
    )
    legend = [Legend(RIGID, "rigid by itself, over the hub ends")] if len(folding) < len(
        sections
    ) else []  # fmt: skip
    if folding:
        legend.append(Legend(FOLDS, "folds by itself"))
    if joints:
        legend.append(Legend(ROD, "coupling rods; the gap is clear between hub ends"))
    if value["bridges"]:
        legend.append(Legend(BRIDGE, "pieces that bridge the gap, at their height"))
    if value["cut_places"]:
        legend.append(Legend(CUT, "best place to cut"))
    if value["taking_apart"]["steps"]:
        legend.append(Legend(_PULL, "pulls that take it apart, in order"))
    return sheet(f"Where it comes apart: {size} mm", about, [[above], [front]], legend, gap=0.06)


def _panel(value: Mapping[str, Any], axes: str, title: str) -> Panel:
    right, up = axes[0], axes[1]
    sections, joints = value["sections"], value["joints"]
    low = {a: min(row["at_mm"][a] for row in sections) for a in axes}
    high = {a: max(row["at_mm"][a] + row["outside_mm"][a] for row in sections) for a in axes}
    unit = max(high[a] - low[a] for a in axes) / 100
    base = 3.0 * unit
    shapes: list[Shape] = []
    seen: dict[tuple[float, ...], list[Row]] = {}
    for row in sorted(sections, key=lambda row: row["rigid"]):
        x, y = row["at_mm"][right] - low[right], row["at_mm"][up] - low[up] + base
        width, height = row["outside_mm"][right], row["outside_mm"][up]
        ink = RIGID if row["rigid"] else FOLDS
        shapes.append(Polygon(rectangle(x, y, width, height), ink))
        seen.setdefault((x, y, width, height), []).append(row)
    by_id = {row["id"]: row for row in sections}
    origin = (low[right], low[up] - base)
    top = high[up] - low[up] + base
    shown = [k for k, joint in enumerate(joints) if joint["axis"] in axes][:MOST]
    for order, k in enumerate(shown):
        shapes += _joint(joints[k], by_id, axes, origin)
        shapes += _gap(joints[k], by_id, axes, origin, (high[right] - low[right], top), unit, order)
    for bridge in value["bridges"][: 4 * MOST]:
        if bridge["joint"] in shown:
            shapes += _bridge(bridge, joints[bridge["joint"]], by_id, axes, origin)
    cuts = _cuts(value, by_id, axes, origin)
    shapes += cuts
    for place, rows_here in seen.items():
        shapes += _section_words(rows_here, place, unit, backed=bool(cuts))
    if axes == "xz":
        shapes += _pulls(value, by_id, origin, unit)
    rows = 1 + min(2, len(shown))
    shapes.append(Label((0.0, top + (2.4 * rows + 1.0) * unit), title, 1.8, bold=True))
    return Panel(shapes, high[right] - low[right], top + (2.4 * rows + 4.0) * unit)


def _section_words(
    rows: Sequence[Row], place: Sequence[float], unit: float, *, backed: bool
) -> list[Shape]:
    """Name, mass and state in the middle of a section, or of those that lie behind one another;
    `backed` puts white behind them."""
    x, y, width, height = place
    words = [(", ".join(row["id"] for row in rows), True)]
    if len(rows) == 1:
        words.append((kg(rows[0]["mass_kg"]), False))
        if not rows[0]["rigid"]:
            words.append((f"folds {count_of(rows[0]['mechanisms_count'], 'way')}", False))
    longest = max(len(word) for word, _ in words)
    size = max(1.2, min(1.8, 1.4 * width / unit / longest))
    shapes: list[Shape] = []
    if backed or not all(row["rigid"] for row in rows):
        half = 0.33 * size * unit * longest
        tall = 1.3 * size * unit * len(words)
        low = y + height / 2 + 1.7 * size * unit - tall
        shapes.append(Polygon(rectangle(x + width / 2 - half, low, 2 * half, tall), PLAIN))
    return shapes + [
        Label(
            (x + width / 2, y + height / 2 + (0.6 - 1.3 * k) * size * unit), word, size, "middle",
            bold=bold,
        )
        for k, (word, bold) in enumerate(words)
    ]  # fmt: skip


def _cuts(
    value: Mapping[str, Any], by_id: Mapping[str, Row], axes: str, origin: Point
) -> list[Shape]:
    """The best place to cut each section that was asked about, as a line across it."""
    shapes: list[Shape] = []
    for asked in value["cut_places"]:
        row = by_id.get(asked["section"])
        if row is None or asked["axis"] not in axes:
            continue
        best = next(p for p in asked["places"] if p["rank"] == 1)
        along = row["at_mm"][asked["axis"]] + best["pieces"][0]["outside_mm"][asked["axis"]]
        other = axes.replace(asked["axis"], "")
        ends = (row["at_mm"][other], row["at_mm"][other] + row["outside_mm"][other])
        points = [_at(asked["axis"], axes, along, across, origin) for across in ends]
        shapes.append(Line(tuple(points), CUT))
    return shapes


def _centres(joint: Row, by_id: Mapping[str, Row]) -> tuple[float, float]:
    """Places along the joint's axis of the hub centres on both sides."""
    axis = joint["axis"]
    overhang = (joint["gap_mm"] - joint["clear_gap_mm"]) / 2
    first = by_id[joint["between"][0]]
    start = first["at_mm"][axis] + first["outside_mm"][axis] - overhang
    return start, start + joint["gap_mm"]


def _joint(joint: Row, by_id: Mapping[str, Row], axes: str, origin: Point) -> list[Shape]:
    start, end = _centres(joint, by_id)
    other = axes.replace(joint["axis"], "")
    column = joint["face"]["axes"].index(other)
    places = sorted({place[column] for place in joint["face"]["coupled_mm"]})[:MOST]
    pairs = [
        (_at(joint["axis"], axes, start, p, origin), _at(joint["axis"], axes, end, p, origin))
        for p in places
    ]
    return [Segments(pairs, ROD)]


def _at(axis: str, axes: str, along: float, across: float, origin: Point) -> Point:
    point = (along, across) if axis == axes[0] else (across, along)
    return point[0] - origin[0], point[1] - origin[1]


def _gap(
    joint: Row, by_id: Mapping[str, Row], axes: str, origin: Point, size: Point, unit: float,
    order: int,
) -> list[Shape]:  # fmt: skip
    """The gap written above the panel of that size, or beside the joint where it is level, with a
    leader."""
    width, top = size
    start, end = _centres(joint, by_id)
    overhang = (joint["gap_mm"] - joint["clear_gap_mm"]) / 2
    text = f"{joint['rods_count']} {joint['rod']}, {mm(joint['clear_gap_mm'])} clear"
    middle = (start + end) / 2
    if joint["axis"] == axes[0]:
        x = middle - origin[0]
        level = top + (1.0 + 2.4 * (order % 2)) * unit
        column = joint["face"]["axes"].index(axes[1])
        reach = max(place[column] for place in joint["face"]["coupled_mm"]) + overhang - origin[1]
        return [
            Line(((x, level - 0.6 * unit), (x, reach)), _NODES),
            Label((x, level), text, 1.5, "middle"),
        ]
    column = joint["face"]["axes"].index(axes[0])
    places = [place[column] - origin[0] for place in joint["face"]["coupled_mm"]]
    y = middle - origin[1]
    on_left = min(places) + max(places) < width
    edge = min(places) - overhang if on_left else max(places) + overhang
    way = -1 if on_left else 1
    return [
        Line(((edge, y), (edge + way * 3 * unit, y)), _NODES),
        Label((edge + way * 3.5 * unit, y - 0.5 * unit), text, 1.5, "end" if on_left else "start"),
    ]


def _bridge(
    bridge: Row, joint: Row, by_id: Mapping[str, Row], axes: str, origin: Point
) -> list[Shape]:
    """The piece from the side, at its height; from above as wide as it is, in the middle."""
    start, end = _centres(joint, by_id)
    middle, half = (start + end) / 2, bridge["length_mm"] / 2
    face = joint["face"]
    other = axes.replace(joint["axis"], "")
    column = face["axes"].index(other)
    across = [place[column] for place in face["coupled_mm"]]
    place = (min(across) + max(across)) / 2
    if other == "z" and "height_mm" in bridge:
        floor = min(row["at_mm"]["z"] for row in by_id.values())
        place = floor + (joint["gap_mm"] - joint["clear_gap_mm"]) / 2 + bridge["height_mm"]
    points = [_at(joint["axis"], axes, middle + side * half, place, origin) for side in (-1, 1)]
    return [Line(tuple(points), BRIDGE)]


def _pulls(
    value: Mapping[str, Any], by_id: Mapping[str, Row], origin: Point, unit: float
) -> list[Shape]:
    """Numbered arrows below the sections that are pulled, or above those that are lifted."""
    shapes: list[Shape] = []
    for number, step in enumerate(value["taking_apart"]["steps"][:MOST]):
        moved: Sequence[Row] = [by_id[name] for name in step["sections"]]
        low = min(row["at_mm"]["x"] for row in moved) - origin[0]
        high = max(row["at_mm"]["x"] + row["outside_mm"]["x"] for row in moved) - origin[0]
        x, text = (low + high) / 2, f"{number + 1}."
        if step["direction"] in ("+x", "-x"):
            way = 4 * unit if step["direction"] == "+x" else -4 * unit
            shapes.append(Arrow((x - way / 2, unit), (x + way / 2, unit), _PULL))
            shapes.append(Label((x - 4.5 * unit, 0.5 * unit), text, 1.6, "end"))
        elif step["direction"] == "+z":
            y = max(row["at_mm"]["z"] + row["outside_mm"]["z"] for row in moved) - origin[1]
            shapes.append(Arrow((x, y - 5 * unit), (x, y - unit), _PULL))
            shapes.append(Label((x - unit, y - 4 * unit), text, 1.6, "end"))
        else:
            words = f"{text} {step['words']}"
            shapes.append(Label((x, 0.5 * unit), words, 1.5, "middle"))
    return shapes
