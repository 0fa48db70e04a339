"""The Returns Desk: each expected value was worked by an independent program; its printed
digits are the tolerance."""

import copy
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baywright_plugins.lift_redundancy import LiftRedundancy
from baywright_service.contract import Finding, Result, merge_patch

CALCULATOR = LiftRedundancy()
MACHINE = json.loads(
    (Path(__file__).parents[2] / "data" / "returns-desk" / "lifts.json").read_text("utf-8")
)
EXPECTED = MACHINE["expected"]


def run(which: str, **changes: Any) -> Result:
    body = merge_patch(copy.deepcopy(MACHINE[which]), changes)
    return CALCULATOR.calculate(CALCULATOR.load(body))


def named(result: Result, code: str) -> list[Finding]:
    return [f for f in result.findings if f.code == code]


def worst_flows(result: Result) -> list[float]:
    return [row["flow_worst_per_min"] for row in result.value["by_stopped"]]


@pytest.fixture(scope="module")
def planned() -> Result:
    return run("planned")


@pytest.fixture(scope="module")
def changed() -> Result:
    return run("changed")


def test_each_lift_brings_eighteen_and_four_are_needed(planned: Result) -> None:
    assert set(planned.value["lift_capacity_per_min"]) == {EXPECTED["lifts"]["per_lift_per_min"]}
    assert planned.value["needed_lift_count"] == EXPECTED["lifts"]["needed_k"]


@pytest.mark.parametrize(("which", "key"), [("planned", "with_4"), ("changed", "with_5")])
def test_flow_by_number_stopped(which: str, key: str) -> None:
    assert worst_flows(run(which)) == EXPECTED["lifts"][key]["flow_by_number_stopped"]


@pytest.mark.parametrize(
    ("which", "key", "digits"), [("planned", "with_4", 2), ("changed", "with_5", 4)]
)
def test_availability_with_and_without_a_single_repairer(which: str, key: str, digits: int) -> None:
    share, expected = run(which).value["availability"], EXPECTED["lifts"][key]
    assert round(share["independent_ratio"], digits) == expected["availability_independent"]
    repairer = expected["availability_one_repairer"]
    assert round(share["with_crews_ratio"], 3 if key == "with_4" else 4) == repairer


def test_minutes_short_in_six_hours(planned: Result, changed: Result) -> None:
    minutes = [r.value["availability"]["minutes_short_independent_min"] for r in (planned, changed)]
    assert round(minutes[0]) == EXPECTED["lifts"]["with_4"]["minutes_short_in_6_h"]
    assert round(minutes[1], 1) == EXPECTED["lifts"]["with_5"]["minutes_short_in_6_h"]


def test_with_four_each_lift_is_a_single_point(planned: Result) -> None:
    assert EXPECTED["lifts"]["with_4"]["each_lift_is_a_single_point_of_failure"]
    lifts = [p["id"] for p in planned.value["single_points"] if p["kind"] == "lift"]
    assert lifts == ["lift-1", "lift-2", "lift-3", "lift-4"]
    finding = named(planned, "lift-single-point")[0]
    assert (finding.level, planned.verdict) == ("stop", "stop")
    assert finding.measure is not None
    assert (finding.measure.value, finding.measure.limit) == (54.0, 60.0)


def test_with_five_only_the_stations_remain(changed: Result) -> None:
    left = {p["id"].replace("-", " ") for p in changed.value["single_points"]}
    assert left == set(EXPECTED["lifts"]["with_5"]["single_points_left"])
    assert changed.verdict == "watch"
    assert {f.code for f in changed.findings if f.level == "watch"} == {
        "single-point-of-failure",
        "return-lane-overflows",
    }


def test_one_more_lift_is_offered_and_clears_the_single_point(planned: Result) -> None:
    remedy = named(planned, "lift-single-point")[0].remedy
    assert remedy is not None and remedy.patch is not None
    assert remedy.patch["lifts"][0]["count"] == 5
    assert not named(run("planned", **remedy.patch), "lift-single-point")


def test_chain_of_the_lift(planned: Result) -> None:
    chain, expected = planned.value["chain"], EXPECTED["lifts"]
    assert chain["links_count"] == expected["links"]
    assert chain["hooks_count"] == expected["hooks"]
    assert chain["centre_distance_mm"] == pytest.approx(expected["centre_distance_mm"], abs=1e-9)
    assert round(chain["pitch_diameter_mm"], 2) == expected["pitch_diameter_mm"]
    assert round(chain["chain_speed_mm_s"], 2) == expected["chain_mm_per_s"]
    assert round(chain["shaft_turns_per_min"], 2) == expected["shaft_rpm"]
    assert round(chain["shaft_torque_n_m"], 3) == expected["shaft_torque_with_margin_Nm"]
    assert round(chain["shaft_power_w"], 2) == expected["shaft_power_W"]
    assert {7, 8, 10, 14, 20, 28} <= set(chain["even_spacings_links_count"].tolist())


