"""Balls followed one by one: against simpy, against arithmetic, and nothing lost."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.ball_flow.events import follow
from baywright_plugins.ball_flow.history import Outage, TooMuchWork
from baywright_plugins.ball_flow.machine import Link, Machine, Place
from baywright_plugins.ball_flow.queues import markov_queue
from baywright_plugins.ball_flow.statistics import mean_of
from tests.plugins.ball_flow.simpy_reference import (
    Loop,
    callbacks,
    processes,
    single_station,
)

TRACKS = ((14.0, 0.4), (32.0, 0.35), (75.0, 0.25))


def loop_of(loop: Loop, *, rotation: bool = False, places: int | None = None) -> Machine:
    """The same loop as places and links; the line overflows into a basket where it has a limit."""
    there = [Place("top", "split")]
    there += [Place(f"track {k}", "path", time_s=t) for k, (t, _) in enumerate(loop.tracks)]
    there += [Place("line", "line", places=places), Place("basket", "basket")]
    line = len(loop.tracks) + 1
    links = [Link(0, k + 1, share) for k, (_, share) in enumerate(loop.tracks)]
    links += [Link(k + 1, line) for k in range(len(loop.tracks))]
    if places is not None:
        links.append(Link(line, line + 1, overflow=True))
    for k in range(loop.lifts):
        there.append(
            Place(f"lift {k}", "lift", time_s=loop.ride_s, hook_s=loop.hook_s, fill=loop.fill)
        )
        links += [Link(line, line + 2 + k), Link(line + 2 + k, 0)]
    return Machine(tuple(there), tuple(links), 0, rotation)


@pytest.mark.parametrize("program", [processes, callbacks])
def test_as_simpy_says(program: Callable[..., Any]) -> None:
    """Flow, wait and peak at the foot agree within the intervals of both sides' means."""
    loop = Loop(TRACKS, 4, 3.0, 0.9, 27.33, 66, 1.0)
    theirs = [program(loop, 1200.0, seed) for seed in range(6)]
    own = [
        follow(loop_of(loop), balls=66, spacing_s=1.0, settle_s=0.0, end_s=1200.0, seed=[9, k])
        for k in range(6)
    ]
    pairs = [
        ([float(run.passed) for run in theirs], [float(h.places[0].arrived) for h in own]),
        (
            [math.fsum(run.waits) / len(run.waits) for run in theirs],
            [h.places[4].stay_s / h.places[4].left for h in own],
        ),
        ([float(run.peak) for run in theirs], [float(h.places[4].peak) for h in own]),
    ]
    for reference, found in pairs:
        a, b = mean_of(reference), mean_of(found)
        assert abs(a.value - b.value) <= 1.5 * math.hypot(a.half_width or 0, b.half_width or 0)


def test_simpy_bank_agrees_with_the_closed_solution_too() -> None:
    """The reference itself, on the published M/M/1/N case (8 and 9 an hour, three in all)."""
    found = [single_station(8.0, 1 / 9.0, 3, 200.0, seed) for seed in range(8)]
    closed = markov_queue(8.0, 1 / 9.0, 1, 2)
    assert closed is not None and closed.lost_ratio is not None
    lost, count = mean_of([x for x, _ in found]), mean_of([x for _, x in found])
    assert abs(lost.value - closed.lost_ratio) <= 1.5 * (lost.half_width or 0.0)
    assert abs(count.value - closed.mean_count) <= 1.5 * (count.half_width or 0.0)


def test_one_ball_goes_round_by_arithmetic() -> None:
    """One track of 10 s, one lift of 5 s with a hook every 4 s, the first after 2 s."""
    loop = Loop(((10.0, 1.0),), 1, 4.0, 1.0, 5.0, 1, 1.0)
    history = follow(
        loop_of(loop, rotation=True), balls=1, spacing_s=1.0, settle_s=0.0, end_s=63.0, seed=[0]
    )
    # At the foot at 10, hook at 10; top at 15; foot at 25, hook at 26; top at 31; foot at 41, hook
    # at 42; top at 47; foot at 57, hook at 58; top at 63.
    assert history.entered_s == [0.0, 15.0, 31.0, 47.0, 63.0]
    assert history.places[2].stay_s == pytest.approx(0.0 + 1.0 + 1.0 + 1.0)
    assert history.places[4].area == pytest.approx(20.0)


def test_a_stopped_lift_keeps_its_balls_and_is_late_by_as_long() -> None:
    loop = Loop(((10.0, 1.0),), 1, 4.0, 1.0, 5.0, 1, 1.0)
    history = follow(
        loop_of(loop, rotation=True),
        balls=1,
        spacing_s=1.0,
        settle_s=0.0,
        end_s=63.0,
        seed=[0],
        outages=[Outage(4, 12.0, 19.5)],
    )
    # On the hook from 10, top at 15 + 7.5; hooks at 10, then 14 + 7.5, 25.5, 29.5, 33.5.
    assert history.entered_s[:3] == [0.0, 22.5, 38.5]
    assert history.down_s == 7.5


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    balls=st.integers(1, 60),
    places=st.integers(0, 12),
    lifts=st.integers(1, 3),
    rotation=st.booleans(),
    stops=st.lists(
        st.tuples(st.integers(0, 2), st.integers(0, 200), st.integers(1, 90)), max_size=3
    ),
    seed=st.integers(0, 99),
)
def test_no_ball_is_lost_and_one_seed_gives_one_history(
    balls: int,
    places: int,
    lifts: int,
    rotation: bool,
    stops: list[tuple[int, int, int]],
    seed: int,
) -> None:
    loop = Loop(TRACKS, lifts, 3.0, 0.8, 20.0, balls, 1.0)
    machine = loop_of(loop, rotation=rotation, places=places)
    first = {k: (start, long) for k, start, long in stops if k < lifts}
    outages = [Outage(6 + k, start, start + long) for k, (start, long) in first.items()]

    def once() -> Any:
        return follow(
            machine,
            balls=balls,
            spacing_s=1.0,
            settle_s=50.0,
            end_s=300.0,
            seed=[seed],
            outages=outages,
            sample_every_s=10.0,
        )

    history = once()
    assert history.put_in == history.on_machine + history.in_baskets
    assert history.places[4].peak <= places
    assert all(record.area >= 0.0 and record.stay_s >= 0.0 for record in history.places)
    assert history == once()


def test_work_is_bounded() -> None:
    loop = Loop(TRACKS, 2, 3.0, 1.0, 20.0, 50, 1.0)
    with pytest.raises(TooMuchWork):
        follow(
            loop_of(loop),
            balls=50,
            spacing_s=1.0,
            settle_s=0.0,
            end_s=1e6,
            seed=[1],
            most_events=5_000,
        )
