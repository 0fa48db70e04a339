"""How many drops show a reliability: binomial, with no failure or a few allowed."""

import math

import scipy


def drops_needed(reliability: float, confidence: float, failures: int = 0) -> int:
    """Least n with P(at most `failures` in n | reliability) <= 1 - confidence.

        n = ln(1 - C)/ln(R)   for no failure, rounded up

    Args: reliability and confidence between 0 and 1, excluded.

    Leaves out: drops that differ in kind, wear from drop to drop.
    Source: exact binomial (success run); sample sizes of CMH-17-1G, Tables 8.5.12 and 8.5.13, are
    this number, to which a test holds it.

    >>> drops_needed(0.9, 0.9), drops_needed(0.95, 0.95), drops_needed(0.99, 0.95)
    (22, 59, 299)
    """
    least = math.log(1 - confidence) / math.log(reliability)
    low, high = max(failures, math.floor(least) - 1), max(failures + 1, math.ceil(least) + 1)
    while not _shows(high, reliability, confidence, failures):
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if _shows(middle, reliability, confidence, failures):
            high = middle
        else:
            low = middle
    return high


def _shows(drops: int, reliability: float, confidence: float, failures: int) -> bool:
    chance = float(scipy.stats.binom.cdf(failures, drops, 1 - reliability))
    return chance <= (1 - confidence) * (1 + 1e-12)


def shown_reliability(drops: int, failures: int, confidence: float) -> float:
    """Lower bound of the reliability after so many drops with so many failures; 0 if all failed.

    Source: Clopper, Pearson, Biometrika 26 (1934), one-sided; NIST/SEMATECH e-Handbook of
    Statistical Methods, 7.2.4.2.

    >>> round(shown_reliability(22, 0, 0.9), 4)
    0.9006
    """
    if failures >= drops:
        return 0.0
    return 1 - float(scipy.stats.beta.ppf(confidence, failures + 1, drops - failures))
