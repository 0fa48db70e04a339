"""Two shorter rods in line, with a mid-hub between them, in place of a rod that is short."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp

from ..kit import Hub, Kit

#: kept for each rod that is short
MOST_WAYS = 20


@dataclass(frozen=True)
class Way:
    """Rods `first` and `second` (places in the kit) in line make the span of `rod`."""

    rod: int
    first: int
    second: int
    misfit_mm: float
    compression_limit_n: float | None


@dataclass(frozen=True)
class Limits:
    """What bounds the number of pairs.

    short: missing by rod. free: pieces left of each rod after its own use. mid_free: mid-hubs.
    places: positions of each rod that may be a pair. pool: positions that any rod may take
    beyond its `places`; None: there is no such pool and `places` are all.
    """

    short: Mapping[int, int]
    free: Sequence[int]
    mid_free: int
    places: Mapping[int, int]
    pool: int | None = None


def in_line_limit_n(
    turning_stiffness_n_mm_per_rad: float, first_mm: float, second_mm: float, *, margin: float
) -> float:
    """Compression at which two rods in line, joined by a hub that turns, fold up; by `margin`.

        P = c (1/a + 1/b) / margin        with equal halves 4 c / (L margin)

    Args:
        turning_stiffness_n_mm_per_rad: c of the mid-hub.
        first_mm, second_mm: a and b, node centre to node centre.

    Leaves out: bending of the rods, play of the seats, a hub knocked sideways.
    Source: two rigid bars with a rotational spring, e.g. Timoshenko and Gere, Theory of Elastic
    Stability, section 2 (from memory); the margin of 1.5 is common practice, no source.

    >>> round(in_line_limit_n(1200.0, 84.8, 84.8, margin=1.5), 2)
    18.87
    """
    return turning_stiffness_n_mm_per_rad * (1 / first_mm + 1 / second_mm) / margin


def ways_to_make(
    rods: Sequence[int],
    kit: Kit,
    mid: Hub,
    *,
    turning_stiffness_n_mm_per_rad: float | None,
    margin: float,
) -> list[Way]:
    """Pairs of rods of the kit that close in line on the pitch of one of `rods`.

    A pair closes when its misfit is within the play of its four seats. The mid-hub needs two
    ports opposite each other. For each rod in turn the nearest fits, at most `MOST_WAYS`.
    """
    ports = set(mid.ports)
    if not any((-x, -y, -z) in ports for x, y, z in ports):
        return []
    play_um = 2 * round(mid.seat.play_mm * 1000) + 2 * round(kit.frame_hub.seat.play_mm * 1000)
    found: list[Way] = []
    for rod in rods:
        mine = []
        for first, second in combinations_with_replacement(range(len(kit.rods)), 2):
            a, b = kit.rods[first], kit.rods[second]
            misfit_um = a.pitch_um + b.pitch_um - kit.rods[rod].pitch_um
            if abs(misfit_um) > play_um or rod in (first, second):
                continue
            c = turning_stiffness_n_mm_per_rad
            limit = c and in_line_limit_n(c, a.pitch_mm, b.pitch_mm, margin=margin)
            mine.append(Way(rod, first, second, misfit_um / 1000, limit))
        found += sorted(mine, key=lambda way: (abs(way.misfit_mm), way.first))[:MOST_WAYS]
    return found


def most_pairs(ways: Sequence[Way], limits: Limits) -> list[int]:
    """How many pairs of each way cover the most missing rods, in whole numbers.

    Maximises the sum of pairs under the stock of each shorter rod, of mid-hubs, the number
    missing and the positions that may be pairs; then, with that sum, uses earlier ways more.

    Source: integer programme, scipy.optimize.milp (HiGHS).
    """
    if not ways:
        return []
    matrix, most = _bounds(ways, limits)
    worth = np.zeros(matrix.shape[1])
    worth[: len(ways)] = -1.0
    covered = sum(_solved(worth, matrix, most)[: len(ways)])
    rank = np.zeros(matrix.shape[1])
    rank[: len(ways)] = np.arange(len(ways))
    return _solved(rank, np.vstack([matrix, worth]), [*most, -covered])[: len(ways)]


def _bounds(ways: Sequence[Way], limits: Limits) -> tuple[NDArray[np.float64], list[int]]:
    """Rows of coefficients with their upper bounds; after the ways one column for each rod says
    how many positions of the pool it takes."""
    rods = list(limits.short)
    empty = [0] * len(rods)
    rows: list[tuple[list[int], int]] = [([1] * len(ways) + empty, limits.mid_free)]
    for place, free in enumerate(limits.free):
        use = [(way.first == place) + (way.second == place) for way in ways]
        if any(use):
            rows.append((use + empty, free))
    for number, rod in enumerate(rods):
        mine = [int(way.rod == rod) for way in ways]
        rows.append((mine + empty, limits.short[rod]))
        from_pool = [-int(k == number) for k in range(len(rods))]
        rows.append((mine + from_pool, limits.places.get(rod, limits.short[rod])))
    rows.append(([0] * len(ways) + [1] * len(rods), limits.pool or 0))
    return np.array([row for row, _ in rows], dtype=np.float64), [most for _, most in rows]


def _solved(
    worth: NDArray[np.float64], matrix: NDArray[np.float64], most: Sequence[int]
) -> list[int]:
    found = milp(
        worth,
        integrality=np.ones(len(worth), dtype=np.int64),
        bounds=Bounds(0, np.inf),
        constraints=LinearConstraint(matrix, ub=np.array(most, dtype=np.float64)),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise RuntimeError(found.message)
    return [round(float(x)) for x in found.x]
