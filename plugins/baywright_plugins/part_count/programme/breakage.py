"""Spares for what breaks on tour: a Poisson quantile, or a plain share."""

import math
from dataclasses import dataclass
from fractions import Fraction

import scipy


@dataclass(frozen=True)
class Reserve:
    """Spares of one part. `expected` breakages and how sure it is that the spares do (`enough`)
    are None where the spares are a plain share."""

    count: int
    method: str
    expected: float | None = None
    enough: float | None = None


def share(pieces: int, ratio: float) -> Reserve:
    """Spares as a share of the pieces, rounded up, in exact decimals.

    Source: common practice, no source.

    >>> share(100, 0.07).count
    7
    """
    exact = pieces * Fraction(repr(ratio))
    return Reserve(-(-exact.numerator // exact.denominator), "share")


def by_rate(pieces: int, broken_per_piece: float, shows: int, confidence: float) -> Reserve:
    """The fewest spares that are enough with probability `confidence` over a tour.

        lambda = pieces * rate * shows;  least k with P(Poisson(lambda) <= k) >= confidence

    Args:
        pieces: built in. broken_per_piece: share of pieces that breaks in one show, 0 to 1.
        shows: times it is built and taken down before spares can be bought.
        confidence: below 1.

    Leaves out: wear that grows with use, one blow that breaks several, spares that break too.
    Source: Poisson law of rare events; provisioning of spares by its quantile as in
    MIL-HDBK-338B, section 10.6 (from memory); scipy.stats.poisson.

    >>> found = by_rate(1000, 0.0002, 10, 0.95)
    >>> found.count, found.expected, round(found.enough, 4)
    (5, 2.0, 0.9834)
    """
    expected = pieces * broken_per_piece * shows
    count = max(0, math.ceil(float(scipy.stats.poisson.ppf(confidence, expected))))
    return Reserve(count, "poisson", expected, float(scipy.stats.poisson.cdf(count, expected)))
