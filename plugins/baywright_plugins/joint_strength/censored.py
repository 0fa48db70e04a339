"""Normal distribution fitted to strengths and proof values by maximum likelihood."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import erfcx, log_ndtr

from .readings import Array

HALF_LOG_2_PI = 0.5 * math.log(2.0 * math.pi)


class NoScatter(ValueError):
    """All strengths are equal and nothing else sets the scatter."""


class DoesNotSettle(ArithmeticError):
    """The search for the maximum did not come to rest."""


@dataclass(frozen=True)
class NormalFit:
    """Mean and standard deviation, both maximum likelihood.

    Attributes:
        mean, sd: in the unit of the data; `sd` divides by n, not n - 1, where nothing is censored.
        covariance: shape (2, 2), of (mean, sd), from the observed information.
        log_likelihood: at the maximum.
        strengths_count: how many data are strengths.
    """

    mean: float
    sd: float
    covariance: Array
    log_likelihood: float
    strengths_count: int

    @property
    def sample_sd(self) -> float:
        """`sd` with r - 1 in place of r: the usual standard deviation where nothing is censored."""
        r = self.strengths_count
        return self.sd * math.sqrt(r / (r - 1))


def fit_normal(strengths: Array, proofs: Array) -> NormalFit:
    """Maximum likelihood for a normal sample of which some values are only known to be larger.

        log L = sum over strengths of log phi((x - mu)/s)/s + sum over proofs of log Phi((mu - c)/s)

    Newton's method in mu/s and 1/s, in which log L is concave, so the one maximum is found.

    Args:
        strengths: shape (r,), r >= 2, not all equal unless a proof value lies above them.
        proofs: shape (m,), right-censored: the strength was larger.

    Raises:
        NoScatter: the likelihood has no maximum with a standard deviation above zero.
        DoesNotSettle: the data are so far apart that the maximum is not found.

    Leaves out: joints that were damaged by a proof load and pulled again (test fresh parts).
    Source: likelihood, Meeker & Escobar, Statistical Methods for Reliability Data (1998), chapter
    8; concavity, R. J. Olsen, Econometrica 46 (1978) 1211 (from memory).

    >>> import numpy as np
    >>> round(fit_normal(np.array([1.0, 2.0, 3.0]), np.array([])).sample_sd, 6)
    1.0
    """
    centre, scale = float(strengths.mean()), float(strengths.std())
    if scale <= 1e-9 * abs(centre):
        above = proofs[proofs > centre * (1 + 1e-9)]
        if len(above) == 0:
            raise NoScatter
        scale = float(above.max() - centre)
    x, c = (strengths - centre) / scale, (proofs - centre) / scale
    shift, rate = _newton(x, c)
    mean, sd = shift / rate, 1.0 / rate
    return NormalFit(
        mean=centre + scale * mean,
        sd=scale * sd,
        covariance=scale**2 * _covariance(x, c, shift, rate),
        log_likelihood=_log_likelihood(x, c, shift, rate) - len(x) * math.log(scale),
        strengths_count=len(x),
    )


def _newton(x: Array, c: Array) -> tuple[float, float]:
    shift, rate = 0.0, 1.0
    level = _log_likelihood(x, c, shift, rate)
    for _ in range(200):
        gradient, curvature = _derivatives(x, c, shift, rate)
        step = -np.linalg.solve(curvature, gradient)
        share = 1.0 if step[1] >= 0 else min(1.0, -0.9 * rate / float(step[1]))
        for _ in range(60):
            tried = (shift + share * float(step[0]), rate + share * float(step[1]))
            there = _log_likelihood(x, c, *tried)
            if there >= level - 1e-12 * abs(level):
                break
            share /= 2
        shift, rate, level = *tried, there
        if share == 1.0 and float(np.abs(step).max()) < 1e-10 * (1 + abs(shift) + rate):
            return shift, rate
    raise DoesNotSettle


def _log_likelihood(x: Array, c: Array, shift: float, rate: float) -> float:
    strengths = len(x) * (math.log(rate) - HALF_LOG_2_PI) - 0.5 * float(
        ((rate * x - shift) ** 2).sum()
    )
    return strengths + float(log_ndtr(shift - rate * c).sum())


def _derivatives(x: Array, c: Array, shift: float, rate: float) -> tuple[Any, Any]:
    """Gradient, shape (2,), and second derivatives, shape (2, 2), in (shift, rate)."""
    off = rate * x - shift
    w = shift - rate * c
    # phi/Phi; far out the difference w + hazard is lost in rounding, where the bend tends to -1
    hazard = math.sqrt(2 / math.pi) / erfcx(-w / math.sqrt(2))
    bend = np.where(w > -1e3, -hazard * (w + hazard), -1.0)
    gradient = np.array(
        [off.sum() + hazard.sum(), len(x) / rate - (x * off).sum() - (c * hazard).sum()]
    )
    cross = x.sum() - (c * bend).sum()
    curvature = np.array(
        [
            [-len(x) + bend.sum(), cross],
            [cross, -len(x) / rate**2 - (x**2).sum() + (c**2 * bend).sum()],
        ]
    )
    return gradient, curvature


def _covariance(x: Array, c: Array, shift: float, rate: float) -> Array:
    _, curvature = _derivatives(x, c, shift, rate)
    to_mean_and_sd = np.array([[1 / rate, -shift / rate**2], [0.0, -1 / rate**2]])
    return np.asarray(to_mean_and_sd @ np.linalg.inv(-curvature) @ to_mean_and_sd.T)
