"""In which order sections are set up, so that what stands is always as steady as it can be."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import networkx as nx

from .bodies import Body, together
from .support import edges_of, tip_angle_deg

#: Up to so many sections every order is weighed; beyond that the next one is the best at hand.
MOST_EXACT = 11


@dataclass(frozen=True)
class Step:
    """One section set up: its number, the tip angle of what is least steady then, that by itself
    before it is coupled, and the sections that it is coupled to."""

    section: int
    least_tip_deg: float
    alone_tip_deg: float
    coupled_to: tuple[int, ...]


@dataclass(frozen=True)
class SetUp:
    """The steps of the best order; least tip angle over all of it, and of the worst order;
    exact is False where not every order was weighed."""

    steps: tuple[Step, ...]
    least_tip_deg: float
    worst_order_deg: float | None
    exact: bool


def standing_deg(bodies: Sequence[Body]) -> float:
    """Tip angle of several sections coupled into one stiff body, over its nearest edge."""
    whole = together(bodies)
    edge = edges_of(whole.feet, whole.centre[:2])[0]
    return tip_angle_deg(edge.lever_mm, whole.height_of_centre)


def rests_on(bodies: Sequence[Body]) -> list[set[int]]:
    """For each section those that it stands on: below it, and under part of it in plan."""
    found: list[set[int]] = []
    for body in bodies:
        under = set()
        for number, other in enumerate(bodies):
            over = all(
                body.low[k] < other.low[k] + other.size[k] - 1e-6
                and other.low[k] < body.low[k] + body.size[k] - 1e-6
                for k in (0, 1)
            )
            if over and other.bottom < body.bottom - 1.0:
                under.add(number)
        found.append(under)
    return found


def best_order(
    bodies: Sequence[Body], couplings: Sequence[tuple[int, int]], *, with_worst: bool = True
) -> SetUp:
    """The order whose least steady state is the steadiest; among equals the lowest centre first.

    A state is what stands after a section was set up and coupled to those beside it; sections that
    nothing couples yet stand by themselves. Sections stand on those below, which go first.

    Exact by dynamic programming over subsets up to MOST_EXACT sections; beyond that greedy.
    Source: shortest path with the worst state as its length (bottleneck path); common practice
    that a section is coupled before it is let go.
    """
    count = len(bodies)
    steady = _remembered(bodies, couplings)
    under = rests_on(bodies)
    if count > MOST_EXACT:
        at_hand = _greedy(bodies, under, steady)
        return SetUp(*_told(bodies, couplings, at_hand, steady), None, False)
    lowest_first = sorted(range(count), key=lambda n: (bodies[n].height_of_centre, n))
    best: dict[frozenset[int], tuple[float, tuple[int, ...], float]] = {
        frozenset(): (90.0, (), 90.0)
    }
    for size in range(1, count + 1):
        for chosen in combinations(range(count), size):
            state = frozenset(chosen)
            options = []
            worst = []
            for last in chosen:
                before = best.get(state - {last})
                if before is None or not under[last] <= state - {last}:
                    continue
                angle = steady(state)
                ranks = [lowest_first.index(n) for n in (*before[1], last)]
                options.append((-round(min(before[0], angle), 6), ranks, last, before))
                worst.append(min(before[2], angle))
            if options:
                value, _, last, before = min(options, key=lambda option: option[:2])
                best[state] = (-value, (*before[1], last), min(worst))
    value, order, worst_deg = best[frozenset(range(count))]
    steps, least = _told(bodies, couplings, order, steady)
    return SetUp(steps, least, worst_deg if with_worst else None, True)


def _told(
    bodies: Sequence[Body],
    couplings: Sequence[tuple[int, int]],
    order: Sequence[int],
    steady: Callable[[frozenset[int]], float],
) -> tuple[tuple[Step, ...], float]:
    placed: set[int] = set()
    steps = []
    for number in order:
        beside = {b if a == number else a for a, b in couplings if number in (a, b)}
        coupled = tuple(sorted(beside & placed))
        placed.add(number)
        alone = standing_deg([bodies[number]])
        steps.append(Step(number, steady(frozenset(placed)), alone, coupled))
    return tuple(steps), min(step.least_tip_deg for step in steps)


def _greedy(
    bodies: Sequence[Body], under: Sequence[set[int]], steady: Callable[[frozenset[int]], float]
) -> list[int]:
    order: list[int] = []
    left = set(range(len(bodies)))
    while left:
        ready = [n for n in sorted(left) if under[n] <= set(order)]
        order.append(
            max(
                ready,
                key=lambda n: (steady(frozenset((*order, n))), -bodies[n].height_of_centre, -n),
            )
        )
        left.remove(order[-1])
    return order


def _remembered(
    bodies: Sequence[Body], couplings: Sequence[tuple[int, int]]
) -> Callable[[frozenset[int]], float]:
    """Least tip angle over the coupled groups of a set of sections; each group worked out once."""
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(range(len(bodies)))
    graph.add_edges_from(couplings)
    for number, below in enumerate(rests_on(bodies)):
        graph.add_edges_from((number, other) for other in below)
    known: dict[frozenset[int], float] = {}

    def angle(group: frozenset[int]) -> float:
        if group not in known:
            known[group] = standing_deg([bodies[n] for n in sorted(group)])
        return known[group]

    def least(placed: frozenset[int]) -> float:
        groups = nx.connected_components(graph.subgraph(placed))
        return min(angle(frozenset(group)) for group in groups)

    return least
