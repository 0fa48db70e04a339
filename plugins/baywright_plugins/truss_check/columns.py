"""Single columns: end conditions, end springs, and crookedness."""

import math

from scipy.optimize import brentq

#: End condition -> effective length over length. Source: Euler 1744; 0.7 is 0.699 rounded up.
LENGTH_FACTORS = {"pinned": 1.0, "fixed": 0.5, "fixed-pinned": 0.7, "cantilever": 2.0}


def sprung_length_factor(
    bending_n_mm2: float, length_mm: float, spring_n_mm_per_rad: float
) -> float:
    """Effective length over length of a column whose ends turn against equal springs.

    With p = pi / (2 K) the buckling equation of the symmetric mode is

        tan p = - (2 E I / (c L)) p,   pi/2 <= p <= pi

    Args:
        bending_n_mm2: E I, > 0.
        length_mm: L, > 0.
        spring_n_mm_per_rad: c at each end, >= 0; numpy.inf for ends that cannot turn.

    Returns: between 1 (c = 0, pinned) and 0.5 (c infinite, fixed).

    Leaves out: ends that move sideways, hubs that turn as a whole because every rod in them does.
    Source: derived from the differential equation of the beam column; both limits are tested.

    >>> sprung_length_factor(1.0, 1.0, 0.0), sprung_length_factor(1.0, 1.0, math.inf)
    (1.0, 0.5)
    """
    if spring_n_mm_per_rad <= 0.0:
        return 1.0
    ratio = 2.0 * bending_n_mm2 / (spring_n_mm_per_rad * length_mm)
    if ratio == 0.0:
        return 0.5

    def residual(p: float) -> float:
        return (math.sin(p) + ratio * p * math.cos(p)) / (1.0 + ratio)

    if residual(math.pi) >= 0.0:
        return 0.5
    angle = float(brentq(residual, math.pi / 2, math.pi, xtol=1e-14, rtol=1e-14))
    return math.pi / (2.0 * angle)
