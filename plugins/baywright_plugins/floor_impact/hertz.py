"""A ball pressed against a plane or a round rod: Hertz contact, and an elastic blow with it.

Newtons, millimetres, N/mm2, seconds, kilograms; 1 N mm = 0.001 J.
"""

import math
from dataclasses import dataclass

from scipy.optimize import brentq
from scipy.special import ellipe, ellipkm1, gamma

#: Duration of an elastic blow over (largest dent / speed): (4/5) sqrt(pi) G(2/5)/G(9/10).
DURATION = 0.8 * math.sqrt(math.pi) * float(gamma(0.4) / gamma(0.9))
#: p0 / yield strength at which a ball on a plane first yields inside (Poisson's ratio 0.3).
FIRST_YIELD = 1.60
#: Mean pressure / yield strength of a dent that has yielded all through.
FULL_YIELD = 3.0


@dataclass(frozen=True)
class Contact:
    """A ball's point of contact: force = stiffness_n_mm15 x dent^1.5, half axes of the patch
    a >= b, both growing with force^(1/3)."""

    stiffness_n_mm15: float
    a_mm_per_n13: float
    b_mm_per_n13: float

    def dent_mm(self, force_n: float) -> float:
        """How far the two bodies come together."""
        return float((force_n / self.stiffness_n_mm15) ** (2 / 3))

    def pressure_n_mm2(self, force_n: float) -> float:
        """Largest pressure p0 = 3 P/(2 pi a b), in the middle of the patch."""
        area = math.pi * self.a_mm_per_n13 * self.b_mm_per_n13 * force_n ** (2 / 3)
        return float(1.5 * force_n / area)


def shared_modulus(first: tuple[float, float], second: tuple[float, float]) -> float:
    """E* of two bodies, each (modulus, Poisson's ratio): 1/E* = sum (1 - nu^2)/E.

    Source: Johnson, Contact Mechanics (1985), equation 4.14.
    """
    return 1 / sum((1 - nu**2) / modulus for modulus, nu in (first, second))


def ball_on_plane(radius_mm: float, modulus_n_mm2: float) -> Contact:
    """Circular patch: a^3 = 3 P R/(4 E*), P = (4/3) E* sqrt(R) d^1.5.

    Args: radius_mm: R; between two balls 1/R = 1/R1 + 1/R2. modulus_n_mm2: E*.

    Leaves out: dents that are no longer small beside the ball, friction, grain, layers.
    Source: Johnson, Contact Mechanics (1985), equations 4.22 to 4.24.
    """
    a = (0.75 * radius_mm / modulus_n_mm2) ** (1 / 3)
    return Contact(4 / 3 * modulus_n_mm2 * math.sqrt(radius_mm), a, a)


def ball_on_rod(ball_mm: float, rod_mm: float, modulus_n_mm2: float) -> Contact:
    """Elliptical patch of a ball on a round rod, long along the rod.

        B/A = [(a/b)^2 E(e) - K(e)]/[K(e) - E(e)],  e^2 = 1 - (b/a)^2
        a^3 = 3 P [K(e) - E(e)]/(2 pi E* A e^2),  d = 3 P K(e)/(2 pi E* a)

    with A = 1/(2 R_ball), B = 1/(2 R_ball) + 1/(2 R_rod).

    Args: ball_mm, rod_mm: radii; modulus_n_mm2: E*.

    Leaves out: as `ball_on_plane`; a thin rod bends as well, which the panel's stiffness holds.
    Source: Johnson, Contact Mechanics (1985), section 4.2, equations 4.25 to 4.27.
    """
    flat = 0.5 / ball_mm
    curved = flat + 0.5 / rod_mm
    if curved / flat - 1 < 1e-6:
        return ball_on_plane(ball_mm, modulus_n_mm2)
    ratio = float(brentq(lambda k: _curvatures(k) - curved / flat, 1 + 1e-9, 1e9, xtol=1e-13))
    m = 1 - ratio**-2
    k, e = _integrals(ratio)
    cube = 1.5 / math.pi * (k - e) / (modulus_n_mm2 * flat * m)
    a = cube ** (1 / 3)
    dent = 1.5 / math.pi * k / (modulus_n_mm2 * a)
    return Contact(dent**-1.5, a, a / ratio)


def _integrals(ratio: float) -> tuple[float, float]:
    """K and E for a patch of half axes ratio : 1."""
    return float(ellipkm1(ratio**-2)), float(ellipe(1 - ratio**-2))


def _curvatures(ratio: float) -> float:
    """B/A of the bodies whose patch is ratio : 1."""
    k, e = _integrals(ratio)
    return (ratio**2 * e - k) / (k - e)


@dataclass(frozen=True)
class ElasticBlow:
    """An elastic blow: largest force, largest dent, and for how long the two touch."""

    force_n: float
    dent_mm: float
    duration_s: float


def elastic_blow(contact: Contact, mass_kg: float, speed_m_s: float) -> ElasticBlow:
    """A ball against something that does not move: all its energy goes into the dent.

        m v^2/2 = (2/5) K d^2.5,  T = 2.943 d/v = 2.87 (m^2/(R E*^2 v))^(1/5) on a plane

    Args: speed_m_s: above 0.

    Leaves out: the ball's weight while it touches; yielding, waves, all that takes energy: a real
    blow is weaker, so this is an upper bound.
    Source: Johnson, Contact Mechanics (1985), equations 11.23 and 11.24.
    """
    energy_n_mm = 500 * mass_kg * speed_m_s**2
    dent = (2.5 * energy_n_mm / contact.stiffness_n_mm15) ** 0.4
    force = contact.stiffness_n_mm15 * dent**1.5
    return ElasticBlow(force, dent, DURATION * dent / (1000 * speed_m_s))


def crushing_force(
    contact: Contact, radius_mm: float, yield_n_mm2: float, energy_n_mm: float
) -> float:
    """Force of a blow whose energy crushes a dent at the steady pressure of 3 Y.

        E = p V,  V = pi a^4/(4 R),  F = p pi a^2

    Never above the elastic force, to which it is held. On a rod the ball's radius counts, which
    makes the dent too wide and the force too high.

    Leaves out: hardening, and that wood crushes more softly than metal.
    Source: Johnson, Contact Mechanics (1985), section 11.5.
    """
    pressure = FULL_YIELD * yield_n_mm2
    squared = math.sqrt(4 * radius_mm * energy_n_mm / (math.pi * pressure))
    dent = (2.5 * energy_n_mm / contact.stiffness_n_mm15) ** 0.4
    return float(min(pressure * math.pi * squared, contact.stiffness_n_mm15 * dent**1.5))
