"""Settled rates: against filling an empty machine step by step, and by hand."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.ball_flow.machine import Link, Machine, Place
from baywright_plugins.ball_flow.steady import NoWayOut, entry_rate_for, most_round_per_s, rates_at


@st.composite
def chains(draw: Any) -> Machine:
    """A feed, then stations that split forward or back and overflow forward, then two ends."""
    count = draw(st.integers(1, 5))
    places = [Place("feed", "feed", feed_per_s=draw(st.integers(1, 30)) / 10.0)]
    links = [Link(0, 1)]
    drain, basket = count + 1, count + 2
    for k in range(1, count + 1):
        places.append(Place(f"s{k}", "station", time_s=draw(st.integers(1, 20)) / 10.0, places=3))
        share = draw(st.integers(7, 10)) / 10.0
        links.append(Link(k, k + 1 if k < count else drain, share))
        if share < 1.0:
            other = draw(st.integers(max(k - 1, 1), drain))
            links.append(Link(k, other, 1.0 - share))
        over = draw(st.sampled_from([k + 1 if k < count else basket, basket]))
        links.append(Link(k, over, overflow=True))
    places += [Place("drain", "drain"), Place("basket", "basket")]
    return Machine(tuple(places), tuple(links), None)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(machine=chains())
def test_as_filling_an_empty_machine(machine: Machine) -> None:
    found = rates_at(machine)
    arriving = [0.0] * len(machine.places)
    for _ in range(600):
        after = [place.feed_per_s for place in machine.places]
        for k, place in enumerate(machine.places):
            passed = min(arriving[k], place.capacity_per_s or np.inf)
            if place.kind == "feed":
                passed = place.feed_per_s
            for link in machine.links:
                if link.start == k:
                    rest = arriving[k] - passed if place.kind != "feed" else 0.0
                    after[link.end] += rest if link.overflow else passed * link.share
        arriving = after
    assert found.arriving == pytest.approx(np.array(arriving), abs=1e-5)
    fed = machine.places[0].feed_per_s
    out = found.arriving[-1] + found.arriving[-2]
    assert out == pytest.approx(fed, abs=1e-6)


def loop(tracks: list[tuple[float, float]], lift_per_s: float, ride_s: float) -> Machine:
    places = [Place("top", "split")]
    places += [Place(f"t{k}", "path", time_s=t) for k, (t, _) in enumerate(tracks)]
    line = len(places)
    places += [Place("line", "line"), Place("lift", "lift", time_s=ride_s, hook_s=1 / lift_per_s)]
    links = [Link(0, k + 1, share) for k, (_, share) in enumerate(tracks)]
    links += [Link(k + 1, line) for k in range(len(tracks))]
    return Machine(tuple(places), (*links, Link(line, line + 1), Link(line + 1, 0)), 0)


def test_rate_from_balls_is_little_backwards() -> None:
    """J. D. C. Little, Operations Research 9 (1961): 90 balls, 72 s round: 1.25 a second."""
    machine = loop([(40.0, 0.5), (60.0, 0.5)], 3.0, 22.0)
    assert entry_rate_for(machine, 90.0) == pytest.approx(1.25, rel=1e-6)
    assert most_round_per_s(machine) == pytest.approx(3.0, rel=1e-6)
    assert entry_rate_for(machine, 1000.0) == pytest.approx(3.0, rel=1e-6)


def test_nothing_limits_a_loop_of_tracks() -> None:
    machine = Machine(
        (Place("a", "path", time_s=5.0), Place("b", "path", time_s=5.0)),
        (Link(0, 1), Link(1, 0)),
        0,
    )
    assert most_round_per_s(machine) is None


def test_a_ring_beside_the_way_has_no_way_out() -> None:
    places = (Place("feed", "feed", feed_per_s=1.0), *(Place(n, "path", time_s=1.0) for n in "ab"))
    with pytest.raises(NoWayOut):
        rates_at(Machine(places, (Link(0, 1), Link(1, 2), Link(2, 1)), None))
