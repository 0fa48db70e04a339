"""A ball that rolls down the tongue into the way of the next hook: has it time?"""

import math
from collections.abc import Callable

from ..ramp_run.ball import INERTIA, Ball, inertia_about
from ..ramp_run.ball import rolling_acceleration as down_a_slope
from ..ramp_run.contact import plane, rails


def rolling_acceleration(
    slope_deg: float, ball_mm: float, gap_mm: float, resistance: float, gravity: float
) -> float:
    """Acceleration in m/s2 of a solid ball that rolls without slip on two ribs, 0 where it stays.

    Args:
        gap_mm: clear gap between the two ribs that carry it, below the ball's diameter; 0 on a
            plane.
        resistance: coefficient of rolling resistance.

    Source: as the functions called: any mechanics text.

    >>> round(rolling_acceleration(90.0, 48.0, 0.0, 0.0, 9.8) / 9.8, 6)
    0.714286
    """
    ball = Ball(ball_mm / 1000.0, 1.0, INERTIA["solid"])
    contact = rails(ball.diameter_m, gap_mm / 1000.0) if gap_mm > 0 else plane(ball.diameter_m)
    inertia = inertia_about(ball, contact.effective_radius_m)
    return max(0.0, down_a_slope(math.radians(slope_deg), inertia, gravity, resistance))


def seconds_to_roll(distance_mm: float, acceleration: float) -> float | None:
    """Seconds from rest over a distance; None where the ball stays."""
    if acceleration <= 0.0:
        return None
    return math.sqrt(2.0 * distance_mm / 1000.0 / acceleration)


def waiting_push(balls: int, mass_kg: float, slope_deg: float, gravity: float) -> float:
    """Push in N of a row of balls down a slope on the one at its foot: n m g sin t.

    Leaves out what rolling resistance takes off it. Source: statics.

    >>> round(waiting_push(10, 0.05, 30.0, 10.0), 9)
    2.5
    """
    return balls * mass_kg * gravity * math.sin(math.radians(slope_deg))


def free_seconds(spacing_mm: float, hook_mm: float, ball_mm: float, speed_mm_s: float) -> float:
    """Seconds in which the way of the ball is free between two hooks; negative: never.

    A hook and the ball on it keep the place busy for their own height.
    """
    return (spacing_mm - hook_mm - ball_mm) / speed_mm_s


def least_slope(
    seconds: Callable[[float], float | None], allowed_s: float, steepest_deg: float
) -> float | None:
    """The least slope in degrees at which a ball is there in time; None where none is.

    Rolling time falls with the slope up to `steepest_deg`; found by halving, to 1e-6 degrees.
    """

    def in_time(slope: float) -> bool:
        needed = seconds(slope)
        return needed is not None and needed <= allowed_s

    if not in_time(steepest_deg):
        return None
    low, high = 0.0, steepest_deg
    while high - low > 1e-6:
        middle = (low + high) / 2.0
        low, high = (low, middle) if in_time(middle) else (middle, high)
    return high