def test_tooth_passing_is_too_near_the_frame_and_twenty_eight_links_clear_it(
    planned: Result,
) -> None:
    expected = EXPECTED["lifts"]
    tooth = planned.value["chain"]["excitations"][0]
    assert round(tooth["frequency_hz"], 2) == expected["tooth_passing_Hz"]
    assert tooth["nearest_frame_hz"] == expected["nearest_mode_Hz"]
    assert round(100 * tooth["apart_ratio"]) == expected["apart_percent"]
    remedy = named(planned, "tooth-near-frame-frequency")[0].remedy
    assert remedy is not None
    assert remedy.patch == {"chain": {"hook_spacing_links_count": 28}}
    wide = run("planned", **remedy.patch)
    clear, want = wide.value["chain"], expected["with_28_links"]
    assert clear["hooks_count"] == want["hooks"]
    assert round(clear["tooth_passing_hz"], 2) == want["tooth_passing_Hz"]
    assert clear["excitations"][0]["nearest_frame_hz"] == want["nearest_mode_Hz"]
    assert round(100 * clear["excitations"][0]["apart_ratio"]) == want["apart_percent"]
    assert named(wide, "tooth-clear-of-frame") and not named(wide, "tooth-near-frame-frequency")


def test_balls_in_circulation(planned: Result) -> None:
    balls, expected = planned.value["balls"], EXPECTED["balls"]
    assert balls["on_tracks_count"] == pytest.approx(expected["on_tracks"], abs=0.0501)
    assert round(balls["on_lifts_count"], 1) == expected["on_lifts_14_links"]
    assert balls["in_queue_count"] == expected["queue"]
    assert balls["in_basin_count"] == expected["basin"]
    assert round(balls["in_use_count"], 1) == expected["sum"]
    text = f"{balls['needed_count']} and 15 percent spares: {balls['order_count']}"
    assert text == expected["order"]


def test_return_lane_when_two_of_four_stop(planned: Result) -> None:
    row, expected = (
        planned.value["by_stopped"][2],
        EXPECTED["after_failure"]["four_lifts_two_stop"],
    )
    for seconds, balls in expected["extra_balls_after_s"].items():
        found = np.interp(float(seconds), row["time_s"], row["extra_balls"])
        assert found == pytest.approx(balls, abs=0.0051), seconds
    assert row["overflow_s"] == pytest.approx(expected["return_lane_overflows_after_s"], abs=0.01)
    assert round(row["peak_extra_balls"], 1) == expected["peak_extra"]
    assert row["peak_s"] == expected["peak_at_s"]


def test_return_lane_when_two_of_five_stop(changed: Result) -> None:
    row, expected = (
        changed.value["by_stopped"][2],
        EXPECTED["after_failure"]["five_lifts_two_stop"],
    )
    assert round(row["peak_extra_balls"], 1) == expected["peak_extra"]
    assert ("overflow_s" in row) == expected["overflows"]


def test_return_lane_when_all_stop(planned: Result) -> None:
    row, expected = planned.value["by_stopped"][4], EXPECTED["after_failure"]["all_stop"]
    assert row["overflow_s"] == pytest.approx(expected["overflows_after_s"], abs=0.01)
    assert row["peak_extra_balls"] == pytest.approx(expected["extra_balls_in_all"], abs=0.0501)


def test_more_room_on_the_return_lane_is_proven(planned: Result) -> None:
    first = named(planned, "return-lane-overflows")[0]
    assert first.remedy is not None and first.remedy.patch is not None
    again = run("planned", **first.remedy.patch)
    assert "overflow_s" not in again.value["by_stopped"][2]
    tight = run("planned", queue={"free_places_count": 12})
    assert "overflow_s" in tight.value["by_stopped"][2]


def test_too_few_balls_are_told_with_how_many_to_get() -> None:
    short = named(run("planned", balls_count=80), "too-few-balls")[0]
    assert short.level == "stop" and short.remedy is not None
    assert short.remedy.patch == {"balls_count": 96}
    spares = named(run("planned", balls_count=90), "too-few-balls")[0]
    assert spares.level == "watch"
    assert not named(run("planned", balls_count=96), "too-few-balls")


