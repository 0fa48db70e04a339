"""The whole calculator through its contract and over HTTP."""

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from baywright_plugins.floor_impact import FloorImpact
from baywright_service.contract import (
    LEVELS,
    CannotCalculate,
    Circle,
    Finding,
    InvalidInputs,
    Line,
    Result,
    merge_patch,
    svg_text,
)
from baywright_service.envelope import envelope
from baywright_service.json_writer import plain
from baywright_service.registry import Registry
from baywright_service.schemas import json_schema

CALCULATOR = FloorImpact()
DATA = Path(__file__).parents[2] / "data" / "returns-desk"
BASE = dict(CALCULATOR.examples[0].inputs)
SMALL = {"panel": {"bays_along_count": 2, "bays_across_count": 1, "cross_rod": None}}


@pytest.fixture(scope="module")
def built_in() -> Registry:
    """Only this calculator, so that no other one's fault shows here."""
    return Registry({"floor-impact": FloorImpact()})


def body(*changes: dict[str, Any]) -> dict[str, Any]:
    made = merge_patch(copy.deepcopy(BASE), SMALL)
    for change in changes:
        made = merge_patch(made, change)
    return dict(made)


def run(inputs: dict[str, Any]) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(inputs))


def finding(result: Result, code: str) -> Finding:
    return next(one for one in result.findings if one.code == code)


def codes(result: Result) -> dict[str, str]:
    return {one.code: one.level for one in result.findings}


@pytest.fixture(scope="module")
def results() -> dict[int, Result]:
    """The examples, worked once."""
    return {k: run(dict(e.inputs)) for k, e in enumerate(CALCULATOR.examples)}


def test_examples_follow_the_published_schemas(results: dict[int, Result]) -> None:
    """Inputs and answer of each."""
    for k, result in results.items():
        inputs = plain(CALCULATOR.examples[k].inputs)
        Draft202012Validator(json_schema(CALCULATOR.inputs_schema)).validate(inputs)
        answer = plain(envelope(CALCULATOR, result, ()))["result"]
        Draft202012Validator(json_schema(CALCULATOR.result_schema)).validate(answer)


def test_floor_of_the_returns_desk(results: dict[int, Result]) -> None:
    """What an independent program computed for a ball of 41 g from 480 mm: energy, rebound, wall,
    and the hits that share of balls makes in six hours."""
    expected = json.loads((DATA / "expected.json").read_text("utf-8"))["expected"]["floor"]
    ball = results[0].value["ball"]
    assert round(ball["energy_j"], 3) == expected["impact_energy_J"]
    assert round(ball["rebound_max_mm"]) == expected["rebound_mm"]
    assert round(ball["wall_needed_mm"]) == expected["wall_needed_mm"]
    assert ball["hits_per_day_count"] == 8640
    assert ball["lost_max_j"] == pytest.approx(ball["energy_j"] * (1 - 0.45**2))
    assert codes(results[0])["wall-holds"] == "ok"


def test_only_the_vertical_part_presses() -> None:
    """Speed along the floor changes angle and whole energy, not the force."""
    low = {"drop": {"height_mm": 30}}
    straight, slanted = run(body(low)), run(body(low, {"drop": {"horizontal_speed_m_per_s": 3.0}}))
    assert slanted.value["ball"]["landing_angle_deg"] < 50
    assert slanted.value["ball"]["whole_energy_j"] > slanted.value["ball"]["energy_j"]
    worst = [r.value["panels"][0]["worst"]["force_max_n"] for r in (straight, slanted)]
    assert worst[0] == worst[1]


