"""The search, its bounds and the quick packing against trying every place on a grid."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from baywright_plugins.route_fit.vehicle.bounds import certainly_too_small
from baywright_plugins.route_fit.vehicle.exact import ShortestPacking
from baywright_plugins.route_fit.vehicle.greedy import quick_packing
from baywright_plugins.route_fit.vehicle.model import used_along
from baywright_plugins.route_fit.vehicle.nodes import Nodes

from .brute import Cuboid, Fixed, shortest
from .packings import room_of, thing_of

pytestmark = pytest.mark.slow

MANY = 1_000_000


@st.composite
def cuboids(draw: st.DrawFn, *, upright: bool = False) -> Cuboid:
    """A small box: it may be turned, or laid on other sides, or neither."""
    side = st.integers(1, 3)
    a, b, c = draw(side), draw(side), draw(st.integers(1, 2) if upright else side)
    sizes = [(a, b, c)]
    if draw(st.booleans()):
        sizes += [(b, a, c)]
    if not upright and draw(st.booleans()):
        sizes += [(a, c, b), (c, a, b), (b, c, a), (c, b, a)]
    carries = draw(st.sampled_from([float("inf"), float("inf"), 0.0, 1.0, 2.0]))
    return Cuboid(tuple(dict.fromkeys(sizes)), float(draw(st.integers(1, 2))), carries)


def agree(boxes: list[Cuboid], size: tuple[int, int, int], fixed: list[Fixed]) -> None:
    """Same shortest length; bound and quick packing on the right side of it."""
    room = room_of(size, fixed)
    things = [thing_of(box, size[2]) for box in boxes]
    if not all(thing.ways for thing in things):
        return
    expected = shortest(boxes, size, fixed)
    search = ShortestPacking(things, room, Nodes(MANY))
    search.run()
    assert search.proven
    assert (None if search.best is None else used_along(search.best)) == expected
    if expected is None:
        assert quick_packing(things, room) is None
    else:
        assert not certainly_too_small(things, room.shortened(expected))
        quick = quick_packing(things, room)
        assert quick is None or used_along(quick) >= expected


@settings(deadline=None, derandomize=True, max_examples=20)
@given(
    st.lists(cuboids(), min_size=2, max_size=5),
    st.tuples(st.integers(3, 6), st.integers(2, 3), st.integers(1, 3)),
)
def test_shortest_packing_is_that_of_trying_everything(
    boxes: list[Cuboid], size: tuple[int, int, int]
) -> None:
    """Up to five boxes, any way up or not, limits on what may stand on them."""
    agree(boxes, size, [])


@settings(deadline=None, derandomize=True, max_examples=25)
@given(
    st.lists(cuboids(upright=True), min_size=3, max_size=5),
    st.tuples(st.integers(3, 5), st.just(2), st.integers(2, 3)),
)
def test_things_that_lie_across_several_others(
    boxes: list[Cuboid], size: tuple[int, int, int]
) -> None:
    """Low heights of few kinds, so that tops of one height abound."""
    agree(boxes, size, [])


@settings(deadline=None, derandomize=True, max_examples=15)
@given(
    st.lists(cuboids(), min_size=2, max_size=4),
    st.tuples(st.integers(3, 5), st.integers(2, 3), st.integers(1, 3)),
    st.tuples(st.integers(0, 2), st.integers(0, 1)),
    st.tuples(st.integers(1, 2), st.just(1), st.integers(1, 2)),
    st.booleans(),
)
def test_round_what_is_fixed_to_the_floor(
    boxes: list[Cuboid],
    size: tuple[int, int, int],
    corner: tuple[int, int],
    block: tuple[int, int, int],
    bears: bool,
) -> None:
    """A wheel arch anywhere; things may stand on it or not."""
    assume(corner[0] + block[0] <= size[0])
    agree(boxes, size, [Fixed(corner, block, bears)])


def test_a_plank_over_two_boxes() -> None:
    """Only across both boxes does it fit."""
    box = Cuboid(((2, 2, 2),))
    plank = Cuboid(((4, 2, 1), (2, 4, 1)))
    agree([box, box, plank], (4, 2, 3), [])
    agree([box, Cuboid(((2, 2, 1),)), plank], (4, 2, 3), [])
