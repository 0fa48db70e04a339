"""Loops: closed ones close exactly, and no smaller give closes an open one."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from baywright_plugins.grid_fit.closed_loops import close_loop, share_at_least, unit_vectors

EIGHTEEN = [
    (x, y, z)
    for x in (-1, 0, 1)
    for y in (-1, 0, 1)
    for z in (-1, 0, 1)
    if 1 <= x * x + y * y + z * z <= 2
]
STEP = st.tuples(st.sampled_from([60.0, 84.8, 120.0, 169.6]), st.sampled_from(EIGHTEEN))


def test_there_are_eighteen_directions() -> None:
    assert len(EIGHTEEN) == 18


@settings(deadline=None)
@given(st.lists(STEP, min_size=1, max_size=8))
def test_there_and_back_closes_exactly(steps: list[tuple[float, tuple[int, int, int]]]) -> None:
    """A walk and the same walk back in any order leave no gap at all."""
    back = [(pitch, (-x, -y, -z)) for pitch, (x, y, z) in reversed(steps)]
    whole = steps + back
    loop = close_loop([p for p, _ in whole], [d for _, d in whole], play_mm=0.3)
    assert loop.gap_mm == 0.0
    assert loop.share == 0.0


@settings(deadline=None)
@given(st.lists(STEP, min_size=2, max_size=8))
def test_the_give_closes_the_gap(steps: list[tuple[float, tuple[int, int, int]]]) -> None:
    """Sum of give along the rods is minus the gap, and no rod gives more than its share."""
    pitches, directions = [p for p, _ in steps], [d for _, d in steps]
    loop = close_loop(pitches, directions, play_mm=0.3)
    units = unit_vectors(directions)
    gap = units.T @ np.array(pitches)
    assert loop.misclosure_mm == pytest.approx(gap, abs=1e-9)
    if loop.share is None or loop.gap_mm == 0:
        return
    give = np.array(loop.give_mm)
    assert units.T @ give == pytest.approx(-gap, abs=1e-6 * max(1.0, loop.gap_mm))
    assert np.abs(give).max() <= loop.share * 0.3 * (1 + 1e-6) + 1e-9


@settings(deadline=None, max_examples=60)
@given(st.lists(STEP, min_size=3, max_size=6), st.integers(0, 2**32 - 1))
def test_no_smaller_share_will_do(
    steps: list[tuple[float, tuple[int, int, int]]], seed: int
) -> None:
    """Duality: for every direction v the gap along v needs at least
    |gap . v| / sum |u_i . v| 2 e of the play, and 4,000 directions never ask for more."""
    pitches, directions = [p for p, _ in steps], [d for _, d in steps]
    loop = close_loop(pitches, directions, play_mm=0.3)
    assume(loop.share is not None and loop.gap_mm > 0)
    assert loop.share is not None
    units = unit_vectors(directions)
    towards = np.random.default_rng(seed).normal(size=(4000, 3))
    reach = np.abs(towards @ units.T).sum(axis=1) * 0.3
    need = np.abs(towards @ np.array(loop.misclosure_mm))
    seen = reach > 1e-9
    assert (need[seen] / reach[seen]).max() <= loop.share * (1 + 1e-6)
    bound = share_at_least(pitches, directions, play_mm=0.3, counts=[1] * len(pitches))
    assert bound <= loop.share * (1 + 1e-6)


def test_a_gable_of_two_slants() -> None:
    """Two R120 and two R170 at 45 degrees: 240 - 2 x 169.6/sqrt 2 = 0.149 mm short."""
    loop = close_loop(
        [120.0, 169.6, 169.6], [(1, 0, 0), (-1, 0, 1), (-1, 0, -1)], play_mm=0.3, counts=[2, 1, 1]
    )
    gap = 240 - 2 * 169.6 / math.sqrt(2)
    assert loop.gap_mm == pytest.approx(gap)
    assert loop.share == pytest.approx(gap / (2 * 0.3 + 2 * 0.3 / math.sqrt(2)), rel=1e-6)
    assert loop.closes


def test_a_gap_that_no_rod_points_along() -> None:
    """Rods in one plane cannot take up a gap across it."""
    loop = close_loop(
        [120.0, 120.0, 60.0], [(1, 0, 0), (-1, 0, 0), (0, 0, 1)], play_mm=0.3, counts=[1, 1, 1]
    )
    assert loop.share == pytest.approx(200.0)
    slanted = close_loop([120.0, 60.0], [(1, 0, 0), (-1, 0, 0)], play_mm=0.0)
    assert slanted.share is None and not slanted.closes
