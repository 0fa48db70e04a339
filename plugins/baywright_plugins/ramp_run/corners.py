"""Uncertain coefficients: the slowest and the fastest ball, and what lies between.

Speed everywhere falls with rolling resistance, air drag and the friction of guards, and rises
with the speed at the start and with the tilt; each map from piece to piece is monotone. So two
corners bound all balls that roll. A ball that slides is an exception: less friction makes it
faster where it slides and slower once it rolls again. Then all four corners of resistance and
friction are taken.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from . import passes
from .ball import Ball, Losses, drag_per_m
from .state import Passed, World
from .walk import Place, run

Pair = tuple[float, float]


@dataclass(frozen=True)
class Unknowns:
    """Low and high of what is the same on every piece; `tilt_rad` either way."""

    start_m_s: Pair
    drag: Pair
    restitution: Pair
    tilt_rad: float
    air_kg_m3: float
    gravity_m_s2: float


@dataclass(frozen=True)
class Corner:
    """One choice of all coefficients and what a ball does with it. `slow`: resistance, drag and
    tilt hold it back; `high_friction` tells the rest."""

    slow: bool
    high_friction: bool
    passed: list[Passed]

    @property
    def arrives(self) -> bool:
        """Whether the ball gets to the end."""
        return not self.passed[-1].ends

    @property
    def time_s(self) -> float:
        """When it got as far as it got."""
        return self.passed[-1].end.time_s


def world(ball: Ball, unknowns: Unknowns, *, slow: bool) -> World:
    """The world of one corner; resistance and friction are set piece by piece."""
    drag = unknowns.drag[slow]
    losses = Losses(
        0.0,
        0.0,
        drag_per_m(ball, drag, unknowns.air_kg_m3),
        unknowns.restitution[slow],  # more bounces take longer
        -unknowns.tilt_rad if slow else unknowns.tilt_rad,
    )
    return World(ball, losses, unknowns.gravity_m_s2, flies=not slow)


def corner(
    ball: Ball, unknowns: Unknowns, ramp: Sequence[Place], *, slow: bool, high_friction: bool
) -> Corner:
    """One ball with one choice of coefficients."""
    pick = [
        (place.piece.surface.resistance[slow], place.piece.surface.friction[high_friction])
        for place in ramp
    ]
    start = unknowns.start_m_s[not slow]
    passed = run(world(ball, unknowns, slow=slow), ramp, start, pick)
    return Corner(slow, high_friction, passed)


def may_slip(ball: Ball, unknowns: Unknowns, ramp: Sequence[Place]) -> bool:
    """Whether any piece is too steep for the least friction, at either tilt."""
    for place in ramp:
        losses = Losses(0.0, place.piece.surface.friction[0], 0.0, 0.0)
        tried = World(ball, losses, unknowns.gravity_m_s2)
        steepest = abs(place.laid.before_rad) + unknowns.tilt_rad
        if passes.slides(tried, place.piece, min(steepest, math.radians(89.9))):
            return True
    return False


def all_corners(ball: Ball, unknowns: Unknowns, ramp: Sequence[Place]) -> list[Corner]:
    """The slow corner first, the fast one second; two more where a ball may slide.

    Source: monotone maps; tests draw coefficients at random and find none outside.
    """
    choices = [(True, True), (False, False)]
    if may_slip(ball, unknowns, ramp):
        choices += [(True, False), (False, True)]
    return [corner(ball, unknowns, ramp, slow=slow, high_friction=high) for slow, high in choices]


def words(corners: Sequence[Corner], chosen: Corner) -> str:
    """Which choice a corner stands for, for reading."""
    most, least = ("most", "least") if chosen.slow else ("least", "most")
    said = f"{most} rolling resistance and air drag, {least} speed at the start and slope"
    if len(corners) > 2:
        said += f", {'most' if chosen.high_friction else 'least'} friction"
    return said
