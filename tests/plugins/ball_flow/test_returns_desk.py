"""The Returns Desk: an independent program worked the expected values, to the digits printed."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baywright_service.contract import Result

EXPECTED = json.loads(
    (Path(__file__).parents[2] / "data" / "returns-desk" / "expected.json").read_text("utf-8")
)["expected"]
AFTER = EXPECTED["after_failure"]
Run = Callable[[dict[str, Any]], Result]
Desk = Callable[..., dict[str, Any]]


def stopped(*lifts: int, **when: float) -> list[dict[str, Any]]:
    return [{"lift": f"lift-{k}", **when} for k in lifts]


@pytest.fixture(scope="module")
def two_of_four(run: Run, desk: Desk) -> Result:
    return run(
        desk(4, incidents=stopped(1, 2), runs_count=16, duration_s=110, seed=5, balls_count=96)
    )


def test_balls_in_use_and_to_order(two_of_four: Result) -> None:
    balls, expected = two_of_four.value["balls"], EXPECTED["balls"]
    assert balls["on_tracks_count"] == pytest.approx(expected["on_tracks"], abs=0.051)
    assert balls["on_lifts_count"] == pytest.approx(expected["on_lifts_14_links"], abs=0.05)
    assert balls["in_queue_count"] == expected["queue"]
    assert balls["in_basin_count"] == expected["basin"]
    assert balls["in_use_count"] == pytest.approx(expected["sum"], abs=0.05)
    assert (balls["needed_count"], balls["order_count"]) == (83, 96)  # "83 and 15 percent ...: 96"
    assert expected["order"] == "83 and 15 percent spares: 96"
    assert not [f for f in two_of_four.findings if f.code.endswith("-balls")]


def test_fluid_line_after_two_of_four_stop(two_of_four: Result) -> None:
    fluid, expected = two_of_four.value["fluid"], AFTER["four_lifts_two_stop"]
    for second, extra in expected["extra_balls_after_s"].items():
        found = np.interp(float(second), fluid["time_s"], fluid["extra_count"])
        assert found == pytest.approx(extra, abs=0.02)
    assert fluid["overflow_s"] == pytest.approx(expected["return_lane_overflows_after_s"], abs=0.05)
    assert fluid["peak_extra_count"] == pytest.approx(expected["peak_extra"], abs=0.05)
    assert fluid["peak_s"] == pytest.approx(expected["peak_at_s"], abs=0.5)


def test_rotation_follows_the_fluid_ball_by_ball(two_of_four: Result) -> None:
    expected = AFTER["four_lifts_two_stop"]
    simulation = two_of_four.value["simulations"][0]
    stop = simulation["stop"]
    assert (simulation["routing"], simulation["runs_count"]) == ("rotation", 1)
    assert stop["peak_extra_count"] == pytest.approx(expected["peak_extra"], abs=1.5)
    assert stop["peak_s"] == pytest.approx(expected["peak_at_s"], abs=4.0)
    assert stop["overflow_s"] == pytest.approx(expected["return_lane_overflows_after_s"], abs=3.0)


def test_random_routing_peaks_about_a_third_higher_and_sooner(two_of_four: Result) -> None:
    """Simulated elsewhere: mean peak 16.5, overflow after 19 s in the median."""
    simulation = two_of_four.value["simulations"][1]
    stop = simulation["stop"]
    assert simulation["routing"] == "random"
    assert simulation["flow_per_min"] == pytest.approx(
        60.0, abs=2.0 * simulation["flow_half_width_per_min"]
    )
    assert stop["peak_extra_count"] == pytest.approx(16.5, abs=stop["peak_extra_half_width"] + 1.0)
    full = next(row for row in stop["reached"] if row["id"] == "foot-of-the-lifts")
    assert full["waiting_count"] == 8
    assert full["median_s"] == pytest.approx(19.0, abs=5.0)
    assert stop["overflow_low_ratio"] < stop["overflow_ratio"] <= stop["overflow_high_ratio"]


def test_five_lifts_hold_out_when_two_stop(run: Run, desk: Desk) -> None:
    result = run(desk(5, incidents=stopped(1, 2), routing="rotation", duration_s=240))
    fluid, expected = result.value["fluid"], AFTER["five_lifts_two_stop"]
    assert fluid["peak_extra_count"] == pytest.approx(expected["peak_extra"], abs=0.05)
    assert ("overflow_s" in fluid) is expected["overflows"]
    stop = result.value["simulations"][0]["stop"]
    assert stop["overflow_ratio"] == 0.0 and stop["balls_off_count"] == 0.0
    assert "stop-held" in [f.code for f in result.findings]


def test_all_stop(run: Run, desk: Desk) -> None:
    result = run(desk(4, incidents=[{"lift": "lift"}], routing="rotation", duration_s=200))
    fluid, expected = result.value["fluid"], AFTER["all_stop"]
    assert fluid["overflow_s"] == pytest.approx(expected["overflows_after_s"], abs=0.05)
    assert fluid["peak_extra_count"] == pytest.approx(expected["extra_balls_in_all"], abs=0.06)
    stop = result.value["simulations"][0]["stop"]
    assert stop["overflow_s"] == pytest.approx(expected["overflows_after_s"], abs=1.5)
    assert stop["peak_extra_count"] == pytest.approx(expected["extra_balls_in_all"], abs=1.5)
    room = 8 + round(result.value["simulations"][0]["usual_waiting_count"])
    assert stop["balls_off_count"] == pytest.approx(35.6 + 1 - room, abs=2.0)


def test_back_to_usual_in_words(run: Run, desk: Desk) -> None:
    back = stopped(1, 2, stops_at_s=0, back_at_s=180)
    result = run(desk(4, incidents=back, routing="rotation", put_back_s=5))
    stop = result.value["simulations"][0]["stop"]
    assert stop["recovered_ratio"] == 1.0 and stop["down_s"] == pytest.approx(360.0)
    assert 30.0 < stop["recovery_s"] < 240.0
    said = result.value["statement"]
    assert "Two of four lifts stopped, balls parting in strict rotation" in said
    assert "full after 2" in said and "back to usual" in said
    kept_off = run(desk(4, incidents=back, routing="rotation"))
    after = kept_off.value["simulations"][0]["stop"]
    assert after["recovered_ratio"] == 0.0
    assert after["flow_after_per_min"] < 57.0 < stop["flow_after_per_min"]
    assert "slower-after-stop" in [f.code for f in kept_off.findings]
