"""What use takes away: wear over assemblies, loss while standing under load."""

import math
from dataclasses import dataclass

import numpy as np

from .readings import Array


class NotEnoughPoints(ValueError):
    """Fewer than two different assemblies or days."""


@dataclass(frozen=True)
class Wear:
    """Strength a m^-b after m assemblies.

    `exponent` is b (above 0: strength is lost), `first` is a, `exponent_error` the standard error
    of b (None with two points), `r_squared` the share of the scatter of logs the line explains.
    """

    exponent: float
    first: float
    exponent_error: float | None
    r_squared: float


@dataclass(frozen=True)
class Standing:
    """Strength a (1 - c log10 t) after t days under load.

    `loss_per_decade` is c (above 0: strength is lost), `first` is a, the strength after one day;
    `loss_error` and `r_squared` as in `Wear`.
    """

    loss_per_decade: float
    first: float
    loss_error: float | None
    r_squared: float


def fit_wear(assemblies: Array, strength: Array) -> Wear:
    """Fit a m^-b by least squares on log(strength) against log(m).

    Args:
        assemblies: shape (n,), m >= 1, at least two different.
        strength: shape (n,), > 0, in any one unit.

    Raises:
        NotEnoughPoints: all m are equal.

    Leaves out: a floor below which wear stops, and breakage.
    Source: least squares on logarithms; the power law is common practice, no source.

    >>> import numpy as np
    >>> round(fit_wear(np.array([1.0, 100.0]), np.array([10.0, 1.0])).exponent, 12)
    0.5
    """
    line = _line(np.log(assemblies), np.log(strength))
    return Wear(-line.slope, math.exp(line.level), line.slope_error, line.r_squared)


def fit_standing(days: Array, strength: Array) -> Standing:
    """Fit a (1 - c log10 t) by least squares of strength on log10(t).

    Args:
        days: shape (n,), t > 0, at least two different.
        strength: shape (n,), > 0, in any one unit, or as shares of the first day's.

    Raises:
        NotEnoughPoints: all t are equal, or the line gives no strength on day one.

    Leaves out: warmth and damp; recovery when the load is taken off.
    Source: least squares; loss linear in the logarithm of time is common practice for the
    relaxation of plastics and wood, no source.

    >>> import numpy as np
    >>> round(fit_standing(np.array([1.0, 10.0]), np.array([20.0, 19.0])).loss_per_decade, 12)
    0.05
    """
    line = _line(np.log10(days), strength)
    if line.level <= 0:
        raise NotEnoughPoints
    error = None if line.slope_error is None else line.slope_error / line.level
    return Standing(-line.slope / line.level, line.level, error, line.r_squared)


def wear_factor(exponent: float, assemblies: float, *, tested_at: float = 1.0) -> float:
    """Share of strength left at assembly m of what was tested at assembly m0.

        (m / m0)^-b

    Source: the power law of `fit_wear`.

    >>> round(wear_factor(0.055, 20.0), 3)
    0.848
    """
    return float((assemblies / tested_at) ** -exponent)


def standing_factor(loss_per_decade: float, days: float) -> float:
    """Share of strength left after t days under load, the first day being 1.

        1 - c log10(t)

    Source: the line of `fit_standing`. Not above zero: the line does not hold that far.

    >>> round(standing_factor(0.0304, 30.0), 3)
    0.955
    """
    return 1.0 - loss_per_decade * math.log10(days)


@dataclass(frozen=True)
class _Line:
    slope: float
    level: float
    slope_error: float | None
    r_squared: float


def _line(x: Array, y: Array) -> _Line:
    spread = x - x.mean()
    squares = float((spread**2).sum())
    if squares <= 1e-18:
        raise NotEnoughPoints
    slope = float((spread * y).sum()) / squares
    level = float(y.mean()) - slope * float(x.mean())
    left = float(((y - level - slope * x) ** 2).sum())
    total = float(((y - y.mean()) ** 2).sum())
    error = math.sqrt(left / (len(x) - 2) / squares) if len(x) > 2 else None
    return _Line(slope, level, error, 1.0 - left / total if total > 1e-300 else 1.0)
