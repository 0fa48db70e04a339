"""Which rods, laid end to end, span a length: exact sums in whole micrometres.

The table of reachable sums is built rod kind by rod kind (bounded knapsack), so that the number
of ways is exact even where only the best are written out.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from math import comb, gcd
from typing import Any

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

MOST_CELLS = 20_000_000
MOST_PARTIAL_ROWS = 20_000_000
MOST_LARGE_CELLS = 8_000_000
MOST_WAYS = 2**62


class TooManyWays(ValueError):
    """The table of sums would not fit; fewer rods, kinds or a coarser pitch would."""


@dataclass(frozen=True)
class ClosingRow:
    """One choice of rods. `counts` is in the order of the pitches; `share` is the part of the
    row's whole play that the misfit takes up (None where there is no play)."""

    counts: tuple[int, ...]
    length_um: int
    misfit_um: int
    rod_count: int
    kind_count: int
    share: float | None
    closes: bool


@dataclass(frozen=True)
class ClosingRows:
    """The best rows, and how many there are in all.

    `rows` close, best first. Where none closes it is empty, and `nearest` holds the best miss
    (None where not even one rod can be laid).
    """

    rows: tuple[ClosingRow, ...]
    ways_count: int
    nearest: ClosingRow | None


def closing_rows(
    pitches_um: Sequence[int],
    wanted_um: int,
    *,
    play_um: int,
    limits: Sequence[int],
    most_rods: int,
    most_results: int = 10,
    tolerance_um: int = 0,
) -> ClosingRows:
    """Rows of rods whose sum closes on `wanted_um`, best first.

        |sum n_i p_i - W| <= max(sum n_i 2 e, tolerance),   0 <= n_i <= limit_i,   sum n_i <= N

    Best means least misfit, then fewest rods, then fewest kinds of rod, then the longer rods.

    Args:
        pitches_um: p_i in whole micrometres, each > 0.
        wanted_um: W, > 0.
        play_um: 2 e, what one rod's two seats give each way, >= 0.
        limits: pieces of each kind at hand.
        most_rods: N.

    Raises:
        ValueError: an empty kit or a pitch that is not above 0.
        TooManyWays: the table of sums would be too large to count exactly.

    Leaves out: the order of the rods in the row, and the scatter of their lengths.
    Source: bounded knapsack by dynamic programming, Martello and Toth, Knapsack Problems (1990),
    chapter 3 (from memory); the closing rule is common practice, no source.

    >>> rows = closing_rows([120_000], 360_000, play_um=300, limits=[9], most_rods=9).rows
    >>> rows[0].counts
    (3,)
    """
    sums = _Sums(
        pitches_um,
        limits,
        most_rods,
        wanted_um + max(most_rods * play_um, tolerance_um, max(pitches_um, default=0)),
    )
    count, length = sums.states()
    misfit = length - wanted_um
    closes = (count > 0) & (np.abs(misfit) <= np.maximum(count * play_um, tolerance_um))
    ways = sum(int(w) for w in sums.ways[closes])
    order = np.lexsort((misfit, count, np.abs(misfit)))
    order = order[count[order] > 0]
    best = order[closes[order]]
    rows = _written_out(sums, best, wanted_um, play_um, tolerance_um, most_results)
    nearest = None
    if not rows and len(order):
        nearest = _written_out(sums, order[:1], wanted_um, play_um, tolerance_um, 1)[0]
    return ClosingRows(tuple(rows), ways, nearest)


def longest_row(
    pitches_um: Sequence[int],
    within_um: int,
    *,
    play_um: int,
    limits: Sequence[int],
    most_rods: int,
    most_results: int = 10,
) -> ClosingRows:
    """Rows that come nearest to `within_um` without passing it; play is not counted on.

    `ways_count` counts the rows of the greatest length.

    Raises ValueError and TooManyWays as `closing_rows`.

    >>> longest_row([120_000], 300_000, play_um=0, limits=[9], most_rods=9).rows[0].length_um
    240000
    """
    sums = _Sums(pitches_um, limits, most_rods, within_um)
    count, length = sums.states()
    order = np.lexsort((count, -length))
    order = order[count[order] > 0]
    if not len(order):
        return ClosingRows((), 0, None)
    greatest = length == length[order[0]]
    rows = _written_out(sums, order, within_um, play_um, within_um, most_results)
    return ClosingRows(tuple(rows), sum(int(w) for w in sums.ways[greatest]), None)


