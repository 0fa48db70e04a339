"""The floor over its sections from above; the front edge is on the left."""

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import (
    Circle,
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Polygon,
    Segments,
    Shape,
)

Record = Mapping[str, Any]
_SECTION = Ink("#1f2933", 0.3, fill="#f5f7fa")
_PANEL = Ink("#7b8794", 0.08)
_CUT_BELOW = Ink("#1f2933", 0.15, fill="#cbd2d9")
_CUT = Ink("#1f2933", 0.2, hatched=True)
_OFF = Ink("#7a3e00", 0.3, (1.0, 0.5), fill="#fdf0d5")
_BEARER = Ink("#1f2933", 0.22)
_ADD_NODE = Ink("#0b5c8a", 0.4, (1.4, 0.6))
_ADD = Ink("#0b5c8a", 0.4, (0.4, 0.5))
_JOINT = Ink("#7a3e00", 0.25, (2.0, 0.6, 0.4, 0.6))
_WALL = Ink("#1f2933", 0.6)
_CLEAR = Ink("#7a3e00", 0.3, (1.2, 0.8))
_FIX = Ink("#0b5c8a", 0.1, fill="#0b5c8a")


def laid(value: Record, inputs: Record) -> Drawing:
    """Sections, panels, cut pieces, pieces that come off, bearers, walls."""
    if "laid" not in value:
        words = "Give lay (sections and the joints between them) to see panels laid over them."
        return Drawing("Floor over its sections", words, [])
    record = value["laid"]
    along, across = record["along"], record["across"]
    unit = max(along["to_mm"] - along["from_mm"], across["to_mm"] - across["from_mm"]) / 100
    y0, y1 = across["from_mm"], across["to_mm"]
    shapes: list[Shape] = [
        *_sections(along, across, unit),
        *_pieces(along, across),
        *_grid(along, across),
        *_bearers(along, across),
        *_joints(along, across, unit),
        *_walls(record, along, across),
        *_landings(inputs["lay"], along, across, unit),
        *_fixings(along, across, unit),
        Dimension(
            (along["from_mm"], y0),
            (along["to_mm"], y0),
            f"{along['to_mm'] - along['from_mm']:g} mm, {_row(along)}",
            -7.0 * unit,
            1.5,
        ),
        Dimension(
            (along["from_mm"], y0),
            (along["from_mm"], y1),
            f"{y1 - y0:g} mm",
            4 * unit,
            1.5,
        ),
    ]
    way = {"run-through": "one grid throughout", "start-anew": "anew in each section"}
    title = f"Floor over {len(along['stretches'])} sections, {way[along['way']]}"
    if len(along["stretches"]) == 1:
        title = "Floor over one section"
    parts = "; ".join(_joint_words(joint) for joint in along["joints"])
    description = (
        f"Along: {_row(along)}. Across: {_row(across)}. "
        f"{parts + '. ' if parts else ''}The front edge is on the left."
    )
    return Drawing(title, description, shapes, _legend(record, inputs["lay"]))


def _row(direction: Record) -> str:
    strips = direction["strips_count"]
    tail = f" and {strips} cut" if strips else ""
    return f"{direction['whole_count']} whole panels{tail}"


def _joint_words(joint: Record) -> str:
    names = " and ".join(joint["between"])
    if joint["comes_apart"]:
        return f"between {names} it parts at {joint['parts_at_mm']:g} mm"
    return f"between {names} {len(joint['pieces_off_mm'])} pieces of a row come off"


def _sections(along: Record, across: Record, unit: float) -> list[Shape]:
    first, last = across["stretches"][0]["start_mm"], across["stretches"][-1]["end_mm"]
    shapes: list[Shape] = []
    for stretch in along["stretches"]:
        a, b = stretch["start_mm"], stretch["end_mm"]
        shapes += [
            Polygon(_box(a, b, first, last), _SECTION),
            Label(
                ((a + b) / 2, across["to_mm"] + 3.2 * unit), stretch["id"], 1.9, "middle", 0, True
            ),
        ]
    return shapes


def _spans(direction: Record) -> list[tuple[float, float, str]]:
    pieces = direction["pieces"]
    return list(zip(pieces["start_mm"], pieces["end_mm"], pieces["kind"], strict=True))


def _pieces(along: Record, across: Record) -> list[Shape]:
    """Bands of pieces that come off, then of cut ones over them."""
    x0, x1, y0, y1 = _outline(along, across)
    shapes: list[Shape] = []
    bands = [(kind, _box(a, b, y0, y1)) for a, b, kind in _spans(along)]
    bands += [(kind, _box(x0, x1, a, b)) for a, b, kind in _spans(across)]
    shapes += [Polygon(box, _OFF) for kind, box in bands if kind.endswith("-off")]
    shapes += [Polygon(box, _CUT_BELOW) for kind, box in bands if kind == "cut"]
    shapes += [Polygon(box, _CUT) for kind, box in bands if kind.startswith("cut")]
    return shapes


def _outline(along: Record, across: Record) -> tuple[float, float, float, float]:
    return along["from_mm"], along["to_mm"], across["from_mm"], across["to_mm"]


def _edges(direction: Record) -> list[float]:
    return sorted({x for a, b, _ in _spans(direction) for x in (a, b)})


def _grid(along: Record, across: Record) -> list[Shape]:
    x0, x1, y0, y1 = _outline(along, across)
    pairs = [
        *(((x, y0), (x, y1)) for x in _edges(along)),
        *(((x0, y), (x1, y)) for y in _edges(across)),
    ]
    return [Segments(pairs, _PANEL)]


