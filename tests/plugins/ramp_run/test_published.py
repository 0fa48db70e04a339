"""Numbers that others have printed; the source stands beside each value in the data file."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.floor_tiling_ratio.drop_impact import free_fall_speed
from baywright_plugins.ramp_run.ball import INERTIA, Ball, inertia_about, rolling_acceleration
from baywright_plugins.ramp_run.bends import ideal_bank, loop_height
from baywright_plugins.ramp_run.contact import rails
from baywright_plugins.ramp_run.edges import Roller
from baywright_plugins.ramp_run.flight import bouncing_time, fly, release
from baywright_plugins.ramp_run.resistance import TABLE
from baywright_plugins.ramp_run.slip import gripped_speed, slip_slope
from baywright_service.contract import Result

CASES = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "ramp_run.json").read_text("utf-8")
)
Json = dict[str, Any]
Run = Callable[[Json], Result]
Body = Callable[..., Json]


def entries(quantity: str) -> pytest.MarkDecorator:
    cases = [case for case in CASES if case["quantity"] == quantity]
    assert cases
    return pytest.mark.parametrize("case", cases, ids=[case["id"] for case in cases])


def within(case: Json, expected: float) -> Any:
    return pytest.approx(expected, **case["tolerance"])


@entries("incline_acceleration")
def test_acceleration_on_a_slope(case: Json) -> None:
    inertia = {"sphere": INERTIA["solid"], "cylinder": 0.5}[case["inputs"]["body"]]
    angle, g = math.radians(case["inputs"]["angle_deg"]), case["inputs"]["g"]
    found = rolling_acceleration(angle, inertia, g)
    assert found == within(case, case["expected"]["a_m_s2"])
    assert 1 / (1 + inertia) == within(case, case["expected"]["factor"])


@entries("two_rail_acceleration")
def test_ball_on_two_rails(case: Json) -> None:
    """KoMaL P.4699: the contacts lie at 6 mm from the axis, so a = 9/38 g at 30 degrees."""
    given, expected = case["inputs"], case["expected"]
    ball = Ball(given["ball_diameter_mm"] / 1000, 0.05, INERTIA["solid"])
    contact = rails(ball.diameter_m, given["rail_gauge_mm"] / 1000)
    assert contact.effective_radius_m * 1000 == within(case, expected["effective_radius_mm"])
    inertia = inertia_about(ball, contact.effective_radius_m)
    angle = math.radians(given["angle_deg"])
    assert rolling_acceleration(angle, inertia, given["g"]) == within(case, expected["a_m_s2"])
    assert 1 / (1 + inertia) == within(case, expected["factor"])


@entries("no_slip_limit")
def test_slope_from_which_a_ball_slides(case: Json) -> None:
    found = math.degrees(slip_slope(case["inputs"]["mu"], INERTIA["solid"]))
    assert found == within(case, case["expected"]["max_angle_deg"])


@entries("free_fall_speed")
def test_free_fall(case: Json) -> None:
    """Read off the speed at touch-down of a ball that falls from rest."""
    height, g = case["inputs"]["height_m"], case["inputs"]["g"]
    assert fly(0.0, height, 0.0, g).down_m_s == within(case, case["expected"])
    assert free_fall_speed(height, g) == within(case, case["expected"])


@entries("roll_down_speed")
@pytest.mark.parametrize("slope_percent", [5, 30])
def test_speed_after_rolling_down(run: Run, body: Body, case: Json, slope_percent: float) -> None:
    """Whatever the slope, by the whole calculator without losses."""
    length = case["inputs"]["height_m"] * 1000 / slope_percent * 100
    segment = {"kind": "straight", "run_mm": length, "slope_percent": slope_percent}
    value = run(body([segment], gravity_m_s2=case["inputs"]["g"])).value
    assert value["end_speed_low_m_per_s"] == within(case, case["expected"])
    assert value["end_speed_high_m_per_s"] == within(case, case["expected"])


@entries("loop_minimum_height")
def test_start_height_of_a_loop(case: Json) -> None:
    """Rolling 2.7 R, sliding (no inertia of turning) 2.5 R."""
    radius = case["inputs"]["loop_radius_m"]
    expected = case["expected"]
    assert loop_height(radius, INERTIA["solid"]) == within(case, expected["rolling_height_m"])
    assert loop_height(radius, 0.0) == within(case, expected["sliding_height_m"])


@entries("loop_minimum_height_of_centre")
def test_start_height_of_a_loop_with_the_ball_in_it(case: Json) -> None:
    radius, ball = case["inputs"]["loop_radius_m"], case["inputs"]["ball_radius_m"]
    found = ball + loop_height(radius - ball, INERTIA["solid"])
    assert found == within(case, case["expected"]["centre_above_base_m"])


@entries("restitution_from_bounce")
def test_restitution_from_bounces(run: Run, body: Body, case: Json) -> None:
    """Through the contract: the first bounce after a fall of 1 m is e^2 of it."""
    inputs, expected = case["inputs"], case["expected"]
    tests = [
        {"drop_mm": inputs["drop"], "rebound_mm": inputs[key]}
        for key in ("rebound_min", "rebound_max")
    ]
    ball = {"diameter_mm": 65, "mass_kg": 0.058, "body": "hollow", "bounce_tests": tests}
    segments = [{"kind": "level", "length_mm": 50}, {"kind": "drop", "drop_mm": 1000}]
    value = run(body(segments, ball=ball, start_speed_min_m_per_s=2.0)).value
    landing = value["segments"][1]["landing"]
    for end, key in (("low", "e_min"), ("high", "e_max")):
        e = math.sqrt(landing[f"rebound_{end}_mm"] / 1000)
        assert e == within(case, expected[key])


@entries("bounce_series")
def test_time_of_all_bounces(case: Json) -> None:
    """Fall and bounces together, as the source counts them."""
    height, e, g = (case["inputs"][key] for key in ("height_m", "e", "g"))
    flight = fly(0.0, height, 0.0, g)
    found = flight.time_s + bouncing_time(flight.down_m_s, e, g)
    assert found == within(case, case["expected"]["rest_time_s"])


@entries("ramp_end_range")
def test_flight_from_a_ramp(case: Json) -> None:
    given, expected = case["inputs"], case["expected"]
    angle = math.radians(given["down_angle_deg"])
    flight = fly(given["speed_m_s"], given["drop_m"], angle, given["g"])
    assert flight.time_s == within(case, expected["time_s"])
    assert flight.range_m == within(case, expected["range_m"])


@entries("banked_curve_deg")
def test_bank_without_push_sideways(case: Json) -> None:
    given = case["inputs"]
    found = math.degrees(ideal_bank(given["speed_m_s"], given["radius_m"], given["g"]))
    assert found == within(case, case["expected"])


@entries("edge_release_cosine")
def test_ball_tips_off_an_edge(case: Json) -> None:
    let_go = release(Roller(0.024, INERTIA["solid"], 9.81), 0.0, 0.0)
    assert let_go is not None
    assert math.cos(let_go.down_rad) == within(case, case["expected"]["cosine"])


@entries("sliding_to_rolling")
def test_a_sliding_ball_takes_to_rolling(case: Json) -> None:
    ball = Ball(0.2, 7.0, INERTIA["solid"])
    found = gripped_speed(case["inputs"]["speed_m_s"], 0.0, ball, ball.radius_m)
    assert found == within(case, case["expected"]["speed_m_s"])


@entries("rolling_resistance_range")
def test_table_of_rolling_resistance(case: Json) -> None:
    known = {
        "steel wheel on rail": "steel-wheel-on-rail",
        "car tyre on concrete": "car-tyre-on-concrete",
        "hardened steel ball bearing on steel": "steel-ball-on-steel",
    }[case["inputs"]["pair"]]
    row = next(row for row in TABLE if row.pair == known)
    assert row.low == within(case, case["expected"]["min"])
    assert row.high == within(case, case["expected"]["max"])


def test_wood_has_no_source_and_says_so() -> None:
    wood = next(row for row in TABLE if row.pair == "wood-on-wood")
    assert "no source" in wood.source and "measure" in wood.source
