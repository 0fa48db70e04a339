"""The whole calculator through its contract."""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.floor_tiling_ratio import FloorTilingRatio
from baywright_service.contract import (
    CannotCalculate,
    Finding,
    InvalidInputs,
    Result,
    merge_patch,
    svg_text,
)
from baywright_service.envelope import envelope

CALCULATOR = FloorTilingRatio()
MACHINE = json.loads(
    (Path(__file__).parents[2] / "data" / "returns-desk" / "floor.json").read_text("utf-8")
)


def run(body: dict[str, Any]) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(body))


def finding(result: Result, code: str) -> Finding:
    return next(f for f in result.findings if f.code == code)


def codes(result: Result) -> set[str]:
    return {f.code for f in result.findings}


def body(**changes: Any) -> dict[str, Any]:
    return dict(merge_patch(copy.deepcopy(MACHINE["inputs"]), changes))


def test_floor_of_the_returns_desk() -> None:
    """Each value was worked by an independent program; printed digits are the tolerance."""
    value, expected = run(MACHINE["inputs"]).value, MACHINE["expected"]
    ratio = value["pairs"][0]["ratio"]
    assert [ratio["first_count"], ratio["second_count"]] == expected["ratio_bays_to_tiles"]
    assert ratio["misfit_mm"] == expected["misfit_mm_per_3_bays"]
    along, across = value["floor"]["along"], value["floor"]["across"]
    assert along["panels_count"] == expected["tiles_along_1080"]
    assert along["left_over_mm"] == expected["left_over_mm"]
    assert across["panels_count"] == expected["tiles_across_720"]
    assert across["left_over_mm"] == expected["left_over_720_mm"]
    rolling, drop = value["rolling"], value["drop"]
    assert round(rolling["sink_mm"], 2) == expected["sink_in_groove_mm"]
    assert round(rolling["speed_kept_ratio"], 3) == expected["speed_kept_per_groove"]
    leave = expected["slope_to_leave_groove_from_rest_percent"]
    assert round(rolling["slope_to_leave_percent"], 1) == leave
    keep = expected["slope_to_keep_rolling_percent"]
    assert round(rolling["slope_to_keep_rolling_percent"], 3) == keep
    assert round(rolling["steady_speed_m_per_s"], 2) == expected["steady_speed_m_per_s"]
    assert round(drop["rebound_mm"]) == expected["rebound_mm"]
    assert round(drop["wall_needed_mm"]) == expected["wall_needed_mm"]
    assert round(drop["impact_energy_j"], 3) == expected["impact_energy_J"]


def test_changed_depth_leaves_a_strip() -> None:
    """Depth 600: 11 tiles and 34.6 mm for an adjuster strip at the far side."""
    result = run(body(floor={"across_mm": 600}))
    across = result.value["floor"]["across"]
    assert across["panels_count"] == MACHINE["expected"]["tiles_across_600"]
    assert across["left_over_mm"] == MACHINE["expected"]["left_over_600_mm"]
    assert across["strips"] == [{"start_mm": 565.4, "end_mm": 600.0}]
    assert finding(result, "left-over").level == "watch"
    assert "34.6 mm" in finding(result, "left-over").message


def test_no_ratio_gets_a_proven_panel_pitch() -> None:
    """84.8 and 51.4 meet nowhere up to 12; another panel pitch does, and the patch says which."""
    inputs = {
        "pitches": [
            {"id": "bay", "pitch_mm": 84.8, "play_per_seat_mm": 0.15},
            {"id": "tile", "pitch_mm": 51.4},
        ]
    }
    result = run(inputs)
    found = finding(result, "no-ratio")
    assert "ratio" not in result.value["pairs"][0]
    assert result.value["pairs"][0]["beyond"]["first_count"] > 12
    assert found.remedy is not None and found.remedy.patch is not None
    mended = run(merge_patch(inputs, found.remedy.patch))
    assert "no-ratio" not in codes(mended)
    assert mended.verdict == "ok"


