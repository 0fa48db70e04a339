"""The time course of a hit: a ball on a nonlinear contact, a panel that swings in its shapes.

With one shape this is the classical pair of masses: dent and panel spring in series.
Newtons, millimetres, kilograms, seconds; shapes in 1/sqrt(kg).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .contact_law import ContactLaw, most_force, touch_force

Floats = NDArray[np.float64]

#: More steps are not taken: a longer swing is followed only so far.
MOST_STEPS = 2_500
#: Below this restitution the damping law stiffens without bound.
LEAST_RESTITUTION = 0.2
_STEPS_PER_RADIAN = 4.0


@dataclass(frozen=True)
class Shapes:
    """Swings of a panel: angular frequencies (s,), and how much each moves at the places that are
    hit, (s, p), mass-normalised."""

    omega_rad_s: Floats
    at_hit: Floats


@dataclass(frozen=True)
class Course:
    """Samples over time (t,): force between ball and panel (t, p), deflection of the place hit
    (t, p), and the amounts of all shapes (t, s, p) in mm sqrt(kg)."""

    time_s: Floats
    touch_n: Floats
    deflection_mm: Floats
    amounts: Floats


def two_masses(stiffness_n_mm: float, moving_kg: float) -> Shapes:
    """A panel as one mass on one spring."""
    omega = math.sqrt(1000 * stiffness_n_mm / moving_kg)
    return Shapes(np.array([omega]), np.array([[1 / math.sqrt(moving_kg)]]))


def follow(
    shapes: Shapes,
    laws: Sequence[ContactLaw],
    *,
    mass_kg: float,
    speed_m_s: float,
    gravity_m_s2: float,
    restitution: float,
    until_s: float,
    samples: int,
    damping: float = 0.0,
) -> Course:
    """Ball and panel from the first touch on, all places at once, each hit by its own ball.

        m x'' = m g - F,  q'' + 2 z w q' + w^2 q = phi F
        F = F(d) (1 + 8 (1 - e)/(5 e v) d'),  d = x - w

    Free motion is taken exactly, the contact force as a kick in the middle of each step; such a
    split keeps the energy and is of second order.

    Args: laws: the contact at each place; restitution: e of the contact alone, 1 for a perfect
    spring; damping: z, a share of the critical, the same in every swing and small.

    Returns:
        The course up to `until_s`, or as far as MOST_STEPS lead.

    Leaves out: sideways motion, gaps in the seats, seats that slip.
    Source: Hertz contact with damping by Flores et al., Multibody System Dynamics 25 (2011), from
    memory; tested against scipy's solve_ivp.
    """
    e = max(restitution, LEAST_RESTITUTION)
    dulling = 1.6 * (1 - e) / e / (1000 * speed_m_s)
    blow = (mass_kg, speed_m_s, gravity_m_s2)
    step = min(
        time_step(float((shapes.at_hit[:, k] ** 2).sum()), law, blow, dulling)
        for k, law in enumerate(laws)
    )
    dent = np.array([law.dent_n_mm15 for law in laws])
    cushion, travel = np.array([(law.cushion_n_mm, law.travel_mm) for law in laws]).T
    steps = min(max(math.ceil(until_s / step), 1), MOST_STEPS)
    every = max(1, steps // samples)
    turn = np.exp((-1j - damping) * shapes.omega_rad_s * step)[:, None]
    hit, omega = np.ascontiguousarray(shapes.at_hit), shapes.omega_rad_s[:, None]
    speeds = hit * omega
    gravity = 1000 * gravity_m_s2
    places = hit.shape[1]
    # q and q'/w as real and imaginary part: free motion is one turn.
    state = np.zeros(hit.shape, dtype=np.complex128)
    v = np.full(places, 1000 * speed_m_s)
    x = 0.5 * step * v + gravity * step**2 / 8
    v = v + 0.5 * step * gravity
    kick = 1000 * step * hit / omega * 1j
    rows = []
    for count in range(steps):
        w = np.einsum("sp,sp->p", hit, state.real)
        force = touch_force(x - w, dent, cushion, travel)
        if dulling:
            dw = np.einsum("sp,sp->p", speeds, state.imag)
            force = force * np.maximum(1 + dulling * (v - dw), 0.0)
        if count % every == 0:
            rows.append(((count + 0.5) * step, force, w, state.real.copy()))
        state += kick * force
        v = v - 1000 * step * force / mass_kg
        state *= turn
        x = x + step * v + gravity * step**2 / 2
        v = v + step * gravity
    return Course(*(np.array([row[k] for row in rows]) for k in range(4)))


def time_step(
    lightness: float, law: ContactLaw, blow: tuple[float, float, float], dulling: float
) -> float:
    """A quarter of a radian of the stiffest contact against a place, in s; less where the
    contact's damping is quicker.

    Args: lightness: 1/mass of the place by itself, in 1/kg; blow: mass, speed, gravity; dulling:
    share of force added per mm/s.
    """
    mass_kg, speed_m_s, gravity_m_s2 = blow
    force = most_force(law, mass_kg * gravity_m_s2, 500 * mass_kg * speed_m_s**2)
    slope = law.stiffness_n_mm(law.approach_mm(force))
    loose = 1000 * (1 / mass_kg + lightness)
    swing = 1 / (_STEPS_PER_RADIAN * math.sqrt(slope * loose))
    fade = 0.5 / (dulling * force * loose) if dulling else swing
    return min(swing, fade)