class _Sums:
    """Every reachable pair (rods used, length) after each kind, and in how many ways.

    A pair is packed into one number, count * width + length in units of the common divisor.
    """

    def __init__(
        self, pitches_um: Sequence[int], limits: Sequence[int], most_rods: int, longest_um: int
    ) -> None:
        if not pitches_um or min(pitches_um) <= 0:
            raise ValueError("every pitch must be above 0")
        self.unit = reduce(gcd, pitches_um)
        self.steps = [pitch // self.unit for pitch in pitches_um]
        self.width = max(longest_um, 0) // self.unit + 1
        self.most_rods = min(most_rods, (self.width - 1) // min(self.steps))
        self.limits = [
            min(limit, self.most_rods, (self.width - 1) // step)
            for limit, step in zip(limits, self.steps, strict=True)
        ]
        cells = (self.most_rods + 1) * self.width
        #: counts beyond 64 bits are kept as Python's whole numbers, in smaller tables
        self.large = comb(self.most_rods + len(self.steps), len(self.steps)) >= MOST_WAYS
        if self.large and cells * len(self.steps) > MOST_LARGE_CELLS:
            raise TooManyWays
        self.layers: list[Ints] = [np.zeros(1, dtype=np.int64)]
        self.ways: Any = np.ones(1, dtype=np.int64)
        fill = self._fill_dense if cells <= MOST_CELLS else self._fill_sparse
        fill()

    def states(self) -> tuple[Ints, Ints]:
        """(rods used, length in micrometres) of each reachable pair, in the order of `ways`."""
        count, length = np.divmod(self.layers[-1], self.width)
        return count, length * self.unit

    def rows(self, key: int, kinds: int, budget: list[int]) -> Iterator[tuple[int, ...]]:
        """Counts that end in the pair `key` with exactly `kinds` kinds, longer rods first."""
        return self._back(len(self.steps), key, kinds, budget)

    def _back(
        self, kind: int, key: int, kinds: int, budget: list[int]
    ) -> Iterator[tuple[int, ...]]:
        if kind == 0:
            if kinds == 0:
                yield ()
            return
        if kinds > kind or budget[0] <= 0:
            return
        step = self.width + self.steps[kind - 1]
        uses = np.arange(self.limits[kind - 1], -1, -1) if kinds else np.zeros(1, dtype=np.int64)
        before = key - uses * step
        known = self.layers[kind - 1]
        place = np.searchsorted(known, before)
        place[place == len(known)] = 0
        for used, rest in zip(
            uses[known[place] == before].tolist(),
            before[known[place] == before].tolist(),
            strict=True,
        ):
            budget[0] -= 1
            for row in self._back(kind - 1, rest, kinds - (used > 0), budget):
                yield (*row, used)

    def _fill_dense(self) -> None:
        number = object if self.large else np.int64
        table: Any = np.zeros((self.most_rods + 1, self.width), dtype=number)
        table[0, 0] = 1
        for step, limit in zip(self.steps, self.limits, strict=True):
            table = self._one_kind(table, step, limit)
            self.layers.append(np.flatnonzero(table))
        self.ways = table.ravel()[self.layers[-1]]

    def _one_kind(self, old: Any, step: int, limit: int) -> Any:
        """new[n, s] = old[n, s] + old[n-1, s-p] + ... + old[n-limit, s-limit p]."""
        if step >= self.width:
            return old
        new = old.copy()
        gone = (limit + 1) * step
        for count in range(1, self.most_rods + 1):
            new[count, step:] += new[count - 1, : self.width - step]
            if count > limit and gone < self.width:
                new[count, gone:] -= old[count - limit - 1, : self.width - gone]
        return new

    def _fill_sparse(self) -> None:
        keys, ways = self.layers[0], self.ways
        for step, limit in zip(self.steps, self.limits, strict=True):
            if len(keys) * (limit + 1) > MOST_PARTIAL_ROWS:
                raise TooManyWays
            uses = np.arange(limit + 1)
            count, length = np.divmod(keys, self.width)
            counts = count[:, None] + uses
            lengths = length[:, None] + uses * step
            fits = (counts <= self.most_rods) & (lengths < self.width)
            packed = (counts * self.width + lengths)[fits]
            keys, place = np.unique(packed, return_inverse=True)
            summed = np.zeros(len(keys), dtype=np.int64)
            np.add.at(summed, place, np.broadcast_to(ways[:, None], fits.shape)[fits])
            ways = summed
            self.layers.append(keys)
        self.ways = ways


def _written_out(
    sums: _Sums, order: Ints, wanted_um: int, play_um: int, tolerance_um: int, most: int
) -> list[ClosingRow]:
    keys = sums.layers[-1]
    budget = [500_000]
    rows: list[ClosingRow] = []
    for place in order.tolist():
        for kinds in range(1, len(sums.steps) + 1):
            for counts in sums.rows(int(keys[place]), kinds, budget):
                rows.append(
                    _row(counts, kinds, sums, wanted_um, play_um, tolerance_um),
                )
                if len(rows) == most:
                    return rows
    return rows


def _row(
    counts: tuple[int, ...],
    kinds: int,
    sums: _Sums,
    wanted_um: int,
    play_um: int,
    tolerance_um: int,
) -> ClosingRow:
    length = sums.unit * sum(n * step for n, step in zip(counts, sums.steps, strict=True))
    rods = sum(counts)
    misfit = length - wanted_um
    play = rods * play_um
    share = abs(misfit) / play if play else (0.0 if misfit == 0 else None)
    closes = abs(misfit) <= max(play, tolerance_um)
    return ClosingRow(counts, length, misfit, rods, kinds, share, closes)
