"""A sloping floor on supports whose heights come in whole module steps and pieces."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .datum import best_datum
from .stacks import Stacks, Support, nearest_support

Ints = NDArray[np.int64]
_BUDGET = 100_000  # heights times supports looked at in one round
_FAR = np.array([2**60], dtype=np.int64)


@dataclass(frozen=True)
class SlopeWanted:
    """Even whole numbers of half a micrometre: the rise of each support over the lowest one, the
    window of the low edge's height, and the grid of heights, base + n module + stack (module 0:
    no grid, n is 0)."""

    rises: Sequence[int]
    low: int
    high: int
    base: int
    module: int
    stacks: Stacks


@dataclass(frozen=True)
class SlopeBuilt:
    """Half micrometres: `low`, the low edge as laid out; `supports` in the order of the rises;
    the largest error; and whether no other height of the low edge would be better."""

    low: int
    supports: tuple[Support, ...]
    largest_error: int
    proven: bool


def build_slope(wanted: SlopeWanted) -> SlopeBuilt:
    """Set the low edge so that the largest error over all supports is least, then choose stacks.

    Source: rounding to the nearest of given heights. For whole modules alone the least largest
    error is half of (module - widest gap between the rises modulo the module); the tests hold it
    to that.
    """
    rises = np.unique(np.array(wanted.rises, dtype=np.int64))
    reached = _reached(wanted, int(rises[-1]))

    def largest_error(lows: Ints) -> Ints:
        target = lows[None, :] + rises[:, None]
        above = np.searchsorted(reached, target)
        away = np.minimum(target - reached[above - 1], reached[above] - target)
        return np.asarray(away.max(axis=0))

    parts = max(20, _BUDGET // len(rises))
    datum = best_datum(largest_error, wanted.low, _highest(wanted), most_parts=parts)
    supports = tuple(
        nearest_support(datum.low + rise, wanted.base, wanted.module, wanted.stacks)
        for rise in wanted.rises
    )
    return SlopeBuilt(datum.low, supports, datum.error, datum.proven)


def _highest(wanted: SlopeWanted) -> int:
    """Above base and the tallest stack heights repeat with every module: one module is enough."""
    if not wanted.module:
        return wanted.high
    free = max(wanted.low, wanted.base + int(wanted.stacks.heights[-1]))
    return min(wanted.high, free + wanted.module)


def heights_count(wanted: SlopeWanted) -> int:
    """How many heights `build_slope` looks at, equal ones counted more than once."""
    first, last = _modules(wanted, max(wanted.rises))
    return (last - first + 1) * len(wanted.stacks.heights)


def _modules(wanted: SlopeWanted, rise: int) -> tuple[int, int]:
    """The lowest and highest count of modules that can matter."""
    if not wanted.module:
        return 0, 0
    tallest = int(wanted.stacks.heights[-1])
    first = max(0, (wanted.low - wanted.base - tallest) // wanted.module - 1)
    return first, max(first, (_highest(wanted) + rise - wanted.base) // wanted.module + 1)


def _reached(wanted: SlopeWanted, rise: int) -> Ints:
    """Every height that can be reached near the window, with one far below and one far above."""
    first, last = _modules(wanted, rise)
    levels = wanted.base + wanted.module * np.arange(first, last + 1, dtype=np.int64)
    heights = np.unique(levels[:, None] + wanted.stacks.heights[None, :])
    return np.concatenate([-_FAR, heights, _FAR])


@dataclass(frozen=True)
class Fall:
    """Between two neighbouring supports: from, to (mm along), and how much it falls in percent,
    in the direction wanted."""

    start_mm: float
    end_mm: float
    percent: float


def falls(places_mm: Sequence[float], heights_mm: Sequence[float], *, to_back: bool) -> list[Fall]:
    """The fall of each span. `to_back`: the floor falls towards larger places.

    Source: definition of slope.
    """
    sign = 1.0 if to_back else -1.0
    return [
        Fall(a, b, sign * (ha - hb) / (b - a) * 100)
        for a, b, ha, hb in zip(places_mm, places_mm[1:], heights_mm, heights_mm[1:], strict=False)
    ]


@dataclass(frozen=True)
class Kink:
    """Where two spans meet: change of fall in percent as the ball comes down (negative: it gets
    flatter, the ball knocks against it), and the share of its speed the ball keeps there."""

    at_mm: float
    change_percent: float
    speed_kept_ratio: float


def kinks(found: Sequence[Fall], *, to_back: bool) -> list[Kink]:
    """Kinks between neighbouring spans.

    At a kink that flattens by the angle d the ball strikes the next span and keeps
    (2 + 5 cos d)/7 of its speed, as at a groove of half that angle; where it steepens it keeps all.

    Leaves out: bounce, and the hop of a fast ball off a kink that steepens.
    Source: `grooves.speed_kept`, angular momentum about the point it strikes.
    """
    ordered = list(found) if to_back else list(found)[::-1]
    turns = []
    for before, after in itertools.pairwise(ordered):
        change = after.percent - before.percent
        turn = math.atan(before.percent / 100) - math.atan(after.percent / 100)
        kept = (2 + 5 * math.cos(turn)) / 7 if turn > 0 else 1.0
        at = after.start_mm if to_back else after.end_mm
        turns.append(Kink(at, change, kept))
    return turns
