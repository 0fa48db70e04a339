"""Pictures of a result: the way round, the return lane filling, the chain. Computes no number."""

import math
from collections.abc import Callable, Mapping, Sequence
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
    Shape,
)

from .circuit import station_names
from .cross_checks import STATION_ORDER, lift_names, link_name

Value = Mapping[str, Any]
Point = tuple[float, float]

BOX_W, BOX_H = 150.0, 60.0
GAP_X, GAP_Y = 70.0, 34.0
MOST_LARGE_COLUMNS = 4  # more of them: smaller words, so that they stay in their boxes
NOTHING = Ink(stroke="none", width=0.0)  # keeps room for text at the edge
PLAIN = Ink(width=0.3, fill="#f5f7fa")
SINGLE = Ink(width=0.3, fill="#f5f7fa", hatched=True)
FLOW = Ink(width=0.25)
DASHES: tuple[tuple[float, ...], ...] = ((), (2.2, 1.1), (0.6, 0.9), (3.2, 0.9, 0.6, 0.9))
MOST_CURVES = 4
MOST_TICKS = 2000  # more links or hooks than this are not drawn one by one


def draw_network(inputs: Mapping[str, Any], value: Value) -> Drawing:
    """The way round from the top basin to the collector, or a network of one's own.

    Parts side by side stand above one another; the minimum cut has a double outline, a part the
    flow cannot do without is hatched.
    """
    if "units" not in value:
        return _words("Way round", "No lifts and no network are given: only a chain.")
    own = "network" in inputs
    columns = _own_columns(inputs) if own else _round_columns(inputs, value)
    cut = {part["id"] for part in value["limited_by"]}
    single = {part["id"] for part in value["single_points"]}
    size = 1.5 if len(columns) <= MOST_LARGE_COLUMNS else 1.2
    places = _places(columns, 3.0 * GAP_Y if own else GAP_Y)
    shapes: list[Shape] = [
        *_flow_arrows(_arcs(inputs, columns), places),
        *(
            shape
            for column in columns
            for name, capacity in column
            for shape in _box(name, capacity, places[name], name in cut, name in single, size)
        ),
    ]
    if not own:
        shapes += _way_back(columns, places)
    capacity = value.get("capacity_per_min")
    most = "no limit" if capacity is None else f"at most {capacity:.4g} balls per minute"
    names = ", ".join(part["id"] for part in value["limited_by"]) or "no part"
    return Drawing(
        f"{'Network' if own else 'Way round'}: {most}",
        f"Boxes are the parts balls pass, with what each lets through per minute. {names} "
        f"set the limit. Single points of failure: {', '.join(sorted(single)) or 'none'}.",
        shapes,
        (
            Legend(Ink(width=0.3), "Double outline and “limit”: these parts set the flow"),
            Legend(SINGLE, "Hatched: the flow falls short when this part alone stops"),
        ),
    )


_Column = list[tuple[str, float | None]]


def _round_columns(inputs: Mapping[str, Any], value: Value) -> list[_Column]:
    stations = inputs.get("stations", {})

    def station(key: str) -> list[_Column]:
        capacity = stations.get(f"{key}_per_min")
        names = station_names(inputs, key)
        return [] if capacity is None else [[(name, capacity) for name in names]]

    def side_by_side(entries: Sequence[Mapping[str, Any]]) -> list[_Column]:
        return [[(e["id"], e.get("capacity_per_min")) for e in entries]] if entries else []

    columns = station(STATION_ORDER[0]) + side_by_side(inputs.get("paths", []))
    for key in STATION_ORDER[1:4]:
        columns += station(key)
    columns += side_by_side(inputs.get("divider_lanes", []))
    names = [name for names in lift_names(inputs["lifts"]) for name in names]
    columns.append(list(zip(names, value["lift_capacity_per_min"], strict=True)))
    return columns + station(STATION_ORDER[4])


