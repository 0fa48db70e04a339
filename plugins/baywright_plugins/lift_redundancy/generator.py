"""The repair model as a Markov chain in continuous time: rates, long-run shares, one show.

States are rows of a `StateSpace`: how many of each class are stopped. From one state to the next
one unit stops or one is mended, so the number stopped goes up or down by one and all linear systems
are solved level by level (block elimination from the most stopped down).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.linalg import expm
from scipy.sparse import csr_array

Array = np.ndarray[Any, Any]


@dataclass(frozen=True)
class Rates:
    """All moves of the chain: `source[k]` to `target[k]` at `per_h[k]`; `levels[s]` stopped."""

    source: Array
    target: Array
    per_h: Array
    levels: Array

    def matrix(self) -> csr_array:
        """Rates off the diagonal, shape (states, states)."""
        count = len(self.levels)
        return csr_array((self.per_h, (self.source, self.target)), shape=(count, count))


def served(stopped: Array, crews: int, order: Sequence[int] | None) -> Array:
    """How many of each class are being mended, shape (states, classes).

    Args:
        order: classes in the order in which the crews take them, a crew leaving what it mends for
            one that comes first; None: the crews share their time equally among all stopped.
    """
    if order is None:
        total = np.maximum(stopped.sum(axis=1), 1)
        return np.asarray(stopped * np.minimum(1.0, crews / total)[:, None])
    out = np.zeros(stopped.shape)
    left = np.full(len(stopped), float(crews))
    for c in order:
        out[:, c] = np.minimum(stopped[:, c], left)
        left -= out[:, c]
    return out


def rates_of(
    stopped: Array,
    sizes: Array,
    failure_per_h: Array,
    repair_per_h: Array,
    crews: int,
    order: Sequence[int] | None = None,
) -> Rates:
    """Every move between states; `stopped` shape (states, classes) lists each state once."""
    strides = np.concatenate(([1], np.cumprod(sizes[:-1] + 1))).astype(np.int64)
    codes = stopped @ strides
    place = np.zeros(int(np.prod(sizes + 1)), dtype=np.int64)
    place[codes] = np.arange(len(stopped))
    mending = served(stopped, crews, order)
    sources, targets, per_h = [], [], []
    for c in range(len(sizes)):
        for step, rate in (
            (1, (sizes[c] - stopped[:, c]) * failure_per_h[c]),
            (-1, mending[:, c] * repair_per_h[c]),
        ):
            moving = np.flatnonzero(rate > 0.0)
            sources.append(moving)
            targets.append(place[codes[moving] + step * strides[c]])
            per_h.append(rate[moving])
    return Rates(
        np.concatenate(sources),
        np.concatenate(targets),
        np.concatenate(per_h),
        stopped.sum(axis=1),
    )


def long_run(rates: Rates) -> Array:
    """Share of time in each state, shape (states,), adding to 1.

    Solves p Q = 0 by taking out the levels from the most stopped down; the diagonals are built
    from sums of positive rates only, so that nothing cancels.
    Source: W. K. Grassmann, M. I. Taksar and D. P. Heyman, Operations Research 33 (1985).
    """
    moves, rows = rates.matrix(), _levels(rates.levels)
    leading: list[Array] = []
    inner = np.zeros((len(rows[-1]), len(rows[-1])))
    for k in range(len(rows) - 1, 0, -1):
        down = moves[rows[k]][:, rows[k - 1]].toarray()
        up = moves[rows[k - 1]][:, rows[k]].toarray()
        leaving = np.diag(inner.sum(axis=1) + down.sum(axis=1)) - inner
        leading.append(np.linalg.solve(leaving.T, up.T).T)
        inner = leading[-1] @ down
        np.fill_diagonal(inner, 0.0)
    shares = [np.ones(1)]
    for lead in reversed(leading):
        shares.append(shares[-1] @ lead)
        scale = max(float(shares[-1].max()), 1.0)
        shares = [share / scale for share in shares]
    out = np.zeros(len(rates.levels))
    for row, share in zip(rows, shares, strict=True):
        out[row] = share
    return np.asarray(out / out.sum())


def mean_hours_to_leave(rates: Rates, inside: Array) -> float:
    """Mean hours from row 0 until the chain first leaves the states `inside`; row 0 is inside.

    Solves (-Q) t = 1 over those states. Source: absorbing Markov chain; Epstein & Weissman,
    Mathematical Models for Systems Reliability, chapters 5 and 7.
    """
    moves = rates.matrix()
    leaving = np.zeros(len(rates.levels))
    np.add.at(leaving, rates.source, rates.per_h)
    rows = [row[inside[row]] for row in _levels(rates.levels)]
    rows = [row for row in rows if len(row)]
    block = np.diag(leaving[rows[-1]])
    hours = np.ones(len(rows[-1]))
    for k in range(len(rows) - 1, 0, -1):
        down = moves[rows[k]][:, rows[k - 1]].toarray()
        up = moves[rows[k - 1]][:, rows[k]]
        solved = np.linalg.solve(block, np.column_stack([down, hours]))
        carried = np.asarray(up @ solved)
        block = np.diag(leaving[rows[k - 1]]) - carried[:, :-1]
        hours = 1.0 + carried[:, -1]
    return float(np.linalg.solve(block, hours)[0])


@dataclass(frozen=True)
class Show:
    """One show that begins with everything running: mean share of it in the states asked for,
    the share at its end, and the chance that no other state comes up at all."""

    mean_ratio: float
    end_ratio: float
    never_left_ratio: float


def show_of(rates: Rates, inside: Array, hours: float) -> Show:
    """The chain followed from row 0 over `hours` by the matrix exponential.

    The mean is the integral of the shares, from one exponential of the chain with a counter.
    Source: C. F. Van Loan, IEEE Transactions on Automatic Control 23 (1978).
    """
    moves = rates.matrix().toarray()
    chain = moves - np.diag(moves.sum(axis=1))
    count = len(chain)
    counted = np.zeros((count + 1, count + 1))
    counted[:count, :count] = chain * hours
    counted[:count, count] = inside * 1.0
    grown = expm(counted)
    mean = float(grown[0, count])
    end = float(grown[0, :count] @ inside)
    if not inside[0]:
        return Show(_share(mean), _share(end), 0.0)
    kept = np.flatnonzero(inside)
    never = float(expm(chain[np.ix_(kept, kept)] * hours)[0].sum())
    return Show(_share(mean), _share(end), _share(never))


def _share(value: float) -> float:
    return min(max(value, 0.0), 1.0)


def _levels(levels: Array) -> list[Array]:
    return [np.flatnonzero(levels == k) for k in range(int(levels.max()) + 1)]
