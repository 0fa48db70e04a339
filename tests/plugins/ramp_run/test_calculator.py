"""The whole calculator through its contract and over HTTP."""

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from jsonschema import Draft202012Validator

from baywright_plugins.ramp_run import RampRun
from baywright_service.contract import (
    CannotCalculate,
    Finding,
    InvalidInputs,
    Result,
    merge_patch,
    svg_text,
)
from baywright_service.envelope import envelope
from baywright_service.registry import Registry

Json = dict[str, Any]
Run = Callable[[Json], Result]
Body = Callable[..., Json]

NAME = "ramp-run"
CALCULATOR = RampRun()
EXAMPLES = CALCULATOR.examples
RODS = {"id": "rods", "kind": "rails", "gauge_mm": 30, "rod_diameter_mm": 8}


def codes(result: Result) -> set[str]:
    return {finding.code for finding in result.findings}


def finding(result: Result, code: str) -> Finding:
    return next(f for f in result.findings if f.code == code)


def straight(length: float, slope: float, **more: Any) -> Json:
    return {"kind": "straight", "length_mm": length, "slope_percent": slope, **more}


@pytest.fixture(scope="module")
def built_in() -> Registry:
    """Only this calculator, so that no other one's fault shows here."""
    return Registry({NAME: RampRun()})


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.title)
def test_examples_hold_and_draw(
    example: Any, assert_example_holds: Callable[[RampRun, Json], None]
) -> None:
    """Each follows its schemas, gives the same twice, every view, and rows as wide as the head."""
    assert_example_holds(CALCULATOR, example.inputs)
    inputs = CALCULATOR.load(example.inputs)
    result = CALCULATOR.calculate(inputs)
    assert result == CALCULATOR.calculate(CALCULATOR.load(example.inputs))
    json.dumps(result.value, allow_nan=False)
    table = CALCULATOR.table(inputs, result)
    assert len(table.rows) == len(example.inputs["segments"])
    assert all(len(row) == len(table.columns) for row in table.rows)
    for view in CALCULATOR.views:
        assert svg_text(CALCULATOR.draw(inputs, result, view)).startswith("<svg")
    for found in result.findings:
        assert found.code == found.code.lower() and " " not in found.code
        assert found.message.endswith(".") and "None" not in found.message
        assert all(pointer.startswith("/") for pointer in found.at)


def test_over_http(client: FlaskClient, post: Callable[[str, Any], Any]) -> None:
    """The same bytes twice, valid to the published schema; pictures; rows with units."""
    page = client.get(f"/v1/calculators/{NAME}").get_json()
    answer = post(NAME, EXAMPLES[2].inputs)
    assert answer.status_code == 200
    Draft202012Validator(page["input_schema"]).validate(EXAMPLES[2].inputs)
    Draft202012Validator(page["result_schema"]).validate(answer.get_json()["result"])
    assert post(NAME, EXAMPLES[2].inputs).data == answer.data
    where = f"/v1/calculators/{NAME}/run"
    for view in CALCULATOR.views:
        drawn = client.post(f"{where}?view={view}&format=svg", json=EXAMPLES[2].inputs)
        assert (drawn.status_code, drawn.mimetype) == (200, "image/svg+xml")
    rows = client.post(f"{where}?format=csv", json=EXAMPLES[2].inputs)
    assert rows.text.splitlines()[0].startswith("name,kind,support,start_mm,length_mm")


def wood(segments: list[Json], **more: Any) -> Json:
    """A ball of wood on two rods, with all its uncertainty."""
    return {
        "ball": {"diameter_mm": 48, "mass_kg": 0.041, "restitution_min_ratio": 0.45},
        "rolling_resistance": {"min_ratio": 0.004, "max_ratio": 0.014},
        "supports": [RODS],
        "segments": segments,
        **more,
    }


