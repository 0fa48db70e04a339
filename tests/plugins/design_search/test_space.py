"""The space: counted by formula, numbered without gaps, and listed by brute force."""

from itertools import product
from math import comb, prod
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.design_search.machines import machine_at
from baywright_plugins.design_search.reading import problem_of
from baywright_plugins.design_search.space import (
    MOST_MACHINES,
    Block,
    TooManyMachines,
    bay_counts,
    space_of,
)

sizes = st.lists(st.integers(1, 9), min_size=1, max_size=3, unique=True).map(tuple)
blocks = st.builds(
    lambda depths, lengths, heights, options: Block(
        (0, 0, 0), 0, depths, (lengths, lengths), (heights, heights), options
    ),
    sizes,
    sizes,
    sizes,
    st.tuples(st.integers(1, 2), st.integers(1, 2), st.integers(1, 2)),
)


@given(st.lists(blocks, min_size=1, max_size=3))
@settings(deadline=None, derandomize=True, max_examples=30)
def test_machines_are_all_choices_each_once(some: list[Block]) -> None:
    """The numbers 0 .. count - 1 give the product of all choices, by plain loops."""
    space = space_of(some)
    wanted = [
        (k, depth, *own, *options)
        for k, block in enumerate(some)
        for depth in block.depths
        for own in product(
            *(n for pair in zip(block.lengths, block.heights, strict=True) for n in pair)
        )
        for options in product(*map(range, block.options))
    ]
    assert space.count == len(wanted) == sum(prod(block.radices) for block in some)
    listed = []
    for looked in space.looked(np.arange(space.count)):
        place = next(k for k, block in enumerate(some) if block is looked.block)
        pairs = np.stack([looked.length, looked.height], axis=2).reshape(len(looked.number), -1)
        rows = np.column_stack([looked.depth, pairs, looked.bracing, looked.panel, looked.lifts])
        listed += [(place, *row) for row in rows.tolist()]
    assert listed == wanted


@given(
    st.integers(1000, 300_000),
    st.integers(0, 60_000),
    st.integers(0, 3_000_000),
    st.integers(0, 3_000_000),
)
@settings(deadline=None, derandomize=True, max_examples=80)
def test_bay_counts_are_those_within_the_limits(
    pitch: int, ends: int, least: int, most: int
) -> None:
    wanted = [n for n in range(1, 41) if least <= n * pitch + ends <= most]
    assert list(bay_counts(pitch, ends, least, most, 40)) == wanted


@pytest.mark.parametrize("bays", [7, 9])
@pytest.mark.parametrize("sections", [1, 2, 3])
def test_ways_to_share_bays_over_sections(
    load: Any, small: Any, published: Any, bays: int, sections: int
) -> None:
    """n bays in k sections of a row, none empty: C(n - 1, k - 1) (Graham, Knuth and Patashnik,
    from memory). One depth, height and bracing, and a length that only n bays have."""
    assert published["compositions"]["expected"] == "comb(n - 1, k - 1)"
    length = bays * 120 + 34 + (sections - 1) * 60
    body = small(
        bay_rods=["R120"],
        joint_rod="R60",
        bracings=[{"id": "lean-in"}],
        splits=[{"id": "row", "sections": [{"id": f"S{k}"} for k in range(sections)]}],
        envelope={
            "length_min_mm": length, "length_max_mm": length, "width_min_mm": 274,
            "width_max_mm": 274, "height_min_mm": 394, "height_max_mm": 394,
        },
    )  # fmt: skip
    problem = problem_of(load(body))
    found = set()
    for looked in problem.space.looked(np.arange(problem.space.count)):
        for row in range(len(looked.number)):
            shares = tuple(size[0] for size in machine_at(problem, looked, row).bays)
            if sum(shares) == bays:
                found.add(shares)
    assert len(found) == comb(bays - 1, sections - 1)


def test_too_many_machines() -> None:
    """More than 2^53 - 1 cannot be numbered exactly; exactly so many can."""
    many = tuple(range(1, 41))
    block = Block((0, 0, 0), 0, many, (many,) * 5, (many,) * 5, (8, 6, 12))
    with pytest.raises(TooManyMachines):
        space_of([block])
    assert MOST_MACHINES == 2**53 - 1


def test_neighbours_stay_in_the_space() -> None:
    """Neighbours are machines, and seeds give the same ones."""
    some = [
        Block((k, 0, 0), 0, (1, 2, 3), ((2, 3), (4, 5, 6)), ((1,), (2, 3)), (2, 1, 3))
        for k in range(2)
    ]
    space = space_of([*some, Block((0, 1, 0), 1, (2,), ((5,),), ((7, 8),), (2, 1, 3))])
    parents = np.array([0, space.count - 1])
    drawn = [space.neighbours(parents, np.random.default_rng(3), 200) for _ in range(2)]
    assert drawn[0].tolist() == drawn[1].tolist()
    assert drawn[0].min() >= 0 and drawn[0].max() < space.count
    assert len(drawn[0]) > 10


def test_blocks_of_few_machines_have_their_turn() -> None:
    """Beside a block of 10^9 machines one of two is drawn from, and nothing outside the space."""
    many = tuple(range(1, 41))
    large = Block((0, 0, 0), 0, many, (many, many), (many, many), (8, 6, 12))
    space = space_of([large, Block((1, 1, 1), 0, (3,), ((4,), (5,)), ((6,), (7,)), (2, 1, 1))])
    drawn = space.drawn(np.random.default_rng(1), 100)
    assert drawn.max() >= space.first[1] and drawn.max() < space.count and drawn.min() >= 0
    assert len(drawn) == len(set(drawn.tolist())) > 40