def test_ranges_are_ranges(results: dict[int, Result]) -> None:
    """At each place and target least is not above most; the worst is the largest of all."""
    pairs = ("force", "energy", "deflection", "touch", "utilisation", "back", "lifts")
    for result in results.values():
        for panel in result.value["panels"]:
            for hit in panel["hits"]:
                for name in pairs:
                    low, high = (
                        next(hit[k] for k in hit if k.startswith(f"{name}_{bound}"))
                        for bound in ("min", "max")
                    )
                    assert 0 <= low <= high * (1 + 1e-9), (name, hit)
            used = [hit["utilisation_max_ratio"] for hit in panel["hits"]]
            assert panel["worst"]["utilisation_max_ratio"] == max(used)
        for touch in result.value["touch"]:
            assert touch["force_min_n"] <= touch["force_max_n"]
            assert touch["duration_min_ms"] <= touch["duration_max_ms"]


def test_better_orientation_wins_by_numbers(results: dict[int, Result]) -> None:
    """The better one uses less at its worst place, and the words carry both numbers."""
    for result in results.values():
        said = result.value["comparison"]
        used = {
            p["orientation"]: p["worst"]["utilisation_max_ratio"] for p in result.value["panels"]
        }
        other = next(name for name in used if name != said["better"])
        assert used[said["better"]] <= used[other]
        assert said["advantage_ratio"] == pytest.approx(used[other] / used[said["better"]])
        for number in used.values():
            assert f"{number:.2f}" in said["why"]


def test_remedies_do_what_they_say(results: dict[int, Result]) -> None:
    """Every patch, applied, clears its finding; every measure leads where it says."""
    tried = 0
    for k, result in results.items():
        for one in result.findings:
            if one.remedy is None or one.remedy.patch is None:
                continue
            tried += 1
            inputs = merge_patch(CALCULATOR.examples[k].inputs, one.remedy.patch)
            after = CALCULATOR.calculate(CALCULATOR.load(inputs, proving=True))
            left = {f.code: f.level for f in after.findings}
            assert left.get(one.code, "ok") == "ok", one.code
    assert tried >= 5
    measures = results[1].value["measures"]
    assert any(one["passes"] for one in measures) and not all(one["passes"] for one in measures)
    assert all(one["passes"] == (one["utilisation_max_ratio"] <= 1) for one in measures)


FOUND = [
    ("impact-over-strength", "stop", {}),
    ("impact-under-strength", "ok", {"drop": {"height_mm": 20}}),
    ("ball-falls-through", "stop", {"panel": {"deck": None}, "ball": {"diameter_mm": 45}}),
    ("wall-too-low", "stop", {"drop": {"wall_mm": 100}}),
    ("panel-lifts", "watch", {"panel": {"supports": {"clipped": False}}}),
    ("flat-not-worked-out", "watch", {"panel": {"seat_turning_n_mm_per_rad": 0}}),
    ("orientation-loses", "watch", {"panel": {"built": "on-edge"}}),
    ("cushion-lies-flat", "watch", {"slowing": {"travel_mm": 1, "stiffness_n_per_mm": 1}}),
    ("deep-dents", "watch", {"ball": {"material": {"known": "rubber"}}}),
    ("small-ball", "watch", {"ball": {"diameter_mm": 44.45}}),
    ("drop-test-short", "watch", {"test": {"drops_done_count": 20}}),
    ("drop-test-passed", "ok", {"test": {"drops_done_count": 45}}),
    (
        "own-weight-too-much",
        "stop",
        {
            "panel": {
                "seat_moment_n_mm": 1,
                "built": "flat",
                "deck": None,
                "bays_along_count": 6,
                "bay_rod": "R120",
            }
        },
    ),
    ("slip-adds-up", "stop", {"panel": {"seat_moment_n_mm": 20, "built": "flat"}}),
]


@pytest.mark.parametrize("code,level,change", FOUND, ids=[row[0] for row in FOUND])
def test_finding(code: str, level: str, change: dict[str, Any]) -> None:
    """One change, one finding, at its level, with a sentence."""
    quick = code != "orientation-loses"  # a proof looks at what is built alone
    result = CALCULATOR.calculate(CALCULATOR.load(body(change), proving=quick))
    found = finding(result, code)
    assert found.level == level and found.message.endswith(".") and found.at
    assert LEVELS.index(result.verdict) >= LEVELS.index(level)