def _own_columns(inputs: Mapping[str, Any]) -> list[_Column]:
    """Nodes by their distance from the source; links are drawn as arrows."""
    network = inputs["network"]
    capacity = {node["id"]: node.get("capacity_per_min") for node in network["nodes"]}
    depth = {network["source"]: 0}
    waiting = [network["source"]]
    while waiting:
        here = waiting.pop(0)
        for link in network["links"]:
            pairs = [(link["start"], link["end"])]
            pairs += [(link["end"], link["start"])] if link["both_ways"] else []
            for start, end in pairs:
                if start == here and end not in depth:
                    depth[end] = depth[here] + 1
                    waiting.append(end)
    names = dict.fromkeys(link[key] for link in network["links"] for key in ("start", "end"))
    last = max(depth.values())
    depth[network["sink"]] = max(depth.get(network["sink"], last), last)
    columns: list[_Column] = [[] for _ in range(depth[network["sink"]] + 1)]
    for name in names:
        columns[depth.get(name, 0)].append((name, capacity.get(name)))
    return [column for column in columns if column]


def _places(columns: Sequence[_Column], gap_y: float) -> dict[str, Point]:
    tallest = max(len(column) for column in columns)
    places = {}
    for x, column in enumerate(columns):
        for y, (name, _) in enumerate(column):
            up = (tallest - len(column)) / 2.0 + (len(column) - 1 - y)
            places[name] = (x * (BOX_W + GAP_X), up * (BOX_H + gap_y))
    return places


def _arcs(
    inputs: Mapping[str, Any], columns: Sequence[_Column]
) -> list[tuple[str, str, str, bool]]:
    """(from, to, words, both ways)."""
    if "network" in inputs:
        return [
            (link["start"], link["end"], _link_words(link), link["both_ways"])
            for link in inputs["network"]["links"]
        ]
    arcs = []
    entries = dict(
        zip((e["id"] for e in inputs["lifts"]), lift_names(inputs["lifts"]), strict=True)
    )
    lanes = {lane["id"]: lane["feeds"] for lane in inputs.get("divider_lanes", [])}
    for left, right in zip(columns, columns[1:], strict=False):
        for start, _ in left:
            fed = {x for name in lanes.get(start, ()) for x in entries.get(name, [name])}
            for end, _ in right:
                if start not in lanes or end in fed:
                    arcs.append((start, end, "", False))
    return arcs


def _link_words(link: Mapping[str, Any]) -> str:
    capacity = link.get("capacity_per_min")
    name = link_name(link) if "id" in link else ""
    return " ".join(part for part in (name, "" if capacity is None else f"{capacity:.4g}") if part)


def _flow_arrows(
    arcs: Sequence[tuple[str, str, str, bool]], places: Mapping[str, Point]
) -> list[Shape]:
    shapes: list[Shape] = []
    pairs = {(start, end) for start, end, _, _ in arcs}
    for start, end, words, both in arcs:
        (x0, y0), (x1, y1) = places[start], places[end]
        bow = 9.0 if (end, start) in pairs else 0.0
        if x1 > x0:
            a, b = (x0 + BOX_W, y0 + BOX_H / 2 + bow), (x1, y1 + BOX_H / 2 + bow)
        elif x1 < x0:
            a, b = (x0, y0 + BOX_H / 2 - bow), (x1 + BOX_W, y1 + BOX_H / 2 - bow)
        else:
            side = BOX_W / 2 + (12.0 if y1 > y0 else -12.0) * (1 if bow else 0)
            a = (x0 + side, y0 + (BOX_H if y1 > y0 else 0.0))
            b = (x1 + side, y1 + (0.0 if y1 > y0 else BOX_H))
        shapes.append(Arrow(a, b, FLOW))
        if both:
            shapes.append(Arrow(b, a, FLOW))
        if words:
            at = (a[0] + 0.35 * (b[0] - a[0]), a[1] + 0.35 * (b[1] - a[1]) + 4.0)
            shapes.append(Label((at[0] + (5.0 if x1 == x0 else 0.0), at[1]), words, 1.5, "middle"))
    return shapes