def test_two_of_five_lifts_on_one_motor_are_one_lift() -> None:
    lifts = [
        {"id": "a", "count": 3, "mtbf_h": 16, "mttr_h": 0.25},
        {"id": "b", "count": 2, "mtbf_h": 16, "mttr_h": 0.25, "motor": "M1"},
    ]
    result = run("changed", lifts=lifts)
    assert [u["lifts"] for u in result.value["units"]][-1] == ["b-1", "b-2"]
    finding = named(result, "lifts-share-a-motor")[0]
    assert finding.level == "stop" and finding.measure is not None
    assert (finding.measure.value, finding.measure.limit) == (54.0, 60.0)
    assert ("M1", "shared-cause") in [(p["id"], p["kind"]) for p in result.value["single_points"]]
    assert finding.remedy is not None and finding.remedy.patch is not None
    assert run("changed", **finding.remedy.patch).verdict == "watch"
    # The pair is one unit that must run, and two of the other three with it.
    a = 16 / 16.25
    both = a * (a**3 + 3 * a**2 * (1 - a))
    assert result.value["availability"]["independent_ratio"] == pytest.approx(both, rel=1e-12)


def test_lifts_on_one_power_supply_are_one_single_point() -> None:
    lifts = [{**MACHINE["changed"]["lifts"][0], "power_supply": "PSU"}]
    result = run("changed", lifts=lifts)
    assert len(result.value["units"]) == 1
    assert named(result, "lifts-share-a-motor")[0].level == "stop"
    assert not [a for a in result.assumptions if a.startswith("No power supply")]
    # With failure times of its own the supply is one more unit beside the five lifts.
    apart = run("changed", lifts=lifts, shared_causes=[{"id": "PSU", "availability_ratio": 0.999}])
    five = run("changed").value["availability"]["independent_ratio"]
    assert apart.value["availability"]["independent_ratio"] == pytest.approx(0.999 * five)
    assert "PSU" in [p["id"] for p in apart.value["single_points"]]
    shared = named(apart, "lifts-share-a-motor")[0]
    assert shared.level == "stop" and "when PSU does" in shared.message
    assert shared.remedy is not None and shared.remedy.patch is not None
    assert run("changed", **shared.remedy.patch).verdict == "watch"


def test_a_station_below_the_flow_is_named_as_the_limit() -> None:
    result = run("changed", stations={"return_lane_per_min": 50})
    finding = named(result, "required-flow-not-met")[0]
    assert result.verdict == "stop" and "return-lane" in finding.message
    assert result.value["limited_by"] == [{"id": "return-lane", "capacity_per_min": 50.0}]
    assert result.value["flow_per_min"] == 50.0


def test_three_lifts_are_short_and_two_more_are_offered() -> None:
    result = run("planned", lifts=[{"id": "lift", "count": 3}])
    finding = named(result, "required-flow-not-met")[0]
    assert result.value["needed_lift_count"] == 4
    assert finding.remedy is not None and finding.remedy.patch is not None
    assert finding.remedy.patch["lifts"][0]["count"] == 4


def test_what_may_stop_is_the_builders_to_say() -> None:
    assert named(run("planned", tolerate_stopped_count=0), "lifts-exactly-k")[0].level == "watch"
    two = named(run("changed", tolerate_stopped_count=2), "too-few-spare-lifts")[0]
    assert two.remedy is not None and two.remedy.patch is not None
    assert two.remedy.patch["lifts"][0]["count"] == 6


@pytest.mark.parametrize(
    ("links", "code"), [(279, "odd-links"), (282, "hooks-uneven"), (280, "hooks-even")]
)
def test_links_that_are_odd_or_leave_a_gap(links: int, code: str) -> None:
    result = run("planned", chain={"links_count": links})
    finding = named(result, code)[0]
    if code == "hooks-even":
        assert finding.level == "ok" and not named(result, "odd-links")
        return
    assert finding.level == "watch" and finding.remedy is not None
    assert finding.remedy.patch is not None
    assert not named(result, "hooks-even")
    patched = merge_patch({"chain": {"links_count": links}}, finding.remedy.patch)
    assert not named(run("planned", **patched), code)


def test_overflow_order_fills_the_first_lane_first() -> None:
    lanes = [
        {"id": "near", "capacity_per_min": 40, "feeds": ["lift-1", "lift-2", "lift-3"]},
        {"id": "far", "capacity_per_min": 40, "feeds": ["lift-3", "lift-4"]},
    ]
    value = run("planned", divider_lanes=lanes).value
    assert value["lanes"] == [
        {"id": "near", "flow_per_min": 40.0},
        {"id": "far", "flow_per_min": 20.0},
    ]
    assert value["spill_per_min"] == 0.0
    lanes[1]["capacity_per_min"] = 15
    spilling = run("planned", divider_lanes=lanes)
    assert spilling.value["spill_per_min"] == 5.0
    assert named(spilling, "divider-spills")[0].level == "stop"


def test_single_points_point_at_their_entries(changed: Result) -> None:
    places = named(changed, "single-point-of-failure")[0].at
    assert "/stations/divider_per_min" in places and len(places) == 5