def test_a_small_ball_brings_its_warnings_and_their_sources() -> None:
    """16 CFR 1500.18(a)(17): 1.75 in is 44.45 mm; 16 CFR 1501.4: 1.25 in is 31.75 mm."""

    def told(diameter: float) -> tuple[str, str]:
        answer = envelope(CALCULATOR, run(body({"ball": {"diameter_mm": diameter}})), ())
        return " ".join(answer["cautions"]), " ".join(s["title"] for s in answer["sources"])

    for diameter, chokes, part in ((44.46, False, False), (44.45, True, False), (25, True, True)):
        cautions, sources = told(diameter)
        assert ("choke" in cautions, "under 3 years" in cautions) == (chokes, part)
        assert ("1500.18(a)(17)" in sources, "1501.4" in sources) == (chokes, part)
        assert "slip hazard" in cautions


def test_slips_are_counted() -> None:
    """Above the slip each hit slides or turns a seat; hits and days until it is lost."""
    weak = {"built": "on-edge", "deck": None, "seat_moment_n_mm": 5000, "bay_rod": "R60"}
    inputs = body({"panel": weak, "drop": {"height_mm": 900}})
    result = CALCULATOR.calculate(CALCULATOR.load(inputs, proving=True))
    said = result.value["repeated"]
    assert said["slips"] != "never" and said["slip_per_hit_max_mm"] > 0
    assert said["seat_depth_mm"] == 7
    third = said["seat_depth_mm"] / 3
    assert said["hits_to_lose_seat_count"] == pytest.approx(third / said["slip_per_hit_max_mm"])
    days = said["hits_to_lose_seat_count"] / 8640
    assert said["days_to_lose_seat_days"] == pytest.approx(days)


def test_softer_stop_lowers_the_force(results: dict[int, Result]) -> None:
    """On the way the stop report asks for, the steady force is what the weakest place may take."""
    value = results[0].value
    stop, energy = value["stop"], 1000 * value["ball"]["energy_j"]
    weight = 0.041 * 9.81
    assert (stop["allowed_n"] - weight) * stop["evenly_mm"] == pytest.approx(energy)
    assert stop["spring_n_per_mm"] * stop["spring_mm"] == pytest.approx(stop["allowed_n"])
    assert stop["spring_mm"] > 1.9 * stop["evenly_mm"]
    built = value["comparison"]["built"]
    panel = next(p for p in value["panels"] if p["orientation"] == built)
    assert stop["allowed_n"] == min(hit["allowed_n"] for hit in panel["hits"])


def test_drop_test_speaks_of_a_day(results: dict[int, Result]) -> None:
    """45 drops show 95 % at 90 %; a whole day of 8640 takes that many times as many, about."""
    test = results[0].value["test"]
    assert (test["drops_count"], [p["drops_count"] for p in test["plans"]]) == (
        45,
        [45, 77, 105, 132],
    )
    assert test["for_a_day_count"] == pytest.approx(8640 * 44.89, rel=1e-3)
    assert "45 drops" in " ".join(test["steps"]) and "first failure" in " ".join(test["steps"])
    shown = [point["shown_ratio"] for point in test["shown_by_drops"]]
    assert shown == sorted(shown)
    assert results[2].value["test"]["shown_so_far_ratio"] > 0.9


REFUSED = [
    ("/panel/bay_rod", {"panel": {"bay_rod": "R61"}}),
    ("/panel/depth_rod", {"panel": {"depth_rod": "R120"}}),
    ("/panel/bay_rod", {"kit": {"hubs": [{**BASE["kit"]["hubs"][0], "seat_inset_mm": 40}]}}),
    (
        "/panel/seat_turning_n_mm_per_rad",
        {"panel": {"built": "flat", "seat_turning_n_mm_per_rad": 0}},
    ),
    ("/panel", {"panel": {"diagonals": "none", "seat_turning_n_mm_per_rad": 0}}),
]


