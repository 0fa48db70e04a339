"""Rates at every place when all settles: balls as a fluid, the full places held at what they pass.

rate_k = fed_k + sum over j of passed_j x share_jk + sum of what overflows into k, where a place
passes on what comes, or its capacity. The set of full places is found by solving, marking what is
above its capacity, and solving again until the set repeats.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from .machine import Machine

_TOLERANCE = 1e-9
_MOST_PER_S = 2_000.0
#: Rounds in which lines that share lifts settle who gets what.
_LANE_ROUNDS = 6
#: Passes from an empty machine on, where solving does not settle.
_FILLING_ROUNDS = 4_000

Floats = np.ndarray[Any, np.dtype[np.float64]]


class NoWayOut(ValueError):
    """Balls go round without end: no rate solves the balance."""


@dataclass(frozen=True)
class Rates:
    """Balls a second at each place: arriving, passed on, overflowing, staying for good.

    `capacity` is infinite where nothing limits a place. `returned` is what comes back to the
    entry (0 for a machine that is fed).
    """

    arriving: Floats
    passed: Floats
    overflowing: Floats
    piling: Floats
    capacity: Floats
    returned: float


def rates_at(machine: Machine, entry_per_s: float = 0.0) -> Rates:
    """The settled rates with `entry_per_s` put in at the entry (a closed machine).

    Raises:
        NoWayOut: some balls go round for ever without passing the entry or a drain.
    """
    lines = machine.indices("line")
    taken: dict[tuple[int, int], float] = {}
    found = _solve(machine, entry_per_s, taken)
    if not _shared_lifts(machine, lines):
        return found
    for _ in range(_LANE_ROUNDS):
        taken = _taken_by_lines(machine, lines, found)
        found = _solve(machine, entry_per_s, taken)
    return found


def _shared_lifts(machine: Machine, lines: list[int]) -> bool:
    fed = [lift for line in lines for lift in machine.lifts_of(line)]
    return len(fed) != len(set(fed))


def _taken_by_lines(
    machine: Machine, lines: list[int], rates: Rates
) -> dict[tuple[int, int], float]:
    """What each line takes of each lift: lines earlier in the machine's order come first."""
    left = {k: machine.places[k].capacity_per_s or 0.0 for k in machine.indices("lift")}
    taken = {}
    for line in lines:
        lifts = machine.lifts_of(line)
        room = sum(left[lift] for lift in lifts)
        share = 0.0 if room <= 0.0 else min(1.0, float(rates.arriving[line]) / room)
        for lift in lifts:
            taken[line, lift] = left[lift]  # what it may use: what earlier lines leave
            left[lift] *= 1.0 - share
    return taken


def _capacities(machine: Machine, taken: dict[tuple[int, int], float]) -> Floats:
    capacity = np.full(len(machine.places), np.inf)
    for k, place in enumerate(machine.places):
        own = place.capacity_per_s
        if own is not None:
            capacity[k] = own
        if place.kind == "line":
            lifts = machine.lifts_of(k)
            at_lifts = sum(
                taken.get((k, i), machine.places[i].capacity_per_s or 0.0) for i in lifts
            )
            capacity[k] = min(capacity[k], at_lifts)
    return capacity


def _solve(machine: Machine, entry_per_s: float, taken: dict[tuple[int, int], float]) -> Rates:
    count = len(machine.places)
    capacity = _capacities(machine, taken)
    share = np.zeros((count, count))
    over = np.zeros((count, count))
    for k, place in enumerate(machine.places):
        for link in machine.ways_on(k):
            part = link.share
            if place.kind == "line":
                lift = machine.places[link.end].capacity_per_s or 0.0
                usable = taken.get((k, link.end), lift)
                part = usable / capacity[k] if 0.0 < capacity[k] < np.inf else 0.0
                part = min(part, 1.0)
            share[k, link.end] += part
        end = machine.overflow_of(k)
        if end is not None:
            over[k, end] = 1.0
    for k in machine.indices("basket"):
        share[k, :] = 0.0
    for k in machine.indices("line"):
        if share[k].sum() > 0.0:
            share[k] /= share[k].sum()
    fed = np.array([place.feed_per_s for place in machine.places])
    can_fill = np.array([p.kind not in ("lift", "feed") for p in machine.places])
    arriving, full = _settled(
        machine, share, over, fed, np.where(can_fill, capacity, np.inf), entry_per_s
    )
    passed = np.where(full, np.minimum(capacity, arriving), arriving)
    rest = np.maximum(arriving - passed, 0.0)
    has_overflow = over.sum(axis=1) > 0.0
    overflowing = np.where(has_overflow, rest, 0.0)
    piling = np.where(has_overflow, 0.0, rest)
    for k in machine.indices("basket"):
        piling[k] = arriving[k]
    returned = 0.0
    if machine.entry is not None:
        returned = float(passed @ share[:, machine.entry] + overflowing @ over[:, machine.entry])
    return Rates(arriving, passed, overflowing, piling, capacity, returned)


