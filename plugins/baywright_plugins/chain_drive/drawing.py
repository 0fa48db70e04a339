"""Pictures of a result: the drive from the side, the comb from above, the torque window."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from baywright_service.contract import (
    Arrow,
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

Value = Mapping[str, Any]
Point = tuple[float, float]

_WHEEL = Ink("#1f2933", 0.4)
_CHAIN = Ink("#1f2933", 0.3, (1.2, 0.6))
_HOOK = Ink("#0b5394", 0.5)
_REACH = Ink("#9b1c31", 0.4, (0.5, 0.7))
_RIB = Ink("#1f2933", 0.25, (), "#cbd2d9")
_TOOTH = Ink("#0b5394", 0.35, (), "#d6e4f0")
_WEDGE = Ink("#9b1c31", 0.2, (), "none", hatched=True)
_OPEN = Ink("#1f2933", 0.25, (), "#d6e4f0")
_SHUT = Ink("#9b1c31", 0.25, (), "none", hatched=True)
_MOST_HOOKS = 300
_MOST_TEETH = 12
_BAR = 62.0  # of 100; the rest is room for words


def drive(inputs: Value, value: Value) -> Drawing:
    """Both sprockets, the chain, the hooks, the adjuster's travel."""
    loop = value["loop"]
    centre = loop["centre_distance_mm"]
    head, tail = loop["head_pitch_diameter_mm"] / 2.0, loop["tail_pitch_diameter_mm"] / 2.0
    tip_h, tip_t = loop["head_outside_diameter_mm"] / 2.0, loop["tail_outside_diameter_mm"] / 2.0
    lean = math.asin(max(-1.0, min(1.0, (tail - head) / centre)))
    across, up = math.cos(lean), math.sin(lean)
    right = ((tail * across, tail * up), (head * across, centre + head * up))
    left = tuple((-x, y) for x, y in right)
    wide = max(tip_h, tip_t)
    words_at = wide + 0.05 * centre
    shapes: list[Shape] = [
        Circle((0.0, 0.0), tip_t, _WHEEL),
        Circle((0.0, centre), tip_h, _WHEEL),
        *(Circle(at, 0.06 * r, _WHEEL) for at, r in (((0.0, 0.0), tail), ((0.0, centre), head))),
        Line(_arc(tail, 0.0, math.pi - lean, 2.0 * math.pi + lean), _CHAIN),
        Line(_arc(head, centre, lean, math.pi - lean), _CHAIN),
        Line(right, _CHAIN),
        Line(left, _CHAIN),
        Dimension((-wide, 0.0), (-wide, centre), f"{centre:.2f} mm", 0.05 * centre),
        Label((words_at, centre), f"head, {inputs['chain']['teeth_count']} teeth", 1.8),
        Label(
            (words_at, centre - 0.035 * centre),
            f"pitch diameter {2 * head:.2f} mm",
            1.8,
        ),
        Label((words_at, 0.0), f"tail, {_tail_teeth(inputs)} teeth", 1.8),
        Label((words_at, -0.035 * centre), f"pitch diameter {2 * tail:.2f} mm", 1.8),
    ]
    legend = [Legend(_WHEEL, "sprockets, over the teeth"), Legend(_CHAIN, "chain")]
    hooks = _hooks(inputs, value, right, (across, up))
    if hooks:
        shapes.append(Segments(hooks, _HOOK))
        legend.append(Legend(_HOOK, "hooks on the rising run"))
        size = 0.05 * centre
        low_end, high_end = 0.42 * centre, 0.42 * centre + 2 * size
        shapes.append(Arrow((words_at, low_end), (words_at, high_end)))
        speed = value["motion"]["chain_speed_mm_s"]
        at = (words_at + 0.02 * centre, 0.46 * centre)
        shapes.append(Label(at, f"{speed:.1f} mm/s", 1.8))
    if "adjustment" in loop:
        left_over = loop["adjustment"]
        low, high = left_over["shortest_mm"], left_over["longest_mm"]
        x = -wide - 0.1 * centre
        half = 0.02 * centre
        shapes += [
            Segments(
                (
                    ((x - half, low), (x + half, low)),
                    ((x - half, high), (x + half, high)),
                    ((x, low), (x, high)),
                ),
                _REACH,
            ),
            Label((x - half, high + 0.01 * centre), f"to {high:.1f}", 1.6, "end"),
            Label((x - half, low - 0.03 * centre), f"from {low:.1f}", 1.6, "end"),
        ]
        legend.append(Legend(_REACH, "travel of the head shaft, measured from the tail shaft, mm"))
    links = loop["links_count"]
    return Drawing(
        f"Chain drive, {links} links of {inputs['chain']['pitch_mm']:g} mm",
        f"{links} links around sprockets {centre:.2f} mm apart.",
        shapes,
        legend,
    )