def _box(
    name: str, capacity: float | None, at: Point, limit: bool, single: bool, size: float
) -> list[Shape]:
    x, y = at
    shapes: list[Shape] = [_rectangle(x, y, BOX_W, BOX_H, SINGLE if single else PLAIN)]
    if limit:
        shapes.append(_rectangle(x - 8, y - 8, BOX_W + 16, BOX_H + 16, Ink(width=0.25)))
    if single:  # a plain plate keeps the words readable over the hatch
        shapes.append(
            _rectangle(x + 8, y + 8, BOX_W - 16, BOX_H - 16, Ink(stroke="none", fill="#ffffff"))
        )
    second = "" if capacity is None else f"{capacity:.4g} / min"
    second += (", limit" if second else "limit") if limit else ""
    middle = (x + BOX_W / 2, y + BOX_H / 2)
    shapes.append(Label((middle[0], middle[1] + (3 if second else -4)), name, size, "middle"))
    if second:
        shapes.append(Label((middle[0], middle[1] - 16), second, 0.85 * size, "middle", bold=limit))
    return shapes


def _rectangle(x: float, y: float, width: float, height: float, ink: Ink) -> Polygon:
    return Polygon(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), ink)


def _way_back(columns: Sequence[_Column], places: Mapping[str, Point]) -> list[Shape]:
    """From the last column back to the first, under all boxes: the balls go round."""
    low = min(y for _, y in places.values()) - 40.0
    firsts = [places[name] for name, _ in columns[0]]
    lasts = [places[name] for name, _ in columns[-1]]
    x0, x1 = firsts[0][0] - 50.0, lasts[0][0] + BOX_W + 50.0
    y0 = sum(y for _, y in firsts) / len(firsts) + BOX_H / 2
    y1 = sum(y for _, y in lasts) / len(lasts) + BOX_H / 2
    dashed = Ink(width=0.25, dash=(1.5, 1.0))
    return [
        *(Line(((x + BOX_W, y + BOX_H / 2), (x1, y1)), FLOW) for x, y in lasts),
        Line(((x1, y1), (x1, low), (x0, low), (x0, y0)), dashed),
        *(Arrow((x0, y0), (x, y + BOX_H / 2), FLOW) for x, y in firsts),
        Label(((x0 + x1) / 2, low + 6.0), "and round again from the top", 1.3, "middle"),
    ]


def draw_overflow(inputs: Mapping[str, Any], value: Value) -> Drawing:
    """Extra balls on the return lane over time, one line for each number of lifts stopped."""
    rows = [row for row in value.get("by_stopped", []) if row.get("peak_extra_balls", 0.0) > 0.0]
    if not rows:
        return _words(
            "Return lane after a stop",
            "No extra balls gather, or tracks and lift time are not given.",
        )
    free = inputs.get("queue", {}).get("free_places_count")
    chosen = rows if len(rows) <= MOST_CURVES else [*rows[: MOST_CURVES - 1], rows[-1]]
    end = max(float(row["time_s"][-1]) for row in chosen)
    top = max([max(row["peak_extra_balls"] for row in chosen), (free or 0.0) * 1.15])
    wide, high = 200.0, 110.0

    def at(t: float, balls: float) -> Point:
        return (wide * t / end, high * balls / top)

    shapes: list[Shape] = [
        Arrow((0.0, 0.0), (wide + 8, 0.0), Ink(width=0.25)),
        Arrow((0.0, 0.0), (0.0, high + 8), Ink(width=0.25)),
        Label((wide, -12.0), "seconds after the stop", 1.7, "end"),
        Label((3.0, high + 6.0), "extra balls on the return lane", 1.7),
        Line(((wide, 0.0), (wide + 44.0, 0.0)), NOTHING),
        *_ticks(end, top, at),
    ]
    legend = []
    taken: list[float] = [0.0] if free is None else [0.0, high * free / top]
    for place, row in enumerate(chosen):
        ink = Ink(width=0.55, dash=DASHES[place % len(DASHES)])
        times, extras = row["time_s"].tolist(), row["extra_balls"].tolist()
        shapes.append(Line(tuple(at(t, b) for t, b in zip(times, extras, strict=True)), ink))
        words = f"{row['stopped_count']} of {value['lift_count']} stopped"
        y = _clear_of(at(end, extras[-1])[1], taken)
        taken.append(y)
        shapes.append(Label((wide + 10.0, y - 1.0), words, 1.6))
        over = row.get("overflow_s")
        tail = "does not overflow" if free is not None else "no number of free places given"
        if over is not None and free is not None:
            tail = f"overflows after {over:.0f} s"
            shapes.append(Circle(at(over, free), 1.6, Ink(width=0.4, fill="#ffffff")))
        legend.append(Legend(ink, f"{words}: peak {row['peak_extra_balls']:.3g}, {tail}"))
    if free is not None:
        limit = Ink(width=0.3, dash=(0.4, 0.6))
        shapes.append(Line((at(0.0, free), at(end, free)), limit))
        shapes.append(
            Label((wide - 2.0, at(end, free)[1] + 1.2), f"{free:.4g} free places", 1.6, "end")
        )
        legend.append(Legend(limit, "Free places; a ring marks the overflow"))
    return Drawing(
        "Return lane after lifts stop",
        " ".join(f"{entry.text}." for entry in legend),
        shapes,
        tuple(legend),
    )


