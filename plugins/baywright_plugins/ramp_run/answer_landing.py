"""What is said about a fall from a free end."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from .ball import Ball
from .corners import Corner, Unknowns
from .flight import Landing, first_bounce_past, wall_height
from .pieces import Drop

_POINTS = 24


def landing_result(
    ball: Ball,
    unknowns: Unknowns,
    shape: Drop,
    fallen: Sequence[tuple[Corner, Landing]],
    segment: Mapping[str, Any],
) -> dict[str, Any]:
    """The fields of LandingOut: bounds over all corners, and over restitution in both ways."""
    gravity = unknowns.gravity_m_s2
    dull, lively = unknowns.restitution
    landings = [landing for _, landing in fallen]
    flights = [landing.flight for landing in landings]
    wall = segment.get("wall_distance_mm")
    wall_m = None if wall is None else wall / 1000
    found = {
        "touch": [landing.touch_m * 1000 for landing in landings],
        "second": [
            landing.bounce_m(1, e, speed, gravity) * 1000
            for landing in landings
            for e, speed in ((dull, landing.hop_slow_m_s), (lively, landing.hop_fast_m_s))
        ],
        "rests": [
            landing.rests_m(e, speed, gravity) * 1000
            for landing in landings
            for e, speed in ((dull, landing.hop_slow_m_s), (lively, landing.hop_fast_m_s))
        ],
        "rebound": [
            e**2 * landing.fall_m(gravity) * 1000 for landing in landings for e in (dull, lively)
        ],
    }
    spans = {
        f"{key}_{end}_mm": pick(values)
        for key, values in found.items()
        for end, pick in (("low", min), ("high", max))
    }
    angles = [math.degrees(flight.angle_rad) for flight in flights]
    speeds = [flight.speed_m_s for flight in flights]
    times = [flight.time_s for flight in flights]
    return spans | {
        "flight_low_s": min(times),
        "flight_high_s": max(times),
        "angle_low_deg": min(angles),
        "angle_high_deg": max(angles),
        "speed_low_m_per_s": min(speeds),
        "speed_high_m_per_s": max(speeds),
        "energy_high_j": ball.mass_kg * max(speeds) ** 2 / 2,
        "tips_over": any(landing.tips for landing in landings),
        "wall_needed_mm": 1000
        * max(
            wall_height(landing, lively, ball.diameter_m, wall_m, gravity) for landing in landings
        ),
        "wall_distance_min_mm": 1000
        * max(first_bounce_past(landing, ball.radius_m) for landing in landings),
        "slow_path_mm": path_mm(landings[0], shape, ball, lively, gravity),
        "fast_path_mm": path_mm(landings[min(1, len(landings) - 1)], shape, ball, lively, gravity),
    }


def path_mm(
    landing: Landing, shape: Drop, ball: Ball, restitution: float, gravity: float
) -> list[list[float]]:
    """Way of the ball's centre, in mm: to the first touch-down and over the first bounce."""
    flight, radius = landing.flight, ball.radius_m
    points = []
    for k in range(_POINTS + 1):
        back = flight.time_s * (1 - k / _POINTS)
        ahead = landing.touch_m - flight.ahead_m_s * back
        points.append((ahead, radius + flight.down_m_s * back - gravity * back**2 / 2))
    up = restitution * flight.down_m_s
    aloft = 2 * up / gravity
    for k in range(1, _POINTS + 1):
        t = aloft * k / _POINTS
        ahead = landing.touch_m + landing.hop_fast_m_s * t
        points.append((ahead, radius + up * t - gravity * t**2 / 2))
    return [[x * 1000, y * 1000] for x, y in points]
