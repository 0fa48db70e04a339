"""The cheapest added diagonals that let every case reach its factor, and how far it is proven."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np

from ..frame import Frame
from ..kit import Kit
from .fewest import Candidates, least_cost
from .handling import Handling
from .mend import Pair, mirror_groups, second_diagonals, with_diagonals
from .section import CaseState, SectionModel, section_model, solve_cases

#: Sets of mirror groups are tried one by one where they have no more members than this in all.
MOST_TRIED_MEMBERS = 300_000


@dataclass(frozen=True)
class Cheapest:
    """What was found. pairs: node pairs, empty where nothing does; states: the cases solved again
    with them; at_least: no set of second diagonals costs less and does, infinite where even all of
    them would not; exact: no set of whole mirror groups costs less and does."""

    pairs: tuple[Pair, ...]
    states: tuple[CaseState, ...]
    cost: float
    at_least: float
    exact: bool

    @property
    def gap(self) -> float:
        """By how much a cheaper set could be cheaper at most."""
        return max(0.0, self.cost - self.at_least)


def rod_across(part: Frame, kit: Kit, pair: Pair) -> int:
    """The rod of the kit between two nodes that one spans."""
    apart = part.nodes_mm[pair[1]] - part.nodes_mm[pair[0]]
    rod = kit.rod_spanning(float(np.linalg.norm(apart)))
    assert rod is not None
    return rod


def cheapest(
    model: SectionModel,
    states: Sequence[CaseState],
    handling: Handling,
    kit: Kit,
    price: Callable[[int], float],
    *,
    gravity_m_s2: float,
    buckling_margin: float,
    free: Mapping[int, int] | None = None,
) -> Cheapest:
    """Second diagonals, in mirror groups, for cases that fall short.

    A greedy search by mirror groups finds a set; then every set of whole mirror groups that costs
    less is tried from scratch, where they are not too many, so that the set is the cheapest of its
    kind (`exact`); and `fewest.least_cost` gives a bound below any set, mirrored or not.

    Args:
        states: solved cases, some of which fall short; all must reach their factors.
        price: cost of one rod by its number in the kit, above 0.
        free: rods on the shelf by number in the kit; left out, as many as it takes.

    Raises NotSolvable, NotHeld.

    Leaves out: sets that are not mirrored, which may do with fewer rods; rods along the axes.
    Source: greedy search, enumeration and cuts; see `fewest` for the bound.
    """
    options: Any = {"gravity_m_s2": gravity_m_s2, "buckling_margin": buckling_margin}
    short = [s for s in states if s.factor < handling.required(s.case.kind)]
    groups = mirror_groups(model, short, most=len(model.part.faces))
    rods = {pair: rod_across(model.part, kit, pair) for group in groups for pair in group
            if _spans(model.part, kit, pair)}  # fmt: skip
    groups = [group for group in groups if all(pair in rods for pair in group)]

    def cost(pairs: Sequence[Pair]) -> float:
        return sum(price(rods[pair]) for pair in pairs)

    def allowed(pairs: Sequence[Pair]) -> bool:
        if any(pair not in rods for pair in pairs):
            return False
        wanted = Counter(rods[pair] for pair in pairs)
        return free is None or all(count <= free.get(rod, 0) for rod, count in wanted.items())

    def tried(pairs: Sequence[Pair]) -> list[CaseState] | None:
        part = with_diagonals(model.part, pairs, kit)
        other = section_model(part, kit, options=model.options, **options)
        first = solve_cases(other, [s.case for s in short])
        if not _reach(first, handling):
            return None
        again = solve_cases(other, [s.case for s in states])
        return again if _reach(again, handling) else None

    every = tuple(pair for group in groups for pair in group)
    candidates = Candidates(
        every, tuple(rods[p] for p in every), np.array([price(rods[p]) for p in every])
    )
    bound = least_cost(model, [s.case for s in short], handling, kit, candidates, **options)
    at_least = _next_sum(bound.least_cost, candidates.cost)
    if not np.isfinite(at_least):
        return Cheapest((), (), np.inf, at_least, exact=True)
    mended = second_diagonals(model, states, handling, kit, allowed=allowed, **options)
    pairs: tuple[Pair, ...] = mended.pairs if mended.reaches else ()
    found = list(mended.states) if pairs else []
    most = cost(pairs) if pairs else np.inf
    sets = _sets(groups, cost, at_least, most, MOST_TRIED_MEMBERS // len(model.part.start))
    if sets is None:
        return Cheapest(pairs, tuple(found), most, at_least, exact=False)
    for one in sets:
        if allowed(one) and (again := tried(one)) is not None:
            return Cheapest(tuple(one), tuple(again), cost(one), at_least, exact=True)
    return Cheapest(pairs, tuple(found), most, at_least, exact=True)


def _spans(part: Frame, kit: Kit, pair: Pair) -> bool:
    apart = part.nodes_mm[pair[1]] - part.nodes_mm[pair[0]]
    return kit.rod_spanning(float(np.linalg.norm(apart))) is not None


def _reach(states: Sequence[CaseState], handling: Handling) -> bool:
    return all(s.factor >= handling.required(s.case.kind) for s in states)


def _next_sum(least: float, cost: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    """A sum of equal costs is a whole number of them."""
    if np.isfinite(least) and len(cost) and np.ptp(cost) == 0 and cost[0] > 0:
        return float(max(0.0, np.ceil(least / cost[0] - 1e-6)) * cost[0])
    return max(0.0, least)


def _sets(
    groups: Sequence[tuple[Pair, ...]],
    cost: Callable[[Sequence[Pair]], float],
    at_least: float,
    below: float,
    most: int,
) -> list[list[Pair]] | None:
    """Every set of groups that costs at_least or more and less than `below`, cheapest first; None
    where there are more than `most`."""
    if not np.isfinite(below):
        return None
    prices = [cost(group) for group in groups]
    order = np.argsort(prices, kind="stable").tolist()
    found: list[tuple[float, list[Pair]]] = []
    for count in range(1, len(groups) + 1):
        if sum(sorted(prices)[:count]) >= below - 1e-9:
            break
        for seen, chosen in enumerate(combinations(order, count)):
            total = sum(prices[k] for k in chosen)
            if at_least - 1e-9 <= total < below - 1e-9:
                found.append((total, [pair for k in chosen for pair in groups[k]]))
            if seen > 200 * most or len(found) > most:
                return None
    found.sort(key=lambda one: one[0])
    return [pairs for _, pairs in found]
