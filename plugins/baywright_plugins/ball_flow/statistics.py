"""Means of repeated runs with 95 % intervals."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

_LEVEL = 0.975


@dataclass(frozen=True)
class Mean:
    """A mean, and half the width of its 95 % interval (None with fewer than two values)."""

    value: float
    half_width: float | None
    runs: int


def mean_of(values: Sequence[float]) -> Mean:
    """Mean and half-width by Student's t.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.2.

    >>> found = mean_of([1.0, 2.0, 3.0])
    >>> found.value, round(found.half_width, 4)
    (2.0, 2.4841)
    """
    count = len(values)
    mean = math.fsum(values) / count
    if count < 2:
        return Mean(mean, None, count)
    spread = math.sqrt(math.fsum((x - mean) ** 2 for x in values) / (count - 1))
    return Mean(
        mean, float(scipy.stats.t.ppf(_LEVEL, count - 1)) * spread / math.sqrt(count), count
    )


def share_of(hits: int, count: int) -> tuple[float, float, float]:
    """Share, and its 95 % interval by Wilson's score.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1.

    >>> [round(x, 4) for x in share_of(4, 20)]
    [0.2, 0.0807, 0.416]
    """
    z = float(scipy.stats.norm.ppf(_LEVEL))
    share = hits / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z * math.sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    half /= 1 + z * z / count
    return share, max(0.0, middle - half), min(1.0, middle + half)


def median(values: Sequence[float]) -> float:
    return float(np.median(values))