def test_five_sixths_panels_say_why_they_meet() -> None:
    """Common practice, no source: 12 panels = 5 bays = 10 rods; 6 panels = 2.5 bays = 5 rods."""
    result = run(dict(CALCULATOR.examples[1].inputs))
    pair = result.value["pairs"][0]
    whole, inside = pair["ratio"], pair["ratio_inside"]
    assert (whole["first_count"], whole["second_count"], whole["misfit_mm"]) == (5, 12, 0)
    assert (inside["first_count"], inside["second_count"], inside["misfit_mm"]) == (2.5, 6, 0)
    assert "10 R60" in finding(result, "ratio-found").message
    assert "2.5 × bay = 5 R60 meet 6 × panel" in finding(result, "ratio-inside-bay").message


def test_several_pitches_at_once() -> None:
    """120 and 84.8 over 51.4: 12, 17 and 28 of them within their play; brute force agrees."""
    result = run(dict(CALCULATOR.examples[2].inputs))
    assert result.value["common"]["repeats"][0]["counts"] == [12, 17, 28]
    assert {f.at for f in result.findings if f.code == "no-ratio"} == {("/pitches/1", "/pitches/2")}


def test_published_ratio_through_the_contract() -> None:
    """355/113 (Python library reference, limit_denominator) as 113 bays of pi against 355."""
    pitches = [{"id": "a", "pitch_mm": 3.1415926535897932}, {"id": "b", "pitch_mm": 1}]
    pair = run({"pitches": pitches, "most_repeats_count": 1000}).value["pairs"][0]
    assert pair["best_approximations"][-1] == [355, 113]
    assert pair["convergents"] == [[3, 1], [22, 7], [333, 106], [355, 113]]


PATCHED = [
    ("wall-too-low", "stop", {"drop": {"wall_mm": 120}}),
    ("slope-too-flat", "stop", {"rolling": {"slope_percent": 0.005}}),
    ("ball-traps-in-groove", "watch", {}),
    ("impact-over-seat", "stop", {"drop": {"seat_design_n": 15}}),
    ("impact-over-seat", "watch", {"drop": {"seat_design_n": 35}}),
    ("ridge-stops-ball", "stop", {"rolling": {"ridge_mm": 10}}),
    (
        "ratio-forced",
        "watch",
        {
            "pitches": [
                {"id": "bay", "pitch_mm": 120, "play_per_seat_mm": 0.05},
                {"id": "tile", "pitch_mm": 51.4},
            ]
        },
    ),
    (
        "strip-under-landing",
        "stop",
        {
            "floor": {
                "across_mm": 600,
                "left_over": "back",
                "keep_clear": [
                    {
                        "name": "mouth",
                        "along_from_mm": 0,
                        "along_to_mm": 90,
                        "across_from_mm": 580,
                        "across_to_mm": 600,
                    }
                ],
            }
        },
    ),
]


@pytest.mark.parametrize(("code", "level", "change"), PATCHED)
def test_remedies_clear_their_finding(code: str, level: str, change: dict[str, Any]) -> None:
    """A patch, merged into the inputs, makes the finding go."""
    inputs = body(**change)
    found = finding(run(inputs), code)
    assert found.level == level
    assert found.remedy is not None and found.remedy.patch is not None
    after = run(merge_patch(inputs, found.remedy.patch))
    assert (code, found.at) not in {(f.code, f.at) for f in after.findings}


@pytest.mark.parametrize(
    ("code", "level", "change"),
    [
        ("small-ball", "watch", {"ball": {"diameter_mm": 44.45}}),
        ("panels-short", "stop", {"floor": {"panels_on_hand_count": 200}}),
        ("panels-enough", "ok", {}),
        (
            "ball-too-slow",
            "stop",
            {"rolling": {"groove_mm": 16, "slope_percent": 0.5, "arrival_speed_m_per_s": 0.01}},
        ),
        (
            "panel-sags",
            "stop",
            {
                "rolling": {
                    "sag": {"load_n_per_mm": 0.5, "span_mm": 400, "bending_stiffness_n_mm2": 1e6}
                }
            },
        ),
        ("wall-holds", "ok", {}),
        ("keeps-rolling", "ok", {}),
        ("misfit-within-play", "ok", {}),
        ("floor-closes", "ok", {}),
        ("adjusters-needed", "watch", {"floor": {"along_mm": 4320}}),
        (
            "joints-off-bearers",
            "watch",
            {"floor": {"across_mm": 640, "left_over": "two-halves", "joint_play_mm": 0.3}},
        ),
        ("panels-too-long", "stop", {"floor": {"across_mm": 30}}),
        ("left-over-spread", "ok", {"floor": {"across_mm": 610, "left_over": "spread"}}),
    ],
)
def test_findings(code: str, level: str, change: dict[str, Any]) -> None:
    """Each thing a builder should know has its code and level."""
    assert finding(run(body(**change)), code).level == level


