"""Several pitches at once: complete, smallest first, never beaten by brute force."""

import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.common_repeats import (
    SearchTooWide,
    common_repeats,
    exact_repeat,
)
from baywright_plugins.floor_tiling_ratio.continued_fractions import exact, simplest_between
from baywright_plugins.floor_tiling_ratio.made_of import Pitch
from baywright_plugins.floor_tiling_ratio.ratios import all_pitches

PITCH = st.fractions(min_value=20, max_value=200, max_denominator=10)
PLAY = st.fractions(min_value=0, max_value=2, max_denominator=20)


def smallest(bay: str, panel: str, play: str, most: int = 12) -> tuple[int, ...] | None:
    found = common_repeats(
        [Fraction(bay), Fraction(panel)], [Fraction(play), Fraction(0)], most_first=most
    )
    return found[0].counts if found else None


@pytest.mark.parametrize(
    ("bay", "panel", "counts"),
    [
        ("120", "51.4", (3, 7)),
        ("120", "45", (3, 8)),
        ("120", "72", (3, 5)),
        ("84.8", "51.4", None),
    ],
)
def test_floor_ratios_of_a_worked_machine(
    bay: str, panel: str, counts: tuple[int, int] | None
) -> None:
    """Worked independently: |n b - m p| <= 2 e n with e 0.15 mm and n up to 12."""
    assert smallest(bay, panel, "0.3") == counts


@pytest.mark.slow
@settings(deadline=None, max_examples=60)
@given(
    st.lists(st.tuples(PITCH, PLAY), min_size=2, max_size=3),
    st.integers(1, 8),
)
def test_search_is_complete(pitches: list[tuple[Fraction, Fraction]], most: int) -> None:
    """Every set of counts that brute force finds, and no other."""
    lengths, plays = [p for p, _ in pitches], [t for _, t in pitches]
    found = common_repeats(lengths, plays, most_first=most, most_found=10**6)
    longest = most * max(p + t for p, t in pitches)
    ranges = [range(1, math.floor(longest / (p - t)) + 2) for p, t in pitches[1:]]
    brute = set()
    for counts in itertools.product(range(1, most + 1), *ranges):
        low = max(n * (p - t) for n, (p, t) in zip(counts, pitches, strict=True))
        high = min(n * (p + t) for n, (p, t) in zip(counts, pitches, strict=True))
        if low <= high and math.gcd(*counts) == 1:
            brute.add(counts)
    assert {repeat.counts for repeat in found} == brute
    assert [r.counts[0] for r in found] == sorted(r.counts[0] for r in found)


@pytest.mark.slow
@settings(deadline=None)
@given(PITCH, PITCH, PLAY)
def test_pair_is_the_simplest_fraction_of_its_interval(
    bay: Fraction, panel: Fraction, play: Fraction
) -> None:
    """The Stern-Brocot tree finds the same bay count as the search by counts."""
    found = common_repeats([bay, panel], [play, Fraction(0)], most_first=60, most_found=1)
    low, high = (bay - play) / panel, (bay + play) / panel
    simplest = simplest_between(low, high)
    if simplest.denominator <= 60:
        assert found[0].counts[0] == simplest.denominator
    else:
        assert not found


@pytest.mark.slow
@settings(deadline=None)
@given(PITCH, PITCH, PLAY)
def test_no_smaller_count_satisfies_the_seat_rule(
    bay: Fraction, panel: Fraction, play: Fraction
) -> None:
    """Smallest n with |n b - m p| <= 2 e n, m the nearest whole number."""

    def misfit(n: int) -> Fraction:
        return abs(n * bay - max(1, round(n * bay / panel)) * panel)

    first = next((n for n in range(1, 41) if misfit(n) <= n * play), None)
    found = common_repeats([bay, panel], [play, Fraction(0)], most_first=40, most_found=1)
    assert (found[0].counts[0] if found else None) == first


def test_exact_repeat_is_the_least_common_multiple() -> None:
    """120, 84.8 and 51.4 mm, in tenths 1200, 848 and 514."""
    pitches = [exact(x) for x in (120.0, 84.8, 51.4)]
    assert exact_repeat(pitches) == Fraction(math.lcm(1200, 848, 514), 10)


@pytest.mark.slow
def test_endless_search_is_given_up() -> None:
    """Much play and many repeats: refused, not waited for."""
    with pytest.raises(SearchTooWide):
        common_repeats([Fraction(100)] * 6, [Fraction(49)] * 6, most_first=1000, most_found=10**9)


def test_nearest_common_division_where_none_holds() -> None:
    """Without play 120, 84.8 and 51.4 do not meet up to 12; 12 : 17 : 28 comes nearest, 2.4 mm."""
    every = all_pitches(
        [Pitch(str(x), exact(x), Fraction(0), {}, 1) for x in (120.0, 84.8, 51.4)],
        most=12,
        listed=5,
    )
    assert every.repeats == ()
    lengths = [exact(x) for x in (120.0, 84.8, 51.4)]
    spreads = {}
    for first in range(1, 13):
        runs = [round(first * lengths[0] / x) * x for x in lengths]
        spreads[first] = (max(runs) - min(runs)) / (first * lengths[0])
    assert every.nearest.counts[0] == min(spreads, key=lambda n: spreads[n])
    assert every.nearest.spread == Fraction("2.4")
