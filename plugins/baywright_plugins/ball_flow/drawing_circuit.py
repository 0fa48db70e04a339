"""The machine as boxes: what comes to each place a minute, and how many balls are there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import Arrow, Drawing, Ink, Label, Legend, Line, Polygon, Shape

from .machine import Machine
from .reading import machine_of
from .wording import plain

Value = Mapping[str, Any]
Point = tuple[float, float]

BOX_W, BOX_H, GAP_X, GAP_Y = 176.0, 78.0, 62.0, 26.0
ROWS_APART, MOST_IN_ROW = 80.0, 5
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
    shapes = _ways(machine, at)
    across = max(spot.x for spot in at.values()) + BOX_W
    high = max(spot.y for spot in at.values()) - min(spot.y for spot in at.values()) + BOX_H
    size = min(2.0, 1500.0 / max(across, high))
    for k, place in enumerate(value["places"]):
        shapes += _box(place, (at[k].x, at[k].y), place["id"] in full, size)
    most = value.get("most_per_min")
    limit = "" if most is None else f", at most {most:.4g}"
    piles = ", ".join(plain(name) for name in sorted(full)) or "nowhere"
    legend = [
        Legend(WAY, "Balls go this way, and round again"),
        Legend(OVER, "Taken only when the place before is full"),
    ]
    if any(machine.places[link.start].kind == "basket" for link in machine.links):
        legend.append(Legend(BACK, "From the basket: put back by hand"))
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


@dataclass(frozen=True)
class _Spot:
    """Where a place stands: lower left corner, column, row (0 above), and the row's direction."""

    x: float
    y: float
    column: int
    row: int

    @property
    def ahead(self) -> float:
        return 1.0 if self.row == 0 else -1.0

    def side(self, way: float) -> Point:
        """Middle of the right side (way 1) or of the left one."""
        return (self.x + (BOX_W if way > 0 else 0.0), self.y + BOX_H / 2)

    def edge(self, way: float) -> Point:
        """Middle of the upper edge (way 1) or of the lower one."""
        return (self.x + BOX_W / 2, self.y + (BOX_H if way > 0 else 0.0))


def _corners(columns: Sequence[Sequence[int]]) -> dict[int, _Spot]:
    """Up to five columns in one row; more of them go on below, from right to left."""
    count = len(columns)
    first = count if count <= MOST_IN_ROW else (count + 1) // 2
    heights = [
        max(len(column) for column in part) * (BOX_H + GAP_Y) - GAP_Y
        for part in (columns[:first], columns[first:])
        if part
    ]
    spots = {}
    for number, column in enumerate(columns):
        row = 0 if number < first else 1
        x = number if row == 0 else 2 * first - 1 - number
        middle = heights[0] / 2 if row == 0 else -ROWS_APART - heights[1] / 2
        top = middle + (len(column) * (BOX_H + GAP_Y) - GAP_Y) / 2
        for y, k in enumerate(column):
            low = top - (y + 1) * (BOX_H + GAP_Y) + GAP_Y
            spots[k] = _Spot(x * (BOX_W + GAP_X), low, number, row)
    return spots


def _ways(machine: Machine, at: Mapping[int, _Spot]) -> list[Shape]:
    shapes: list[Shape] = []
    low = min(spot.y for spot in at.values()) - 34.0
    lanes: dict[int, float] = {}
    for link in machine.links:
        start, end = at[link.start], at[link.end]
        ink = OVER if link.overflow else WAY
        if start.column == end.column:
            way = 1.0 if end.y > start.y else -1.0
            shapes.append(Arrow(start.edge(way), end.edge(-way), ink))
        elif start.row != end.row and machine.places[link.start].kind == "basket":
            (x0, y0), (x1, y1) = start.edge(-1.0), end.side(-1.0)
            outside = ((x0, y0), (x0, low), (x1 - 34.0, low), (x1 - 34.0, y1))
            shapes += [Line(outside, BACK), Arrow(outside[-1], (x1, y1), BACK)]
        elif start.row != end.row:
            way = 1.0 if end.row < start.row else -1.0
            shapes.append(Arrow(start.edge(way), end.edge(-way), ink))
        elif end.column == start.column + 1:
            way = start.ahead
            shift = -12.0 if link.overflow else 0.0
            (x0, y0), (x1, y1) = start.side(way), end.side(-way)
            shapes.append(Arrow((x0, y0 + shift), (x1, y1 + shift), ink))
        else:
            under = lanes.setdefault(link.end, low - 16.0 * len(lanes))
            back = end.column < start.column
            (x0, y0), (x1, y1) = start.edge(-1.0), end.edge(-1.0)
            run = [(x0, y0), (x0, under), (x1, under)]
            if back:  # round the outside, clear of what stands below in the same column
                (x0, y0), out = start.side(start.ahead), 22.0 * start.ahead
                run = [(x0, y0), (x0 + out, y0), (x0 + out, under), (x1, under)]
            bent = BACK if back and not link.overflow else ink
            shapes += [Line(tuple(run), bent), Arrow(run[-1], (x1, y1), bent)]
    return shapes


def _box(place: Value, at: Point, full: bool, size: float) -> list[Shape]:
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
    for row, text in enumerate(words):
        up = y + BOX_H - 24.0 - 22.0 * row
        shapes.append(Label((x + BOX_W / 2, up), _fit(text), size, "middle", bold=row == 0))
    return shapes


def _fit(text: str) -> str:
    return text if len(text) <= 22 else text[:21] + "…"


def _rectangle(x: float, y: float, width: float, height: float, ink: Ink) -> Polygon:
    return Polygon(((x, y), (x + width, y), (x + width, y + height), (x, y + height)), ink)
