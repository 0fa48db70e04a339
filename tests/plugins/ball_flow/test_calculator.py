"""The calculator as the service offers it: examples, faults, refusals, settled rates, findings."""

import copy
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from werkzeug.test import TestResponse

from baywright_plugins.ball_flow import BallFlow
from baywright_service.contract import Calculator, CannotCalculate, InvalidInputs, Result

CALCULATOR = BallFlow()
Run = Callable[[dict[str, Any]], Result]
Desk = Callable[..., dict[str, Any]]


def changed(number: int, **changes: Any) -> dict[str, Any]:
    return copy.deepcopy(dict(CALCULATOR.examples[number].inputs)) | changes


def network(**changes: Any) -> dict[str, Any]:
    body = changed(2, runs_count=2, routing="rotation", incidents=[])
    return body | changes


def faults(body: dict[str, Any]) -> list[str]:
    with pytest.raises(InvalidInputs) as caught:
        CALCULATOR.load(body)
    return [pointer for pointer, _ in caught.value.faults]


@pytest.mark.parametrize("example", CALCULATOR.examples, ids=lambda e: e.title[:30])
def test_examples_hold_and_lose_no_ball(
    example: Any, assert_example_holds: Callable[[Calculator, Mapping[str, Any]], None], run: Run
) -> None:
    body = dict(example.inputs) | {"runs_count": 2, "duration_s": 100, "settle_s": 100}
    assert_example_holds(CALCULATOR, body)
    value = run(body).value
    assert all(s["unaccounted_count"] == 0 for s in value["simulations"])
    assert value["conservation"]["difference_per_min"] == pytest.approx(0.0, abs=1e-6)


def test_one_seed_one_answer_and_csv(post: Callable[[str, Any], TestResponse], client: Any) -> None:
    body = changed(0, runs_count=2, duration_s=60, settle_s=60, routing="random")
    first, second = post("ball-flow", body), post("ball-flow", body)
    assert first.status_code == 200 and first.data == second.data
    other = post("ball-flow", body | {"seed": 2})
    assert other.data != first.data
    table = client.post(
        "/v1/calculators/ball-flow/run", json=body, headers={"Accept": "text/csv"}
    ).get_data(as_text=True)
    assert "foot-of-the-lifts,line,60" in table


def test_little_holds_at_every_place_of_the_desk(run: Run, desk: Desk) -> None:
    """L = lambda W, with L the integral over time and W the stays of the balls that left."""
    result = run(desk(4, routing="random", runs_count=1, duration_s=3000))
    for place in result.value["places"]:
        simulated = place["simulated"]
        if "little_gap_ratio" in simulated and simulated["mean_count"] > 0.2:
            assert abs(simulated["little_gap_ratio"]) < 0.05
    lanes = {place["id"]: place for place in result.value["places"]}
    assert lanes["long"]["hold_up_count"] == pytest.approx(0.25 * 75)
    assert lanes["long"]["simulated"]["mean_count"] == pytest.approx(0.25 * 75, rel=0.1)


def test_too_much_asked_piles_up_and_one_more_lift_is_proven(run: Run, desk: Desk) -> None:
    result = run(desk(4, required_balls_per_min=80, routing="rotation", duration_s=300))
    value = result.value
    assert value["flow_per_min"] == pytest.approx(72.0, abs=1e-3)
    assert value["short_by_per_min"] == pytest.approx(8.0, abs=1e-3)
    assert [pile["id"] for pile in value["piles_up"]] == ["foot-of-the-lifts"]
    assert value["piles_up"][0]["balls_per_min"] == pytest.approx(8.0)
    pile = next(f for f in result.findings if f.code == "balls-pile-up")
    assert pile.level == "stop" and pile.remedy is not None and pile.remedy.patch is not None
    assert pile.remedy.patch["lifts"][0]["count"] == 5


def test_bottleneck_upstream_of_the_lifts(run: Run, desk: Desk) -> None:
    body = desk(4, routing="rotation", duration_s=300)
    body["paths"][2]["capacity_per_min"] = 12
    value = run(body).value
    assert [pile["id"] for pile in value["piles_up"]] == ["long"]
    assert value["most_per_min"] == pytest.approx(48.0, abs=1e-3)


def test_divider_lanes_fill_in_order(run: Run) -> None:
    value = run(changed(1, runs_count=1, incidents=[], routing="rotation")).value
    lanes = {place["id"]: place for place in value["places"]}
    assert lanes["first-lane"]["overflow_per_min"] == pytest.approx(24.0)
    assert lanes["second-lane"]["rate_per_min"] == pytest.approx(24.0)
    assert value["piles_up"] == []
    simulated = lanes["second-lane"]["simulated"]["rate_per_min"]
    assert simulated == pytest.approx(24.0, rel=0.1)


def test_lanes_that_share_a_lift(run: Run, desk: Desk) -> None:
    lanes = [
        {"id": "one", "feeds": ["lift-1", "lift-2"], "places_count": 4},
        {"id": "two", "feeds": ["lift-2", "lift-3", "lift-4"], "places_count": 4},
    ]
    body = desk(4, divider_lanes=lanes, routing="rotation", queue={}, duration_s=300)
    places = {place["id"]: place for place in run(body).value["places"]}
    assert places["one"]["capacity_per_min"] == pytest.approx(36.0)
    assert places["two"]["rate_per_min"] == pytest.approx(24.0, abs=0.5)
    assert places["lift-2"]["rate_per_min"] <= 18.0 + 1e-6


def test_motor_stops_all_its_lifts(run: Run) -> None:
    stop = run(changed(1, runs_count=1, routing="rotation")).value["simulations"][0]["stop"]
    assert stop["lifts_stopped"] == ["left-1", "left-2", "right-1", "right-2"]
    assert stop["down_s"] == pytest.approx(4 * 50.0)


