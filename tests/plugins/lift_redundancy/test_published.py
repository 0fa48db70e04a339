"""Published values, run through the calculator; sources stand beside each case in the data."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from baywright_plugins.lift_redundancy import LiftRedundancy
from baywright_plugins.lift_redundancy.availability import (
    k_out_of_n,
    shortage,
    stopped_distribution,
)
from baywright_plugins.lift_redundancy.circulation import balls_under_way

CALCULATOR = LiftRedundancy()
DATA = Path(__file__).parents[2] / "data" / "published"
INCH_MM = 25.4
Case = dict[str, Any]


def cases(file: str) -> list[Any]:
    rows = json.loads((DATA / file).read_text("utf-8"))
    return [pytest.param(row, id=row["id"]) for row in rows]


def run(body: dict[str, Any]) -> dict[str, Any]:
    return dict(CALCULATOR.calculate(CALCULATOR.load(body)).value)


def near(case: Case, value: float, expected: float) -> None:
    tolerance = case["tolerance"]
    if "exact" in tolerance:
        assert value == expected
    elif "abs" in tolerance:
        assert value == pytest.approx(expected, abs=tolerance["abs"], rel=0)
    else:
        assert value == pytest.approx(expected, rel=tolerance["rel"], abs=0)


def network(links: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    return run({"network": {"source": "s", "sink": "t", "links": links, **more}})


def reliability(links: list[dict[str, Any]]) -> float:
    return float(network(links)["availability"]["independent_ratio"])


def link(name: str, start: str, end: str, p: float) -> dict[str, Any]:
    return {"id": name, "start": start, "end": end, "availability_ratio": p}


def check_k_out_of_n(case: Case) -> None:
    k, n, p = (case["inputs"][key] for key in "knp")
    near(case, k_out_of_n(k, n, p), case["expected"])
    lift = {"id": "lift", "count": n, "capacity_per_min": 1, "availability_ratio": p}
    value = run({"lifts": [lift], "required_balls_per_min": k, "repair_crews_count": n})
    near(case, value["availability"]["independent_ratio"], case["expected"])
    near(case, value["availability"]["with_crews_ratio"], case["expected"])


def check_series(case: Case) -> None:
    parts = case["inputs"]["p"]
    stops = ["s", *(f"n{k}" for k in range(1, len(parts))), "t"]
    links = [link(f"l{k}", stops[k], stops[k + 1], p) for k, p in enumerate(parts)]
    near(case, reliability(links), case["expected"])


def check_parallel(case: Case) -> None:
    links = [link(f"l{k}", "s", "t", p) for k, p in enumerate(case["inputs"]["p"])]
    near(case, reliability(links), case["expected"])


def check_mixed(case: Case) -> None:
    first, second = case["inputs"]["series"]
    links = [link("x", "s", "a", first), link("y", "a", "b", second)]
    links += [link(f"p{k}", "b", "t", p) for k, p in enumerate(case["inputs"]["then_parallel"])]
    near(case, reliability(links), case["expected"])


def check_mttf(case: Case) -> None:
    n, rate = case["inputs"]["n"], case["inputs"]["failure_rate_per_h"]
    stopped = np.arange(n + 1)[:, None]
    never = shortage(
        stopped, np.array([n]), np.array([rate]), np.array([0.0]), 1, np.arange(n + 1) < n
    )
    near(case, never.mean_time_to_first_h, case["expected"])


def check_beta_factor(case: Case) -> None:
    beta, rate, hours, n = (
        case["inputs"][key] for key in ("beta", "failure_rate_per_h", "hours", "n_parallel")
    )
    lift = {
        "id": "lift",
        "count": n,
        "capacity_per_min": 1,
        "motor": "shaft",
        "availability_ratio": math.exp(-(1 - beta) * rate * hours),
    }
    common = {"id": "shaft", "availability_ratio": math.exp(-beta * rate * hours)}
    value = run({"lifts": [lift], "shared_causes": [common], "required_balls_per_min": 1})
    near(case, value["availability"]["independent_ratio"], case["expected"])


def bridge(case: Case) -> dict[str, Any]:
    p = case["inputs"].get("p", 0.5)
    links = []
    for name, (start, end) in case["inputs"]["links"].items():
        links.append({**link(name, start, end, p), "both_ways": (start, end) == ("a", "b")})
    return network(links)


def check_bridge(case: Case) -> None:
    value = bridge(case)
    near(case, value["availability"]["independent_ratio"], case["expected"]["reliability"])
    for unit in value["units"]:
        near(case, unit["importance_ratio"], case["expected"]["birnbaum"][unit["id"]])


def check_sets(case: Case) -> None:
    value = bridge(case)
    for key in ("minimal_paths", "minimal_cuts"):
        found = {frozenset(group) for group in value[key]}
        assert found == {frozenset(group) for group in case["expected"][key]}


def check_max_flow(case: Case) -> None:
    given = case["inputs"]
    links = [{"start": a, "end": b, "capacity_per_min": c} for a, b, c in given["edges"]]
    value = run({"network": {"source": given["source"], "sink": given["sink"], "links": links}})
    near(case, value["capacity_per_min"], case["expected"]["value"])
    cut = {(part["id"], part["capacity_per_min"]) for part in value["limited_by"]}
    assert cut == {(f"{a}-{b}", c) for a, b, c in case["expected"]["min_cut"]}


def check_little(case: Case) -> None:
    given = case["inputs"]
    if "in_system" in given:
        seconds = case["expected"]["time_in_system_s"]
        near(case, balls_under_way(given["arrival_per_s"], seconds), given["in_system"])
        return
    near(case, balls_under_way(given["arrival_per_s"], given["time_in_system_s"]), case["expected"])


def check_markov(case: Case) -> None:
    n, k, crews = (case["inputs"][key] for key in ("n", "k", "crews"))
    fail, repair = case["inputs"]["failure_rate"], case["inputs"]["repair_rate"]
    near(
        case,
        float(stopped_distribution(n, fail / repair, crews)[: n - k + 1].sum()),
        case["expected"]["availability"],
    )
    lift = {
        "id": "lift",
        "count": n,
        "capacity_per_min": 1,
        "mtbf_h": 1 / fail,
        "mttr_h": 1 / repair,
    }
    share = run({"lifts": [lift], "required_balls_per_min": k, "repair_crews_count": crews})[
        "availability"
    ]
    near(case, share["with_crews_ratio"], case["expected"]["availability"])
    near(case, share["mean_time_to_short_h"], case["expected"]["mttf"])


def check_overlapping(case: Case) -> None:
    """The source's equations are approximate: they leave out products of outage shares."""
    yearly, repair = case["inputs"]["failure_per_yr"], case["inputs"]["repair_h"]
    lifts = [
        {"id": f"l{k}", "capacity_per_min": 1, "mtbf_h": 8760 / f, "mttr_h": r}
        for k, (f, r) in enumerate(zip(yearly, repair, strict=True))
    ]
    share = run({"lifts": lifts, "required_balls_per_min": 1, "repair_crews_count": 2})[
        "availability"
    ]
    per_year = share["short_spells_per_day"] / 6 * 8760
    assert per_year == pytest.approx(case["expected"]["failure_per_yr"], rel=5e-4)
    near(case, share["mean_short_spell_min"] / 60, case["expected"]["repair_h"])