@pytest.mark.parametrize("pointer,change", REFUSED, ids=[str(k) for k in range(len(REFUSED))])
def test_refusal_names_its_place(pointer: str, change: dict[str, Any]) -> None:
    """What no panel can be built of is refused with a reason."""
    with pytest.raises(CannotCalculate) as refused:
        run(body(change))
    assert refused.value.pointer == pointer and refused.value.reason.endswith(".")


FAULTS = [
    ("/ball/restitution_max_ratio", "out-of-range", {"ball": {"restitution_max_ratio": 0.1}}),
    ("/ball/material/known", "not-unique", {
        "ball": {"material": {"known": "steel", "modulus_min_n_per_mm2": 1}}
    }),
    ("/ball/material/modulus_max_n_per_mm2", "missing", {
        "ball": {"material": {"modulus_min_n_per_mm2": 1}}
    }),
    ("/drop/height_mm", "out-of-range", {"drop": {"height_mm": 0}}),
    ("/panel/bays_across_count", "too-many", {
        "panel": {"bays_along_count": 12, "bays_across_count": 3}
    }),
    ("/panel/supports/stiffness_n_per_mm", "missing", {"panel": {"supports": {"rests_on": "net"}}}),
    ("/panel/damping_max_ratio", "out-of-range", {"panel": {"damping_min_ratio": 0.2}}),
    ("/test/failures_seen_count", "out-of-range", {"test": {"failures_seen_count": 3}}),
]  # fmt: skip


@pytest.mark.parametrize("pointer,code,change", FAULTS, ids=[row[0] for row in FAULTS])
def test_fault_is_named(pointer: str, code: str, change: dict[str, Any]) -> None:
    """One change to a valid body, one fault at its place."""
    with pytest.raises(InvalidInputs) as invalid:
        CALCULATOR.load(body(change))
    found = [(where, fault.code) for where, fault in invalid.value.faults]
    if pointer.endswith("known"):
        assert found == [("/ball/material/modulus_min_n_per_mm2", code)]
    else:
        assert found == [(pointer, code)]


def test_pictures(results: dict[int, Result]) -> None:
    """Each view draws each example; the map has a circle for every place, mirror images too."""
    for k, result in results.items():
        inputs = CALCULATOR.load(CALCULATOR.examples[k].inputs)
        for view in CALCULATOR.views:
            drawing = CALCULATOR.draw(inputs, result, view)
            assert svg_text(drawing).startswith("<svg") and drawing.description
    inputs = CALCULATOR.load(CALCULATOR.examples[0].inputs)
    places = CALCULATOR.draw(inputs, results[0], "places")
    centres = {shape.centre for shape in places.shapes if isinstance(shape, Circle)}
    supports = 6 if results[0].value["comparison"]["built"] == "flat" else 0
    assert len(centres) == 9 * 5 - supports
    force = CALCULATOR.draw(inputs, results[0], "force")
    assert max(len(s.points) for s in force.shapes if isinstance(s, Line)) >= 100


def test_over_http(client: FlaskClient, post: Callable[[str, Any], Any]) -> None:
    """Same bytes twice; rows with units in their header; a fault and a refusal."""
    gentle = body({"drop": {"height_mm": 20}})
    first = post("floor-impact", gentle)
    assert first.status_code == 200 and post("floor-impact", gentle).data == first.data
    where = "/v1/calculators/floor-impact/run"
    rows = client.post(f"{where}?format=csv", json=gentle).text.splitlines()
    assert rows[0].startswith("orientation,along_mm,across_mm,over,stiffness_n_per_mm")
    panels = first.get_json()["result"]["panels"]
    assert len(rows) == 1 + sum(len(panel["hits"]) for panel in panels)
    refused = post("floor-impact", body({"panel": {"bay_rod": "R61"}})).get_json()
    assert refused["type"] == "/v1/problems/cannot-calculate"
    invalid = post("floor-impact", body({"drop": {"height_mm": -1}})).get_json()
    assert {error["pointer"] for error in invalid["errors"]} == {"/drop/height_mm"}