CURVE = {"kind": "curve", "radius_mm": 200, "turn_deg": 90, "slope_percent": 2}
PLANE = {"id": "plane", "kind": "plane"}
LOOP = [
    straight(600, 50),
    {"kind": "dip", "radius_mm": 200, "turn_deg": 26.565},
    {"kind": "loop", "radius_mm": 130},
    {"kind": "level", "length_mm": 200},
]


def drop(**more: Any) -> list[Json]:
    return [straight(1000, 4), {"kind": "drop", "drop_mm": 400, **more}]


#: code, level, inputs: every remedy that is offered clears its finding.
MENDED: list[tuple[str, str, Json]] = [
    ("ball-stalls", "stop", wood([straight(3000, 1)])),
    ("ball-stalls", "stop", wood([straight(500, 5), straight(9000, 1.2)])),
    (
        "ball-stays-in-joint",
        "stop",
        wood(
            [
                {
                    "kind": "ribs",
                    "length_mm": 3000,
                    "slope_percent": 1,
                    "pitch_mm": 40,
                    "gap_mm": 20,
                }
            ],
            start_speed_min_m_per_s=0.3,
            supports=[PLANE],
        ),
    ),
    ("ball-too-slow", "watch", wood([straight(50, 1.8), straight(2000, 5)])),
    ("leaves-curve", "stop", wood([straight(1500, 10), CURVE])),
    ("leaves-curve", "stop", wood([straight(1500, 10), CURVE], supports=[PLANE])),
    ("runs-down-bank", "stop", wood([straight(300, 5), CURVE | {"bank_deg": 60}])),
    (
        "leaves-crest",
        "stop",
        wood([straight(1500, 20), {"kind": "crest", "radius_mm": 60, "turn_deg": 20}]),
    ),
    ("falls-off-loop", "stop", wood(LOOP)),
    ("wall-too-low", "stop", wood(drop(wall_mm=100))),
    ("overshoots-landing", "stop", wood(drop(catch_from_mm=0, catch_to_mm=150))),
    ("lands-short", "stop", wood(drop(catch_from_mm=270, catch_to_mm=400))),
    ("falls-through", "stop", wood([straight(500, 5)], supports=[RODS | {"gauge_mm": 60}])),
    (
        "rails-may-spread",
        "stop",
        wood([straight(500, 5)], supports=[RODS | {"gauge_mm": 50, "gauge_play_mm": 8}]),
    ),
    ("ball-sits-deep", "watch", wood([straight(500, 9)], supports=[RODS | {"gauge_mm": 48}])),
    ("ball-wedges", "stop", wood([straight(500, 9)], supports=[RODS | {"gauge_mm": 55}])),
]


@pytest.mark.parametrize(("code", "level", "inputs"), MENDED, ids=lambda x: str(x)[:24])
def test_remedies_clear_their_finding(run: Run, code: str, level: str, inputs: Json) -> None:
    """The patch, merged into the inputs, makes the finding go."""
    found = finding(run(inputs), code)
    assert found.level == level
    assert found.remedy is not None and found.remedy.patch is not None
    after = run(merge_patch(copy.deepcopy(inputs), found.remedy.patch))
    assert (code, found.at) not in {(f.code, f.at) for f in after.findings}


def test_a_small_ball_brings_its_warnings_and_their_sources(run: Run) -> None:
    """16 CFR 1500.18(a)(17): 1.75 in is 44.45 mm; 16 CFR 1501.4: 1.25 in is 31.75 mm."""

    def told(diameter: float) -> tuple[str, str]:
        ball = {"diameter_mm": diameter, "mass_kg": 0.041, "restitution_min_ratio": 0.45}
        answer = envelope(CALCULATOR, run(wood([straight(500, 60)], ball=ball)), ())
        return " ".join(answer["cautions"]), " ".join(s["title"] for s in answer["sources"])

    for diameter, chokes, part in ((44.46, False, False), (44.45, True, False), (25, True, True)):
        cautions, sources = told(diameter)
        assert ("choke" in cautions, "under 3 years" in cautions) == (chokes, part)
        assert ("1500.18(a)(17)" in sources, "1501.4" in sources) == (chokes, part)
        assert "slip hazard" in cautions