def _settled(
    machine: Machine,
    share: Floats,
    over: Floats,
    fed: Floats,
    limit: Floats,
    entry_per_s: float,
) -> tuple[Floats, np.ndarray[Any, np.dtype[np.bool_]]]:
    """What arrives everywhere, and which places are full: each set is solved, then looked at anew.

    Where the sets do not repeat in time, the balance is followed from an empty machine on.
    """
    count = len(limit)
    full = np.zeros(count, dtype=bool)
    for _ in range(2 * count + 8):
        arriving = _balance(machine, share, over, fed, limit, full, entry_per_s)
        above = arriving > limit * (1.0 + _TOLERANCE) + 1e-15
        if (above == full).all():
            if (arriving < -1e-6 * max(1.0, entry_per_s)).any():
                raise NoWayOut
            return np.maximum(arriving, 0.0), full
        full = above
    arriving = np.zeros(count)
    for _ in range(_FILLING_ROUNDS):
        passed = np.minimum(arriving, limit)
        after = fed + passed @ share + (arriving - passed) @ over
        if machine.entry is not None:
            after[machine.entry] = entry_per_s
        if np.abs(after - arriving).max() <= 1e-12 * max(1.0, float(after.max())):
            return after, after > limit
        arriving = after
    raise NoWayOut


def _balance(
    machine: Machine,
    share: Floats,
    over: Floats,
    fed: Floats,
    capacity: Floats,
    full: np.ndarray[Any, np.dtype[np.bool_]],
    entry_per_s: float,
) -> Floats:
    passing = np.where(full[:, None], over, share)
    cap = np.where(full, capacity, 0.0)
    matrix = np.eye(len(full)) - passing.T
    right = fed + cap @ share - cap @ over
    if machine.entry is not None:
        matrix[machine.entry] = 0.0
        matrix[machine.entry, machine.entry] = 1.0
        right[machine.entry] = entry_per_s
    try:
        arriving: Any = np.linalg.solve(matrix, right)
    except np.linalg.LinAlgError:
        raise NoWayOut from None
    if not np.isfinite(arriving).all():
        raise NoWayOut
    if np.abs(matrix @ arriving - right).max() > 1e-6 * max(1.0, np.abs(right).max()):
        raise NoWayOut
    solved: Floats = arriving
    return solved


def most_round_per_s(machine: Machine) -> float | None:
    """The largest rate at which all that is put in comes back; None: nothing limits it."""

    def holds(rate: float) -> bool:
        found = rates_at(machine, rate)
        return found.returned >= rate * (1.0 - 1e-7)

    low, high = 0.0, 1e-3
    while holds(high):
        low, high = high, 2.0 * high
        if high > _MOST_PER_S:
            return None
    for _ in range(48):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def hold_up(machine: Machine, rates: Rates) -> Floats:
    """Balls under way at each place: rate x time, and what always lies there.

    Source: J. D. C. Little, Operations Research 9 (1961), 383-387: L = lambda W. What waits
    besides, where times and routing are by chance, only the simulation knows.
    """
    time_s = np.array(
        [p.time_s if p.kind in ("path", "lift", "station") else 0.0 for p in machine.places]
    )
    held: Floats = rates.passed * time_s + np.array([p.standing for p in machine.places])
    return held


def entry_rate_for(machine: Machine, moving_balls: float) -> float:
    """The rate at the entry with which `moving_balls` are under way, at most what comes round."""
    standing = sum(place.standing for place in machine.places)
    most = most_round_per_s(machine)

    def under_way(rate: float) -> float:
        return float(hold_up(machine, rates_at(machine, rate)).sum()) - standing

    low, high = 0.0, _MOST_PER_S if most is None else most
    if under_way(high) <= moving_balls:
        return high
    for _ in range(48):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if under_way(middle) < moving_balls else (low, middle)
    return low
