"""Sharing out: against every order there is, and what learning does to it."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.part_count.build.days import Day
from baywright_plugins.part_count.build.timetable import ORDERLY, Curve, curve_of, share_out

PLAIN = curve_of(40, 2.0, 1.0, 0.0, model="unit", before=0)


def by_every_order(bays: list[int], needs: list[list[int]], people: int, curve: Curve) -> float:
    """The quickest list schedule, own learning: every order of jobs, next free person first."""
    best = np.inf
    for order in permutations(range(len(bays))):
        ends: dict[int, float] = {}
        free, done = [0.0] * people, [0.0] * people
        for job in order:
            if any(one not in ends for one in needs[job]):
                break
            who = min(range(people), key=lambda k: free[k])
            start = max([free[who], *(ends[one] for one in needs[job])])
            free[who] = ends[job] = start + curve.minutes(done[who], bays[job])
            done[who] += bays[job]
        else:
            best = min(best, max(ends.values()))
    return best


@st.composite
def jobs(draw: st.DrawFn) -> tuple[list[int], list[list[int]]]:
    bays = draw(st.lists(st.integers(1, 6), min_size=1, max_size=6))
    needs = [
        sorted(draw(st.sets(st.integers(0, job - 1), max_size=2))) if job else []
        for job in range(len(bays))
    ]
    return bays, needs


@given(jobs(), st.integers(1, 3))
@settings(max_examples=25, deadline=None, derandomize=True)
def test_near_the_best_of_every_order(
    given_jobs: tuple[list[int], list[list[int]]], people: int
) -> None:
    """Never quicker than the bound, which no order beats; never far from the best order."""
    bays, needs = given_jobs
    found = share_out([float(b) for b in bays], needs, people, PLAIN, together=False)
    best = by_every_order(bays, needs, people, PLAIN)
    assert found.bound_min <= best + 1e-9
    assert found.elapsed_min <= ORDERLY * best + 1e-9


@given(jobs(), st.integers(1, 4), st.booleans())
@settings(max_examples=50, deadline=None, derandomize=True)
def test_nobody_is_in_two_places_and_nothing_begins_too_soon(
    given_jobs: tuple[list[int], list[list[int]]], people: int, together: bool
) -> None:
    bays, needs = given_jobs
    curve = curve_of(sum(bays), 9.0, 0.9, 3.5, model="unit", before=0)
    found = share_out([float(b) for b in bays], needs, people, curve, together=together)
    for job, earlier in enumerate(needs):
        assert all(found.end_min[one] <= found.start_min[job] + 1e-9 for one in earlier)
    for who in range(people):
        mine = np.flatnonzero(found.person == who)
        order = mine[np.argsort(found.start_min[mine])]
        assert (found.end_min[order][:-1] <= found.start_min[order][1:] + 1e-9).all()
        own = sum(bays[job] for job in mine)
        minutes = (found.end_min - found.start_min)[mine].sum()
        if not together:
            assert minutes == pytest.approx(curve.total[own])
    if together:
        assert found.person_min == pytest.approx(curve.total[-1])


def test_learning_alone_costs_each_person_the_slow_first_bays() -> None:
    """Two bays, one each: 10 + 10 min alone, 10 + 8 together at 80 %."""
    curve = curve_of(2, 10.0, 0.8, 0.0, model="unit", before=0)
    alone = share_out([1.0, 1.0], [(), ()], 2, curve, together=False)
    both = share_out([1.0, 1.0], [(), ()], 2, curve, together=True)
    assert (alone.person_min, both.person_min) == (20.0, 18.0)


def test_pauses_and_days_by_hand() -> None:
    """6 h days, 5 min in each hour: 330 min of work a day; 400 min end on the second day."""
    day = Day(360.0, 5.0, 60.0)
    assert (day.stretch_min, day.work_min) == (55.0, 330.0)
    assert [day.days(x) for x in (0.0, 330.0, 330.5, 661.0)] == [0, 1, 2, 3]
    assert day.day_of(330.0, ending=True) == 1 and day.day_of(330.0, ending=False) == 2
    # the second day: 55 + 5 + 15 min present
    assert day.present_min(400.0) == 360.0 + 75.0
    # no pause at the very end of a stretch
    assert day.present_min(55.0) == 55.0


def test_a_day_shorter_than_the_time_to_a_pause_has_none() -> None:
    day = Day(120.0, 10.0, 240.0)
    assert (day.stretch_min, day.work_min, day.present_min(120.0)) == (120.0, 120.0, 120.0)
