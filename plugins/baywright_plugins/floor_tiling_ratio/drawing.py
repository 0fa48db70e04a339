"""Three pictures of a result: bays over panels, the floor from above, a ball in its groove."""

import math
from collections.abc import Callable, Mapping, Sequence
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
    Shape,
)

from .laid.drawing_plan import laid
from .laid.drawing_slope import slope
from .laid.drawing_wall import wall

_FRAME = Ink("#1f2933", 0.45)
_PANEL = Ink("#52606d", 0.15)
_FILLED = Ink("#52606d", 0.15, fill="#e4e7eb")
_CUT = Ink("#1f2933", 0.3, fill="#cbd2d9")
_INNER = Ink("#1f2933", 0.25, (0.6, 0.8))
_STRIP = Ink("#1f2933", 0.25, hatched=True)
_CLEAR = Ink("#7a3e00", 0.35, (1.2, 0.8), fill="#fdf0d5")
_MARK = Ink("#0b5c8a", 0.4)


def meeting(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> Drawing:
    """The first frame pitch over the last panel, one repeat long, marked where they meet."""
    pair = _shown_pair(value, inputs)
    nodes = {pitch["id"]: pitch["nodes_count"] for pitch in value["pitches"]}[pair["first"]]
    lengths = {pitch["id"]: pitch["pitch_mm"] for pitch in value["pitches"]}
    shown = pair.get("ratio") or pair.get("nearest") or pair["beyond"]
    first, second = lengths[pair["first"]], lengths[pair["second"]]
    bays, panels = int(shown["first_count"]), int(shown["second_count"])
    if max(bays, panels) > 60:
        scale = 60 / max(bays, panels)
        bays, panels = max(1, int(bays * scale)), max(1, int(panels * scale))
    total = max(bays * first, panels * second)
    high = total * 0.06
    shapes: list[Shape] = [
        *_boxes(first, bays, 0.35 * high, high, _FRAME),
        *_boxes(second, panels, -1.35 * high, high, _FILLED),
        *(
            Line(((k * first / nodes, 0.35 * high), (k * first / nodes, 1.35 * high)), _INNER)
            for k in range(1, bays * nodes)
            if k % nodes
        ),
        Label((total / 2, 1.6 * high), f"{bays} × {pair['first']} {first:g} mm", 2, "middle"),
        Label((total / 2, -2.0 * high), f"{panels} × {pair['second']} {second:g} mm", 2, "middle"),
    ]
    ends = [0.0] + ([bays * first] if shown["fits"] and bays == shown["first_count"] else [])
    inside = pair.get("ratio_inside")
    marks = [*ends, *([inside["length_mm"]] if inside and inside["length_mm"] <= total else [])]
    for x in marks:
        shapes += [
            Line(((x, -1.6 * high), (x, 1.5 * high)), Ink(_MARK.stroke, 0.5, (1.0, 0.6))),
            Circle((x, 0.0), 0.18 * high, Ink(_MARK.stroke, 0.3, fill=_MARK.stroke)),
        ]
    misfit = abs(shown["misfit_mm"])
    text = f"{shown['first_count']:g} : {shown['second_count']}"
    tail = f"misfit {misfit:.2f} mm of {shown['play_mm']:.2f} mm play" if misfit else "exact"
    if not shown["fits"]:
        tail = f"no meeting, {misfit:.2f} mm apart with {shown['play_mm']:.2f} mm of play"
    shapes.append(
        Dimension(
            (0, -2.4 * high), (bays * first, -2.4 * high), f"{bays * first:g} mm", -high * 0.5
        )
    )
    return Drawing(
        f"{pair['first']} over {pair['second']}: {text}, {tail}",
        shown["why"],
        shapes,
        [
            Legend(_FRAME, f"{pair['first']}, frame"),
            *([Legend(_INNER, f"node inside a {pair['first']}")] if nodes > 1 else []),
            Legend(_FILLED, f"{pair['second']}, floor"),
            Legend(Ink(_MARK.stroke, 0.5, (1.0, 0.6)), "joint over node: fix the floor here"),
        ],
    )


def _shown_pair(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> Mapping[str, Any]:
    """Frame and panel as the floor names them; the first and the last pitch otherwise."""
    ids = [pitch["id"] for pitch in value["pitches"]]
    floor = inputs.get("floor", {})
    wanted = {floor.get("bay_along", ids[0]), floor.get("panel", ids[-1])}
    pairs: Sequence[Mapping[str, Any]] = value["pairs"]
    return next(pair for pair in pairs if {pair["first"], pair["second"]} == wanted)


def _boxes(pitch: float, count: int, low: float, high: float, ink: Ink) -> list[Shape]:
    return [
        Polygon(
            (
                (k * pitch, low),
                ((k + 1) * pitch, low),
                ((k + 1) * pitch, low + high),
                (k * pitch, low + high),
            ),
            ink,
        )
        for k in range(count)
    ]


def plan(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> Drawing:
    """The floor from above; the front edge is on the left."""
    if "floor" not in value:
        return _absent("Floor from above", "Give floor (its length and width) to see it laid out.")
    along, across = value["floor"]["along"], value["floor"]["across"]
    long, wide = along["length_mm"], across["length_mm"]
    shapes: list[Shape] = [Polygon(_rectangle(0, long, 0, wide), Ink("#1f2933", 0.5))]
    if along["joints_mm"] and across["joints_mm"]:
        x0, x1 = along["joints_mm"][0], along["joints_mm"][-1]
        y0, y1 = across["joints_mm"][0], across["joints_mm"][-1]
        shapes.append(Polygon(_rectangle(x0, x1, y0, y1), _FILLED))
        shapes += [Line(((x, y0), (x, y1)), _PANEL) for x in along["joints_mm"]]
        shapes += [Line(((x0, y), (x1, y)), _PANEL) for y in across["joints_mm"]]
    for piece in (*along["strips"], *along["adjusters"]):
        shapes.append(Polygon(_rectangle(piece["start_mm"], piece["end_mm"], 0, wide), _STRIP))
    for piece in (*across["strips"], *across["adjusters"]):
        shapes.append(Polygon(_rectangle(0, long, piece["start_mm"], piece["end_mm"]), _STRIP))
    shapes += _bearers(along, across)
    unit = max(long, wide) / 100
    meets = [(x, y) for x in along["meetings_mm"] for y in across["meetings_mm"]]
    shapes += [Circle(at, 0.7 * unit, Ink(_MARK.stroke, 0.3, fill=_MARK.stroke)) for at in meets]
    for zone in inputs["floor"]["keep_clear"]:
        x, y = zone["along_from_mm"], zone["across_from_mm"]
        box = _rectangle(x, zone["along_to_mm"], y, zone["across_to_mm"])
        shapes += [Polygon(box, _CLEAR)]
        middle = ((x + zone["along_to_mm"]) / 2, (y + zone["across_to_mm"]) / 2)
        upright = zone["across_to_mm"] - y > zone["along_to_mm"] - x
        at = (middle[0] + 0.6 * unit, middle[1]) if upright else (middle[0], middle[1] - 0.6 * unit)
        turned = 90.0 if upright else 0.0
        shapes.append(Label(at, zone["name"], 1.8, "middle", turned, bold=True))
    shapes += [
        Dimension((0, 0), (long, 0), _size(along), -4 * unit),
        Dimension((0, 0), (0, wide), _size(across), 4 * unit),
    ]
    legend = [
        Legend(_FRAME, "frame bays (bearers)"),
        Legend(_FILLED, "whole panels"),
        Legend(Ink(_MARK.stroke, 1.2), "panel corner over a node: fix here (dots)"),
    ]
    if along["strips"] or across["strips"] or along["adjusters"] or across["adjusters"]:
        legend.append(Legend(_STRIP, "adjuster strip"))
    if inputs["floor"]["keep_clear"]:
        legend.append(Legend(_CLEAR, "landing or lane mouth: no strip under it"))
    words = f"{along['panels_count']} by {across['panels_count']} panels"
    return Drawing(
        f"Floor {long:g} × {wide:g} mm, {words}",
        f"{words}; left over {along['left_over_mm']:g} mm along ({along['action']}) and "
        f"{across['left_over_mm']:g} mm across ({across['action']}).",
        shapes,
        legend,
    )


def _bearers(along: Mapping[str, Any], across: Mapping[str, Any]) -> list[Shape]:
    long, wide = along["length_mm"], across["length_mm"]
    stands = [k * along["bay_mm"] for k in range(along["bays_count"] + 1)]
    lies = [k * across["bay_mm"] for k in range(across["bays_count"] + 1)]
    return [
        *(Line(((x, 0.0), (x, wide)), _FRAME) for x in stands),
        *(Line(((0.0, y), (long, y)), _FRAME) for y in lies),
    ]


def _size(row: Mapping[str, Any]) -> str:
    rest = row["left_over_mm"]
    tail = f" {'+' if rest > 0 else '-'} {abs(rest):.4g}" if rest else ""
    return f"{row['length_mm']:g} = {row['panels_count']} × {row['panel_mm']:g}{tail} mm"


def _rectangle(x0: float, x1: float, y0: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def groove(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> Drawing:
    """The ball at rest between two edges, cut through along its way; drawn level."""
    if "rolling" not in value or not value["rolling"]["groove_mm"]:
        return _absent("Ball in a groove", "Give ball, and rolling with a groove, to see it.")
    report, ball = value["rolling"], inputs["ball"]
    width, radius = report["groove_mm"], ball["diameter_mm"] / 2
    sink, phi = report["sink_mm"], report["groove_angle_deg"]
    thick, out = 0.3 * radius, 1.5 * radius
    centre = (0.0, radius - sink)
    left = ((-out, 0), (-width / 2, 0), (-width / 2, -thick), (-out, -thick))
    right = ((width / 2, 0), (out, 0), (out, -thick), (width / 2, -thick))
    shapes: list[Shape] = [
        Polygon(left, _CUT),
        Polygon(right, _CUT),
        Circle(centre, radius, Ink("#1f2933", 0.5)),
        Circle(centre, radius * 0.02, Ink(fill="#1f2933")),
        Line((centre, (0.0, -sink)), Ink("#52606d", 0.2, (1.0, 0.6))),
        Line((centre, (width / 2, 0.0)), _MARK),
        Label((-0.04 * radius, radius * 0.35), f"phi {phi:.1f} deg", 2.2, "end"),
        Label((0.08 * radius, centre[1] + 0.08 * radius), f"ball {ball['diameter_mm']:g} mm", 2.2),
        Dimension((-width / 2, -thick), (width / 2, -thick), f"groove {width:.4g}", -0.25 * radius),
        Label((-out, 2.15 * radius), f"sinks {sink:.2f} mm", 2.2),
        Label((out, 2.15 * radius), f"floor falls {report['slope_percent']:g} %", 2.2, "end"),
    ]
    tip = math.tan(math.radians(phi)) * 100
    return Drawing(
        f"Ball {ball['diameter_mm']:g} mm in a groove of {width:.4g} mm",
        f"It sinks {sink:.2f} mm; at rest it leaves on a slope of {tip:.1f} % or more, the floor "
        f"has {report['slope_percent']:g} %. Drawn level.",
        shapes,
        [
            Legend(_CUT, "floor panels, cut"),
            Legend(_MARK, "line to the edge it must tip over"),
            Legend(Ink("#52606d", 0.2, (1.0, 0.6)), "line below the centre"),
        ],
    )


def _absent(title: str, words: str) -> Drawing:
    return Drawing(title, words, [Line(((0, 0), (100, 0)), _PANEL), Label((0, 2), words, 2.4)])


VIEWS: Mapping[str, Callable[[Mapping[str, Any], Mapping[str, Any]], Drawing]] = {
    "meeting": meeting,
    "plan": plan,
    "groove": groove,
    "laid": laid,
    "slope": slope,
    "wall": wall,
}
