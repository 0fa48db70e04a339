"""Queue models with published values, alone and posted through the calculator."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from scipy.optimize import brentq

from baywright_plugins.ball_flow.queues import erlang_b, markov_queue, no_waiting, one_server
from baywright_service.contract import Result

Case = dict[str, Any]
ROWS: list[Case] = json.loads(
    (Path(__file__).parents[2] / "data" / "published" / "ball_flow.json").read_text("utf-8")
)


def cases(quantity: str) -> list[Any]:
    return [pytest.param(row, id=row["id"]) for row in ROWS if row["quantity"] == quantity]


@pytest.mark.parametrize("case", cases("finite_queue"))
def test_finite_queue(case: Case) -> None:
    inputs, expected = case["inputs"], case["expected"]
    found = markov_queue(
        inputs["arrival"], 1 / inputs["service"], inputs["servers"], inputs["capacity"] - 1
    )
    assert found is not None and found.lost_ratio is not None and found.busy_ratio is not None
    assert found.lost_ratio == pytest.approx(expected["P_block"], abs=case["tolerance"]["abs"])
    assert found.mean_count == pytest.approx(expected["L"], abs=case["tolerance"]["abs"])
    assert 1 - found.busy_ratio == pytest.approx(expected["P0"], abs=case["tolerance"]["abs"])


@pytest.mark.parametrize("case", cases("erlang_b_offered_load"))
def test_erlang_b_table(case: Case) -> None:
    servers, blocking = case["inputs"]["servers"], case["inputs"]["blocking"]
    load = brentq(lambda a: erlang_b(a, servers) - blocking, 1e-6, 10 * servers)
    assert load == pytest.approx(case["expected"], abs=case["tolerance"]["abs"])
    settled = markov_queue(load, 1.0, servers, 0)
    assert settled is not None and settled.lost_ratio == pytest.approx(blocking, rel=1e-6)


@pytest.mark.parametrize("case", cases("erlang_c"))
def test_erlang_c_example(case: Case) -> None:
    inputs, expected = case["inputs"], case["expected"]
    service, servers = inputs["handling_s"], inputs["servers"]
    arrival = inputs["offered_erlang"] / service
    found = markov_queue(arrival, service, servers, None)
    assert found is not None and found.busy_ratio is not None and found.mean_wait_s is not None
    assert found.busy_ratio == pytest.approx(expected["wait_probability"], abs=1e-5)
    assert found.mean_wait_s == pytest.approx(expected["mean_wait_s"], abs=1e-5)
    spare = servers - inputs["offered_erlang"]
    level = 1 - found.busy_ratio * math.exp(-spare * inputs["target_s"] / service)
    assert level == pytest.approx(expected["service_level"], abs=1e-5)


def test_one_server_with_fixed_times_waits_half_as_long_as_with_exponential_ones() -> None:
    """Gross and Harris, Fundamentals of Queueing Theory (from memory): Lq of M/D/1 is half."""
    fixed, chance = one_server(0.8, 1.0, 0.0), markov_queue(0.8, 1.0, 1, None)
    assert fixed is not None and chance is not None
    assert fixed.mean_wait_s == pytest.approx((chance.mean_wait_s or 0.0) / 2)
    assert fixed.mean_wait_s == pytest.approx(2.0)
    assert one_server(1.0, 1.0, 0.0) is None and markov_queue(2.0, 1.0, 2, None) is None


@pytest.mark.parametrize("case", cases("littles_law"))
def test_little(case: Case) -> None:
    inputs, expected = case["inputs"], case["expected"]
    time_s = inputs.get("time_in_system_s") or expected["time_in_system_s"]
    count = inputs.get("in_system") or expected
    assert no_waiting(inputs["arrival_per_s"], time_s).mean_count == pytest.approx(count)


#: model, rate a minute, the station, seconds followed; the servers' example uses the numbers of
#: the published M/M/1/N and Erlang cases above.
MODELS: list[Any] = [
    ("M/M/1/K", 8, {"service_s": 60 / 9, "times": "exponential", "places_count": 2}, 20_000),
    (
        "Erlang C (M/M/c)",
        20,
        {"service_s": 30, "times": "exponential", "servers_count": 14},
        6_000,
    ),
    ("Erlang B (M/G/c/c)", 28, {"service_s": 3, "servers_count": 5, "places_count": 0}, 6_000),
    ("M/D/1", 24, {"service_s": 2}, 6_000),
]


@pytest.mark.parametrize(("model", "rate", "place", "seconds"), MODELS, ids=lambda x: str(x)[:9])
def test_simulated_within_its_interval_of_the_closed_solution(
    model: str,
    rate: float,
    place: dict[str, Any],
    seconds: float,
    station: Callable[..., dict[str, Any]],
    run: Callable[[dict[str, Any]], Result],
) -> None:
    body = station(rate, place, runs_count=12, duration_s=seconds, settle_s=600, seed=2)
    there = next(p for p in run(body).value["places"] if p["id"] == "it")
    closed, simulated = there["closed_solution"], there["simulated"]
    assert closed["model"] == model and closed["agrees"]
    for key, half in (
        ("mean_count", "mean_count_half_width"),
        ("busy_ratio", "busy_half_width_ratio"),
        ("lost_ratio", "lost_half_width_ratio"),
    ):
        if half in simulated and key in closed:
            assert abs(simulated[key] - closed[key]) <= simulated[half]
            assert simulated[half] < 0.25 * max(closed[key], 0.02)
    assert abs(simulated["little_gap_ratio"]) < 0.02


def test_track_by_chance_holds_rate_times_time(
    run: Callable[[dict[str, Any]], Result],
) -> None:
    """M/G/infinity: the mean on the track is rate times mean time, whatever the spread."""
    places = [
        {"id": "in", "kind": "feed", "rate_per_min": 30, "times": "exponential"},
        {"id": "fork", "kind": "split"},
        {"id": "it", "kind": "path", "transit_min_s": 10, "transit_max_s": 50},
        {"id": "out", "kind": "drain"},
    ]
    links = [
        {"start": "in", "end": "fork"},
        {"start": "fork", "end": "it", "share_ratio": 0.6},
        {"start": "fork", "end": "out", "share_ratio": 0.4},
        {"start": "it", "end": "out"},
    ]
    result = run(
        {
            "network": {"places": places, "links": links},
            "routing": "random",
            "runs_count": 10,
            "duration_s": 3000,
        }
    )
    there = next(p for p in result.value["places"] if p["id"] == "it")
    assert there["closed_solution"]["model"] == "M/G/infinity"
    assert there["closed_solution"]["mean_count"] == pytest.approx(30 * 0.6 / 60 * 30)
    assert there["closed_solution"]["agrees"]
