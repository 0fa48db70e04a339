"""Bounds, difference constraints and sums on their own."""

import doctest
import importlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.route_fit.vehicle.bounds import certainly_too_small, least_length
from baywright_plugins.route_fit.vehicle.difference_bounds import wall, with_bound, with_variable
from baywright_plugins.route_fit.vehicle.dual_bounds import ROUNDING, shares
from baywright_plugins.route_fit.vehicle.model import Room, Thing, Way
from baywright_plugins.route_fit.vehicle.nodes import Nodes, OutOfNodes
from baywright_plugins.route_fit.vehicle.plan_search import Ground, lay
from baywright_plugins.route_fit.vehicle.reach import useful_extent

FEW = settings(deadline=None, derandomize=True, max_examples=60)


@pytest.mark.parametrize(
    "name",
    [
        "cargo",
        "difference_bounds",
        "dual_bounds",
        "plan_search",
        "reach",
        "solve",
        "towers",
        "tipping",
    ],
)
def test_examples_in_docstrings(name: str) -> None:
    """They run and hold."""
    module = importlib.import_module(f"baywright_plugins.route_fit.vehicle.{name}")
    result = doctest.testmod(module)
    assert result.attempted and not result.failed


@FEW
@given(st.integers(4, 60), st.lists(st.integers(1, 60), min_size=1, max_size=8), st.data())
def test_shares_of_things_that_fit_never_add_up_to_more_than_one(
    room: int, sizes: list[int], data: st.DataObject
) -> None:
    """What makes a function dual feasible, for functions made from other sizes too."""
    fitting: list[int] = []
    for size in sizes:
        if sum(fitting) + size <= room:
            fitting.append(size)
    others = data.draw(st.lists(st.integers(1, room), max_size=4))
    table = shares(tuple(sorted({*fitting, *others})), room)
    column = {size: k for k, size in enumerate(sorted({*fitting, *others}))}
    if fitting:
        totals = table[:, [column[size] for size in fitting]].sum(axis=1)
        assert totals.max() <= 1 + ROUNDING
    assert table.min(initial=0) >= 0


@FEW
@given(
    st.lists(
        st.tuples(st.integers(0, 3), st.integers(0, 3), st.integers(-9, 9)), min_size=1, max_size=8
    )
)
def test_closed_bounds_are_the_longest_walks(arcs: list[tuple[int, int, int]]) -> None:
    """Against Floyd and Warshall's algorithm from the start, positive cycles included."""
    bounds = wall()
    for _ in range(3):
        bounds = with_variable(bounds, 0, 20)
    walks = np.array(bounds)
    closed: list[list[int]] | None = bounds
    for i, j, c in arcs:
        if i == j:
            continue
        walks[i, j] = max(walks[i, j], c)
        if closed is not None:
            closed = with_bound(closed, i, j, c)
    for k in range(4):
        walks = np.maximum(walks, walks[:, [k]] + walks[[k], :])
    if walks.diagonal().max() > 0:
        assert closed is None
    else:
        assert closed == walks.tolist()


@FEW
@given(
    st.lists(st.lists(st.integers(1, 9), min_size=1, max_size=2), max_size=5), st.integers(1, 40)
)
def test_useful_extent_is_the_largest_sum(sizes: list[list[int]], room: int) -> None:
    """Against all sums."""
    sums = [0]
    for thing in sizes:
        sums += [total + size for total in sums for size in thing]
    assert useful_extent(sizes, room) == max(total for total in sums if total <= room)


def test_things_in_a_row_are_as_long_as_their_sum() -> None:
    """Nothing may stand on any of three boxes as wide as the room: least length is their sum."""
    boxes = [Thing((Way(5, ((length, 10),)),), 1.0, 0.0) for length in (4000, 5000, 6000)]
    room = Room(9000, 10, 20)
    assert certainly_too_small(boxes, room)
    assert 14_000 <= least_length(boxes, room) <= 15_000


def test_the_search_counts_its_steps_and_stops() -> None:
    """A limit ends it, and it ends there each time."""
    squares = [[(side, side)] for side in (18, 15, 14, 10, 9, 8, 7, 4, 1)]
    used = []
    for _ in range(2):
        nodes = Nodes(20)
        with pytest.raises(OutOfNodes):
            lay(squares, Ground(33, 32), nodes)
        used.append(nodes.used)
    assert used == [21, 21]


def test_layout_does_not_overlap_and_touches_home() -> None:
    """Moron's squares leave nothing over, so nothing overlaps and everything is filled."""
    squares = [[(side, side)] for side in (18, 15, 14, 10, 9, 8, 7, 4, 1)]
    spots = lay(squares, Ground(33, 32), Nodes(1000))
    assert spots is not None
    filled = np.zeros((33, 32), dtype=int)
    for spot in spots:
        filled[spot.x : spot.x + spot.along, spot.y : spot.y + spot.across] += 1
    assert (filled == 1).all()
