"""Curves seen from above, crests, dips and loops: what pushes the ball, and what holds it.

Metres, seconds, radians. `push` functions give du/ds for `stretch.stepped`.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from .contact import UPRIGHT, Contact

Push = Callable[[float, float], float]


@dataclass(frozen=True)
class Roll:
    """What a ball rolling on one support is to a bend: I/(m r^2), rolling resistance over the
    load across the track, sliding friction, drag over mass and speed squared, gravity."""

    inertia: float
    resistance: float
    friction: float
    drag_per_m: float
    gravity_m_s2: float

    @property
    def double(self) -> float:
        """du/ds per acceleration: 2/(1 + j)."""
        return 2 / (1 + self.inertia)


@dataclass(frozen=True)
class Curve:
    """A curve seen from above; `radius_m` to the ball's centre, `bank_rad` leaning inward."""

    radius_m: float
    bank_rad: float
    slope_rad: float
    contact: Contact
    holds_rad: float


def lean(curve: Curve, squared: float, gravity_m_s2: float) -> float:
    """Direction of what presses the ball down, from the track's own normal, outward positive.

        tan(d + bank) = v^2/(r g cos t)

    Source: banked curve, any mechanics text: no push sideways where tan(bank) = v^2/(r g).
    """
    across = squared / curve.radius_m
    weight = gravity_m_s2 * math.cos(curve.slope_rad)
    return math.atan2(across, weight) - curve.bank_rad


def curve_limit(curve: Curve, gravity_m_s2: float) -> float | None:
    """Speed (m/s) above which the ball leaves outward; None where nothing makes it leave.

        v^2 = r g cos t tan(bank + held),  held: as far as contacts or guard hold it

    On two rails it tips over the outer one when the push leans past its contact.

    Leaves out: play of the ball between guards, joints in the rail.
    Source: moments about the outer contact, any mechanics text.
    """
    angle = curve.bank_rad + curve.holds_rad
    if angle >= UPRIGHT - 1e-9:
        return None
    weight = gravity_m_s2 * math.cos(curve.slope_rad)
    return math.sqrt(curve.radius_m * weight * math.tan(max(0.0, angle)))


def curve_least(curve: Curve, gravity_m_s2: float) -> float:
    """Speed (m/s) below which the ball runs off inward, down the bank; 0 where it never does.

    Source: as `curve_limit`, mirrored.
    """
    angle = curve.bank_rad - curve.holds_rad
    if angle <= 0:
        return 0.0
    weight = gravity_m_s2 * math.cos(curve.slope_rad)
    return math.sqrt(curve.radius_m * weight * math.tan(angle))


def ideal_bank(speed_m_s: float, radius_m: float, gravity_m_s2: float) -> float:
    """Bank (radians) at which nothing pushes sideways: atan(v^2/(r g)).

    Source: any mechanics text.

    >>> round(math.degrees(ideal_bank(1.2, 0.25, 9.80665)), 4)
    30.4281
    """
    return math.atan(speed_m_s**2 / (radius_m * gravity_m_s2))


def guard_for(lean_rad: float, ball_radius_m: float, effective_radius_m: float) -> float:
    """Height of a guard that holds a ball pushed `lean_rad` sideways: r - R cos d, in m, above
    the line the ball rolls on. Source: geometry of a ball against an edge."""
    return max(0.0, effective_radius_m - ball_radius_m * math.cos(lean_rad))


def curve_push(curve: Curve, roll: Roll) -> Push:
    """du/ds in a curve: slope, rolling resistance under the greater load, air, and the guard on
    which the ball rubs with what its contacts do not hold.

        load = g cos t cos b + v^2/r sin b;  side = v^2/r cos b - g cos t sin b
        rub = |side| - load tan(contact);  a round channel bears hypot(load, side) instead

    Leaves out: where no guard stands, the numbers go on as if one did.
    Source: forces on a ball in a banked curve, any mechanics text; derived here for two contacts.
    """
    weight = roll.gravity_m_s2 * math.cos(curve.slope_rad)
    pull = roll.gravity_m_s2 * math.sin(curve.slope_rad)
    sine, cosine = math.sin(curve.bank_rad), math.cos(curve.bank_rad)
    held, climbs = math.tan(curve.contact.angle_rad), curve.contact.climbs
    double, c, mu, drag = roll.double, roll.resistance, roll.friction, roll.drag_per_m
    radius = curve.radius_m

    def push(s: float, u: float) -> float:
        out = u / radius
        load = weight * cosine + out * sine
        side = out * cosine - weight * sine
        if climbs:
            return double * (pull - c * math.hypot(load, side) - drag * u)
        rub = max(0.0, abs(side) - load * held)
        return double * (pull - c * load - mu * rub - drag * u)

    return push


@dataclass(frozen=True)
class Arc:
    """A bend seen from the side. `path_radius_m` is that of the ball's centre; `bends` is +1 where
    the slope gets steeper (crest), -1 where it gets flatter (dip, loop)."""

    path_radius_m: float
    start_rad: float
    bends: int

    def slope(self, along_m: float) -> float:
        """Slope after so much of the path."""
        return self.start_rad + self.bends * along_m / self.path_radius_m

    def load(self, along_m: float, squared: float, gravity_m_s2: float) -> float:
        """Pressed against the track by so much, over mass: g cos t -+ v^2/r. Below 0 it leaves.

        Source: any mechanics text; on a crest it leaves where v^2 > r g cos t.
        """
        weight = gravity_m_s2 * math.cos(self.slope(along_m))
        return weight - self.bends * squared / self.path_radius_m


def arc_push(arc: Arc, roll: Roll) -> Push:
    """du/ds on a crest, dip or loop.

    Leaves out: slip where the load is small.
    Source: energy, with rolling resistance on the load.
    """

    def push(s: float, u: float) -> float:
        pull = roll.gravity_m_s2 * math.sin(arc.slope(s))
        load = max(0.0, arc.load(s, u, roll.gravity_m_s2))
        return roll.double * (pull - roll.resistance * load - roll.drag_per_m * u)

    return push


def loop_height(path_radius_m: float, inertia: float) -> float:
    """Least start above the bottom of a vertical loop, both ball centres: (2 + (1 + j)/2) r, in m.

    2.7 times the radius for a solid ball; r is the track's radius less the ball's.

    Leaves out: rolling resistance and air, which the run along the track has.
    Source: Halliday and Resnick, from memory; v^2 = g r at the top.
    """
    return (2 + (1 + inertia) / 2) * path_radius_m


def loop_bottom_speed(path_radius_m: float, inertia: float, gravity_m_s2: float) -> float:
    """Speed at the bottom that just holds a ball on at the top: sqrt(g r (1 + 4/(1 + j))), m/s.

    Leaves out: rolling resistance and air.
    Source: energy; sqrt(27/7 g r) for a solid ball.
    """
    return math.sqrt(gravity_m_s2 * path_radius_m * (1 + 4 / (1 + inertia)))
