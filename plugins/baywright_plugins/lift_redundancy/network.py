"""Flow through a network of parts that can stop: throughput, cuts, single points of failure.

Every part (node or link) is split into an entrance and an exit, joined by one arc that carries
its capacity. Stopping a part is setting that arc to zero, so nodes and links fail alike.
"""

from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, combinations
from typing import Any

import networkx as nx
import numpy as np
from networkx.algorithms.flow import build_residual_network, edmonds_karp

from .series_parallel import series_parallel_flow

UNLIMITED = 1e12  # stands for "no capacity given"; never reported


@dataclass(frozen=True)
class Element:
    """A part that balls pass through: `capacity_per_min` None where no limit was given."""

    id: str
    capacity_per_min: float | None = None


@dataclass(frozen=True)
class Cut:
    """Parts that together limit the flow, and the flow they let through (None: no limit)."""

    elements: tuple[str, ...]
    flow_per_min: float | None


def is_enough(flow_per_min: float | None, required_per_min: float | None) -> bool:
    """Whether a flow (None: no limit) meets the requirement; without one, whether any flows."""
    if flow_per_min is None:
        return True
    if required_per_min is None:
        return flow_per_min > 0.0
    return flow_per_min >= required_per_min - 1e-9 * max(required_per_min, 1.0)


class FlowNetwork:
    """Parts, and which part leads to which.

    Args:
        elements: every part, ids distinct; `source` and `sink` may but need not be among them.
        arcs: pairs of ids; ids that are not elements are plain joints.

    Flow is found by augmenting paths (networkx, Edmonds and Karp); equal inputs give equal answers.
    """

    def __init__(
        self,
        elements: Sequence[Element],
        arcs: Iterable[tuple[str, str]],
        source: str,
        sink: str,
    ) -> None:
        self.elements = tuple(elements)
        self.arcs = tuple(arcs)
        self.source, self.sink = source, sink
        self._start, self._end = ("in", source), ("out", sink)
        self._limits = {
            e.id: UNLIMITED if e.capacity_per_min is None else e.capacity_per_min
            for e in self.elements
        }
        self._residual: Any = build_residual_network(self._graph(), "capacity")
        for name, limit in self._limits.items():
            self._residual[("in", name)][("out", name)]["capacity"] = limit
        self._known: dict[frozenset[str], float] = {}

    def _graph(self) -> Any:
        graph: Any = nx.DiGraph()
        names = {self.source, self.sink}
        names.update(end for arc in self.arcs for end in arc)
        names.update(element.id for element in self.elements)
        for name in sorted(names):  # open wide at first: an arc of no capacity would be left out
            graph.add_edge(("in", name), ("out", name), capacity=UNLIMITED)
        for start, end in self.arcs:
            graph.add_edge(("out", start), ("in", end), capacity=UNLIMITED)
        return graph

    def max_flow(self, stopped: Iterable[str] = ()) -> float | None:
        """Most balls a minute from source to sink while the parts `stopped` let none through.

        None where no part on some way through has a capacity.

        Source: Ford and Fulkerson; checked against Cormen et al., Introduction to Algorithms,
        section 26.2, in the tests.
        """
        down = frozenset(stopped)
        if down not in self._known:
            self._known[down] = self._solve(down)
        flow = self._known[down]
        return None if flow >= UNLIMITED / 2 else flow

    def enough(self, required_per_min: float | None, stopped: Iterable[str] = ()) -> bool:
        """Whether the required flow passes; without a requirement, whether any does."""
        return is_enough(self.max_flow(stopped), required_per_min)

    def is_plain(self) -> bool:
        """Whether it is made of parts in a row and side by side: many states go at once."""
        carried = {name: np.ones(1) for name in self._limits}
        return series_parallel_flow(carried, self.arcs, self.source, self.sink) is not None

    def learn(self, sets: Iterable[Iterable[str]]) -> None:
        """Work the largest flows for many sets of stopped parts at once, where the network is
        made of parts in a row and side by side; elsewhere nothing is learnt."""
        downs = list(dict.fromkeys(frozenset(down) for down in sets))
        if not downs:
            return
        carried = {
            name: np.array([0.0 if name in down else limit for down in downs])
            for name, limit in self._limits.items()
        }
        flows = series_parallel_flow(carried, self.arcs, self.source, self.sink)
        if flows is not None:
            self._known |= dict(zip(downs, np.minimum(flows, UNLIMITED).tolist(), strict=True))

    def _solve(self, down: Iterable[str], open_wide: Iterable[str] = ()) -> float:
        changed = {name: 0.0 for name in down} | {name: UNLIMITED for name in open_wide}
        arcs = [self._residual[("in", name)][("out", name)] for name in changed]
        before = [arc["capacity"] for arc in arcs]
        for arc, capacity in zip(arcs, changed.values(), strict=True):
            arc["capacity"] = capacity
        solved: Any = edmonds_karp(
            self._residual, self._start, self._end, residual=self._residual, value_only=True
        )
        for arc, capacity in zip(arcs, before, strict=True):
            arc["capacity"] = capacity
        return float(solved.graph["flow_value"])

    def modules(self, names: Iterable[str]) -> list[tuple[str, ...]]:
        """Of the parts named, those with the same parts before and after them, together."""
        before: dict[str, set[str]] = {}
        after: dict[str, set[str]] = {}
        for start, end in self.arcs:
            after.setdefault(start, set()).add(end)
            before.setdefault(end, set()).add(start)
        found: dict[Any, list[str]] = {}
        for name in names:
            ends = name in (self.source, self.sink) and name
            key = (ends, frozenset(before.get(name, ())), frozenset(after.get(name, ())))
            found.setdefault(key, []).append(name)
        return [tuple(group) for group in found.values()]

    def flows_of(
        self, modules: Sequence[tuple[str, ...]], capacities: np.ndarray[Any, Any]
    ) -> np.ndarray[Any, Any]:
        """Largest flow for many sets of capacities of some modules at once.

            flow(c) = min over sets T of modules of [flow with T shut and the others open wide]
                      + sum of c over T

        Every cut holds some set T of modules, so this is the max-flow min-cut theorem with the
        cuts sorted by T: 2^(modules) flows in place of one for every state.

        Args:
            modules: parts that stand side by side, each module acting as one part.
            capacities: shape (states, modules), balls a minute; infinite where no limit is given.

        Returns:
            shape (states,); infinite where nothing limits the flow.
        """
        best = np.full(len(capacities), np.inf)
        for shut in _subsets(len(modules)):
            closed = [name for k in shut for name in modules[k]]
            opened = [m[0] for k, m in enumerate(modules) if k not in shut]
            rest = self._solve(closed, opened)
            if rest < UNLIMITED / 2:
                best = np.minimum(best, rest + capacities[:, list(shut)].sum(axis=1))
        return best

    def min_cut(self) -> Cut:
        """The cut nearest the source: parts whose capacities add up to the largest flow.

        Source: max-flow min-cut theorem, Ford and Fulkerson.
        """
        flow = self._solve(frozenset())
        if flow >= UNLIMITED / 2:
            return Cut((), None)
        reached = {self._start}
        waiting = deque([self._start])
        while waiting:
            node = waiting.popleft()
            for other, arc in self._residual[node].items():
                # Float rests below a billionth of an arc are no way through.
                if other not in reached and arc["capacity"] - arc["flow"] > 1e-9 * max(
                    1.0, min(arc["capacity"], 1e3)
                ):
                    reached.add(other)
                    waiting.append(other)
        cut = [
            e.id
            for e in self.elements
            if ("in", e.id) in reached and ("out", e.id) not in reached and self._limits[e.id] > 0
        ]
        return Cut(tuple(cut), flow)

    def single_points(
        self, required_per_min: float | None, groups: Mapping[str, Sequence[str]]
    ) -> list[Cut]:
        """Groups of parts (by name, stopping together) without which the flow falls short.

        Args:
            groups: name -> ids of the parts that stop with it; a part alone is a group of one.

        Returns:
            one `Cut` for each, in the order given: the name, and the flow left.
        """
        return [
            Cut((name,), self.max_flow(parts))
            for name, parts in groups.items()
            if not self.enough(required_per_min, parts)
        ]

    def minimal_cuts(
        self,
        required_per_min: float | None,
        groups: Mapping[str, Sequence[str]],
        *,
        largest: int,
    ) -> list[tuple[str, ...]]:
        """Smallest sets of groups whose stopping together leaves too little flow.

        Args:
            largest: sets of more groups are not looked for.

        Returns:
            sets in order of size, no set holding another.
        """
        found: list[tuple[str, ...]] = []
        names = list(groups)
        for size in range(1, min(largest, len(names)) + 1):
            for chosen in combinations(names, size):
                if any(set(smaller) <= set(chosen) for smaller in found):
                    continue
                if not self.enough(required_per_min, _all_of(groups, chosen)):
                    found.append(chosen)
        return found

    def minimal_paths(
        self, required_per_min: float | None, groups: Mapping[str, Sequence[str]]
    ) -> list[tuple[str, ...]]:
        """Smallest sets of groups that suffice when all other groups are stopped.

        Returns:
            sets in order of size, no set holding another. Work grows as 2^(number of groups).
        """
        found: list[tuple[str, ...]] = []
        names = list(groups)
        for size in range(1, len(names) + 1):
            for chosen in combinations(names, size):
                if any(set(smaller) <= set(chosen) for smaller in found):
                    continue
                others = [name for name in names if name not in chosen]
                if self.enough(required_per_min, _all_of(groups, others)):
                    found.append(chosen)
        return found