def check_steady(case: Case) -> None:
    lift = {"id": "lift", "capacity_per_min": 1, **case["inputs"]}
    value = run({"lifts": [lift], "required_balls_per_min": 1})
    near(case, value["units"][0]["availability_ratio"], case["expected"])
    near(case, value["availability"]["independent_ratio"], case["expected"])


REDUNDANCY: dict[str, Callable[[Case], None]] = {
    "k_out_of_n": check_k_out_of_n,
    "series": check_series,
    "parallel": check_parallel,
    "mixed": check_mixed,
    "mttf_parallel": check_mttf,
    "common_cause_beta_factor": check_beta_factor,
    "bridge_network": check_bridge,
    "path_and_cut_sets": check_sets,
    "max_flow": check_max_flow,
    "littles_law": check_little,
    "markov_k_of_n_repair": check_markov,
    "overlapping_outage": check_overlapping,
    "steady_availability": check_steady,
}


@pytest.mark.parametrize("case", cases("redundancy_and_flow.json"))
def test_redundancy_and_flow(case: Case) -> None:
    REDUNDANCY[case["quantity"]](case)


def chain(**given: Any) -> dict[str, Any]:
    body = {"pitch_mm": 12.7, "teeth_count": 17, "centre_distance_mm": 1000, **given}
    return dict(run({"chain": body})["chain"])