def test_random_failures(run: Run, desk: Desk) -> None:
    """Two lifts that run and are mended for 72 s each on average stand half the time."""
    body = desk(
        2, random_failures=True, runs_count=4, routing="rotation", duration_s=3600, settle_s=60
    )
    body["required_balls_per_min"] = 5
    body["lifts"][0] |= {"mtbf_h": 0.02, "mttr_h": 0.02}
    stop = run(body).value["simulations"][0]["stop"]
    assert stop["down_s"] == pytest.approx(3600.0, rel=0.25)
    assert stop["lifts_stopped"] == []


def test_marks_are_reached_in_order(run: Run, desk: Desk) -> None:
    marks = [{"id": "bend", "waiting_count": 3}, {"id": "end", "waiting_count": 6}]
    body = desk(4, incidents=[{"lift": "lift"}], marks=marks, routing="rotation", duration_s=60)
    reached = {r["id"]: r for r in run(body).value["simulations"][0]["stop"]["reached"]}
    assert 1.0 < reached["bend"]["median_s"] < 5.0
    assert reached["bend"]["median_s"] < reached["end"]["median_s"] < 8.0
    assert reached["end"]["kind"] == "mark" and reached["foot-of-the-lifts"]["kind"] == "line"


def test_transit_may_spread(run: Run, desk: Desk) -> None:
    body = desk(4, routing="rotation", runs_count=3)
    body["paths"][2] = {
        "id": "long",
        "transit_min_s": 65,
        "transit_max_s": 85,
        "share_ratio": 0.25,
    }
    value = run(body).value
    assert value["balls"]["on_tracks_count"] == pytest.approx(35.55)
    assert value["simulations"][0]["runs_count"] == 3


def test_balls_at_hand(run: Run, desk: Desk) -> None:
    few = run(desk(4, balls_count=80, routing="rotation", duration_s=120))
    assert [f.code for f in few.findings if f.level == "stop"] == ["too-few-balls"]
    some = run(desk(4, balls_count=90, routing="rotation", duration_s=120))
    assert "few-spare-balls" in [f.code for f in some.findings]


def test_small_balls_are_named(run: Run, desk: Desk) -> None:
    result = run(desk(4, ball_diameter_mm=30, routing="rotation", duration_s=60))
    assert any("choke" in caution.text for caution in result.cautions)


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"paths": [{"id": "a", "transit_s": 5, "share_ratio": 0.5}]}, "/paths"),
        ({"incidents": [{"lift": "crane"}]}, "/incidents/0/lift"),
        (
            {"incidents": [{"lift": "lift-1", "stops_at_s": 9, "back_at_s": 3}]},
            "/incidents/0/back_at_s",
        ),
        ({"marks": [{"id": "a", "place": "b", "waiting_count": 1}]}, "/marks/0/place"),
        ({"random_failures": True}, "/random_failures"),
        ({"network": network()["network"]}, "/lifts"),
        ({"lifts": [{"id": "lift"}]}, "/lifts/0/hooks_per_min"),
        ({"runs_count": 0}, "/runs_count"),
    ],
)
def test_faults_name_the_field(change: dict[str, Any], pointer: str) -> None:
    assert pointer in faults(changed(0, **change))


@pytest.mark.parametrize(
    ("place", "change", "pointer"),
    [
        (3, {"service_s": None}, "/network/places/3/service_s"),
        (1, {"hooks_per_min": 3}, "/network/places/1/hooks_per_min"),
        (5, {"transit_s": None}, "/network/places/5/transit_s"),
        (1, {"transit_max_s": 1}, "/network/places/1/transit_max_s"),
    ],
)
def test_faults_of_a_network(place: int, change: dict[str, Any], pointer: str) -> None:
    body = network()
    spec = body["network"]["places"][place] | change
    body["network"]["places"][place] = {k: v for k, v in spec.items() if v is not None}
    assert faults(body) == [pointer]


def test_faults_of_links() -> None:
    body = network()
    links = body["network"]["links"]
    links[0]["share_ratio"] = 0.5
    assert faults(body) == ["/network/places/0/id"]
    links[0]["share_ratio"] = 0.75
    links[2]["end"] = "lift"
    assert "/network/links/2/end" in faults(body)
    ring = network()
    ring["network"]["places"].append({"id": "turn", "kind": "split"})
    ring["network"]["links"][0] = {"start": "top", "end": "turn", "share_ratio": 0.75}
    ring["network"]["links"].append({"start": "turn", "end": "top"})
    assert faults(ring) == ["/network/links"]


def test_refusals_name_the_field(run: Run) -> None:
    for change, pointer in (
        ({"runs_count": 1000}, "/runs_count"),
        ({"runs_count": 1, "duration_s": 86400, "required_balls_per_min": 70}, "/duration_s"),
        ({"duration_s": 5, "incidents": [{"lift": "lift-1", "stops_at_s": 9}]}, "/duration_s"),
    ):
        with pytest.raises(CannotCalculate) as caught:
            run(changed(0) | change)
        assert caught.value.pointer == pointer
    trap = network()
    trap["network"]["places"] += [
        {"id": "a", "kind": "path", "transit_s": 5},
        {"id": "b", "kind": "path", "transit_s": 5},
    ]
    trap["network"]["links"][0]["end"] = "a"
    trap["network"]["links"] += [{"start": "a", "end": "b"}, {"start": "b", "end": "a"}]
    with pytest.raises(CannotCalculate) as caught:
        run(trap)
    assert caught.value.pointer == "/network/links"
