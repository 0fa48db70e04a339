"""How high to set a sloping floor so that heights which come in steps fit it best.

Whole numbers of one unit. Let steps and heights be even, since the best lies midway between two.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Datum:
    """Height of the low edge, the largest error there, and whether nothing better can exist (False
    only where the search was cut short)."""

    low: int
    error: int
    proven: bool


def best_datum(
    largest_error: Callable[[Ints], Ints], low: int, high: int, *, most_parts: int = 2_000
) -> Datum:
    """The whole number in [low, high] with the least `largest_error`, the lowest of equals.

    Args:
        largest_error: for an array of heights, the largest distance of any support from the
            height it can reach. It must change by no more than its argument does.
        low, high: the window, high not below low.
        most_parts: keep so many stretches at most; more of them make the answer unproven.

    A stretch of width w whose middle m has error E(m) holds none below E(m) - w/2, so stretches
    are halved and dropped until single heights are left; all that stay are kept, hence exact.

    Source: branch and bound for functions of known steepness (Piyavskii 1972, from memory); tests
    hold it against trying every height.
    """
    ends = np.array([low, high], dtype=np.int64)
    errors = largest_error(ends)
    best, at = min(zip(errors.tolist(), ends.tolist(), strict=True))
    first, last = ends[:1], ends[1:]
    proven = True
    while len(first):
        middle = (first + last) // 2
        errors = largest_error(middle)
        now = min(zip(errors.tolist(), middle.tolist(), strict=True))
        best, at = min((best, at), now)
        reach = np.maximum(middle - first, last - middle)
        keep = (errors - reach <= best) & (last > first)
        if keep.sum() > most_parts:
            promising = np.argsort((errors - reach)[keep], kind="stable")[:most_parts]
            chosen = np.flatnonzero(keep)[np.sort(promising)]
            proven = False
        else:
            chosen = np.flatnonzero(keep)
        a, m, b = first[chosen], middle[chosen], last[chosen]
        first, last = np.concatenate([a, m + 1]), np.concatenate([m, b])
    return Datum(at, best, proven)
