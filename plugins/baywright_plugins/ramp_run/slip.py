"""When a ball slides instead of rolling, and how it takes to rolling again."""

import math
from dataclasses import dataclass

from .ball import Ball


def slip_slope(friction: float, inertia: float, angle_rad: float = 0.0) -> float:
    """Steepest slope (radians) a ball rolls down without slipping.

        tan t = mu (1 + m r^2/I)/cos b;   3.5 mu for a solid ball on a plane

    Args:
        inertia: I/(m r^2) about the line of contacts.
        angle_rad: b, each contact beside the lowest point: two rails are pressed harder.

    Source: friction needed is (2/7) m g sin t on a plane, any mechanics text.

    >>> round(math.degrees(slip_slope(0.2, 0.4)), 3)
    34.992
    """
    return math.atan(friction * (1 + 1 / inertia) / math.cos(angle_rad))


def gripped_speed(
    speed_m_s: float, spin_m_s: float, ball: Ball, effective_radius_m: float
) -> float:
    """Speed once friction has made a sliding ball roll on contacts at r from its axis.

        v' = (v + j w (R/r))/(1 + j (R/r)^2),  w = R times the turning rate, j = I/(m R^2)

    Friction acts at the contacts, so angular momentum about them is kept. It also says what
    happens where a ball passes from narrow to wide support: on wide rails it turns faster, and
    on the plane after them it speeds up.

    Leaves out: the few centimetres this takes; rails that narrow gently lose less.
    Source: angular momentum, any mechanics text (bowling ball: 5/7 of the sliding speed).

    >>> round(gripped_speed(7.0, 0.0, Ball(0.048, 0.041, 0.4), 0.024), 9)
    5.0
    """
    ratio = ball.radius_m / effective_radius_m
    return (speed_m_s + ball.inertia * spin_m_s * ratio) / (1 + ball.inertia * ratio**2)


@dataclass(frozen=True)
class SlipDrive:
    """A sliding ball: du/ds = `drive` at no speed (m/s2) and how fast its spin grows (m/s2)."""

    drive: float
    spin_up: float


def slipping(
    slope_rad: float,
    friction: float,
    resistance: float,
    ball: Ball,
    effective_radius_m: float,
    angle_rad: float,
    gravity_m_s2: float,
) -> SlipDrive:
    """A ball that slides down (or up) a slope steeper than `slip_slope`.

        a = g (sin t - (mu/cos b + c) cos t),   R dw/dt = mu g cos t (r/R)/(j cos b)

    Source: Coulomb friction at the contacts, any mechanics text.
    """
    pressed = gravity_m_s2 * math.cos(slope_rad) / math.cos(angle_rad)
    held = math.copysign(friction * pressed, slope_rad)
    pull = gravity_m_s2 * math.sin(slope_rad) - held
    pull -= resistance * gravity_m_s2 * math.cos(slope_rad)
    return SlipDrive(2 * pull, held * effective_radius_m / ball.radius_m / ball.inertia)