def _bearers(along: Record, across: Record) -> list[Shape]:
    first, last = across["stretches"][0]["start_mm"], across["stretches"][-1]["end_mm"]
    inks = {"frame": _BEARER, "add-at-node": _ADD_NODE, "add-between": _ADD}
    shapes: list[Shape] = []
    for kind, ink in inks.items():
        at = [
            x
            for x, k in zip(along["bearers"]["at_mm"], along["bearers"]["kind"], strict=True)
            if k == kind
        ]
        if at:
            shapes.append(Segments([((x, first), (x, last)) for x in at], ink))
    return shapes


def _joints(along: Record, across: Record, unit: float) -> list[Shape]:
    """Separation joints, with the place where the floor parts or what comes off below."""
    y0, y1 = across["from_mm"], across["to_mm"]
    shapes: list[Shape] = []
    for joint in along["joints"]:
        a, b = joint["start_mm"], joint["end_mm"]
        shapes.append(Segments([((x, y0 - unit), (x, y1 + 2.6 * unit)) for x in (a, b)], _JOINT))
        text = f"parts at {joint['parts_at_mm']:g}" if joint["comes_apart"] else "comes off"
        shapes.append(Label(((a + b) / 2, y0 - 2.6 * unit), text, 1.4, "middle"))
    return shapes


def _walls(record: Record, along: Record, across: Record) -> list[Shape]:
    ends = {
        "front": along["stretches"][0]["start_mm"],
        "back": along["stretches"][-1]["end_mm"],
        "near": across["stretches"][0]["start_mm"],
        "far": across["stretches"][-1]["end_mm"],
    }
    sign = {"front": -1, "back": 1, "near": -1, "far": 1}
    walls = {
        edge["side"]: ends[edge["side"]]
        + sign[edge["side"]] * (edge["overhang_mm"] + edge["gap_mm"])
        for edge in record["edges"]
        if "gap_mm" in edge
    }
    x0, x1, y0, y1 = _outline(along, across)
    x0, x1 = walls.get("front", x0), walls.get("back", x1)
    y0, y1 = walls.get("near", y0), walls.get("far", y1)
    lines = {
        "front": ((x0, y0), (x0, y1)),
        "back": ((x1, y0), (x1, y1)),
        "near": ((x0, y0), (x1, y0)),
        "far": ((x0, y1), (x1, y1)),
    }
    return [Segments([lines[side] for side in walls], _WALL)] if walls else []


def _landings(lay: Record, along: Record, across: Record, unit: float) -> list[Shape]:
    """Each is known in one direction, so it is a band."""
    x0, x1, y0, y1 = _outline(along, across)
    shapes: list[Shape] = []
    for zone in lay["keep_clear"]:
        a, b = zone["from_mm"], zone["to_mm"]
        lengthwise = zone["direction"] == "along"
        box = _box(a, b, y0, y1) if lengthwise else _box(x0, x1, a, b)
        middle = ((a + b) / 2, (y0 + y1) / 2) if lengthwise else ((x0 + x1) / 2, (a + b) / 2)
        turned = 90.0 if lengthwise else 0.0
        shapes += [
            Polygon(box, _CLEAR),
            Label(middle, zone["name"], 1.5, "middle", turned, bold=True),
        ]
    return shapes


def _fixings(along: Record, across: Record, unit: float) -> list[Shape]:
    """Where panel edges of both directions lie on planes, so that a corner can be fixed."""
    xs, ys = _landed(along), _landed(across)
    return [Circle(at, 0.35 * unit, _FIX) for at in itertools.product(xs, ys)]


def _landed(direction: Record) -> Sequence[float]:
    """Bearers that an edge of a whole panel lies on, whether they lie there or are added."""
    whole = {x for a, b, kind in _spans(direction) if kind == "whole" for x in (a, b)}
    play = direction["joint_play_mm"] + 1e-6
    return [
        x for x in direction["bearers"]["at_mm"] if any(abs(x - edge) <= play for edge in whole)
    ]


def _legend(record: Record, lay: Record) -> list[Legend]:
    along = record["along"]
    bearers = along["bearers"]["kind"]
    kinds = [kind for way in ("along", "across") for kind in record[way]["pieces"]["kind"]]
    entries = [
        (True, Legend(_SECTION, "section, between its outer node planes")),
        (True, Legend(Ink(_PANEL.stroke, 0.3), "panel edges")),
        ("frame" in bearers, Legend(_BEARER, "bearer that lies there")),
        ("add-at-node" in bearers, Legend(_ADD_NODE, "bearer to add between hubs")),
        ("add-between" in bearers, Legend(_ADD, "bearer to add off the hubs, on rails")),
        (bool(along["joints"]), Legend(_JOINT, "separation joint of the machine")),
        (any(k.startswith("cut") for k in kinds), Legend(_CUT, "piece cut from a panel")),
        (any(k.endswith("-off") for k in kinds), Legend(_OFF, "comes off where sections part")),
        (any("gap_mm" in edge for edge in record["edges"]), Legend(_WALL, "wall")),
        (bool(lay["keep_clear"]), Legend(_CLEAR, "landing or lane mouth: no strip there")),
        (
            bool(_landed(along)) and bool(_landed(record["across"])),
            Legend(Ink(_FIX.stroke, 1.0), "panel corner over bearers: fix here (dots)"),
        ),
    ]
    return [entry for shown, entry in entries if shown]


def _box(x0: float, x1: float, y0: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