@pytest.mark.parametrize(
    ("code", "level", "inputs"),
    [
        ("small-ball", "watch", EXAMPLES[3].inputs),
        ("balls-arrive", "ok", EXAMPLES[0].inputs),
        ("lands-in-catch", "ok", EXAMPLES[0].inputs),
        ("wall-holds", "ok", EXAMPLES[0].inputs),
        ("stays-in-curve", "ok", EXAMPLES[2].inputs),
        ("holds-in-loop", "ok", EXAMPLES[3].inputs),
        ("rests-in-joint", "watch", EXAMPLES[1].inputs),
        ("flies-over-joints", "ok", EXAMPLES[1].inputs),
        ("no-wall", "watch", wood(drop())),
        ("ball-slips", "watch", wood([straight(500, 90)])),
        ("hops-at-kink", "watch", wood([straight(2000, 5), straight(300, 60)])),
        ("ball-thrown-back", "stop", wood([straight(500, 200), straight(300, -300)])),
        (
            "ball-falls-through",
            "stop",
            wood([straight(500, 5), {"kind": "joint", "gap_mm": 45}]),
        ),
        ("ball-stalls", "stop", wood([straight(400, 5), straight(3000, -3)])),
        ("ball-too-fast", "watch", wood([straight(3000, 9)], speed_most_m_per_s=1.0)),
        ("ball-takes-too-long", "watch", wood([straight(3000, 5)], transit_most_s=2.0)),
        ("balls-touch", "watch", wood([straight(3000, 2)], balls_per_min=100)),
    ],
)
def test_findings(run: Run, code: str, level: str, inputs: Json) -> None:
    """Each thing a builder should know has its code and level."""
    assert finding(run(dict(inputs)), code).level == level


def test_a_sound_ramp_is_ok(run: Run) -> None:
    """24 m at 4 % and the fall after it: nothing to mend."""
    assert run(dict(EXAMPLES[0].inputs)).verdict == "ok"


def test_only_the_slowest_ball_stops(run: Run) -> None:
    """1.1 % is more than the least resistance takes and less than the most."""
    value = run(wood([straight(5000, 1.1)], supports=[PLANE])).value
    assert value["arrives"] == "sometimes"
    assert "transit_low_s" in value and "transit_high_s" not in value
    segment = value["segments"][0]
    assert (segment["passed"], segment["ends"]) == ("sometimes", "stalls")
    assert segment["slope_min_percent"] == pytest.approx(1.4)
    assert segment["fall_min_mm"] == pytest.approx(segment["run_mm"] * 0.014)


def test_length_and_run_are_one_thing(run: Run, body: Body) -> None:
    """1000 along the track at 75 % is 800 seen from above."""
    along = run(body([straight(1000, 75)])).value
    above = run(body([{"kind": "straight", "run_mm": 800, "slope_percent": 75}])).value
    assert along["fall_mm"] == pytest.approx(600)
    assert above["end_speed_low_m_per_s"] == pytest.approx(along["end_speed_low_m_per_s"])


def test_rolling_test_gives_the_resistance(run: Run) -> None:
    """Balls let go from 12 mm that stopped after 1.9 and 1.55 m: 0.0063 to 0.0077. The ramp of
    the test itself, run with it, stops the ball where it stopped."""
    value = run(dict(EXAMPLES[1].inputs)).value
    resistance = value["rolling_resistance"]
    assert resistance["min_ratio"] == pytest.approx(12 / 1900)
    assert resistance["max_ratio"] == pytest.approx(12 / 1550)
    assert "2 rolling tests" in resistance["origin"]
    test = {"fall_mm": 12, "run_mm": 400, "level_mm": 1500}
    inputs = wood(
        [
            {"kind": "straight", "run_mm": 400, "slope_percent": 3},
            {"kind": "level", "length_mm": 3000},
        ],
        rolling_resistance={"tests": [test], "measured_on": "this-track"},
        air={"density_kg_per_m3": 0},
    )
    stopped = run(inputs).value["segments"][1]["stops_at_mm"]
    assert stopped == pytest.approx(1500, abs=4)  # the kink takes a little


