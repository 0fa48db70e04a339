"""Rolling over grooves: published values, a step-by-step simulation, and limits."""

import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.grooves import (
    Groove,
    critical_speed,
    groove_angle,
    lift_off_speed,
    ridge_speed,
    roll_down_speed,
    sag_slope,
    sink,
    slope_acceleration,
    slope_to_keep_rolling,
    speed_after,
    speed_kept,
    steady_speed,
)

PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "rolling_falling_impact.json").read_text(
        "utf-8"
    )
)
FLOOR = Groove(0.048, 0.006, math.atan(0.015), 9.81)


def entries(quantity: str) -> pytest.MarkDecorator:
    cases = [case for case in PUBLISHED if case["quantity"] == quantity]
    assert cases
    return pytest.mark.parametrize("case", cases, ids=[case["id"] for case in cases])


@entries("roll_down_speed")
def test_speed_after_rolling_down(case: dict[str, Any]) -> None:
    """The source stands beside each value."""
    found = roll_down_speed(case["inputs"]["height_m"], case["inputs"]["g"])
    assert found == pytest.approx(case["expected"], abs=1e-5)


@entries("incline_acceleration")
def test_acceleration_of_a_sphere_on_a_slope(case: dict[str, Any]) -> None:
    """The source stands beside each value; a cylinder is no ball and must differ."""
    angle = math.radians(case["inputs"]["angle_deg"])
    found = slope_acceleration(angle, case["inputs"]["g"])
    factor = {"sphere": 1.0, "cylinder": (2 / 3) / (5 / 7)}[case["inputs"]["body"]]
    assert found * factor == pytest.approx(case["expected"]["a_m_s2"], rel=1e-5)


def simulated_crossing(groove: Groove, arrival_m_s: float) -> float | None:
    """Pivot about the near edge, strike the far edge, pivot about it: by small time steps."""
    radius, phi = groove.ball_diameter_m / 2, groove.angle_rad
    pull = 5 / 7 * groove.gravity_m_s2 / radius
    angle, spin, step = groove.slope_rad, arrival_m_s / radius, 1e-5
    while angle < phi + groove.slope_rad:
        spin += pull * math.sin(angle) * step
        angle += spin * step
    about_centre, about_edge = 2 / 5, 2 / 5 + 1
    spin *= (about_centre + math.cos(2 * phi)) / about_edge
    angle = groove.slope_rad - phi
    while angle < groove.slope_rad:
        spin += pull * math.sin(angle) * step
        angle += spin * step
        if spin <= 0:
            return None
    return spin * radius


@pytest.mark.parametrize(
    ("width_m", "slope"), [(0.010, 0.0), (0.016, 0.0), (0.010, 0.003), (0.016, 0.01)]
)
def test_ball_crosses_above_the_critical_speed_and_not_below(width_m: float, slope: float) -> None:
    """An integration of the motion crosses at 1.01 and not at 0.99 of it."""
    groove = Groove(0.048, width_m, slope, 9.81)
    critical = critical_speed(groove)
    assert critical > 0.01
    assert simulated_crossing(groove, 0.99 * critical) is None
    assert simulated_crossing(groove, 1.01 * critical) is not None
    assert speed_after(groove, 0.99 * critical) is None
    after = speed_after(groove, 1.3 * critical)
    assert after == pytest.approx(simulated_crossing(groove, 1.3 * critical), rel=5e-3)


def test_steady_speed_is_where_the_map_ends() -> None:
    """Roll over a thousand grooves: from fast and from slow to the same speed, 0.48 m/s.

    0.48 was worked independently for d 48, G 6, pitch 51.4 mm, 1.5 %.
    """
    for speed in (0.05, 1.5):
        for _ in range(1000):
            after = speed_after(FLOOR, speed)
            assert after is not None
            flat = 2 * slope_acceleration(FLOOR.slope_rad, 9.81) * (0.0514 - 0.006)
            speed = math.sqrt(after**2 + flat)
        steady = steady_speed(FLOOR, 0.0514)
        assert steady is not None
        assert speed == pytest.approx(steady.arriving_m_s, rel=1e-9)
        assert round(steady.leaving_m_s, 2) == 0.48


