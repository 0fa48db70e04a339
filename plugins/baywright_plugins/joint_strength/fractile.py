"""How far below the mean the characteristic value lies: factors on the scatter."""

import math
from functools import lru_cache

import scipy

FEWEST_TESTS = 3
CONFIDENCE = 0.75
#: EN 1990:2002 D7.1: a coefficient of variation that is not known beforehand counts as 0.10 at
#: least (from memory).
LEAST_UNKNOWN_VARIATION = 0.10

TOLERANCE = "tolerance-75"
UNKNOWN = "en-1990-unknown"
KNOWN = "en-1990-known"
METHODS = (TOLERANCE, UNKNOWN, KNOWN)
TITLES = {
    TOLERANCE: "5 % value with 75 % confidence (one-sided tolerance factor)",
    UNKNOWN: "EN 1990 Annex D, scatter unknown beforehand (prediction of the next rod)",
    KNOWN: "EN 1990 Annex D, scatter known beforehand (prediction of the next rod)",
}


class TooFew(ValueError):
    """Fewer than three tests."""


def tolerance_factor(n: int, fraction: float = 0.05, *, confidence: float = CONFIDENCE) -> float:
    """Factor k such that mean - k sd lies below the `fraction` value with this confidence.

        k = t'(confidence; n - 1 degrees of freedom, shift z sqrt(n)) / sqrt(n)

    with the quantile of the noncentral t distribution and z the normal quantile of 1 - fraction.

    Args:
        n: tests, >= 3.
        fraction: share of the population that may be weaker, 0 to 0.5.

    Raises:
        TooFew: n < 3.

    Leaves out: populations that are not normal (use logarithms for log-normal ones).
    Source: ISO 16269-6, clause on one-sided intervals with sigma unknown, and NIST/SEMATECH
    e-Handbook 7.2.6.3.

    >>> round(tolerance_factor(3), 3), round(tolerance_factor(12), 3)
    (3.152, 2.048)
    """
    _check(n)
    return _tolerance_factor(n, fraction, confidence)


@lru_cache(maxsize=4096)
def _tolerance_factor(n: int, fraction: float, confidence: float) -> float:
    shift = float(scipy.stats.norm.isf(fraction)) * math.sqrt(n)
    return float(scipy.stats.nct.ppf(confidence, n - 1, shift)) / math.sqrt(n)


def prediction_factor(n: int, fraction: float = 0.05) -> float:
    """Factor of EN 1990 Annex D with the coefficient of variation unknown beforehand.

        k = t(1 - fraction; n - 1) sqrt(1 + 1/n)

    The next test falls below mean - k sd with probability `fraction`.

    Raises:
        TooFew: n < 3.

    Source: EN 1990:2002 Table D1, row "V_X unknown"; the table is remembered, the formula gives
    its entries within their rounding.

    >>> round(prediction_factor(12), 3)
    1.869
    """
    _check(n)
    return float(scipy.stats.t.isf(fraction, n - 1)) * math.sqrt(1.0 + 1.0 / n)


def known_scatter_factor(n: int, fraction: float = 0.05) -> float:
    """Factor of EN 1990 Annex D with the coefficient of variation known beforehand.

        k = z(1 - fraction) sqrt(1 + 1/n)

    Raises:
        TooFew: n < 3 (the standard's table starts at 1; one pull is no series).

    Source: EN 1990:2002 Table D1, row "V_X known"; remembered, as above.

    >>> round(known_scatter_factor(12), 3)
    1.712
    """
    _check(n)
    return float(scipy.stats.norm.isf(fraction)) * math.sqrt(1.0 + 1.0 / n)


def factor(method: str, n: int, fraction: float = 0.05) -> float:
    """Factor on the standard deviation by the name of the method.

    Source: `tolerance_factor`, `prediction_factor`, `known_scatter_factor`.
    """
    if method == TOLERANCE:
        return tolerance_factor(n, fraction)
    return (
        prediction_factor(n, fraction) if method == UNKNOWN else known_scatter_factor(n, fraction)
    )


def achieved_confidence(method: str, n: int, fraction: float = 0.05) -> float:
    """Probability that mean - k sd does lie below the population's `fraction` value.

    Scatter from the tests: P(T' <= k sqrt n), T' noncentral t with n - 1 degrees of freedom and
    shift z sqrt n; scatter known: Phi((k - z) sqrt n).

    Source: the definition of a tolerance limit, as in `tolerance_factor`, read backwards.

    >>> round(achieved_confidence("en-1990-unknown", 12), 2)
    0.64
    """
    k, z = factor(method, n, fraction), float(scipy.stats.norm.isf(fraction))
    if method == KNOWN:
        return float(scipy.stats.norm.cdf((k - z) * math.sqrt(n)))
    return float(scipy.stats.nct.cdf(k * math.sqrt(n), n - 1, z * math.sqrt(n)))


def log_sd_of(variation: float) -> float:
    """Standard deviation of the logarithm of a log-normal value.

        s = sqrt(log(1 + V^2))

    Args:
        variation: V, coefficient of variation, > 0.

    Source: moments of the log-normal distribution; EN 1990:2002 D7.2 uses s = V for small V.

    >>> round(log_sd_of(0.1), 5)
    0.09975
    """
    return math.sqrt(math.log1p(variation**2))


def _check(n: int) -> None:
    if n < FEWEST_TESTS:
        raise TooFew(n)