def test_two_contacts_press_harder_unless_measured_there(run: Run) -> None:
    """On rods 32.4 degrees beside the lowest point the same pair takes 1/cos more."""
    on_plane = run(wood([straight(900, 5)])).value["supports"][0]
    inputs = wood([straight(900, 5)])
    inputs["rolling_resistance"] = inputs["rolling_resistance"] | {"measured_on": "this-track"}
    here = run(inputs).value["supports"][0]
    assert here["resistance_max_ratio"] == pytest.approx(0.014)
    assert on_plane["resistance_max_ratio"] == pytest.approx(0.014 / 0.84439, rel=1e-4)


def test_balls_on_the_ramp_and_how_close_they_may_follow(run: Run, body: Body) -> None:
    """Little: rate times time. From rest with a = 5/7 g sin t one diameter takes sqrt(2 d/a)."""
    value = run(body([straight(3000, 10)], balls_per_min=30)).value
    assert value["balls_high_count"] == pytest.approx(value["transit_high_s"] / 2)
    a = 5 / 7 * 9.80665 * 0.1 / 1.01**0.5
    assert value["capacity_per_min"] == pytest.approx(60 / (2 * 0.048 / a) ** 0.5, rel=1e-3)


def test_what_a_segment_hands_on(run: Run) -> None:
    """Speed and time at each point of the ramp: one segment's end is the next one's start."""
    value = run(dict(EXAMPLES[2].inputs)).value
    segments = value["segments"]
    for before, after in zip(segments, segments[1:], strict=False):
        kink = after["slope_start_percent"] - before["slope_end_percent"]
        for end in ("low", "high"):
            out = before[f"speed_out_{end}_m_per_s"]
            loose = 0.08 if after["support"] != before["support"] or abs(kink) > 0.01 else 1e-9
            assert after[f"speed_in_{end}_m_per_s"] == pytest.approx(out, rel=loose)
        assert before["height_end_mm"] == pytest.approx(after["height_start_mm"])
    times = sum(segment["time_high_s"] for segment in segments)
    assert value["transit_high_s"] <= times + 1e-9
    assert value["slow"]["time_s"][-1] == pytest.approx(value["transit_high_s"])


def test_slope_error_works_both_ways(run: Run) -> None:
    """A hall half a percent out of level: the slowest ball has 0.5 % less, the fastest more."""
    level = run(wood([straight(2000, 4)])).value
    tilted = run(wood([straight(2000, 4)], slope_error_percent=0.5)).value
    assert tilted["transit_high_s"] > level["transit_high_s"]
    assert tilted["transit_low_s"] < level["transit_low_s"]
    assert tilted["slope_min_percent"] == pytest.approx(level["slope_min_percent"] + 0.5, abs=0.01)


