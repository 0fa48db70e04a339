"""The order in which a section is built: unit by unit from the floor up, gathered into steps that
end where the part that stands holds its shape."""

from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx

from ...frame import Frame
from ..beams import Cell
from .growth import MOST_FINISHED, MOST_LOOKED_AT, Growth
from .units import Unit, Units, units_of

#: A step that has grown to so many times the least ends even where the part still sways.
LONGEST_STEP = 2


@dataclass(frozen=True)
class Built:
    """One unit as it is put up: the hubs and members that were not there before."""

    unit: Unit
    nodes: tuple[int, ...]
    members: tuple[int, ...]


@dataclass(frozen=True)
class Step:
    """Units put up in one go. `steady`: what then stands holds its shape; `loose_ways` in which
    it does not. None where not known."""

    built: tuple[Built, ...]
    steady: bool | None
    loose_ways: int | None

    @property
    def bays(self) -> float:
        return sum(one.unit.bays for one in self.built)

    @property
    def nodes(self) -> list[int]:
        """Hubs that were not there before."""
        return [node for one in self.built for node in one.nodes]

    @property
    def members(self) -> list[int]:
        """Members that were not there before."""
        return [member for one in self.built for member in one.members]

    @property
    def cells(self) -> list[Cell]:
        return [one.unit.cell for one in self.built if one.unit.cell is not None]


@dataclass(frozen=True)
class SectionSteps:
    """Steps in order, and the graph of their places: an edge runs from a step to each that needs
    its hubs, no edge that follows from others."""

    steps: tuple[Step, ...]
    needs: "nx.DiGraph[int]"


def section_steps(part: Frame, cells: Sequence[Cell], bays_per_step: int) -> SectionSteps:
    """How to build one section.

    Runs of bays, lowest first, each touching what stands: a run goes straight on until its beam
    ends or the step is full, and further while the part can change its shape, so that it ends at
    the next braced face. A step ends with a run where it is at least half full and the part is
    steady, at the latest at twice `bays_per_step`. Without a grid, hub follows hub from below.

    Args:
        part: one section, nodes numbered from 0. cells: its bays, empty where it has no grid.
        bays_per_step: a full step.

    Leaves out: reach, weight and what is in the way; whether the steps could be fewer.
    Source: order by levels of a graph, as networkx; the rule itself is common practice, no source.
    """
    growth = Growth(part)
    steps: list[Step] = []
    current: list[Built] = []
    walk = _Walk(units_of(part, cells))
    steady: bool | None = False
    while (unit := walk.next(straight_on=_goes_on(current, steady, bays_per_step))) is not None:
        if current and not walk.in_run and _may_end(current, steady, bays_per_step):
            steps.append(_step(current, growth, MOST_LOOKED_AT))
            current = []
        current.append(_built(unit, growth))
        steady = growth.is_steady()
    if current:
        steps.append(_step(current, growth, MOST_FINISHED))
    return SectionSteps(tuple(steps), _needs(steps, part))


def _step(built: Sequence[Built], growth: Growth, most: int) -> Step:
    steady = growth.is_steady(most=most)
    return Step(tuple(built), steady, 0 if steady else growth.loose_ways())


def _goes_on(current: Sequence[Built], steady: bool | None, bays_per_step: int) -> bool:
    bays = sum(one.unit.bays for one in current)
    return bays < (bays_per_step if steady else LONGEST_STEP * bays_per_step)


def _may_end(current: Sequence[Built], steady: bool | None, bays_per_step: int) -> bool:
    bays = sum(one.unit.bays for one in current)
    return bool(steady) and 2 * bays >= bays_per_step or bays >= LONGEST_STEP * bays_per_step


def _built(unit: Unit, growth: Growth) -> Built:
    nodes, members = growth.add(unit.nodes, unit.members)
    return Built(unit, tuple(nodes), tuple(members))


class _Walk:
    """Hands out units one after another, each touching one handed out before where any does.

    `in_run` says whether the last one goes on with the run of the one before.
    """

    def __init__(self, found: Units) -> None:
        self._units, self._touching = found.units, found.touching
        self._waiting = set(range(len(found.units)))
        self._frontier: set[int] = set()
        self._beside_standing = [0] * len(found.units)
        self._run: list[int] = []
        self.in_run = False

    def next(self, *, straight_on: bool) -> Unit | None:
        """The next unit; the run is kept up where `straight_on` and its beam goes on."""
        if not self._waiting:
            return None
        onward = self._onward() if straight_on else None
        self.in_run = onward is not None
        chosen = min(self._frontier or self._waiting, key=self._rank) if onward is None else onward
        if self._units[chosen].cell is None:
            self.in_run = straight_on and bool(self._run)
        self._run = [*self._run, chosen] if self.in_run else [chosen]
        self._waiting.discard(chosen)
        self._frontier.discard(chosen)
        for other in self._touching[chosen]:
            self._beside_standing[other] += 1
        self._frontier |= set(self._touching[chosen]) & self._waiting
        return self._units[chosen]

    def _onward(self) -> int | None:
        """The bay with which the run goes straight on; any beside a run of one bay."""
        if not self._run or self._units[self._run[-1]].cell is None:
            return None
        beside = set(self._touching[self._run[-1]]) & self._waiting
        if len(self._run) > 1:
            beside = {unit for unit in beside if self._straight(unit)}
        return min(beside, key=self._rank, default=None)

    def _rank(self, unit: int) -> tuple[object, ...]:
        one = self._units[unit]
        if one.cell is not None:
            beside = bool(self._run) and unit in self._touching[self._run[-1]]
            return (one.level, not beside, one.key, unit)
        return (one.level, -self._beside_standing[unit], one.key, unit)

    def _straight(self, unit: int) -> bool:
        before, last, here = (self._units[k].cell for k in (*self._run[-2:], unit))
        if before is None or last is None or here is None:
            return False
        return all(c - b == b - a for a, b, c in zip(before, last, here, strict=True))


def _needs(steps: Sequence[Step], part: Frame) -> "nx.DiGraph[int]":
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(steps)))
    step_of = {node: number for number, step in enumerate(steps) for node in step.nodes}
    for number, step in enumerate(steps):
        touched = {node for one in step.built for node in one.unit.nodes}
        touched |= {int(end[m]) for m in step.members for end in (part.start, part.end)}
        graph.add_edges_from((step_of[node], number) for node in touched if step_of[node] < number)
    reduced: nx.DiGraph[int] = nx.transitive_reduction(graph)
    return reduced