def _tail_teeth(inputs: Value) -> int:
    chain = inputs["chain"]
    return int(chain.get("tail_teeth_count", chain["teeth_count"]))


def _arc(radius: float, height: float, start: float, end: float) -> list[Point]:
    angles = [start + (end - start) * k / 48 for k in range(49)]
    return [(radius * math.cos(a), height + radius * math.sin(a)) for a in angles]


def _hooks(
    inputs: Value, value: Value, run: tuple[Point, Point], out: Point
) -> list[tuple[Point, Point]]:
    if "motion" not in value:
        return []
    gap = inputs["hooks"]["spacing_links_count"] * inputs["chain"]["pitch_mm"]
    (x0, y0), (x1, y1) = run
    length = math.hypot(x1 - x0, y1 - y0)
    reach = 0.03 * value["loop"]["centre_distance_mm"]
    count = min(int(length / gap), _MOST_HOOKS)
    found = []
    for k in range(count + 1):
        share = k * gap / length
        at = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
        found.append((at, (at[0] + reach * out[0], at[1] + reach * out[1])))
    return found


def comb(inputs: Value, value: Value) -> Drawing:
    """Ribs and the teeth between them from above, with what tolerances may take."""
    title = "Hook and tongue from above"
    if "comb" not in value:
        return Drawing(title, "Give comb (ribs and teeth) to see it.", ())
    given, found = inputs["comb"], value["comb"]
    pitch, rib, tooth = given["rib_pitch_mm"], given["rib_width_mm"], given["tooth_width_mm"]
    teeth_shown = min(found["teeth_count"], _MOST_TEETH)
    start = max(
        0, min(found["binding_tooth"] - teeth_shown // 2, found["teeth_count"] - teeth_shown)
    )
    first_rib = given["first_gap"] + start
    deep = pitch * max(1.2, 0.35 * teeth_shown)
    shapes: list[Shape] = []
    for k in range(first_rib, first_rib + teeth_shown + 1):
        x = k * pitch
        shapes.append(Polygon(_box(x - rib / 2, x + rib / 2, 0.0, deep), _RIB))
        shapes.append(Label((x, 0.85 * deep), f"{k + 1}", 1.6, "middle"))
    sides: dict[int, dict[str, Value]] = {}
    for row in found["clearances"]:
        sides.setdefault(row["tooth"], {})[row["side"]] = row
    for i in range(start, start + teeth_shown):
        left, right = sides[i]["left"], sides[i]["right"]
        x0 = left["rib"] * pitch + rib / 2 + left["nominal_mm"]
        shapes.append(Polygon(_box(x0, x0 + tooth, 0.25 * deep, 0.6 * deep), _TOOTH))
        for row, edge, sign in ((left, x0, -1.0), (right, x0 + tooth, 1.0)):
            eaten = row["nominal_mm"] - row["worst_mm"]
            if eaten > 0:
                tip = (edge + sign * eaten, 0.6 * deep)
                shapes.append(Polygon(((edge, 0.25 * deep), (edge, 0.6 * deep), tip), _WEDGE))
        if teeth_shown <= 8:
            worst = min(left["worst_mm"], right["worst_mm"])
            middle = x0 + tooth / 2
            shapes.append(Label((middle, 0.14 * deep), f"{worst:.2f}", 1.6, "middle"))
    tight = sides[found["binding_tooth"]][found["binding_side"]]
    where = tight["rib"] * pitch
    half_way = (first_rib + teeth_shown / 2.0) * pitch
    anchor = "middle" if where == half_way else "start" if where < half_way else "end"
    shapes += [
        Arrow((where, -0.16 * deep), (where, -0.01 * deep), Ink("#9b1c31", 0.5)),
        Label(
            (where, -0.22 * deep),
            f"tightest: {tight['worst_mm']:.2f} mm at worst, {tight['nominal_mm']:.2f} as drawn",
            1.8,
            anchor,
            bold=True,
        ),
        Dimension(
            (first_rib * pitch, deep), ((first_rib + 1) * pitch, deep), f"{pitch:g} mm", 0.06 * deep
        ),
    ]
    hidden = found["teeth_count"] - teeth_shown
    words = f" ({teeth_shown} of {found['teeth_count']} teeth shown)" if hidden else ""
    return Drawing(
        f"{title}: gap {found['gap_mm']:g} mm, tooth {tooth:g} mm{words}",
        f"Least clearance {found['least_nominal_mm']:.2f} mm as drawn, "
        f"{found['least_likely_mm']:.2f} mm by root-sum-square, {found['least_worst_mm']:.2f} mm "
        "at worst.",
        shapes,
        [
            Legend(_RIB, "ribs of the tongue, numbered"),
            Legend(_TOOTH, "teeth of the hook"),
            Legend(_WEDGE, "what tolerances may take, worst case"),
            Legend(Ink("#1f2933", 0.0), "number in a gap: clearance left at worst, mm"),
        ],
    )


def _box(x0: float, x1: float, y0: float, y1: float) -> tuple[Point, ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def torque(inputs: Value, value: Value) -> Drawing:
    """Running torque, what is needed, the fuse, and what breaks, on one bar."""
    title = "Torque at the head shaft"
    if "torque" not in value:
        return Drawing(title, "Give hooks, ball and lift to see the torque.", ())
    found, fuse = value["torque"], value.get("fuse")
    marks = [
        (found["running_torque_n_m"], "runs with every hook full"),
        (found["needed_torque_n_m"], "needed for starts and jams"),
    ]
    if fuse is not None:
        marks.append((fuse["high_n_m"], f"fuse must slip by here ({fuse['weakest']})"))
        marks += [(p["torque_n_m"], f"{p['id']} lets go") for p in fuse["weak_points"][:5]]
    for row in value.get("motors", ())[:6]:
        marks.append((row["shaft_torque_n_m"], f"motor {row['id']}"))
        if "stall_torque_n_m" in row:
            marks.append((row["stall_torque_n_m"], f"motor {row['id']} held still"))
    if fuse is not None and "setting_low_n_m" in fuse:
        marks.append((fuse["setting_low_n_m"], "fuse given, lowest"))
        marks.append((fuse["setting_high_n_m"], "fuse given, highest"))
    marks = sorted((max(t, 1e-9), words) for t, words in marks)
    low, high = math.log10(marks[0][0]), math.log10(marks[-1][0])
    span = max(high - low, 0.3)

    def place(torque_n_m: float) -> float:
        return _BAR * (math.log10(max(torque_n_m, 1e-9)) - low) / span

    rows = len(marks)
    shapes: list[Shape] = [Polygon(_box(0.0, _BAR, 0.0, 4.0), _WHEEL)]
    legend: list[Legend] = []
    if fuse is not None:
        a, b = sorted((place(fuse["low_n_m"]), place(fuse["high_n_m"])))
        ink = _OPEN if fuse["open"] else _SHUT
        shapes.append(Polygon(_box(a, b, 0.0, 4.0), ink))
        words = "window for a fuse or clutch" if fuse["open"] else "no window: the ends cross"
        legend.append(Legend(ink, words))
    for k, (torque_n_m, words) in enumerate(reversed(marks)):
        x, y = place(torque_n_m), -4.0 - 3.4 * k
        shapes.append(Line(((x, 4.0), (x, y)), Ink("#52606d", 0.2)))
        shapes.append(Label((x + 1.0, y), f"{torque_n_m:.3g} N m  {words}", 1.7))
    note = "Logarithmic: equal steps are equal ratios"
    shapes.append(Label((100.0, -6.0 - 3.4 * rows), note, 1.6, "end"))
    return Drawing(
        f"{title}: {found['needed_torque_n_m']:.3g} N m needed",
        "; ".join(f"{t:.3g} N m {words}" for t, words in marks) + ".",
        shapes,
        legend,
    )


VIEWS: Mapping[str, Callable[[Value, Value], Drawing]] = {
    "drive": drive,
    "comb": comb,
    "torque": torque,
}