FAULTS: list[tuple[str, str, Json]] = [
    ("/segments/0/slope_percent", "missing", wood([{"kind": "straight", "length_mm": 9}])),
    ("/segments/0/length_mm", "missing", wood([{"kind": "level"}])),
    (
        "/segments/0/length_mm",
        "not-unique",
        wood([{"kind": "level", "length_mm": 9, "run_mm": 9}]),
    ),
    ("/segments/0/bank_deg", "unknown-field", wood([straight(9, 2, bank_deg=3)])),
    ("/segments/0/support", "unknown-reference", wood([straight(9, 2, support="x")])),
    ("/segments/0/kind", "out-of-range", wood([{"kind": "spiral"}])),
    (
        "/segments/0/turn_deg",
        "out-of-range",
        wood([{"kind": "dip", "radius_mm": 100, "turn_deg": 200}]),
    ),
    ("/segments/1/catch_to_mm", "missing", wood(drop(catch_from_mm=5))),
    ("/segments/1/catch_to_mm", "out-of-range", wood(drop(catch_from_mm=5, catch_to_mm=1))),
    (
        "/supports/0/depth_mm",
        "missing",
        wood([straight(9, 2)], supports=[{"id": "v", "kind": "ribs-along", "gap_mm": 5}]),
    ),
    (
        "/supports/0/depth_mm",
        "unknown-field",
        wood([straight(9, 2)], supports=[RODS | {"depth_mm": 5}]),
    ),
    ("/supports/1/id", "not-unique", wood([straight(9, 2)], supports=[RODS, RODS])),
    (
        "/supports/0/friction_max_ratio",
        "missing",
        wood([straight(9, 2)], supports=[RODS | {"friction_min_ratio": 0.1}]),
    ),
    (
        "/ball/inertia_ratio",
        "missing",
        wood([straight(9, 2)])
        | {
            "ball": {
                "diameter_mm": 48,
                "mass_kg": 1,
                "body": "custom",
                "restitution_min_ratio": 0.1,
            }
        },
    ),
    (
        "/ball/restitution_min_ratio",
        "missing",
        wood([straight(9, 2)]) | {"ball": {"diameter_mm": 48, "mass_kg": 1}},
    ),
    (
        "/rolling_resistance/max_ratio",
        "out-of-range",
        wood([straight(9, 2)], rolling_resistance={"min_ratio": 0.2, "max_ratio": 0.1}),
    ),
    (
        "/rolling_resistance/max_ratio",
        "missing",
        wood([straight(9, 2)], rolling_resistance={"min_ratio": 0.2}),
    ),
    ("/rolling_resistance/min_ratio", "missing", wood([straight(9, 2)], rolling_resistance={})),
    (
        "/rolling_resistance/min_ratio",
        "not-unique",
        wood([straight(9, 2)], rolling_resistance={"pair": "wood-on-wood", "min_ratio": 0.1}),
    ),
    (
        "/start_speed_max_m_per_s",
        "out-of-range",
        wood([straight(9, 2)], start_speed_min_m_per_s=2, start_speed_max_m_per_s=1),
    ),
    ("/air/drag_max_ratio", "out-of-range", wood([straight(9, 2)], air={"drag_max_ratio": 0.1})),
]


@pytest.mark.parametrize(("pointer", "code", "inputs"), FAULTS, ids=lambda x: str(x)[:30])
def test_fault_is_named(pointer: str, code: str, inputs: Json) -> None:
    """One thing wrong, one fault at its place."""
    with pytest.raises(InvalidInputs) as caught:
        CALCULATOR.load(inputs)
    assert [(p, f.code) for p, f in caught.value.faults] == [(pointer, code)]


@pytest.mark.parametrize(
    ("pointer", "segments"),
    [
        ("/segments/0/drop_mm", [{"kind": "drop", "drop_mm": 20}]),
        ("/segments/0/radius_mm", [{"kind": "loop", "radius_mm": 20}]),
        (
            "/segments/1/turn_deg",
            [straight(9, 50), {"kind": "crest", "radius_mm": 99, "turn_deg": 70}],
        ),
        (
            "/segments/0/pitch_mm",
            [
                {
                    "kind": "ribs",
                    "length_mm": 90_000,
                    "slope_percent": 1,
                    "pitch_mm": 10,
                    "gap_mm": 1,
                }
            ],
        ),
    ],
)
def test_what_cannot_be_trusted_is_refused(run: Run, pointer: str, segments: list[Json]) -> None:
    """Valid numbers without an honest answer are refused with their place."""
    with pytest.raises(CannotCalculate) as caught:
        run(wood(segments))
    assert caught.value.pointer == pointer
