"""From a free end of the track to the floor, the bounces there, and the wall that stops them.

Metres, seconds, radians; angles below the level where positive.
"""

import math
from dataclasses import dataclass

from ..floor_tiling_ratio.drop_impact import free_fall_speed, rebound, wall_needed
from .edges import Roller


@dataclass(frozen=True)
class Flight:
    """Time in the air, level distance, speeds and angle at touch-down."""

    time_s: float
    range_m: float
    ahead_m_s: float
    down_m_s: float

    @property
    def angle_rad(self) -> float:
        """Below the level."""
        return math.atan2(self.down_m_s, self.ahead_m_s)

    @property
    def speed_m_s(self) -> float:
        """At touch-down."""
        return math.hypot(self.ahead_m_s, self.down_m_s)


def fly(speed_m_s: float, drop_m: float, down_rad: float, gravity_m_s2: float) -> Flight:
    """Free flight from a ramp's end.

        t = (-v sin a + sqrt(v^2 sin^2 a + 2 g h))/g,  x = v cos a t

    Args:
        drop_m: how far the ball falls, >= 0.
        down_rad: a, direction at the start; negative where the ramp ends uphill.

    Leaves out: air.
    Source: any introductory physics text.

    >>> flight = fly(1.5, 0.8, 0.0, 9.80665)
    >>> round(flight.time_s, 6), round(flight.range_m, 6)
    (0.403924, 0.605886)
    """
    ahead, sinking = speed_m_s * math.cos(down_rad), speed_m_s * math.sin(down_rad)
    landing = math.sqrt(sinking**2 + free_fall_speed(drop_m, gravity_m_s2) ** 2)
    time = (landing - sinking) / gravity_m_s2
    return Flight(time, ahead * time, ahead, landing)


@dataclass(frozen=True)
class Release:
    """Where and how a ball lets go of an edge: its centre from the edge, speed and direction."""

    ahead_m: float
    above_m: float
    speed_m_s: float
    down_rad: float
    tips: bool


def release(roller: Roller, squared: float, slope_rad: float) -> Release | None:
    """How a ball leaves the end of a track; None where it cannot tip over it.

    At v^2 >= g r cos t it goes straight on. Slower, it tips about the end until its weight no
    longer holds it there:

        cos p = (v^2/(g r) + 2 cos t/(1 + j))/(1 + 2/(1 + j))

    A solid ball that barely moves on the level lets go at cos p = 10/17.

    Leaves out: slip on the edge while it tips.
    Source: energy; Putnam competition 1958, problem A2 (10/17).
    """
    radius, gravity = roller.radius_m, roller.gravity_m_s2
    if squared >= roller.lift_off_squared(slope_rad):
        sine, cosine = math.sin(slope_rad), math.cos(slope_rad)
        return Release(radius * sine, radius * cosine, math.sqrt(squared), slope_rad, False)
    if squared < roller.scale * (1 - math.cos(min(0.0, slope_rad))):
        return None
    weight = 2 / (1 + roller.inertia)
    cosine = (squared / (gravity * radius) + weight * math.cos(slope_rad)) / (1 + weight)
    angle = math.acos(min(1.0, cosine))
    speed = math.sqrt(gravity * radius * cosine)
    return Release(radius * math.sin(angle), radius * cosine, speed, angle, True)


@dataclass(frozen=True)
class Landing:
    """Where a ball comes down, from the end of the track, and what it does then.

    `hop_slow_m_s` and `hop_fast_m_s` bound its speed ahead after the first bounce: without grip,
    and with its spin turned into speed. `tips`: it turned about the end before it fell.
    """

    flight: Flight
    touch_m: float
    hop_slow_m_s: float
    hop_fast_m_s: float
    tips: bool = False

    def bounce_m(self, number: int, restitution: float, ahead_m_s: float, gravity: float) -> float:
        """Where the ball lands after so many bounces, from the end of the track.

            x1 + v (2 vy/g) (e + e^2 + ... + e^n)

        Source: geometric series, any mechanics text.
        """
        series = sum(restitution**k for k in range(1, number + 1))
        return self.touch_m + ahead_m_s * 2 * self.flight.down_m_s / gravity * series

    def rests_m(self, restitution: float, ahead_m_s: float, gravity: float) -> float:
        """Where bouncing ends: the same with the whole series, e/(1 - e)."""
        series = restitution / (1 - restitution)
        return self.touch_m + ahead_m_s * 2 * self.flight.down_m_s / gravity * series

    def fall_m(self, gravity: float) -> float:
        """The free fall that gives the same speed downward."""
        return self.flight.down_m_s**2 / (2 * gravity)


def land(
    let_go: Release, drop_m: float, radius_m: float, inertia: float, spin_m_s: float, gravity: float
) -> Landing:
    """The fall from `let_go` to a floor `drop_m` below the edge.

    Args:
        radius_m, inertia: of the ball itself, I/(m R^2).
        spin_m_s: R times its turning rate when it lets go.

    Source: `fly`; grip on landing by angular momentum about the contact.
    """
    below = max(0.0, drop_m + let_go.above_m - radius_m)
    flight = fly(let_go.speed_m_s, below, let_go.down_rad, gravity)
    gripped = (flight.ahead_m_s + inertia * spin_m_s) / (1 + inertia)
    slow, fast = sorted((flight.ahead_m_s, gripped))
    return Landing(flight, let_go.ahead_m + flight.range_m, slow, fast, let_go.tips)


def bouncing_time(down_m_s: float, restitution: float, gravity: float) -> float:
    """Seconds from touch-down until bouncing ends: (2 vy/g) e/(1 - e).

    Source: geometric series, any mechanics text.
    """
    return 2 * down_m_s / gravity * restitution / (1 - restitution)


def wall_height(
    landing: Landing,
    restitution: float,
    ball_diameter_m: float,
    wall_m: float | None,
    gravity: float,
) -> float:
    """Wall that the ball stays below: e^2 h + d after a bounce, in m, or what the flight needs.

    Without a distance (None) the first bounce counts, at its highest. With one: if the wall
    stands where the ball is still in its first flight, the height it has there; else the highest
    point of the earliest bounce that may reach it; d alone once bouncing has ended.

    Leaves out: balls that strike one another or an edge.
    Source: geometry; wall >= e^2 h + d as in `floor_tiling_ratio.drop_impact`.
    """
    fall = landing.fall_m(gravity)
    if wall_m is None:
        return wall_needed(fall, restitution, ball_diameter_m)
    front = wall_m - ball_diameter_m / 2
    if front < landing.touch_m:
        first = max(_height_at(landing, front, gravity), rebound(fall, restitution))
        return first + ball_diameter_m
    ahead = landing.hop_fast_m_s
    if front >= landing.rests_m(restitution, ahead, gravity):
        return ball_diameter_m
    number = 1
    while landing.bounce_m(number, restitution, ahead, gravity) <= front and number < 100:
        number += 1
    return rebound(fall, restitution, number) + ball_diameter_m


def _height_at(landing: Landing, front_m: float, gravity: float) -> float:
    """Height of the ball's lowest point above the floor with its front at the wall."""
    flight = landing.flight
    back = (landing.touch_m - front_m) / flight.ahead_m_s if flight.ahead_m_s > 0 else 0.0
    back = min(back, flight.time_s)
    return max(0.0, flight.down_m_s * back - gravity * back**2 / 2)


def first_bounce_past(landing: Landing, ball_radius_m: float) -> float:
    """Least distance of a wall that no ball meets before it has landed, in m. Source: geometry."""
    return landing.touch_m + ball_radius_m
