"""Does a loop of rods close on itself, and do the seats take up what is left?"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Loop:
    """The gap where the loop should meet, and the least share of the play that closes it.

    `share`: each rod gives at most this part of its play; above 1 the seats would be strained,
    None where no give along the rods closes the gap. `give_mm` is what each step gives then.
    """

    misclosure_mm: tuple[float, float, float]
    gap_mm: float
    share: float | None
    give_mm: tuple[float, ...]

    @property
    def closes(self) -> bool:
        return self.share is not None and self.share <= 1.0 + 1e-9


def close_loop(
    pitches_mm: Sequence[float],
    directions: Sequence[Sequence[int]],
    *,
    play_mm: float,
    counts: Sequence[int] | None = None,
) -> Loop:
    """Misclosure of a closed walk of rods against the play of their seats.

        e = sum n_i p_i u_i;   least t with  sum u_i x_i = -e,  |x_i| <= t n_i 2 e_seat

    Args:
        pitches_mm: of each step, > 0.
        directions: of each step, three whole numbers of -1, 0, 1 with one or two not 0.
        play_mm: 2 e, what one rod gives each way, >= 0.
        counts: equal rods in a row of each step; one each where left out.

    Leaves out: give across the rods (bending, tilting in the seats), which real loops have too,
    so that a loop refused here may still be forced together.
    Source: linear programme solved by HiGHS (scipy.optimize.linprog); derived here.

    >>> square = [(1, 0, 0), (0, 1, 0), (-1, 0, 0), (0, -1, 0)]
    >>> close_loop([120.0] * 4, square, play_mm=0.3).gap_mm
    0.0
    """
    many = np.ones(len(pitches_mm)) if counts is None else np.asarray(counts, dtype=float)
    units = unit_vectors(directions)
    gap = _exact_sum(many * np.asarray(pitches_mm, dtype=float), directions)
    size = float(np.sqrt(gap @ gap))
    misclosure = (float(gap[0]), float(gap[1]), float(gap[2]))
    reach = many * play_mm
    if size < 1e-9:
        return Loop(misclosure, size, 0.0, (0.0,) * len(many))
    if play_mm == 0:
        return Loop(misclosure, size, None, (0.0,) * len(many))
    answer = _least_share(units, gap, reach)
    if answer is None:
        return Loop(misclosure, size, None, (0.0,) * len(many))
    share, give = answer
    return Loop(misclosure, size, share, tuple(float(x) for x in give))


def share_at_least(
    pitches_mm: Sequence[float],
    directions: Sequence[Sequence[int]],
    *,
    play_mm: float,
    counts: Sequence[int],
) -> float:
    """A share of the play below which the loop cannot close: what the gap asks for along itself.

        |e . e| / sum |u_i . e| n_i 2 e_seat

    Cheap to work out, and never above the share that `close_loop` finds (weak duality of linear
    programming). Infinite where no rod gives along the gap.

    >>> there_and_back = [(1, 0, 0), (-1, 0, 0)]
    >>> round(share_at_least([120.0, 119.9], there_and_back, play_mm=0.3, counts=[1, 1]), 3)
    0.167
    """
    many = np.asarray(counts, dtype=float)
    gap = _exact_sum(many * np.asarray(pitches_mm, dtype=float), directions)
    reach = float(np.abs(unit_vectors(directions) @ gap) @ (many * play_mm))
    if reach == 0:
        return math.inf if gap.any() else 0.0
    return float(gap @ gap) / reach


def unit_vectors(directions: Sequence[Sequence[int]]) -> Floats:
    """Directions as unit vectors, shape (n, 3)."""
    rows = np.asarray(directions, dtype=float)
    return np.asarray(rows / np.sqrt((rows**2).sum(axis=1, keepdims=True)))


def _exact_sum(lengths_mm: Floats, directions: Sequence[Sequence[int]]) -> Floats:
    """The gap, rods along the axes and at 45 degrees summed apart in whole micrometres, so that
    a loop that closes does so exactly."""
    rows = np.asarray(directions, dtype=np.int64)
    steep = (rows**2).sum(axis=1)
    whole = np.rint(lengths_mm * 1000).astype(np.int64)
    straight = (whole * (steep == 1)) @ rows
    slanted = (whole * (steep == 2)) @ rows
    return np.asarray((straight + slanted / math.sqrt(2)) / 1000)


def _least_share(units: Floats, gap: Floats, reach: Floats) -> tuple[float, Floats] | None:
    steps = len(reach)
    cost = np.zeros(steps + 1)
    cost[-1] = 1.0
    scale = float(np.abs(gap).max())
    equal = np.column_stack([(units * reach[:, None]).T, np.zeros(3)])
    one, ones = np.eye(steps), np.ones((steps, 1))
    limits = np.block([[one, -ones], [-one, -ones]])
    solved = linprog(
        cost,
        A_ub=limits,
        b_ub=np.zeros(2 * steps),
        A_eq=equal,
        b_eq=-gap / scale,
        bounds=[(None, None)] * steps + [(0, None)],
        method="highs",
    )
    if not solved.success or solved.x is None:
        return None
    return float(solved.x[-1]) * scale, np.asarray(solved.x[:-1] * scale * reach)