def _subsets(count: int) -> Iterable[tuple[int, ...]]:
    return chain.from_iterable(combinations(range(count), size) for size in range(count + 1))


def _all_of(groups: Mapping[str, Sequence[str]], names: Iterable[str]) -> list[str]:
    return sorted({part for name in names for part in groups[name]})


def lane_flows(
    lanes: Sequence[tuple[float | None, Sequence[int]]],
    lift_per_min: Sequence[float],
    arriving_per_min: float,
) -> list[float]:
    """What each divider lane carries when lanes fill in order and overflow to the next.

    Args:
        lanes: in overflow order: capacity in balls a minute (None: no limit) and the lifts fed.
        lift_per_min: what each lift takes; 0 for a stopped one.
        arriving_per_min: balls that reach the divider each minute.

    Returns:
        balls a minute in each lane; the rest of `arriving_per_min` spills.

    Filling in order reaches the largest total: the sets of lanes' flows form a polymatroid.
    """
    filled: list[float] = []
    for count in range(1, len(lanes) + 1):
        elements = [Element("all", arriving_per_min)]
        elements += [Element(f"lift {k}", rate) for k, rate in enumerate(lift_per_min)]
        elements += [Element(f"lane {k}", lanes[k][0]) for k in range(count)]
        arcs = [("all", f"lane {k}") for k in range(count)]
        arcs += [(f"lane {k}", f"lift {i}") for k in range(count) for i in lanes[k][1]]
        arcs += [(f"lift {i}", "top") for i in range(len(lift_per_min))]
        total = FlowNetwork(elements, arcs, "all", "top").max_flow() or 0.0
        filled.append(total - sum(filled))
    return filled
