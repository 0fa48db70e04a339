"""Buckling of imperfect rods: the Perry-Robertson form of EN 1993-1-1, and Johnson's parabola."""

import math
from dataclasses import dataclass

#: Imperfection factors of EN 1993-1-1, Table 6.1.
IMPERFECTION = {"a0": 0.13, "a": 0.21, "b": 0.34, "c": 0.49, "d": 0.76}


def reduction(slenderness: float, curve: str) -> float:
    """Share of the squash load that an imperfect column reaches.

        chi = 1 / (Phi + sqrt(Phi^2 - s^2)) <= 1,   Phi = (1 + alpha (s - 0.2) + s^2) / 2

    Args:
        slenderness: s = sqrt(squash load / Euler load), >= 0.
        curve: one of IMPERFECTION; the curves are for steel and lend their shape here.

    Raises:
        KeyError: no such curve.

    Leaves out: off-centre load, creep, and that wood is not steel.
    Source: EN 1993-1-1:2005, 6.3.1.2 and Table 6.1.

    >>> round(reduction(1.0, "b"), 3)
    0.597
    """
    alpha = IMPERFECTION[curve]
    if slenderness <= 0.2:
        return 1.0
    phi = 0.5 * (1.0 + alpha * (slenderness - 0.2) + slenderness**2)
    return min(1.0, 1.0 / (phi + math.sqrt(phi**2 - slenderness**2)))


def imperfect_load_n(squash_n: float, euler_n: float, curve: str) -> float:
    """Compression that an imperfect rod takes: chi times the squash load.

    Args:
        squash_n: strength in compression times area, > 0.
        euler_n: elastic buckling load, > 0.
        curve: as in `reduction`.

    Source: EN 1993-1-1:2005, 6.3.1.1.
    """
    return reduction(math.sqrt(squash_n / euler_n), curve) * squash_n


@dataclass(frozen=True)
class Johnson:
    """`regime` is johnson below the transition slenderness, euler above it."""

    slenderness: float
    transition: float
    stress_n_per_mm2: float
    regime: str


def johnson_euler(
    modulus_n_per_mm2: float, yield_n_per_mm2: float, diameter_mm: float, length_mm: float
) -> Johnson:
    """Critical stress of a solid round pinned rod by Johnson's parabola and Euler's curve.

        sigma = S (1 - S (L/r)^2 / (4 pi^2 E))   below  sqrt(2 pi^2 E / S),  else pi^2 E / (L/r)^2

    Source: J. B. Johnson's formula, as in any text on machine design.

    >>> johnson_euler(207000.0, 250.0, 10.0, 400.0).regime
    'euler'
    """
    slenderness = length_mm / (diameter_mm / 4.0)
    transition = math.sqrt(2.0 * math.pi**2 * modulus_n_per_mm2 / yield_n_per_mm2)
    if slenderness < transition:
        share = yield_n_per_mm2 * slenderness**2 / (4.0 * math.pi**2 * modulus_n_per_mm2)
        return Johnson(slenderness, transition, yield_n_per_mm2 * (1.0 - share), "johnson")
    stress = math.pi**2 * modulus_n_per_mm2 / slenderness**2
    return Johnson(slenderness, transition, stress, "euler")