def test_steady_speed_agrees_with_its_first_order_form() -> None:
    """v'^2 = c^2/(1 - c^2) (10/7) g P sin a: what each groove takes against what a pitch gives."""
    kept = speed_kept(FLOOR.angle_rad) ** 2
    first_order = kept / (1 - kept) * 10 / 7 * 9.81 * 0.0514 * math.sin(FLOOR.slope_rad)
    steady = steady_speed(FLOOR, 0.0514)
    assert steady is not None
    assert steady.leaving_m_s == pytest.approx(math.sqrt(first_order), rel=0.01)


def test_slope_to_keep_rolling_is_the_edge() -> None:
    """A little steeper rolls for ever, a little flatter stops; near its small-angle form."""
    for width in (0.004, 0.006, 0.012):
        groove = Groove(0.048, width, 0.0, 9.81)
        least = slope_to_keep_rolling(groove, 0.0514)
        assert steady_speed(Groove(0.048, width, least * 1.01, 9.81), 0.0514) is not None
        assert steady_speed(Groove(0.048, width, least * 0.99, 9.81), 0.0514) is None
        assert least == pytest.approx(10 / 7 * 0.024 / 0.0514 * groove.angle_rad**4, rel=0.15)


def test_hand_values() -> None:
    """Worked independently: level, d 48, G 16: 89 mm/s; ridge 1: 122 mm/s; sink 0.19; 12.6 %."""
    assert round(critical_speed(Groove(0.048, 0.016, 0.0, 9.81)), 3) == 0.089
    assert round(ridge_speed(0.048, 0.001, 9.81), 3) == 0.122
    assert round(sink(0.048, 0.006) * 1000, 2) == 0.19
    assert round(math.tan(groove_angle(0.048, 0.006)) * 100, 1) == 12.6
    assert round(speed_kept(groove_angle(0.048, 0.006)), 3) == 0.978
    assert round(slope_to_keep_rolling(FLOOR, 0.0514), 5) == 0.00017


@settings(deadline=None)
@given(st.floats(0.01, 0.1), st.floats(0.02, 0.6), st.floats(0.0, 0.02), st.floats(0.05, 2.0))
def test_a_groove_never_speeds_a_ball_up_beyond_its_fall(
    ball: float, share: float, slope: float, speed: float
) -> None:
    """Energy: what comes out is at most what went in plus the fall over the groove."""
    groove = Groove(ball, share * ball, slope, 9.80665)
    after = speed_after(groove, speed)
    if after is not None:
        fall = 10 / 7 * 9.80665 * groove.width_m * math.sin(slope)
        assert after**2 <= speed**2 + fall + 1e-12


def test_sag_slope_integrates_the_moment() -> None:
    """End slope = integral of M/EI over half the span, M = q x (L - x)/2."""
    load, span, stiffness, parts = 3.0, 0.36, 2.0, 20_000
    step = span / 2 / parts
    middles = [(k + 0.5) * step for k in range(parts)]
    slope = sum(load * x * (span - x) / 2 / stiffness * step for x in middles)
    assert sag_slope(load, span, stiffness) == pytest.approx(slope, rel=1e-6)


def test_limits() -> None:
    """A steep floor needs no speed; a wide groove swallows the ball; no groove brakes nothing."""
    assert critical_speed(Groove(0.048, 0.006, 0.2, 9.81)) == 0.0
    assert steady_speed(Groove(0.048, 0.0, 0.01, 9.81), 0.05) is None
    assert lift_off_speed(0.048, 0.0, 9.81) == pytest.approx(math.sqrt(9.81 * 0.024))
    for call in (
        lambda: groove_angle(0.04, 0.04),
        lambda: sink(0.04, 0.05),
        lambda: ridge_speed(0.048, 0.024, 9.81),
        lambda: steady_speed(FLOOR, 0.006),
        lambda: slope_to_keep_rolling(FLOOR, 0.005),
    ):
        with pytest.raises(ValueError):
            call()
