"""Learning, packing, sharing out and pushing against what is printed elsewhere.

Each case of build_hours.json names its source and how it was read.
"""

from fractions import Fraction

import numpy as np
import pytest

from baywright_plugins.part_count.build.packing import fewest_bags, pack
from baywright_plugins.part_count.build.thumbs import (
    NeverSeats,
    pause_points,
    push_n,
    repetition,
)
from baywright_plugins.part_count.build.timetable import curve_of, share_out
from tests.plugins.part_count.build.conftest import PUBLISHED


@pytest.mark.parametrize("name", ["lc-tax-returns", "lc-boats"])
def test_times_of_single_units(name: str) -> None:
    """Second and fourth return at 85 %, eleventh boat at 80 %."""
    case = PUBLISHED[name]
    given = case["inputs"]
    curve = curve_of(16, given["first"], given["rate"], 0.0, model="unit", before=0)
    for unit, printed in zip(given["units"], case["expected"]["unit"], strict=True):
        minutes = curve.minutes(unit - 1, 1)
        assert minutes == pytest.approx(printed, abs=case["tolerance"]["abs"])


def test_totals_of_a_printed_table() -> None:
    """Heizer and Render, table E.3 at 90 %: 2.746 for three units, 5.101 for six."""
    case = PUBLISHED["lc-90-totals"]
    curve = curve_of(6, 1.0, case["inputs"]["rate"], 0.0, model="unit", before=0)
    for units, factor, total in zip(
        case["inputs"]["units"],
        case["expected"]["total_factor"],
        case["expected"]["total"],
        strict=True,
    ):
        assert curve.total[units] == pytest.approx(factor, abs=case["tolerance"]["abs"])
        assert round(factor * case["inputs"]["first"]) == total


def test_who_has_built_before_starts_further_down_the_curve() -> None:
    """Units 9 to 16 of the printed 80 % table take 655.36 - 409.6 h."""
    sixteen, eight = PUBLISHED["lc-80-sixteen"], PUBLISHED["lc-80-cum"]
    curve = curve_of(8, 100.0, 0.8, 0.0, model="cumulative-average", before=8)
    rest = sixteen["expected"]["total"][0] - eight["expected"]["total_h"][-1]
    assert curve.total[-1] == pytest.approx(rest, abs=1e-6)
    assert 16 * sixteen["expected"]["average"][0] == pytest.approx(sixteen["expected"]["total"][0])


def test_eleven_items_into_four_bins() -> None:
    """The bin-packing example of a solver's documentation: capacity 100, eleven items."""
    case = PUBLISHED["bin-11"]
    sizes, capacity = case["inputs"]["items"], case["inputs"]["capacity"]
    found = pack(sizes, capacity)
    assert len(found.bags) == case["expected"]["bins"] and found.proven
    assert sorted(lot for bag in found.bags for lot in bag) == list(range(len(sizes)))
    assert all(sum(sizes[lot] for lot in bag) <= capacity for bag in found.bags)


def test_bound_that_counts_halves() -> None:
    """Martello and Toth: three lots of 0.6 need three bags though they would fill two."""
    assert fewest_bags([Fraction(6, 10)] * 3, 1) == 3


def test_longest_first_is_not_best() -> None:
    """Graham 1969: jobs 5 5 4 4 3 3 3 on three machines take 11 longest first, 9 at best."""
    case = PUBLISHED["split-graham"]
    jobs = [float(job) for job in case["inputs"]["jobs"]]
    plain = curve_of(round(sum(jobs)), 1.0, 1.0, 0.0, model="unit", before=0)
    needs = [()] * len(jobs)
    greedy = share_out(jobs, needs, 3, plain, together=False, orders=0)
    assert greedy.elapsed_min == case["expected"]["longest_first"]
    best = share_out(jobs, needs, 3, plain, together=False)
    assert best.elapsed_min == case["expected"]["optimum"]
    assert best.proven and np.bincount(best.person).sum() == len(jobs)


@pytest.mark.parametrize("name", ["snap-mating", "snap-lid"])
def test_mating_force(name: str) -> None:
    case = PUBLISHED[name]
    given = case["inputs"]
    force = push_n(given["deflection_n"], given["friction"], given["angle_deg"])
    assert force == pytest.approx(case["expected"]["force_n"], abs=case["tolerance"]["abs"])


def test_mating_force_is_that_of_a_wedge() -> None:
    """W = P tan(a + rho) with rho the angle of friction: the same guide writes it so; at and
    beyond a + rho = 90 degrees nothing seats it."""
    for friction, angle in ((0.0, 20.0), (0.3, 35.0), (0.5, 60.0)):
        rho = np.arctan(friction)
        assert push_n(10.0, friction, angle) == pytest.approx(
            10.0 * np.tan(np.radians(angle) + rho)
        )
    with pytest.raises(NeverSeats):
        push_n(10.0, 1.0, 45.0001)
    with pytest.raises(NeverSeats):
        push_n(10.0, 0.0, 90.0)


def test_points_of_the_assessment() -> None:
    """The classes of the walk-through, then the points of the tables."""
    walk = PUBLISHED["art-walkthrough"]
    assert [repetition(x).level for x in walk["inputs"]["per_min"]] == walk["expected"]["level"]
    repeated, breaks = PUBLISHED["art-repetition"], PUBLISHED["art-breaks"]
    points = [repetition(float(x)).points for x in repeated["inputs"]["per_min"]]
    assert points == repeated["expected"]["points"]
    stretches = [pause_points(float(x)) for x in breaks["inputs"]["stretch_min"]]
    assert stretches == breaks["expected"]["points"]
