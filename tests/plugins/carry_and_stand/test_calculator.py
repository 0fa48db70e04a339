"""What a builder asks and gets."""

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient

from baywright_service.contract import CannotCalculate, InvalidInputs, merge_patch
from tests.plugins.carry_and_stand.machines import (
    CALCULATOR,
    Json,
    box,
    codes,
    finding,
    returns_desk,
    run,
    stated,
)


@pytest.mark.parametrize("example", CALCULATOR.examples, ids=lambda e: e.title)
def test_examples_hold(example: Any, assert_example_holds: Callable[..., None]) -> None:
    assert_example_holds(CALCULATOR, example.inputs)


def test_the_machine_of_the_tests_holds_its_schema(
    assert_example_holds: Callable[..., None],
) -> None:
    assert_example_holds(CALCULATOR, returns_desk())


def test_over_http_with_a_table_and_cautions(client: FlaskClient) -> None:
    body = stated(box("A", 21), box("B", 12, (900, 500, 1100)))
    answer = client.post("/v1/calculators/carry-and-stand/run", json=body)
    assert answer.status_code == 200
    cautions = str(answer.get_json()["cautions"])
    assert "not a safety certificate" in cautions and "close to the body" in cautions
    table = client.post(
        "/v1/calculators/carry-and-stand/run", json=body, headers={"Accept": "text/csv"}
    )
    lines = table.get_data(as_text=True).splitlines()
    assert lines[0].startswith("section,mass_kg,size_x_mm") and len(lines) == 3


@pytest.mark.parametrize(
    ("inputs", "pointer", "code"),
    [
        ({}, "/frame", "missing"),
        ({**stated(box()), "frame": {"nodes_mm": [[0, 0, 0], [1, 0, 0]]}}, "/frame/members", ""),
        (stated(box("A", -1)), "/sections/0/mass_kg", "out-of-range"),
        (stated({**box(), "centre_mm": [300, 300, 901]}), "/sections/0/centre_mm", "out-of-range"),
        (stated({**box(), "base_mm": [300, 601]}), "/sections/0/base_mm", "out-of-range"),
        (stated(box(), box()), "/sections/1/id", "not-unique"),
        (stated(box(), grips=[{"section": "Z"}]), "/grips/0/section", "unknown-reference"),
        (stated(box(), trolley={"sections": ["Z"]}), "/trolley/sections/0", "unknown-reference"),
        (
            stated(box(), grips=[{"section": "A", "lying_low_mm": 5}]),
            "/grips/0/lying_high_mm",
            "missing",
        ),
        (stated(box(), crew_kg=[]), "/crew_kg", "out-of-range"),
        (stated(box(), leaning={"height_mm": 0}), "/leaning/height_mm", "out-of-range"),
        (stated(box(), bolts=4), "/bolts", "unknown-field"),
    ],
)
def test_faults_name_the_field(inputs: Json, pointer: str, code: str) -> None:
    with pytest.raises(InvalidInputs) as caught:
        run(inputs)
    assert pointer in {where for where, _ in caught.value.faults}
    assert not code or (pointer, code) in {(w, f.code) for w, f in caught.value.faults}


def test_a_frame_needs_its_kit_and_a_mass() -> None:
    whole = returns_desk()
    with pytest.raises(InvalidInputs) as caught:
        run({key: value for key, value in whole.items() if key != "kit"})
    assert caught.value.faults[0][0] == "/kit"
    kit = {
        "rods": [{**rod, "mass_g": 0} for rod in whole["kit"]["rods"]],
        "hubs": [{**hub, "mass_g": 0} for hub in whole["kit"]["hubs"]],
    }
    layout = whole["frame"]["layout"]
    bare = {**layout["sections"][0], "fittings": []}
    with pytest.raises(CannotCalculate) as refused:
        run({"kit": kit, "frame": {"layout": {"sections": [bare]}}})
    assert "S1 weighs nothing" in str(refused.value)


def test_one_person_two_by_size_two_by_mass_three_and_none() -> None:
    """Crew of 25, 16, 16 kg: 25 alone, 27.3 by two, 28.5 by three."""

    def people(mass: float, size: tuple[float, ...] = (500, 500, 900)) -> Any:
        return run(stated(box("A", mass, size))).value["sections"][0].get("people_count")

    assert [people(m) for m in (20, 20.1, 22, 22.1)] == [1, 2, 2, 3]
    low_grips = {"grips": [{"section": "A", "height_mm": 800}]}
    by_knuckle = [
        run(stated(box("A", m, (500, 500, 900)), **low_grips))
        .value["sections"][0]
        .get("people_count")
        for m in (25, 27.3, 28.5, 28.6)
    ]
    assert by_knuckle == [1, 2, 3, None]
    assert people(5, (1000, 500, 900)) == 2
    found = finding(run(stated(box("A", 60))), "too-heavy-to-carry")
    assert found.level == "stop" and "60.0 kg" in found.message


