"""Slope and grooves of one floor against one ball: from the builder's units to SI and back."""

import math
from collections.abc import Mapping
from typing import Any

from .grooves import (
    Groove,
    critical_speed,
    lift_off_speed,
    ridge_speed,
    sag_slope,
    sink,
    slope_to_keep_rolling,
    speed_kept,
    steady_speed,
)


def rolling_report(
    ball: Mapping[str, Any],
    rolling: Mapping[str, Any],
    *,
    groove_mm: float,
    groove_pitch_mm: float,
    gravity_m_s2: float,
) -> dict[str, Any]:
    """The fields of RollingOut; `groove_mm` with what spreading the left-over adds.

    Raises:
        ValueError: the groove swallows the ball or fills its pitch; the ridge stops the ball.
    """
    slope = math.atan(rolling["slope_percent"] / 100)
    ball_m = ball["diameter_mm"] / 1000
    groove = Groove(ball_m, groove_mm / 1000, slope, gravity_m_s2)
    pitch_m = groove_pitch_mm / 1000
    found: dict[str, Any] = {
        "groove_mm": groove_mm,
        "sink_mm": sink(ball_m, groove.width_m) * 1000,
        "groove_angle_deg": math.degrees(groove.angle_rad),
        "slope_percent": rolling["slope_percent"],
        "slope_to_leave_percent": math.tan(groove.angle_rad) * 100,
        "slope_to_keep_rolling_percent": math.tan(slope_to_keep_rolling(groove, pitch_m)) * 100,
        "speed_kept_ratio": speed_kept(groove.angle_rad),
        "critical_speed_m_per_s": critical_speed(groove),
        "lift_off_speed_m_per_s": lift_off_speed(ball_m, slope, gravity_m_s2),
    }
    steady = steady_speed(groove, pitch_m)
    if steady:
        found["steady_speed_m_per_s"] = steady.leaving_m_s
        found["steady_arrival_speed_m_per_s"] = steady.arriving_m_s
    if rolling["ridge_mm"]:
        ridge_m = rolling["ridge_mm"] / 1000
        found["ridge_speed_m_per_s"] = ridge_speed(ball_m, ridge_m, gravity_m_s2)
    if "sag" in rolling:
        sag = rolling["sag"]
        stiffness_n_m2 = sag["bending_stiffness_n_mm2"] / 1e6
        ends = sag_slope(sag["load_n_per_mm"] * 1000, sag["span_mm"] / 1000, stiffness_n_m2)
        found["sag_slope_percent"] = ends * 100
    return found
