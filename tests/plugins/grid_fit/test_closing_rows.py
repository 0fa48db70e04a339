"""Rows of rods: exact sums, every way counted, the best never beaten."""

import math
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.closing_rows import (
    ClosingRows,
    TooManyWays,
    closing_rows,
    longest_row,
)

pytestmark = pytest.mark.slow

PITCHES_UM = [60_000, 84_800, 120_000, 169_600, 240_000]


@st.composite
def small_kits(draw: st.DrawFn) -> dict[str, Any]:
    kinds = draw(st.integers(1, 4))
    pitches = draw(
        st.lists(st.integers(20_000, 250_000), min_size=kinds, max_size=kinds, unique=True)
    )
    return {
        "pitches_um": pitches,
        "limits": draw(st.lists(st.integers(0, 5), min_size=kinds, max_size=kinds)),
        "most_rods": draw(st.integers(1, 9)),
        "play_um": draw(st.sampled_from([0, 150, 300, 4_000])),
    }


def brute_force(kit: dict[str, Any], wanted_um: int) -> list[tuple[int, int, int]]:
    """(misfit, rods, kinds) of every row that closes, by trying all counts."""
    pitches, limits = kit["pitches_um"], kit["limits"]
    found = []
    for counts in product(*(range(n + 1) for n in limits)):
        rods = sum(counts)
        if not 0 < rods <= kit["most_rods"]:
            continue
        misfit = sum(n * p for n, p in zip(counts, pitches, strict=True)) - wanted_um
        if abs(misfit) <= rods * kit["play_um"]:
            found.append((abs(misfit), rods, sum(n > 0 for n in counts)))
    return sorted(found)


def rows_of(kit: dict[str, Any], wanted_um: int, most_results: int) -> ClosingRows:
    return closing_rows(wanted_um=wanted_um, most_results=most_results, **kit)


@settings(deadline=None, max_examples=80)
@given(small_kits(), st.data())
def test_no_row_is_missed_and_none_is_beaten(kit: dict[str, Any], data: st.DataObject) -> None:
    """Count and ranking equal those of trying every combination; sums are exact."""
    pitches = kit["pitches_um"]
    hit = data.draw(st.lists(st.sampled_from(pitches), min_size=1, max_size=6))
    wanted = sum(hit) + data.draw(st.integers(-400, 400))
    every = brute_force(kit, wanted)
    found = rows_of(kit, wanted, 50)
    assert found.ways_count == len(every)
    assert [(abs(r.misfit_um), r.rod_count, r.kind_count) for r in found.rows] == every[:50]
    for row in found.rows:
        assert row.length_um == sum(n * p for n, p in zip(row.counts, pitches, strict=True))
        assert row.length_um - row.misfit_um == wanted
    assert len({row.counts for row in found.rows}) == len(found.rows)


@settings(deadline=None, max_examples=100)
@given(small_kits(), st.integers(20_000, 900_000))
def test_the_nearest_miss_is_the_nearest(kit: dict[str, Any], wanted: int) -> None:
    """Where nothing closes, no combination comes nearer than the one named."""
    found = rows_of(kit, wanted, 5)
    every = brute_force({**kit, "play_um": 10**9}, wanted)
    if found.rows or not every:
        assert found.nearest is None
        return
    assert found.nearest is not None
    assert abs(found.nearest.misfit_um) == every[0][0]
    assert not found.nearest.closes


@settings(deadline=None, max_examples=100)
@given(small_kits(), st.integers(20_000, 900_000))
def test_the_longest_row_stays_within(kit: dict[str, Any], within: int) -> None:
    """No combination is longer without passing the length."""
    kit = {**kit, "play_um": 0}
    found = longest_row(within_um=within, **kit)
    pitches, limits = kit["pitches_um"], kit["limits"]
    lengths = [
        sum(n * p for n, p in zip(counts, pitches, strict=True))
        for counts in product(*(range(n + 1) for n in limits))
        if 0 < sum(counts) <= kit["most_rods"]
    ]
    fitting = [length for length in lengths if length <= within]
    if not fitting:
        assert not found.rows
        return
    assert found.rows[0].length_um == max(fitting)
    assert found.ways_count == fitting.count(max(fitting))


def test_sixteen_ways_for_1080() -> None:
    """The demo machine's row: an independent program counts 16 ways."""
    found = closing_rows(
        PITCHES_UM, 1_080_000, play_um=300, limits=[4, 4, 9, 6, 6], most_rods=24, most_results=50
    )
    assert found.ways_count == 16 == len(found.rows)


def test_a_long_cut_list_is_still_counted_whole() -> None:
    """The count does not depend on how many rows are written out."""
    few, many = (
        closing_rows(
            PITCHES_UM, 3_000_000, play_um=300, limits=[60] * 5, most_rods=50, most_results=most
        )
        for most in (1, 50)
    )
    assert few.ways_count == many.ways_count > 1000
    assert few.rows == many.rows[:1]


def test_uneven_pitches_take_the_other_table() -> None:
    """Pitches without a common divisor overflow the dense table; the sparse one counts alike."""
    pitches = [60_001, 84_853, 119_999]
    found = closing_rows(
        pitches, 1_500_007, play_um=300, limits=[20, 20, 20], most_rods=25, most_results=50
    )
    kit = {"pitches_um": pitches, "limits": [20] * 3, "most_rods": 25, "play_um": 300}
    assert found.ways_count == len(brute_force(kit, 1_500_007))


def test_counts_beyond_64_bits_are_exact() -> None:
    """Rows of 60 rods out of 30 equal kinds: the number of multisets, C(89, 29), far above 2^64."""
    found = closing_rows(
        [100_000] * 30,
        6_000_000,
        play_um=0,
        limits=[60] * 30,
        most_rods=60,
        most_results=1,
    )
    assert found.ways_count == math.comb(89, 29) > 2**64


def test_too_much_is_refused() -> None:
    """What cannot be counted exactly is not guessed."""
    with pytest.raises(TooManyWays):
        closing_rows(
            [10_001 + k for k in range(40)],
            9_000_000,
            play_um=300,
            limits=[400] * 40,
            most_rods=400,
        )


def test_tolerance_lets_a_row_be_off() -> None:
    """Within the tolerance a row closes though its play would not reach."""
    found = closing_rows(
        [120_000], 700_000, play_um=300, limits=[9], most_rods=9, tolerance_um=20_000
    )
    assert [row.length_um for row in found.rows] == [720_000]


def test_without_play_only_exact_sums_close() -> None:
    """No play, no misfit; a miss then has no share of play."""
    found = closing_rows([120_000], 700_000, play_um=0, limits=[9], most_rods=9)
    assert not found.rows
    assert found.nearest is not None and found.nearest.share is None
