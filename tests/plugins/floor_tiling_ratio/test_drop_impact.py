"""Falling, bouncing, impact: published values and identities."""

import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.floor_tiling_ratio.drop_impact import (
    Range,
    bounce_time,
    fall_energy,
    free_fall_speed,
    hits_per_day,
    impact,
    impact_factor,
    impact_range,
    rebound,
    restitution_from_bounce,
    wall_needed,
)
from baywright_plugins.floor_tiling_ratio.falling import height_that_passes

PUBLISHED = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "rolling_falling_impact.json").read_text(
        "utf-8"
    )
)


def entries(quantity: str) -> pytest.MarkDecorator:
    cases = [case for case in PUBLISHED if case["quantity"] == quantity]
    assert cases
    return pytest.mark.parametrize("case", cases, ids=[case["id"] for case in cases])


@entries("impact_factor")
def test_impact_factor(case: dict[str, Any]) -> None:
    """Gere, Goodno, Mechanics of Materials, problem 9.10-1, printed table."""
    found = impact_factor(case["inputs"]["h_over_static_deflection"])
    assert found == pytest.approx(case["expected"], abs=case["tolerance"]["abs"])


@entries("free_fall_speed")
def test_free_fall(case: dict[str, Any]) -> None:
    """v = sqrt(2 g h)."""
    found = free_fall_speed(case["inputs"]["height_m"], case["inputs"]["g"])
    assert found == pytest.approx(case["expected"], abs=1e-5)


@entries("bounce_series")
def test_bounces(case: dict[str, Any]) -> None:
    """h e^(2n), and the time until they end."""
    height, e, g = (case["inputs"][key] for key in ("height_m", "e", "g"))
    assert rebound(height, e) == pytest.approx(case["expected"]["rebound_1_m"], rel=1e-5)
    assert rebound(height, e, 3) == pytest.approx(case["expected"]["rebound_3_m"], rel=1e-5)
    assert bounce_time(height, e, g) == pytest.approx(case["expected"]["rest_time_s"], rel=1e-5)


@entries("restitution_from_bounce")
def test_restitution_of_a_tennis_ball(case: dict[str, Any]) -> None:
    """Rebound of 53 to 58 in from 100 in."""
    for bound in ("min", "max"):
        found = restitution_from_bounce(case["inputs"]["drop"], case["inputs"][f"rebound_{bound}"])
        assert found == pytest.approx(case["expected"][f"e_{bound}"], abs=1e-4)


@settings(deadline=None)
@given(st.floats(0.001, 5), st.floats(0, 3), st.floats(10, 1e7), st.floats(1, 30))
def test_rigid_light_panel_gives_the_handbook_factor(
    mass: float, height: float, stiffness: float, gravity: float
) -> None:
    """With no panel mass the force over the weight is 1 + sqrt(1 + 2 h/delta)."""
    found = impact(mass, height, stiffness, 0.0, gravity)
    static = mass * gravity / stiffness
    assert found.factor == pytest.approx(impact_factor(height / static), rel=1e-9)
    spring = stiffness * found.deflection_m**2 / 2
    assert spring == pytest.approx(mass * gravity * (height + found.deflection_m), rel=1e-9)


@settings(deadline=None)
@given(
    st.floats(0.01, 1), st.floats(0.01, 2), st.floats(100, 1e5), st.floats(0, 2), st.floats(0, 1)
)
def test_range_holds_everything_between(
    mass: float, height: float, soft: float, panel: float, share: float
) -> None:
    """Any stiffness between and any moving mass between lie between the bounds."""
    low, high = impact_range(mass, height, Range(soft, 4 * soft), panel, 9.80665)
    between = impact(mass, height, soft * (1 + 3 * share), share * panel / 2, 9.80665)
    assert low.force_n * (1 - 1e-12) <= between.force_n <= high.force_n * (1 + 1e-12)


@settings(deadline=None)
@given(st.floats(0.01, 1), st.floats(1, 100), st.floats(25, 1000))
def test_height_that_passes_is_the_edge(mass: float, stiffness: float, force: float) -> None:
    """A fall from that height makes that force."""
    height = height_that_passes({"mass_kg": mass}, stiffness, force, 9.80665)
    found = impact(mass, height / 1000, stiffness * 1000, 0.0, 9.80665)
    assert found.force_n == pytest.approx(force, rel=1e-6)


def test_worked_machine() -> None:
    """Worked independently: m 0.041, h 480, e 0.45, d 48: 0.193 J, 97 and 145 mm."""
    assert round(fall_energy(0.041, 0.48, 9.81), 3) == 0.193
    assert round(rebound(0.48, 0.45) * 1000) == 97
    assert round(wall_needed(0.48, 0.45, 0.048) * 1000) == 145
    assert hits_per_day(60, 0.4, 6) == 8640


def test_refusals() -> None:
    """A ball that never loses height never rests."""
    with pytest.raises(ValueError):
        bounce_time(1.0, 1.0, 9.81)
    with pytest.raises(ValueError):
        restitution_from_bounce(0.0, 1.0)
    assert height_that_passes({"mass_kg": 1.0}, 10.0, 19.0, 9.81) == 0.0
    assert math.isfinite(impact(1.0, 0.0, 10.0, 0.0, 9.81).force_n)