def test_a_ball_above_the_gauge_is_not_small() -> None:
    """16 CFR 1500.18(a)(17): 1.75 in is 44.45 mm."""
    assert "small-ball" not in codes(run(body(ball={"diameter_mm": 44.46})))


def test_a_small_ball_brings_its_warnings_and_their_sources() -> None:
    """16 CFR 1500.18(a)(17): 1.75 in is 44.45 mm; 16 CFR 1501.4: 1.25 in is 31.75 mm."""

    def told(diameter: float) -> tuple[str, str]:
        answer = envelope(CALCULATOR, run(body(ball={"diameter_mm": diameter})), ())
        return " ".join(answer["cautions"]), " ".join(s["title"] for s in answer["sources"])

    for diameter, chokes, part in ((44.46, False, False), (44.45, True, False), (25, True, True)):
        cautions, sources = told(diameter)
        assert ("choke" in cautions, "under 3 years" in cautions) == (chokes, part)
        assert ("1500.18(a)(17)" in sources, "1501.4" in sources) == (chokes, part)
        assert "slip hazard" in cautions


def test_a_floor_without_a_ball_warns_of_none() -> None:
    """Only what the inputs call for."""
    pitches = [{"id": "bay", "pitch_mm": 120}, {"id": "panel", "pitch_mm": 100}]
    assert run({"pitches": pitches}).cautions == ()


def test_spreading_widens_the_groove_the_ball_meets() -> None:
    """What is spread into joints is added to the groove."""
    spread = run(body(floor={"across_mm": 610, "left_over": "spread"})).value
    gap = spread["floor"]["across"]["gap_per_joint_mm"]
    assert gap > 4
    assert spread["rolling"]["groove_mm"] == pytest.approx(6 + gap)


def test_orientation_wins_with_its_reason() -> None:
    """On edge: the lever is the depth, 60 mm, against 4 mm of a seat."""
    strength = run(dict(CALCULATOR.examples[3].inputs)).value["panel_strength"]
    assert strength["better"] == "on-edge"
    assert strength["advantage_ratio"] == pytest.approx(15)
    assert "lever" in strength["why"]
    for way in ("on_edge", "flat"):
        for hit in strength[way]["hits"]:
            assert hit["force_low_n"] < hit["force_high_n"]


FAULTS = [
    ("/pitches", "out-of-range", {"pitches": [{"id": "a", "pitch_mm": 1}]}),
    ("/pitches/0/pitch_mm", "missing", {"pitches": [{"id": "a"}, {"id": "b", "pitch_mm": 2}]}),
    (
        "/pitches/1/id",
        "not-unique",
        {"pitches": [{"id": "a", "pitch_mm": 1}, {"id": "a", "pitch_mm": 2}]},
    ),
    (
        "/pitches/0/pitch_mm",
        "not-unique",
        {
            "pitches": [
                {"id": "a", "pitch_mm": 1, "parts": [{"item": "R", "pitch_mm": 1, "count": 1}]},
                {"id": "b", "pitch_mm": 2},
            ]
        },
    ),
    ("/floor/panel", "unknown-reference", {"floor": {"panel": "plank"}}),
    ("/ball", "missing", {"ball": None}),
    ("/rolling/groov_mm", "unknown-field", {"rolling": {"groov_mm": 1}}),
    ("/drop/panel_mass_kg", "missing", {"drop": {"panel_mass_kg": None}}),
    ("/drop/stiffness_max_n_per_mm", "out-of-range", {"drop": {"stiffness_max_n_per_mm": 1}}),
    ("/floor/along_mm", "wrong-type", {"floor": {"along_mm": "1080"}}),
    (
        "/floor/keep_clear/0/along_to_mm",
        "out-of-range",
        {
            "floor": {
                "keep_clear": [
                    {
                        "name": "x",
                        "along_from_mm": 9,
                        "along_to_mm": 9,
                        "across_from_mm": 0,
                        "across_to_mm": 1,
                    }
                ]
            }
        },
    ),
]