def _clear_of(y: float, taken: Sequence[float]) -> float:
    while any(abs(y - other) < 5.0 for other in taken):
        y += 1.0
    return y


def _ticks(end: float, top: float, at: Callable[[float, float], Point]) -> list[Shape]:
    shapes: list[Shape] = []
    thin = Ink("#52606d", 0.15)
    for t in _round_steps(end):
        x, _ = at(t, 0.0)
        shapes += [Line(((x, 0.0), (x, -1.5)), thin), Label((x, -6.0), f"{t:.4g}", 1.5, "middle")]
    for balls in _round_steps(top):
        _, y = at(0.0, balls)
        shapes += [
            Line(((0.0, y), (-1.5, y)), thin),
            Label((-2.5, y - 1.2), f"{balls:.4g}", 1.5, "end"),
        ]
    return shapes


def _round_steps(most: float) -> list[float]:
    """Multiples of 1, 2 or 5 times a power of ten up to `most`, at most six."""
    power = 10.0 ** math.floor(math.log10(most / 5.0))
    step = next(power * k for k in (1, 2, 5, 10) if most / (power * k) <= 6.0)
    return [step * k for k in range(1, int(most / step + 1e-9) + 1)]


def draw_chain(inputs: Mapping[str, Any], value: Value) -> Drawing:
    """Both sprockets at their pitch diameters, a tick for each link, a bar for each hook."""
    chain = value.get("chain")
    if chain is None:
        return _words("Chain", "No chain is given.")
    given = inputs["chain"]
    pitch, links = given["pitch_mm"], chain["links_count"]
    head, tail = chain["pitch_diameter_mm"] / 2.0, chain["tail_pitch_diameter_mm"] / 2.0
    centre = chain["centre_distance_mm"]
    loop = _Loop(head, tail, centre)
    ink = Ink(width=0.3)
    shapes: list[Shape] = [
        Circle((0.0, centre), head, ink),
        Circle((0.0, 0.0), tail, ink),
        Circle((0.0, centre), head * 0.12, ink),
        Circle((0.0, 0.0), tail * 0.12, ink),
        Line(loop.outline(), Ink(width=0.2)),
    ]
    tick = Ink(width=0.15)
    if links <= MOST_TICKS:
        for k in range(links):
            point, out = loop.at(k / links)
            shapes.append(Line((point, _along(point, out, -pitch * 0.35)), tick))
    spacing = given.get("hook_spacing_links_count")
    legend = [Legend(tick, f"A link, {pitch:.4g} mm; {links} in all")]
    if spacing is not None and links <= MOST_TICKS * spacing:
        hook = Ink(width=0.9)
        for k in range(0, links, spacing):
            point, out = loop.at(k / links)
            shapes.append(Line((point, _along(point, out, pitch * 1.8)), hook))
        hooks = chain.get("hooks_count")
        words = f"{hooks} hooks" if hooks is not None else "hooks, one gap uneven"
        legend.append(Legend(hook, f"A hook every {spacing} links: {words}"))
    side = max(head, tail) + 4 * pitch
    shapes.append(
        Dimension((side, centre), (side, 0.0), f"{centre:.2f} mm head to tail", 4 * pitch)
    )
    z = given["teeth_count"], given.get("tail_teeth_count", given["teeth_count"])
    room = 0.03 * (centre + head + tail)
    wide = 0.2 * (centre + head + tail)
    shapes += [
        Label(
            (0.0, centre + head + 2.0 * pitch + 0.5 * room),
            f"head: {z[0]} teeth, pitch diameter {2 * head:.2f} mm",
            1.6,
            "middle",
        ),
        Label(
            (0.0, -tail - 2.0 * pitch - room),
            f"tail: {z[1]} teeth, pitch diameter {2 * tail:.2f} mm",
            1.6,
            "middle",
        ),
        Line(((-wide, -tail - 2 * pitch - 1.3 * room), (wide, centre + head + 2 * room)), NOTHING),
    ]
    if "chain_speed_mm_s" in chain:
        run = -(max(head, tail) + 4 * pitch)
        shapes += [
            Arrow((run, centre * 0.42), (run, centre * 0.58)),
            Label(
                (run - 0.6 * room, centre * 0.5),
                f"{chain['chain_speed_mm_s']:.1f} mm/s",
                1.6,
                "middle",
                90.0,
            ),
        ]
    return Drawing(
        f"Chain of {links} links",
        f"{links} links of {pitch:.4g} mm over sprockets of {z[0]} and {z[1]} teeth, "
        f"{centre:.2f} mm from head to tail."
        + (f" A hook every {spacing} links." if spacing is not None else ""),
        shapes,
        tuple(legend),
    )


