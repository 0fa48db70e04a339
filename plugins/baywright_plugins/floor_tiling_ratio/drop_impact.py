"""A ball falls onto a panel: energy, rebound, and the force it stands for, as a range.

Metres, kilograms, newtons, newtons per metre, joules, seconds.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Range:
    """A value known only between two bounds."""

    low: float
    high: float


@dataclass(frozen=True)
class Impact:
    """What one fall does to a panel: energy the panel takes (J), deflection (m), force (N) and
    how many times the ball's weight that is."""

    panel_energy_j: float
    deflection_m: float
    force_n: float
    factor: float


def fall_energy(mass_kg: float, height_m: float, gravity_m_s2: float) -> float:
    """E = m g h, in J. Source: definition."""
    return mass_kg * gravity_m_s2 * height_m


def free_fall_speed(height_m: float, gravity_m_s2: float) -> float:
    """v = sqrt(2 g h), in m/s. Leaves out: air. Source: energy."""
    return math.sqrt(2 * gravity_m_s2 * height_m)


def rebound(height_m: float, restitution: float, bounces: int = 1) -> float:
    """Height after so many bounces: h e^(2n), in m. Source: definition of restitution."""
    return height_m * restitution ** (2 * bounces)


def bounce_time(height_m: float, restitution: float, gravity_m_s2: float) -> float:
    """Seconds from the drop until bouncing ends: sqrt(2h/g) (1 + e)/(1 - e).

    Raises:
        ValueError: restitution of 1 or above never ends.

    Leaves out: that a ball starts to roll before the last small bounces.
    Source: sum of the geometric series.
    """
    if restitution >= 1:
        raise ValueError("never comes to rest")
    return math.sqrt(2 * height_m / gravity_m_s2) * (1 + restitution) / (1 - restitution)


def restitution_from_bounce(drop: float, rebound_height: float) -> float:
    """e = sqrt(rebound/drop), heights in one unit. Source: definition of restitution.

    Raises:
        ValueError: the drop is not above 0.
    """
    if drop <= 0:
        raise ValueError("needs a drop above 0")
    return math.sqrt(rebound_height / drop)


def wall_needed(height_m: float, restitution: float, ball_diameter_m: float) -> float:
    """Wall that a ball bouncing straight up stays below: e^2 h + d, in m.

    Leaves out: balls that strike each other or an edge and fly sideways.
    Source: geometry.
    """
    return rebound(height_m, restitution) + ball_diameter_m


def impact_factor(height_over_deflection: float) -> float:
    """Times its weight that a body exerts when it falls by h on a spring that its weight alone
    deflects by delta: 1 + sqrt(1 + 2 h/delta).

    Source: Gere, Goodno, Mechanics of Materials, 7th ed., problem 9.10-1.
    """
    return 1 + math.sqrt(1 + 2 * height_over_deflection)


def impact(
    mass_kg: float,
    height_m: float,
    stiffness_n_m: float,
    moving_panel_kg: float,
    gravity_m_s2: float,
) -> Impact:
    """Peak force of a fall by energy.

        E_panel = E m/(m + M_e);  w = (m g + sqrt((m g)^2 + 2 k E_panel))/k;  F = k w

    The rest of E is lost as ball and panel take one speed. With M_e = 0 this is the weight times
    `impact_factor`.

    Args:
        stiffness_n_m: force per deflection where the ball lands, above 0.
        moving_panel_kg: M_e, the part of the panel that must be set in motion.

    Leaves out: dents in ball and panel, damping, the second bounce landing on a moving panel;
    all of which lower the force. The stiffness is the static one.
    Source: energy; M_e about half of the panel's mass from memory, so it is a range.
    """
    weight_n = mass_kg * gravity_m_s2
    energy = fall_energy(mass_kg, height_m, gravity_m_s2) * mass_kg / (mass_kg + moving_panel_kg)
    force = weight_n + math.sqrt(weight_n**2 + 2 * stiffness_n_m * energy)
    return Impact(energy, force / stiffness_n_m, force, force / weight_n)


def impact_range(
    mass_kg: float,
    height_m: float,
    stiffness_n_m: Range,
    panel_kg: float,
    gravity_m_s2: float,
) -> tuple[Impact, Impact]:
    """The gentlest and the hardest impact: soft panel with half its mass moving, stiff panel with
    none of it.

    Source: bounds of `impact`.
    """
    return (
        impact(mass_kg, height_m, stiffness_n_m.low, panel_kg / 2, gravity_m_s2),
        impact(mass_kg, height_m, stiffness_n_m.high, 0.0, gravity_m_s2),
    )


def hits_per_day(balls_per_min: float, share: float, hours: float) -> float:
    """Falls on one spot in a day: rate x share x 60 x hours. Source: counting."""
    return balls_per_min * share * 60 * hours
