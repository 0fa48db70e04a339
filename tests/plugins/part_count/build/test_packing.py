"""Bags: against brute force, and what goes into which."""

from fractions import Fraction
from itertools import count

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.part_count.build.bags import Lot, bag_lots
from baywright_plugins.part_count.build.packing import fewest_bags, pack


def fits_into(sizes: list[int], bags: int, capacity: int) -> bool:
    """Whether so many bags hold all: every way of placing lot after lot."""
    loads = {tuple([0] * bags)}
    for size in sizes:
        loads = {
            tuple(sorted([*load[:k], load[k] + size, *load[k + 1 :]]))
            for load in loads
            for k in range(bags)
            if load[k] + size <= capacity
        }
    return bool(loads)


@given(st.lists(st.integers(1, 12), max_size=9))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_no_packing_has_fewer_bags(sizes: list[int]) -> None:
    found = pack(sizes, 12)
    least = next(n for n in count() if fits_into(sizes, n, 12))
    assert len(found.bags) == found.fewest == least
    assert fewest_bags(sizes, 12) <= least


@pytest.mark.slow
@given(st.lists(st.integers(1, 20), min_size=8, max_size=13))
@settings(max_examples=150, deadline=None, derandomize=True)
def test_no_packing_of_more_lots_has_fewer_bags(sizes: list[int]) -> None:
    found = pack(sizes, 20)
    assert len(found.bags) == next(n for n in count() if fits_into(sizes, n, 20))


def test_a_lot_that_fits_no_bag_is_refused() -> None:
    with pytest.raises(ValueError, match="fit into a bag"):
        pack([5, 11], 10)


def test_search_that_is_cut_short_leaves_a_bound() -> None:
    """Sixty lots that fill twenty bags to the brim: what the search reaches stays above."""
    found = pack([34, 35, 31] * 20, 100)
    assert found.fewest == 20 < len(found.bags)
    assert not found.proven
    assert sorted(lot for bag in found.bags for lot in bag) == list(range(60))


@given(
    st.lists(
        st.dictionaries(st.sampled_from(["R120", "H18"]), st.integers(1, 60), min_size=1),
        min_size=1,
        max_size=8,
    )
)
@settings(max_examples=60, deadline=None, derandomize=True)
def test_every_piece_is_in_one_bag_and_none_is_overfull(steps: list[dict[str, int]]) -> None:
    per_bag = {"R120": 40, "H18": 25}
    found = bag_lots([Lot(k, parts) for k, parts in enumerate(steps)], per_bag)
    for bag in found.bags:
        volume = sum(Fraction(n, per_bag[item]) for item, n in bag.parts.items())
        assert 0 < volume == bag.full <= 1
    for step, parts in enumerate(steps):
        for item, pieces in parts.items():
            held = sum(
                lot.parts.get(item, 0) for bag in found.bags for lot in bag.lots if lot.step == step
            )
            assert held == pieces
    assert found.fewest <= len(found.bags)


def test_neighbours_share_a_bag_where_that_takes_no_more() -> None:
    """Four half bags: 1 with 2, 3 with 4, though 1 with 4 would do as well."""
    lots = [Lot(k, {"R120": n}) for k, n in enumerate([60, 40, 45, 55])]
    found = bag_lots(lots, {"R120": 100})
    assert [bag.steps for bag in found.bags] == [(0, 1), (2, 3)]
