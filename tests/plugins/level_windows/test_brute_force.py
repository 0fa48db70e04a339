"""Windows, slack and smallest conflicts against trying every height and every set."""

from typing import Any

import networkx as nx
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from baywright_plugins.level_windows.conflicts import give_needed, smallest_conflict
from baywright_plugins.level_windows.decision_order import decide
from baywright_plugins.level_windows.difference_constraints import (
    OPEN,
    NoAnswer,
    close,
    holds,
)
from baywright_plugins.level_windows.most_slack import place, slack_of

from .ladders import NM, Item, Small, ladders, subsets

pytestmark = pytest.mark.slow

SNAPPED = ladders(levels=3, top=60, module=10, most_items=5)
MIXED = ladders(levels=4, free=2, top=24, module=8, most_items=6)


def quick(examples: int) -> settings:
    return settings(max_examples=examples, deadline=None, derandomize=True)


def every(small: Small, top: int) -> np.ndarray:
    return small.holding(range(len(small.items)), top)


@given(SNAPPED)
@quick(30)
def test_windows_on_the_grid_are_those_of_all_heights(small: Small) -> None:
    """Both ends of each window are the least and greatest of all choices that hold."""
    check_windows(small, 60)


@given(MIXED)
@quick(30)
def test_windows_with_free_levels_are_those_of_all_heights(small: Small) -> None:
    """Free levels between snapped ones: rounding on the way, none at their own ends."""
    check_windows(small, 24)


def check_windows(small: Small, top: int) -> None:
    possible = every(small, top)
    try:
        low, high = close(small.rows, small.grid).window()
    except NoAnswer:
        assert not len(possible)
        return
    assert (low[1:] == possible.min(axis=0) * NM).all()
    assert (high[1:] == possible.max(axis=0) * NM).all()


@given(ladders(levels=5, top=1000, module=10, most_items=12, held=False))
@quick(25)
def test_windows_without_a_grid_are_shortest_paths(small: Small) -> None:
    """networkx: Bellman-Ford from and to the hall floor over the same edges."""
    graph: Any = nx.DiGraph()
    graph.add_nodes_from(range(6))
    for tail, head, least in zip(
        small.rows.tail, small.rows.head, small.rows.least_nm, strict=True
    ):
        weight = -int(least)
        if graph.has_edge(tail, head):
            weight = min(weight, graph.edges[tail, head]["weight"])
        graph.add_edge(int(tail), int(head), weight=weight)
    try:
        low, high = close(small.rows, small.grid.off()).window()
    except NoAnswer:
        assert nx.negative_edge_cycle(graph)
        return
    assert not nx.negative_edge_cycle(graph)
    up = nx.single_source_bellman_ford_path_length(graph, 0)
    down = nx.single_source_bellman_ford_path_length(graph.reverse(), 0)
    for node in range(1, 6):
        assert (-low[node] == up[node]) if node in up else low[node] < -OPEN
        assert (high[node] == down[node]) if node in down else high[node] > OPEN


