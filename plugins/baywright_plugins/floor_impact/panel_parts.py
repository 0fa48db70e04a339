"""A panel as points and bars: hubs, middles of rods, the deck's strips, and what holds them.

The grid has points at every half bay: a hub where both counts are even, the middle of a rod where
one is odd, the middle of a bay (of the deck alone) where both are.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from .panel_spec import ON_EDGE, PanelSpec, RodKind

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LINK_MM = 10.0
HUB, ALONG, ACROSS, BETWEEN = "hub", "rod-along", "rod-across", "between-rods"


@dataclass(frozen=True)
class Bar:
    """A bar between two points; `held` tells which of its ends sits in a hub's seat."""

    start: int
    end: int
    role: str
    rod: RodKind | None
    pitch_mm: float
    held: tuple[bool, bool] = (False, False)
    width_mm: float = 0.0


@dataclass(frozen=True)
class Place:
    """Where a ball may land: the point it hits, and over what."""

    point: int
    kind: str
    along_mm: float
    across_mm: float


@dataclass
class Parts:
    """A panel's points (mm), bars and masses (kg); `top` and `deck` find points by half bays."""

    spec: PanelSpec
    orientation: str
    points: list[tuple[float, float, float]] = field(default_factory=list)
    bars: list[Bar] = field(default_factory=list)
    mass_kg: list[float] = field(default_factory=list)
    top: dict[tuple[int, int], int] = field(default_factory=dict)
    bottom: dict[tuple[int, int], int] = field(default_factory=dict)
    deck: dict[tuple[int, int], int] = field(default_factory=dict)
    links: list[tuple[int, int]] = field(default_factory=list)
    rods_used: dict[str, int] = field(default_factory=dict)

    def add_point(self, at: tuple[float, float, float], mass_kg: float) -> int:
        self.points.append(at)
        self.mass_kg.append(mass_kg)
        return len(self.points) - 1

    def add_rod(self, start: int, end: int, role: str, rod: RodKind, middle: int = -1) -> None:
        """A rod between two hubs; by way of a point in its middle where there is one."""
        self.rods_used[rod.id] = self.rods_used.get(rod.id, 0) + 1
        if middle < 0:
            self.bars.append(Bar(start, end, role, rod, rod.pitch_mm, (True, True)))
            shares = [(start, 0.5), (end, 0.5)]
        else:
            self.bars.append(Bar(start, middle, role, rod, rod.pitch_mm, (True, False)))
            self.bars.append(Bar(middle, end, role, rod, rod.pitch_mm, (False, True)))
            shares = [(start, 0.25), (middle, 0.5), (end, 0.25)]
        for point, share in shares:
            self.mass_kg[point] += share * rod.mass_kg

    @cached_property
    def supports(self) -> tuple[int, ...]:
        """Points that rest on something, in order."""
        level = self.bottom or self.top
        return tuple(point for place, point in level.items() if rests(self.spec, *place))

    @property
    def hubs_count(self) -> int:
        hubs = sum(1 for i, j in self.top if i % 2 == 0 and j % 2 == 0)
        return hubs + len(self.bottom)

    def places(self) -> list[Place]:
        """Where balls land: on the deck anywhere, else on hubs and middles of rods."""
        shown = self.deck or self.top
        kinds = {(0, 0): HUB, (1, 0): ALONG, (0, 1): ACROSS, (1, 1): BETWEEN}
        return [
            Place(point, kinds[i % 2, j % 2], self.points[point][0], self.points[point][1])
            for (i, j), point in shown.items()
        ]


def rests(spec: PanelSpec, i: int, j: int) -> bool:
    """Whether the hub at these half bays lies on a support."""
    if i % 2 or j % 2:
        return False
    ends = i in (0, 2 * spec.along)
    sides = j in (0, 2 * spec.across)
    match spec.supports.on:
        case "ends":
            return ends
        case "corners":
            return ends and sides
        case "bearers":
            return ends or i // 2 % spec.supports.every_bays == 0
        case _:  # edges, net
            return ends or sides


