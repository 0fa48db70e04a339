"""Where each strength stands on probability paper, and whether the line is straight."""

from dataclasses import dataclass

import numpy as np
import scipy

from .readings import Array, Sample


@dataclass(frozen=True)
class Paper:
    """One entry for each strength, ascending.

    Attributes:
        probability: shape (r,), share of joints expected to be weaker.
        quantile: shape (r,), the normal quantile of that.
    """

    probability: Array
    quantile: Array


def paper_of(sample: Sample) -> Paper:
    """Plotting positions of the strengths, proof values counted where they stand.

        (j - 3/8) / (n + 1/4)

    with j the rank, or with proof values between the strengths Johnson's adjusted rank: each
    strength adds (n + 1 - rank before) / (1 + tests from here on).

    Source: Blom, Statistical Estimates and Transformed Beta-Variables (1958), as recommended by
    Looney & Gulledge, The American Statistician 39 (1985) 75; adjusted ranks, L. G. Johnson, The
    Statistical Treatment of Fatigue Experiments (1964), from memory.

    >>> from .readings import sample_of
    >>> paper_of(sample_of([3.0, 1.0, 2.0], newtons_each=1.0)).probability.round(4).tolist()
    [0.1923, 0.5, 0.8077]
    """
    n = len(sample.force_n)
    rank, ranks = 0.0, []
    for k in np.flatnonzero(sample.gave_way):
        rank += (n + 1 - rank) / (1 + n - int(k))
        ranks.append(rank)
    probability = (np.array(ranks) - 0.375) / (n + 0.25)
    return Paper(probability, np.asarray(scipy.stats.norm.ppf(probability)))


def straightness(quantile: Array, value: Array) -> float:
    """Correlation of a probability plot's points: 1 for a straight line.

    Args:
        quantile, value: shape (r,), r >= 2, neither all equal.

    Source: NIST/SEMATECH e-Handbook 1.3.3.22, probability plot correlation coefficient.

    >>> import numpy as np
    >>> round(straightness(np.array([-1.0, 0.0, 1.0]), np.array([1.0, 2.0, 3.0])), 12)
    1.0
    """
    return float(np.corrcoef(quantile, value)[0, 1])


def normal_by_chance(value: Array) -> float:
    """Probability that normal values lie as crooked as these: the Shapiro-Wilk test.

    Args:
        value: shape (n,), n >= 3, complete (no proof values), not all equal.

    Leaves out: with few tests it sees only gross departures.
    Source: Shapiro & Wilk, Biometrika 52 (1965) 591; NIST/SEMATECH e-Handbook 7.2.1.3;
    probability by Royston's AS R94 as in scipy.

    >>> import numpy as np
    >>> normal_by_chance(np.array([1.0, 1.1, 1.2, 1.1, 1.0, 1.2, 1.1, 9.0])) < 0.01
    True
    """
    return float(scipy.stats.shapiro(value).pvalue)
