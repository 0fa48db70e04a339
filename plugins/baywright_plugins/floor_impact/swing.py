"""The time course of a hit: a ball on a nonlinear contact, a panel that swings in its shapes.

With one shape this is the classical pair of masses: dent and panel spring in series.
Newtons, millimetres, kilograms, seconds; shapes in 1/sqrt(kg).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from .contact_law import ContactLaw, most_force

Floats = NDArray[np.float64]

#: More steps are not taken: a longer swing is followed only so far.
MOST_STEPS = 1_500
#: Below this restitution the damping law stiffens without bound.
LEAST_RESTITUTION = 0.2
_STEPS_PER_RADIAN = 3.0
_FEWEST_STEPS = 400


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

    The force in the middle of a step, found implicitly, is held through it and all motion under
    it taken exactly; such steps are of second order and stay stable where a place is light. A
    cushion has no damping.

    Args: laws: the contact at each place; restitution: e of the contact alone, 1 for a perfect
    spring; damping: z, a share of the critical, the same in every swing and small.

    Returns:
        The course up to `until_s`, or as far as MOST_STEPS lead.

    Leaves out: sideways motion, gaps in the seats, seats that slip.
    Source: Hertz contact with damping by Flores et al., Multibody System Dynamics 25 (2011), from
    memory; tested against scipy's solve_ivp.
    """
    places, gravity = shapes.at_hit.shape[1], 1000 * gravity_m_s2
    step = min(until_s / _FEWEST_STEPS, *(_step(law, mass_kg, speed_m_s) for law in laws))
    steps = min(math.ceil(until_s / step), MOST_STEPS)
    every = max(1, steps // samples)
    omega, hit = shapes.omega_rad_s[:, None], np.ascontiguousarray(shapes.at_hit)
    pull = 1000 * hit / omega**2
    turn, half = _turn(omega, step, damping), _turn(omega, step / 2, damping)
    to_w, to_speed = (hit * half[0], hit * half[1]), (hit * omega * half[2], hit * omega * half[3])
    e = max(restitution, LEAST_RESTITUTION)
    touch = _Touch.of(
        laws,
        dulling=1.6 * (1 - e) / e / (1000 * speed_m_s),
        gives=125 * step**2 / mass_kg + (hit * pull * (1 - half[0])).sum(axis=0),
        slows=500 * step / mass_kg - (hit * pull * omega * half[2]).sum(axis=0),
    )
    panel_gives = (hit * pull * (1 - half[0])).sum(axis=0)
    q, p = np.zeros(hit.shape), np.zeros(hit.shape)  # p is q'/w
    x, v = np.zeros(places), np.full(places, 1000 * speed_m_s)
    rows = []
    for count in range(steps):
        w = _weighed(to_w, q, p)
        near = x + v * (step / 2) + gravity * step**2 / 8 - w
        closing = v + gravity * step / 2
        if touch.dulling:
            closing = closing - _weighed(to_speed, q, p)
        force = touch.force_n(near, closing)
        if count % every == 0:
            rows.append(((count + 0.5) * step, force, w + panel_gives * force, q.copy()))
        rest = pull * force
        q -= rest
        q, p = turn[0] * q + turn[1] * p + rest, turn[2] * q + turn[3] * p
        slowed = gravity - 1000 * force / mass_kg
        x = x + step * v + slowed * (step**2 / 2)
        v = v + step * slowed
    return Course(*(np.array([row[k] for row in rows]) for k in range(4)))


def _weighed(weights: tuple[Floats, Floats], q: Floats, p: Floats) -> Floats:
    first, second = (np.einsum("sp,sp->p", a, b) for a, b in zip(weights, (q, p), strict=True))
    return np.asarray(first + second)


@dataclass(frozen=True)
class _Touch:
    """The contact at each place within a step: how far ball and panel part (`gives`, mm/N) and
    slow down (`slows`, mm/s/N) under the force by the middle of the step."""

    dent: Floats
    cushion: Floats
    travel: Floats
    dulling: float
    gives: Floats
    slows: Floats

    @classmethod
    def of(
        cls, laws: Sequence[ContactLaw], *, dulling: float, gives: Floats, slows: Floats
    ) -> "_Touch":
        dent, cushion, travel = np.array(
            [(law.dent_n_mm15, law.cushion_n_mm, law.travel_mm) for law in laws]
        ).T
        return cls(dent, cushion, travel, dulling, gives, slows)

    def force_n(self, near_mm: Floats, closing_mm_s: Floats) -> Floats:
        """Force in the middle of the step from where both would be without it: one Newton step on
        F = F(near - gives F)."""
        root = np.sqrt(np.maximum(near_mm - self.travel, 0.0))
        force, slope = self.dent * root**3, 1.5 * self.dent * root
        if self.dulling:
            dull = np.maximum(1 + self.dulling * closing_mm_s, 0.0)
            share = 1 / (1 + force * (self.dulling * self.slows))
            force, slope = force * dull * share, slope * dull * share**2
        if self.cushioned:
            force = force + self.cushion * np.minimum(np.maximum(near_mm, 0.0), self.travel)
            slope = slope + self.cushion * ((near_mm > 0) & (near_mm <= self.travel))
        return np.asarray(force / (1 + self.gives * slope))

    @cached_property
    def cushioned(self) -> bool:
        return bool(self.travel.any())


def _turn(omega: Floats, step: float, damping: float) -> tuple[Floats, Floats, Floats, Floats]:
    """Free damped swing over a step: what (q, q'/w) gives to q, and to q'/w."""
    root = math.sqrt(1 - damping**2)
    fade = np.exp(-damping * omega * step)
    cos, sin = fade * np.cos(root * omega * step), fade * np.sin(root * omega * step) / root
    return cos + damping * sin, sin, -sin, cos - damping * sin


def _step(law: ContactLaw, mass_kg: float, speed_m_s: float) -> float:
    """A share of a radian of the stiffest contact against a place a quarter as heavy as the ball;
    what is lighter follows the ball, as steps are implicit."""
    force = most_force(law, 0.0, 500 * mass_kg * speed_m_s**2)
    slope = law.stiffness_n_mm(law.approach_mm(force))
    return 1 / (_STEPS_PER_RADIAN * math.sqrt(5000 * slope / mass_kg))