def panel_parts(spec: PanelSpec, orientation: str) -> Parts:
    """The panel in one orientation; x along, y across, z up."""
    parts = Parts(spec, orientation)
    for i, j in _half_bays(spec):
        if i % 2 and j % 2:
            continue
        hub = not (i % 2 or j % 2)
        at = (i / 2 * spec.bay.pitch_mm, j / 2 * spec.cross.pitch_mm, 0.0)
        parts.top[i, j] = parts.add_point(at, spec.hub_kg if hub else 0.0)
    _level(parts, parts.top, ("top chord" if orientation == ON_EDGE else "rod along"))
    if orientation == ON_EDGE:
        _trusses(parts)
    if spec.deck is not None:
        _lay_deck(parts)
    return parts


def _half_bays(spec: PanelSpec) -> Iterator[tuple[int, int]]:
    for j in range(2 * spec.across + 1):
        for i in range(2 * spec.along + 1):
            yield i, j


def _level(parts: Parts, level: dict[tuple[int, int], int], chord: str) -> None:
    """Rods along and across between the hubs of one level."""
    spec = parts.spec
    hubs = [place for place in level if place[0] % 2 == 0 and place[1] % 2 == 0]
    for i, j in hubs:
        if (i + 2, j) in level:
            middle = level.get((i + 1, j), -1)
            parts.add_rod(level[i, j], level[i + 2, j], chord, spec.bay, middle)
        if (i, j + 2) in level:
            middle = level.get((i, j + 1), -1)
            parts.add_rod(level[i, j], level[i, j + 2], "rod across", spec.cross, middle)


def _trusses(parts: Parts) -> None:
    """Bottom hubs and rods, posts and diagonals of the trusses on edge."""
    spec = parts.spec
    for (i, j), point in list(parts.top.items()):
        if i % 2 == 0 and j % 2 == 0:
            x, y, _ = parts.points[point]
            parts.bottom[i, j] = parts.add_point((x, y, -spec.depth.pitch_mm), spec.hub_kg)
    _level(parts, parts.bottom, "bottom chord")
    for (i, j), low in parts.bottom.items():
        parts.add_rod(low, parts.top[i, j], "post", spec.depth)
        if i == 2 * spec.along or spec.diagonal is None:
            continue
        rising, falling = leans(spec.pattern, i // 2, spec.along)
        if rising:
            parts.add_rod(low, parts.top[i + 2, j], "diagonal", spec.diagonal)
        if falling:
            parts.add_rod(parts.bottom[i + 2, j], parts.top[i, j], "diagonal", spec.diagonal)


def leans(pattern: str, bay: int, bays: int) -> tuple[bool, bool]:
    """Whether a bay has a diagonal that rises, and one that falls, along the truss.

    lean-in: rising toward the middle, as in floor_tiling_ratio.panel_strength.edge_truss.
    """
    if pattern == "crossed":
        return True, True
    up = 2 * bay < bays if pattern == "lean-in" else bay % 2 == 0
    return up, not up


def _lay_deck(parts: Parts) -> None:
    """The sheet as strips between points at every half bay, resting on hubs and rods below."""
    spec, deck = parts.spec, parts.spec.deck
    assert deck is not None
    steps = (spec.bay.pitch_mm / 2, spec.cross.pitch_mm / 2)
    last = (2 * spec.along, 2 * spec.across)
    for i, j in _half_bays(spec):
        width = [steps[k] * (0.5 if at in (0, last[k]) else 1.0) for k, at in enumerate((i, j))]
        mass = deck.mass_kg_mm2 * width[0] * width[1]
        point = parts.add_point((i * steps[0], j * steps[1], LINK_MM), mass)
        parts.deck[i, j] = point
        if (i, j) in parts.top:
            parts.links.append((parts.top[i, j], point))
        if i:
            before = parts.deck[i - 1, j]
            parts.bars.append(Bar(before, point, "deck", None, steps[0], width_mm=width[1]))
        if j:
            before = parts.deck[i, j - 1]
            parts.bars.append(Bar(before, point, "deck", None, steps[1], width_mm=width[0]))