@given(SNAPPED, st.integers(0, 25))
@quick(20)
def test_no_heights_on_the_grid_keep_more_slack(small: Small, enough: int) -> None:
    """Smallest slack first, then the total up to the limit, against all choices of heights."""
    possible = every(small, 60)
    assume(len(possible))
    slack = small.slacks(possible)
    best = slack.min(axis=1).max()
    placed = place(small.rows, small.grid, enough_nm=enough * NM)
    assert placed.proven and placed.least_nm == best * NM
    counted = np.minimum(slack, max(best, enough)).sum(axis=1)
    own = small.slacks(placed.height_nm[None, 1:] // NM)
    assert own.min() == best
    assert np.minimum(own, max(best, enough)).sum() == counted[slack.min(axis=1) == best].max()


@given(ladders(levels=3, free=2, top=30, module=10, most_items=5))
@quick(15)
def test_no_heights_with_free_levels_keep_more_slack(small: Small) -> None:
    """A linear programme for each choice of snapped heights: the same smallest slack and total."""
    best = small.best_slack(30)
    if best is None:
        assert not holds(small.rows, small.grid)
        return
    placed = place(small.rows, small.grid, enough_nm=None)
    assert placed.least_nm is not None and placed.proven
    assert placed.least_nm == pytest.approx(best * NM, abs=2)
    assert slack_of(small.rows, placed.height_nm)[small.rows.slackens].min() >= placed.least_nm
    assert slack_of(small.rows, placed.height_nm).min() >= 0
    loose = small.rows.slackens
    kept = np.full(len(small.items), placed.counted_to_nm)
    slack = slack_of(small.rows, placed.height_nm)[loose]
    np.minimum.at(kept, small.rows.member[loose], slack)
    total = kept[np.unique(small.rows.member[loose])].sum() / NM
    assert total == pytest.approx(small.best_total(30, best - 1e-6, max(best, 10)), abs=1e-4)
    assert (placed.height_nm[small.grid.snapped] % small.grid.module_nm == 0).all()


@given(SNAPPED)
@quick(25)
def test_no_smaller_set_on_the_grid_conflicts(small: Small) -> None:
    """All sets of items, the small ones first; each conflict is a conflict and irreducible."""
    check_smallest(small, 60)


@given(ladders(levels=3, free=2, top=16, module=8, most_items=5))
@quick(25)
def test_no_smaller_set_with_free_levels_conflicts(small: Small) -> None:
    """The same where stretches of a way round may share a row."""
    check_smallest(small, 16)


def check_smallest(small: Small, top: int) -> None:
    """The free ranges of items are wide enough that a conflict within 0..top is one at all."""
    conflict = smallest_conflict(small.rows, small.grid)
    if conflict is None:
        assert len(every(small, top))
        return
    assert conflict.smallest and conflict.missing_nm > 0
    wide = range(-3 * top // small.module, 3 * top // small.module + 1)
    size = len(conflict.members)
    for members in subsets(len(small.items)):
        if len(members) >= size:
            break
        assert feasible(small, members, wide), members
    assert not feasible(small, conflict.members, wide)


def feasible(small: Small, members: tuple[int, ...], wide: range) -> bool:
    """Whether some heights satisfy these items: every choice of snapped ones, shortest paths for
    the free ones (Bellman-Ford of networkx)."""
    on = [k + 1 for k, snapped in enumerate(small.snapped) if snapped]
    return _search(small, [small.items[k] for k in members], on, wide, {0: 0})


def _search(
    small: Small, items: list[Item], on: list[int], wide: range, fixed: dict[int, int]
) -> bool:
    known = [i for i in items if i[0] in fixed and i[1] in fixed]
    for below, above, least, most in known:
        distance = fixed[above] - fixed[below]
        if (least is not None and distance < least) or (most is not None and distance > most):
            return False
    if len(fixed) <= len(on):
        level = on[len(fixed) - 1]
        return any(
            _search(small, items, on, wide, {**fixed, level: k * small.module}) for k in wide
        )
    graph: Any = nx.DiGraph()
    graph.add_node("floor")
    for level, height in fixed.items():
        graph.add_edge("floor", level, weight=height)
        graph.add_edge(level, "floor", weight=-height)
    for below, above, least, most in items:
        for start, end, weight in ((above, below, least), (below, above, most)):
            if weight is not None:
                weight = -weight if start == above else weight
                if graph.has_edge(start, end):
                    weight = min(weight, graph.edges[start, end]["weight"])
                graph.add_edge(start, end, weight=weight)
    return not nx.negative_edge_cycle(graph)


@given(ladders(levels=3, free=1, top=40, module=10, most_items=6))
@quick(25)
def test_each_member_gives_just_enough(small: Small) -> None:
    """With what it gives everything holds, with a nanometre less it does not."""
    rows, grid = small.rows, small.grid
    conflict = smallest_conflict(rows, grid)
    assume(conflict is not None)
    assert conflict is not None
    for member in conflict.members:
        give = give_needed(member, conflict, rows, grid)
        used = np.isin(np.arange(len(rows.member)), conflict.walk) & (rows.member == member)
        if give is None:
            assert not holds(rows, grid, rows.least_nm - 10**12 * used)
        else:
            assert holds(rows, grid, rows.least_nm - give * used)
            assert not holds(rows, grid, rows.least_nm - (give - 1) * used)


@given(MIXED)
@quick(12)
def test_windows_shrink_to_what_each_decision_leaves(small: Small) -> None:
    """At each turn the window is that of the ladder with all decided levels pinned."""
    assume(holds(small.rows, small.grid))
    closure = close(small.rows, small.grid)
    height = place(small.rows, small.grid, enough_nm=None).height_nm
    pinned: list[Item] = []
    for decision in decide(closure, small.rows, height):
        left = Small(1, small.snapped, tuple(pinned))
        rows = small.rows
        if pinned:
            tail = np.r_[rows.tail, left.rows.tail]
            head = np.r_[rows.head, left.rows.head]
            least = np.r_[rows.least_nm, left.rows.least_nm // NM]
            more = np.zeros(len(left.rows.tail), dtype=np.int64)
            rows = type(rows)(
                tail, head, least, np.r_[rows.member, more], np.ones(len(tail), dtype=bool)
            )
        low, high = close(rows, small.grid).window()
        assert (decision.low_nm, decision.high_nm) == (low[decision.node], high[decision.node])
        assert low[decision.node] <= height[decision.node] <= high[decision.node]
        at = int(height[decision.node])
        pinned.append((0, decision.node, at, at))
