"""Which of many machines no other one beats: non-dominated sets, ranks, and who beats whom."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

#: Comparisons made at a time, so that the table of them stays in the cache.
_AT_ONCE = 2_000_000


def dominators(costs: Floats) -> Ints:
    """For each row a row of the non-dominated set that dominates it, -1 where none does.

    a dominates b where a <= b in every column and a < b in at least one. Of several dominators
    the one that beats the row by most, summed over columns scaled by their range, is given; among
    equals the first.

    Args:
        costs: shape (n, k), each column the less the better.

    Returns:
        shape (n,), numbers of rows. Dominance is transitive and finite, so that every dominated
        row has a dominator in the set.

    Source: Deb, Multi-Objective Optimization using Evolutionary Algorithms (2001), definition
    2.5, from memory.

    >>> dominators(np.array([[1.0, 2.0], [2.0, 1.0], [2.0, 3.0]])).tolist()
    [-1, -1, 0]
    """
    best = np.flatnonzero(non_dominated(costs))
    found = np.full(len(costs), -1, dtype=np.int64)
    if not len(best):
        return found
    span = np.ptp(costs, axis=0)
    scaled = costs / np.where(span > 0, span, 1.0)
    by = scaled.sum(axis=1)[best]
    order = np.argsort(by, kind="stable")
    step = max(1, _AT_ONCE // max(1, len(best) * costs.shape[1]))
    for first in range(0, len(costs), step):
        rows = costs[first : first + step, None, :]
        beaten = _beats(costs[best][None, :, :], rows)[:, order]
        hit = beaten.any(axis=1)
        found[first : first + step][hit] = best[order[beaten.argmax(axis=1)[hit]]]
    return found


def non_dominated(costs: Floats) -> Bools:
    """Rows that no other row dominates; equal rows do not dominate each other.

    Args:
        costs: shape (n, k), each column the less the better.

    Source: as `dominators`; rows are gone through column by column as words in a dictionary, so
    that a row can only be dominated by one before it (Kung, Luccio and Preparata, J. ACM 22,
    1975, from memory).

    >>> non_dominated(np.array([[1.0, 2.0], [2.0, 1.0], [2.0, 3.0], [1.0, 2.0]])).tolist()
    [True, True, False, True]
    """
    kept = np.zeros(len(costs), dtype=bool)
    front = np.empty((0, costs.shape[1]))
    for row in np.lexsort(costs.T[::-1]).tolist():
        if not _beats(front, costs[row]).any():
            kept[row] = True
            front = np.vstack([front, costs[row]])
    return kept


def fronts(costs: Floats) -> Ints:
    """Rank of each row: 0 for the non-dominated set, 1 for that of the rest, and so on.

    Args:
        costs: shape (n, k), each column the less the better.

    Source: Deb, Pratap, Agarwal and Meyarivan, IEEE Trans. Evolutionary Computation 6(2), 2002,
    182-197: non-dominated sorting.

    >>> fronts(np.array([[1.0, 2.0], [2.0, 1.0], [2.0, 3.0], [3.0, 4.0]])).tolist()
    [0, 0, 1, 2]
    """
    rank = np.full(len(costs), -1, dtype=np.int64)
    left = np.arange(len(costs))
    number = 0
    while len(left):
        best = non_dominated(costs[left])
        rank[left[best]] = number
        left, number = left[~best], number + 1
    return rank


def _beats(one: Floats, other: Floats) -> Bools:
    """Whether rows of `one` dominate those of `other`, over the last axis."""
    return np.asarray((one <= other).all(axis=-1) & (one < other).any(axis=-1))
