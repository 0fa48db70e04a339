"""The machine as boxes: what comes to each place a minute, and how many balls are there."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Arrow, Drawing, Ink, Label, Legend, Line, Polygon, Shape

from .machine import Machine
from .reading import machine_of
from .wording import plain

Value = Mapping[str, Any]
Point = tuple[float, float]

BOX_W, BOX_H, GAP_X, GAP_Y = 176.0, 78.0, 62.0, 26.0
PLAIN = Ink(width=0.25, fill="#f5f7fa")
FULL = Ink(width=0.3, fill="#f5f7fa", hatched=True)
BASKET = Ink(width=0.25, dash=(1.0, 0.7), fill="#ffffff")
WAY = Ink(width=0.2)
OVER = Ink(width=0.25, dash=(0.5, 0.6))
BACK = Ink(width=0.2, dash=(1.6, 1.0))


def draw_circuit(inputs: Value, value: Value) -> Drawing:
    """Places from left to right as balls meet them; ways back run below."""
    machine = machine_of(inputs)
    columns = _columns(machine)
    at = _corners(columns)
    full = {pile["id"] for pile in value["piles_up"]}
    shapes: list[Shape] = [*_ways(machine, columns, at)]
    for k, place in enumerate(value["places"]):
        shapes += _box(place, at[k], place["id"] in full)
    most = value.get("most_per_min")
    limit = "" if most is None else f", at most {most:.4g}"
    piles = ", ".join(plain(name) for name in sorted(full)) or "nowhere"
    legend = [
        Legend(WAY, "Balls go this way; the return to the start runs below"),
        Legend(OVER, "Taken only when the place before is full"),
    ]
    if full:
        legend.append(Legend(FULL, "Hatched: here balls gather or spill at the flow asked for"))
    return Drawing(
        f"Balls going round: {value['flow_per_min']:.4g} a minute{limit}",
        "Boxes are places, with the balls that come a minute and the balls that are there. "
        f"Balls gather or spill: {piles}.",
        shapes,
        tuple(legend),
    )


def _columns(machine: Machine) -> list[list[int]]:
    """Places by their longest way from the start, ways back left out."""
    start = machine.indices("feed") if machine.entry is None else [machine.entry]
    depth = dict.fromkeys(start, 0)
    order = _forward(machine, start)
    for a, b in order:
        depth[b] = max(depth.get(b, 0), depth[a] + 1)
    rest = [k for k in range(len(machine.places)) if k not in depth]
    last = max(depth.values(), default=0)
    for k in rest:
        depth[k] = last + 1
    found: list[list[int]] = [[] for _ in range(max(depth.values()) + 1)]
    for k in range(len(machine.places)):
        found[depth[k]].append(k)
    return [column for column in found if column]


def _forward(machine: Machine, start: Sequence[int]) -> list[tuple[int, int]]:
    """Links that do not lead back, in an order in which each start is settled before it is used."""
    after: dict[int, list[int]] = {}
    for link in machine.links:
        after.setdefault(link.start, []).append(link.end)
    state: dict[int, int] = {}
    done: list[int] = []
    kept: list[tuple[int, int]] = []
    for root in start:
        stack = [(root, iter(after.get(root, [])))] if root not in state else []
        state.setdefault(root, 1)
        while stack:
            place, ways = stack[-1]
            end = next(ways, None)
            if end is None:
                state[place] = 2
                done.append(place)
                stack.pop()
            elif state.get(end) != 1:
                kept.append((place, end))
                if end not in state:
                    state[end] = 1
                    stack.append((end, iter(after.get(end, []))))
    rank = {place: k for k, place in enumerate(reversed(done))}
    return sorted(kept, key=lambda pair: (rank[pair[0]], rank[pair[1]]))


def _corners(columns: Sequence[Sequence[int]]) -> dict[int, Point]:
    tallest = max(len(column) for column in columns)
    at = {}
    for x, column in enumerate(columns):
        for y, k in enumerate(column):
            up = (tallest - len(column)) / 2.0 + (len(column) - 1 - y)
            at[k] = (x * (BOX_W + GAP_X), up * (BOX_H + GAP_Y))
    return at


def _ways(
    machine: Machine, columns: Sequence[Sequence[int]], at: Mapping[int, Point]
) -> list[Shape]:
    column = {k: x for x, places in enumerate(columns) for k in places}
    shapes: list[Shape] = []
    low = min(y for _, y in at.values()) - 45.0
    lanes: dict[int, float] = {}
    for link in machine.links:
        (x0, y0), (x1, y1) = at[link.start], at[link.end]
        ink = OVER if link.overflow else WAY
        bow = -10.0 if link.overflow else 0.0
        if column[link.end] > column[link.start]:
            a, b = (x0 + BOX_W, y0 + BOX_H / 2 + bow), (x1, y1 + BOX_H / 2 + bow)
            shapes.append(Arrow(a, b, ink))
        elif column[link.end] == column[link.start]:
            down = y1 < y0
            a = (x0 + BOX_W * 0.3, y0 if down else y0 + BOX_H)
            b = (x1 + BOX_W * 0.3, y1 + BOX_H if down else y1)
            shapes.append(Arrow(a, b, ink))
        else:
            y = lanes.setdefault(link.end, low - 22.0 * len(lanes))
            right, left = x0 + BOX_W + 22.0, x1 - 26.0
            middle = y1 + BOX_H / 2
            shapes.append(
                Line(
                    (
                        (x0 + BOX_W, y0 + BOX_H / 2),
                        (right, y0 + BOX_H / 2),
                        (right, y),
                        (left, y),
                        (left, middle),
                    ),
                    OVER if link.overflow else BACK,
                )
            )
            shapes.append(Arrow((left, middle), (x1, middle), WAY))
    return shapes


def _box(place: Value, at: Point, full: bool) -> list[Shape]:
    x, y = at
    ink = FULL if full else BASKET if place["kind"] in ("basket", "drain") else PLAIN
    shapes: list[Shape] = [_rectangle(x, y, BOX_W, BOX_H, ink)]
    if full:  # a plain plate keeps the words readable over the hatch
        shapes.append(
            _rectangle(x + 5, y + 5, BOX_W - 10, BOX_H - 10, Ink(stroke="none", fill="#ffffff"))
        )
    rate = f"{place['rate_per_min']:.3g} / min"
    if "capacity_per_min" in place:
        rate += f" of {place['capacity_per_min']:.3g}"
    held = place["hold_up_count"]
    words = [plain(place["id"]), rate]
    if held > 0.0:
        words.append(f"{held:.3g} balls here")
    size = 1.25
    for row, text in enumerate(words):
        up = y + BOX_H - 24.0 - 22.0 * row
        shapes.append(Label((x + BOX_W / 2, up), _fit(text), size, "middle", bold=row == 0))
    return shapes


def _fit(text: str) -> str:
    return text if len(text) <= 22 else text[:21] + "…"


def _rectangle(x: float, y: float, width: float, height: float, ink: Ink) -> Polygon:
    return Polygon(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), ink)
