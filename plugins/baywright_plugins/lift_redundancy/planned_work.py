"""One lift out on purpose: what still comes round, for how long that may last, and how often."""

from collections.abc import Callable
from typing import Any

import numpy as np

Array = np.ndarray[Any, Any]


def shares_with_one_out(
    stopped: Array, sizes: Array, c: int, shares: Callable[[Array, Array], Array]
) -> tuple[Array, Array]:
    """Shares of time of the other units while one unit of class `c` is out on purpose.

    Args:
        shares: (stopped, sizes) -> share of each state of the units left.

    Returns:
        rows of the whole state space, the one counted as stopped, and the share of time of each.
    """
    rows = np.flatnonzero(stopped[:, c] >= 1)
    others, left = stopped[rows].copy(), sizes.copy()
    others[:, c] -= 1
    left[c] -= 1
    return rows, shares(others, left)


def may_be_out_h(short_now: float, short_out: float, hours: float, borne_h: float) -> float | None:
    """Hours of a day with one out so that the hours short stay within `borne_h`.

        hours x short_now + out x (short_out - short_now) <= borne_h

    Args:
        short_now, short_out: share of time short, with none and with one out on purpose.

    Returns:
        0 where the day is too short as it is; None where it may be out all day.
    """
    room = borne_h - hours * short_now
    if room < 0.0:
        return 0.0
    more = short_out - short_now
    if more <= 0.0 or room >= more * hours:
        return None
    return room / more


def out_share(count: int, duration_h: float, interval_h: float) -> float:
    """Share of time in which some one of `count` is out, each for `duration_h` after every
    `interval_h`; above 1 where one at a time cannot keep up."""
    return count * duration_h / (interval_h + duration_h)


def shortest_interval_h(
    short_now: float, more_short: float, duration_h: float, count: int, borne: float
) -> float | None:
    """The shortest interval at which the share of time short stays within `borne`.

    Args:
        more_short: sum over the lifts of the time short with it out less the time short now.

    Returns:
        None where no interval is long enough.
    """
    room = borne - short_now
    least = (count - 1) * duration_h
    if room < 0.0 or (room == 0.0 and more_short > 0.0):
        return None
    if more_short <= 0.0:
        return least
    return max(duration_h * more_short / room - duration_h, least)
