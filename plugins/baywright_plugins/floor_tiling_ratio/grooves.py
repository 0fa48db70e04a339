"""A ball over the gaps between panels: does it roll out, what does it lose, how fast does it get.

Lengths and speeds in metres and seconds, angles in radians. Throughout: a solid ball that rolls
without slipping, straight across sharp, rigid edges.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Groove:
    """One groove across a floor that falls by `slope_rad` in the direction of rolling."""

    ball_diameter_m: float
    width_m: float
    slope_rad: float
    gravity_m_s2: float

    @property
    def angle_rad(self) -> float:
        """phi: a ball in the groove sees each edge so far beside the line below its centre."""
        return groove_angle(self.ball_diameter_m, self.width_m)

    @property
    def scale_m2_s2(self) -> float:
        """10/7 g r: speed squared of a ball that has rolled down by its own radius."""
        return 10 / 7 * self.gravity_m_s2 * self.ball_diameter_m / 2


def groove_angle(ball_diameter_m: float, width_m: float) -> float:
    """phi = asin(G/d), in radians.

    A ball at rest in a groove leaves it only on a slope of at least tan phi.

    Raises:
        ValueError: the groove is as wide as the ball.

    Source: geometry.
    """
    if width_m >= ball_diameter_m:
        raise ValueError("the ball falls through")
    return math.asin(width_m / ball_diameter_m)


def sink(ball_diameter_m: float, width_m: float) -> float:
    """How deep a ball sits in a groove: r - sqrt(r^2 - G^2/4), in m.

    Raises:
        ValueError: the groove is as wide as the ball.

    Source: geometry.
    """
    if width_m >= ball_diameter_m:
        raise ValueError("the ball falls through")
    radius = ball_diameter_m / 2
    return radius - math.sqrt(radius**2 - width_m**2 / 4)


def speed_kept(angle_rad: float) -> float:
    """c = (2 + 5 cos 2 phi)/7: share of its speed that a ball keeps when it strikes the far edge.

    Angular momentum about the far edge is kept: m v r (2/5 + cos 2 phi) = m v' r (2/5 + 1).

    Args:
        angle_rad: phi, 0 to pi/4.

    Leaves out: a bounce off the far edge, slip, soft edges.
    Source: derived here; a solid ball's moment of inertia is 2/5 m r^2.
    """
    return (2 + 5 * math.cos(2 * angle_rad)) / 7


def critical_speed(groove: Groove) -> float:
    """Least speed with which a rolling ball crosses the groove, in m/s; 0 where slope is enough.

        c^2 (v^2 + K (cos a - cos(phi + a))) >= K (1 - cos(phi - a)),   K = 10/7 g r

    The left side is what is left after tipping in over the near edge and striking the far one,
    the right side what the climb over the far edge costs.

    Leaves out: slip, bounce; a ball fast enough to leave the near edge (see `lift_off_speed`).
    Source: derived here, energy and angular momentum.
    """
    phi, a, kept = groove.angle_rad, groove.slope_rad, speed_kept(groove.angle_rad)
    if a >= phi:
        return 0.0
    climb = groove.scale_m2_s2 * (1 - math.cos(phi - a))
    gain = groove.scale_m2_s2 * (math.cos(a) - math.cos(phi + a))
    return math.sqrt(max(0.0, climb / kept**2 - gain))


def speed_after(groove: Groove, arrival_m_s: float) -> float | None:
    """Speed on the far side of a groove reached with `arrival_m_s`; None where it stays in.

        v'^2 = c^2 (v^2 + K (cos a - cos(phi + a))) - K (cos a - cos(phi - a))

    Leaves out: as `critical_speed`.
    Source: derived here.
    """
    if arrival_m_s < critical_speed(groove):
        return None
    return math.sqrt(max(0.0, _after_squared(groove, arrival_m_s**2)))


def _after_squared(groove: Groove, arrival_squared: float) -> float:
    phi, a, kept = groove.angle_rad, groove.slope_rad, speed_kept(groove.angle_rad)
    into = groove.scale_m2_s2 * (math.cos(a) - math.cos(phi + a))
    out_of = groove.scale_m2_s2 * (math.cos(a) - math.cos(phi - a))
    return kept**2 * (arrival_squared + into) - out_of


def _gain_squared(groove: Groove, pitch_m: float) -> float:
    return 10 / 7 * groove.gravity_m_s2 * (pitch_m - groove.width_m) * math.sin(groove.slope_rad)


@dataclass(frozen=True)
class SteadySpeed:
    """Speeds in m/s at which each groove costs what the slope gives: on reaching a groove and on
    leaving it (the slowest on the floor)."""

    arriving_m_s: float
    leaving_m_s: float


def steady_speed(groove: Groove, pitch_m: float) -> SteadySpeed | None:
    """The speed a ball settles to over grooves `pitch_m` apart; None where it settles nowhere.

    The fixed point of v -> `speed_after` -> roll on the flat of P - G, where the slope adds
    10/7 g (P - G) sin a to the square. To first order v'^2 = c^2/(1 - c^2) (10/7) g P sin a.
    None: there is no groove to brake it, or the ball comes to rest in one.

    Raises:
        ValueError: pitch not above the groove's width.

    Leaves out: rolling resistance, air, leaps over the groove; so a ball on soft wood is slower.
    Source: derived here; the tests iterate the map itself.
    """
    if pitch_m <= groove.width_m:
        raise ValueError("no flat is left between grooves")
    squared = _steady_squared(groove, pitch_m)
    if squared is None or squared < critical_speed(groove) ** 2:
        return None
    return SteadySpeed(math.sqrt(squared), math.sqrt(max(0.0, _after_squared(groove, squared))))


def _steady_squared(groove: Groove, pitch_m: float) -> float | None:
    lost = 1 - speed_kept(groove.angle_rad) ** 2
    if lost <= 0 or groove.slope_rad <= 0:
        return None
    return max(0.0, _after_squared(groove, 0.0) + _gain_squared(groove, pitch_m)) / lost


def slope_to_keep_rolling(groove: Groove, pitch_m: float) -> float:
    """Least slope (radians) at which a rolling ball never stays in one of many grooves.

    Where `steady_speed` meets `critical_speed`, by bisection; near (10/7)(r/P) phi^4 for small
    phi. The slope of `groove` itself plays no part.

    Raises:
        ValueError: pitch not above the groove's width.

    Leaves out: rolling resistance, which must be added.
    Source: derived here.
    """
    if pitch_m <= groove.width_m:
        raise ValueError("no flat is left between grooves")
    low, high = 0.0, groove.angle_rad
    for _ in range(100):
        middle = (low + high) / 2
        tried = Groove(groove.ball_diameter_m, groove.width_m, middle, groove.gravity_m_s2)
        squared = _steady_squared(tried, pitch_m)
        enough = squared is not None and squared >= critical_speed(tried) ** 2
        low, high = (low, middle) if enough else (middle, high)
    return high


def lift_off_speed(ball_diameter_m: float, slope_rad: float, gravity_m_s2: float) -> float:
    """sqrt(g r cos a), in m/s: faster balls leave the near edge and fly over part of the groove.

    Source: weight as centripetal force, g cos a = v^2/r.
    """
    return math.sqrt(gravity_m_s2 * ball_diameter_m / 2 * math.cos(slope_rad))


def ridge_speed(ball_diameter_m: float, ridge_m: float, gravity_m_s2: float) -> float:
    """Least speed over an upward step of height h on the level, in m/s.

        v = sqrt(10 g h/7)/(1 - 5 h/(7 r))

    The step's edge takes away 5h/(7r) of the speed, then the ball climbs h.

    Raises:
        ValueError: the ridge is as high as the ball's centre.

    Leaves out: slope, bounce, slip.
    Source: derived here, angular momentum about the edge.
    """
    radius = ball_diameter_m / 2
    if ridge_m >= radius:
        raise ValueError("the ridge stops the ball")
    return math.sqrt(10 * gravity_m_s2 * ridge_m / 7) / (1 - 5 * ridge_m / (7 * radius))


def roll_down_speed(height_m: float, gravity_m_s2: float) -> float:
    """v = sqrt(10 g h/7): a solid ball that rolled down by h without slipping, in m/s.

    Source: energy, with 2/5 m r^2; any mechanics text.
    """
    return math.sqrt(10 * gravity_m_s2 * height_m / 7)


def slope_acceleration(slope_rad: float, gravity_m_s2: float) -> float:
    """a = 5/7 g sin(slope): a solid ball rolling down a plane without slipping, in m/s2.

    Source: a = g sin(theta)/(1 + I/(m r^2)); any mechanics text.
    """
    return 5 / 7 * gravity_m_s2 * math.sin(slope_rad)


def sag_slope(load_n_per_m: float, span_m: float, bending_stiffness_n_m2: float) -> float:
    """Slope at the ends of a panel sagging between two bearers: q L^3/(24 E I), in radians.

    Where it exceeds the floor's slope, a hollow holds the ball.

    Leaves out: continuity over several bearers, which halves it or better; soft seats.
    Source: simply supported beam under uniform load, any handbook of structures.
    """
    return load_n_per_m * span_m**3 / (24 * bending_stiffness_n_m2)