def test_a_small_crew_is_no_team() -> None:
    result = run(stated(box("A", 21, (1200, 500, 900)), crew_kg=[25]))
    assert "people_count" not in result.value["sections"][0]
    assert "too-heavy-to-carry" in codes(result)


def test_twist_and_pace_take_from_what_people_lift() -> None:
    def bears(**lifting: Any) -> float:
        row = run(stated(box("A", 10, (1200, 500, 1200)), lifting=lifting)).value["sections"][0]
        return float(row["ways"][0]["team_bears_kg"])

    assert bears(twist_deg=50) == pytest.approx(0.9 * bears())
    assert bears(lifts_per_min=2) == pytest.approx(0.7 * bears())


def test_the_lifting_equation_at_both_ends_of_the_lift() -> None:
    """Hands 40 cm out at 80 cm, raised 10 cm: 23 x .625 x .985; at 90 cm x .955 (by hand)."""
    grips = [{"section": "A", "height_mm": 800}]
    result = run(stated(box("A", 20, (1200, 500, 1200)), grips=grips))
    lifting = result.value["sections"][0]["lifting"]
    assert lifting["origin"]["limit_kg"] == pytest.approx(23 * 0.625 * 0.985)
    assert lifting["destination"]["limit_kg"] == pytest.approx(23 * 0.625 * 0.955)
    assert lifting["origin"]["load_kg"] == pytest.approx(10)
    assert lifting["people_for_one_count"] == 2 and "lifting-index-above-one" not in codes(result)
    far = run(stated(box("A", 20, (1200, 500, 1200)), grips=grips, lifting={"reach_mm": 600}))
    assert finding(far, "lifting-index-above-one").measure.value == pytest.approx(  # type: ignore[union-attr]
        10 / (23 * 25 / 60 * 0.955)
    )
    out = run(stated(box("A", 20, (1200, 500, 1200)), grips=grips, lifting={"reach_mm": 640}))
    assert "index_ratio" not in out.value["sections"][0]["lifting"]["origin"]
    assert "beyond the equation" in finding(out, "lifting-index-above-one").message


def test_a_top_heavy_section_is_narrow_on_a_slope() -> None:
    """a/h = 200/1300: 8.7 degrees, below 10; on a floor of 9 degrees it falls."""
    tall = {**box("A", 20, (400, 400, 2000)), "centre_mm": [200, 200, 1300]}
    result = run(stated(tall))
    assert result.value["sections"][0]["standing"][0]["tip_deg"] == pytest.approx(8.7462, abs=1e-3)
    assert {"section-tips-below-ten-degrees", "machine-tips-below-ten-degrees"} <= codes(result)
    assert "section-falls-over" in codes(run(stated(tall, slope_deg=9)))


def test_a_weight_on_what_sticks_out() -> None:
    """20 kg on feet 200 mm apart, 400 mm of overhang: 98.1 N x 400 against 196.1 N x 100 mm."""
    table = {**box("A", 20, (1000, 1000, 700)), "base_mm": [200, 200]}
    state = run(stated(table)).value["sections"][0]["standing"][0]
    assert (state["overhang_mm"], state["down_test_ok"]) == (400, False)
    assert "section-fails-weight-test" in codes(run(stated(table)))
    flush = run(stated(box("A", 20, (1000, 1000, 700))))
    assert "section-fails-weight-test" not in codes(flush)
    wide = run(stated(table, holding={"outrigger_mm": 250})).value["machine"]["standing"]
    assert (wide["overhang_mm"], wide["down_test_ok"]) == (150, True)


def test_leaning_on_a_slope_counts_the_slope() -> None:
    """W (a cos t - h sin t) by hand, W 20 x 10 N."""
    inputs = stated(box("A", 20, (600, 600, 1400)), slope_deg=5, gravity_m_s2=10)
    state = run(inputs).value["machine"]["standing"]
    assert state["holding_moment_nm"] == pytest.approx(
        200 * (0.3 * 0.9961947 - 0.7 * 0.0871557), rel=1e-6
    )


def test_ties_take_what_the_weight_does_not() -> None:
    inputs = returns_desk(holding={"tie_height_mm": 1200})
    result = run(inputs)
    standing = result.value["machine"]["standing"]
    tie = result.value["machine"]["tie_n"]
    assert tie * 1.2 == pytest.approx(1.5 * 360 - 0.9 * standing["holding_moment_nm"])
    assert f"{tie:.0f} N" in finding(result, "machine-held-by-ties").message
    assert "machine-tips-when-leaned-on" not in codes(result)