def _along(point: Point, direction: Point, length: float) -> Point:
    return (point[0] + direction[0] * length, point[1] + direction[1] * length)


class _Loop:
    """The chain's run: up on the left, over the head, down on the right, under the tail."""

    def __init__(self, head: float, tail: float, centre: float) -> None:
        self.head, self.tail, self.centre = head, tail, centre
        self.lean = math.asin(max(-1.0, min(1.0, (head - tail) / centre)))
        self.run = math.sqrt(max(centre * centre - (head - tail) ** 2, 0.0))
        self.over_head = head * (math.pi + 2 * self.lean)
        self.under_tail = tail * (math.pi - 2 * self.lean)
        self.length = 2 * self.run + self.over_head + self.under_tail

    def at(self, share: float) -> tuple[Point, Point]:
        """The point after `share` of the loop, and the direction outward there."""
        s = share * self.length
        start = math.pi + self.lean  # where the left run leaves the tail, seen from its centre
        out = (-math.cos(self.lean), -math.sin(self.lean))
        foot = (self.tail * out[0], self.tail * out[1])
        top = (self.head * out[0], self.centre + self.head * out[1])
        if s <= self.run:
            t = s / self.run if self.run else 0.0
            return (foot[0] + t * (top[0] - foot[0]), foot[1] + t * (top[1] - foot[1])), out
        s -= self.run
        if s <= self.over_head:
            angle = start - s / self.head
            out = (math.cos(angle), math.sin(angle))
            return (self.head * out[0], self.centre + self.head * out[1]), out
        s -= self.over_head
        right = (-foot[0], foot[1]), (-top[0], top[1])
        outward = (math.cos(self.lean), -math.sin(self.lean))
        if s <= self.run:
            t = s / self.run if self.run else 0.0
            (x0, y0), (x1, y1) = right[1], right[0]
            return (x0 + t * (x1 - x0), y0 + t * (y1 - y0)), outward
        s -= self.run
        angle = -self.lean - s / self.tail
        out = (math.cos(angle), math.sin(angle))
        return (self.tail * out[0], self.tail * out[1]), out

    def outline(self) -> list[Point]:
        return [self.at(k / 240)[0] for k in range(241)]


def _words(title: str, text: str) -> Drawing:
    return Drawing(title, text, (_rectangle(0, 0, 200, 40, PLAIN), Label((8, 18), text, 1.8)))


VIEWS: Mapping[str, Callable[[Mapping[str, Any], Value], Drawing]] = {
    "network": draw_network,
    "overflow": draw_overflow,
    "chain": draw_chain,
}
