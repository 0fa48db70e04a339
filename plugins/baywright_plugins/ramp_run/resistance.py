"""Rolling resistance: published ranges, and a test with a ramp and a tape measure."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Known:
    """Rolling resistance over load for one pair of materials, with where it is from."""

    pair: str
    low: float
    high: float
    source: str


_TABLE = (
    "Rolling-resistance coefficient table (encyclopedia; engineering handbook pages), from memory"
)

#: What is known. Only the last row is about what these machines are made of, and it has no source.
TABLE = (
    Known("steel-ball-on-steel", 0.001, 0.0015, f"{_TABLE}: hardened ball bearing on steel"),
    Known("steel-wheel-on-rail", 0.001, 0.0024, f"{_TABLE}: steel wheel on rail"),
    Known("car-tyre-on-concrete", 0.01, 0.015, f"{_TABLE}: car tyre on concrete"),
    Known("wood-on-wood", 0.003, 0.015, "Common practice, no source: measure your own balls"),
)

HOW_TO_MEASURE = (
    "Let a ball go from rest on a short slope that runs out onto a level track of the same make, "
    "with no step between. Measure how far it came down, how far it moved level while coming "
    "down, and how far it then rolled on the level until it stopped: resistance = fall / (both "
    "level distances together). Five balls, both directions, keep the lowest and the highest."
)


def by_pair(pair: str) -> Known:
    """The row of the table.

    Raises:
        KeyError: not in the table.
    """
    for known in TABLE:
        if known.pair == pair:
            return known
    raise KeyError(pair)


def from_test(fall_m: float, run_m: float, level_m: float) -> float:
    """c = h/(x + s): a ball let go comes down by h over the level distance x and stops after s
    more on the level.

    All of m g h is lost, and the loss is c m g times the level distance; inertia plays no part.

    Leaves out: air (below 1 m/s it takes less than a tenth of what wood takes) and a bump where
    the slope ends; both make the result too large.
    Source: energy; any mechanics text.

    >>> round(from_test(0.020, 0.5, 1.5), 9)
    0.01
    """
    return fall_m / (run_m + level_m)


def range_of_tests(tests: Sequence[tuple[float, float, float]]) -> tuple[float, float]:
    """Lowest and highest of (fall, run, level) tests."""
    found = [from_test(*test) for test in tests]
    return min(found), max(found)