def test_remedies_are_those_a_full_run_confirms() -> None:
    """The patch of the finding clears it in a run of its own, and proposes nothing more."""
    inputs = stated(box("A", 30, (700, 700, 1500)), slope_deg=2)
    found = finding(run(inputs), "machine-tips-when-leaned-on")
    assert found.remedy is not None and found.remedy.patch is not None
    after = run(merge_patch(inputs, found.remedy.patch))
    assert "machine-stands-when-leaned-on" in codes(after)
    assert after.value["machine"]["remedies"] == []


def test_castors_bear_and_are_rated() -> None:
    heavy = {**box("A", 90, (800, 600, 900)), "centre_mm": [300, 300, 400]}
    result = run(stated(heavy, trolley={"inset_mm": 0, "rated_kg": 25}))
    castors = result.value["sections"][0]["castors"]
    assert sum(castors["loads_n"]) == pytest.approx(90 * 9.80665)
    assert castors["loads_n"][0] == pytest.approx(90 * 9.80665 * 0.3125)
    assert castors["proof_n"] == pytest.approx(4 * castors["worst_n"])
    assert castors["design_kg"] == 30 and castors["rated_ok"] is False
    assert "30.0 kg" in finding(result, "castor-too-weak").message
    assert castors["stands_on_three"] is False


def test_a_step_as_high_as_the_axle() -> None:
    result = run(stated(box(), trolley={"wheel_radius_mm": 20, "step_mm": 20}))
    assert "step-too-high" in codes(result)
    low = run(stated(box(), trolley={"step_mm": 0}))
    assert low.value["sections"][0]["castors"]["push_n"] == 0


def test_pushed_above_the_limit_it_pitches() -> None:
    """Leading wheels bear all at H = (L - c)/r above the axle: 260/1.333 + 50 = 245 mm."""
    result = run(stated(box(), trolley={"inset_mm": 40}))
    castors = result.value["sections"][0]["castors"]
    assert castors["push_below_mm"] == pytest.approx(50 + 260 / (4 / 3))
    assert "push_n" not in castors and "pitches-at-the-step" in codes(result)


def test_stairs_may_be_left_out_and_rests_are_counted() -> None:
    row = run(stated(box(), journey={"stairs": False, "distance_m": 45})).value["sections"][0]
    assert "people_stairs_count" not in row and len(row["ways"]) == 2
    assert row["rests_count"] == 4
    assert row["trip_s"] == pytest.approx(1.5 * 45 / 0.5 + 4 * 20 + 60)


def test_an_end_that_would_fly_up_is_not_carried() -> None:
    """Grips close together under a high centre: the lower end bears more than all."""
    tall = box("A", 12, (900, 600, 1800))
    grips = [{"section": "A", "lying_low_mm": 800, "lying_high_mm": 1000}]
    result = run(stated(tall, grips=grips))
    assert "not-on-stairs" in codes(result)
    low = result.value["sections"][0]["ways"][2]["ends"][0]
    assert low["share_percent"] > 100


def test_an_uncoupled_machine_says_so() -> None:
    apart = run(stated(box("A"), box("B"), coupled=False))
    assert "machine-not-coupled" in codes(apart) and not apart.value["machine"]["coupled"]
    assert "machine-not-coupled" not in codes(run(stated(box("A"), box("B"))))


def test_the_section_that_falls_most_easily_is_held() -> None:
    """By hand: 10 x 9.80665 x 300/900 = 32.7 N for the lighter of two, at its top."""
    found = finding(run(stated(box("A", 20), box("B", 10))), "hold-until-coupled")
    assert "B tips" in found.message and found.measure is not None
    assert found.measure.value == pytest.approx(32.689, abs=0.001)
    assert found.measure.limit == pytest.approx(300)
    assert "hold-until-coupled" not in codes(run(stated(box("A", 20))))


def test_a_centre_outside_the_feet_falls_and_a_level_threshold_is_no_pitching() -> None:
    lop = {**box("A", 20), "base_mm": [200, 200], "centre_mm": [550, 300, 300]}
    result = run(stated(lop, trolley={"step_mm": 0, "inset_mm": 0}))
    assert "section-falls-over" in codes(result) and "pitches-at-the-step" not in codes(result)
    assert result.value["sections"][0]["standing"][0]["lean_most_n"] == 0


def test_same_inputs_same_answer() -> None:
    first, second = run(returns_desk()), run(returns_desk())
    assert first.value["set_up"] == second.value["set_up"]
    assert [f.message for f in first.findings] == [f.message for f in second.findings]