@pytest.mark.parametrize(("pointer", "code", "change"), FAULTS)
def test_fault_is_named(pointer: str, code: str, change: dict[str, Any]) -> None:
    """One change to a valid body, one fault at its place."""
    with pytest.raises(InvalidInputs) as caught:
        CALCULATOR.load(body(**change))
    assert [(p, f.code) for p, f in caught.value.faults] == [(pointer, code)]


@pytest.mark.parametrize(
    ("pointer", "change"),
    [
        ("/rolling/groove_mm", {"rolling": {"groove_mm": 48}}),
        ("/rolling/groove_mm", {"rolling": {"groove_mm": 20, "groove_pitch_mm": 20}}),
        ("/rolling/ridge_mm", {"rolling": {"ridge_mm": 24}}),
        ("/floor/bay_along", {"floor": {"bay_along": "tile"}}),
        (
            "/floor/along_mm",
            {
                "floor": {"along_mm": 100_000},
                "pitches": [{"id": "bay", "pitch_mm": 120}, {"id": "tile", "pitch_mm": 10}],
            },
        ),
        (
            "/pitches/1",
            {
                "pitches": [
                    {"id": "bay", "pitch_mm": 120},
                    {"id": "tile", "pitch_mm": 51.4, "tolerance_mm": 26},
                ]
            },
        ),
        (
            "/pitches/0/parts",
            {
                "pitches": [
                    {"id": "bay", "parts": [{"item": "R60", "pitch_mm": 60, "count": -1}]},
                    {"id": "tile", "pitch_mm": 51.4},
                ]
            },
        ),
    ],
)
def test_what_cannot_be_trusted_is_refused(pointer: str, change: dict[str, Any]) -> None:
    """Valid numbers without an honest answer are refused with their place."""
    with pytest.raises(CannotCalculate) as caught:
        run(body(**change))
    assert caught.value.pointer == pointer


@pytest.mark.parametrize("example", CALCULATOR.examples, ids=lambda e: e.title)
def test_examples_run_draw_and_tabulate(example: Any) -> None:
    """Every example gives the same result twice, every view, and rows as wide as their header."""
    inputs = CALCULATOR.load(example.inputs)
    result = CALCULATOR.calculate(inputs)
    again = CALCULATOR.calculate(CALCULATOR.load(example.inputs))
    assert result == again
    json.dumps(result.value, allow_nan=False)
    assert set(CALCULATOR.result_schema().dump(result.value)) == set(result.value)
    table = CALCULATOR.table(inputs, result)
    assert table.rows
    assert all(len(row) == len(table.columns) for row in table.rows)
    for view in CALCULATOR.views:
        drawing = CALCULATOR.draw(inputs, result, view)
        assert svg_text(drawing).startswith("<svg")


def test_each_finding_has_a_verb_free_code_and_a_sentence() -> None:
    """Codes are kebab-case, messages end in a full stop, pointers start with a slash."""
    for example in CALCULATOR.examples:
        for found in run(dict(example.inputs)).findings:
            assert found.code == found.code.lower() and " " not in found.code
            assert found.message.endswith(".")
            assert all(pointer.startswith("/") for pointer in found.at)


def test_gravity_is_standard_unless_given() -> None:
    """9.80665 m/s2 by default; energy follows it."""
    inputs = body()
    del inputs["gravity_m_s2"]
    assert run(inputs).value["drop"]["impact_energy_j"] == pytest.approx(0.041 * 9.80665 * 0.48)