def check_length(case: Case) -> None:
    given, expected = case["inputs"], case["expected"]
    found = chain(
        teeth_count=given["N1"],
        tail_teeth_count=given["N2"],
        centre_distance_mm=given["centre_pitches"] * 12.7,
    )
    near(case, found["length_pitches"], expected["length_pitches"])
    assert found["links_count"] == expected["even_links"]
    near(case, found["centre_distance_mm"] / 12.7, expected["centre_for_even_links"])


def check_pitch_diameter(case: Case) -> None:
    inch = INCH_MM if "pitch_in" in case["inputs"] else 1.0
    pitch = case["inputs"].get("pitch_mm", case["inputs"].get("pitch_in"))
    found = chain(
        pitch_mm=pitch * inch,
        teeth_count=case["inputs"]["teeth"],
        tail_teeth_count=case["inputs"]["teeth"],
        centre_distance_mm=100 * pitch * inch,
    )
    outside = case["quantity"] == "sprocket_outside_diameter_in"
    key = "outside_diameter_mm" if outside else "pitch_diameter_mm"
    near(case, found[key] / inch, case["expected"])


def check_chordal(case: Case) -> None:
    found = chain(teeth_count=case["inputs"]["teeth"])
    near(case, 100 * found["chordal_variation_ratio"], case["expected"])


def check_offset(case: Case) -> None:
    found = chain(links_count=case["inputs"]["links"])
    assert found["offset_link"] == case["expected"]["needs_offset_link"]


def check_wrap(case: Case) -> None:
    given = case["inputs"]
    found = chain(
        teeth_count=given["N1"],
        tail_teeth_count=given["N2"],
        centre_distance_mm=given["centre_pitches"] * 12.7,
    )
    near(case, found["wrap_deg"], case["expected"])


def check_speed(case: Case) -> None:
    given = case["inputs"]
    found = chain(
        pitch_mm=given["pitch_mm"],
        teeth_count=given["teeth"],
        shaft_turns_per_min=given["rpm"],
    )
    near(case, found["chain_speed_mm_s"] / 1000, case["expected"])


def check_power(case: Case) -> None:
    given = case["inputs"]
    found = chain(
        hook_spacing_links_count=10,
        hooks_per_min=60 * given["balls_per_s"],
        ball_mass_kg=given["ball_kg"],
        loaded_height_mm=1000 * given["lift_m"],
        efficiency_ratio=given["efficiency"],
    )
    near(case, found["lifting_power_w"], case["expected"])


def check_wear(case: Case) -> None:
    found = chain(pitch_mm=case["inputs"]["pitch_mm"], links_count=case["inputs"]["links"])
    near(case, found["new_length_mm"], case["expected"]["new_mm"])
    near(case, found["replace_length_mm"], case["expected"]["replace_at_mm"])


CHAIN: dict[str, Callable[[Case], None]] = {
    "chain_length_pitches": check_length,
    "sprocket_pitch_diameter": check_pitch_diameter,
    "sprocket_pitch_diameter_in": check_pitch_diameter,
    "sprocket_outside_diameter_in": check_pitch_diameter,
    "chordal_speed_variation_pct": check_chordal,
    "offset_link_derating": check_offset,
    "small_sprocket_wrap_deg": check_wrap,
    "chain_speed_m_s": check_speed,
    "lift_power_W": check_power,
    "chain_wear_limit": check_wear,
}


@pytest.mark.parametrize("case", cases("chain_and_sprocket.json"))
def test_chain_and_sprocket(case: Case) -> None:
    CHAIN[case["quantity"]](case)
