"""What a user meets: examples, faults, refusals, findings, table."""

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from baywright_plugins.chain_drive import TABLE_COLUMNS, ChainDrive
from baywright_plugins.chain_drive.examples import EXAMPLES
from baywright_service.contract import (
    CannotCalculate,
    Finding,
    InvalidInputs,
    Result,
    merge_patch,
    svg_text,
)

CALCULATOR = ChainDrive()
WHOLE = EXAMPLES[1].inputs


def run(changes: Mapping[str, Any] | None = None) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(merge_patch(WHOLE, changes or {})))


def named(result: Result, code: str) -> Finding:
    found = [f for f in result.findings if f.code == code]
    assert len(found) == 1, [f.code for f in result.findings]
    return found[0]


def faults(changes: Mapping[str, Any]) -> list[tuple[str, str]]:
    with pytest.raises(InvalidInputs) as caught:
        CALCULATOR.load(merge_patch(WHOLE, changes))
    return [(pointer, fault.code) for pointer, fault in caught.value.faults]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.title)
def test_examples_hold(
    example: Any, assert_example_holds: Callable[[Any, Mapping[str, Any]], None]
) -> None:
    assert_example_holds(CALCULATOR, example.inputs)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: e.title)
def test_every_view_of_every_example_is_drawn(example: Any) -> None:
    inputs = CALCULATOR.load(example.inputs)
    result = CALCULATOR.calculate(inputs)
    for view in CALCULATOR.views:
        text = svg_text(CALCULATOR.draw(inputs, result, view))
        assert text.startswith("<svg") and "nan" not in text


def test_runs_over_http(post: Callable[[str, Any], Any]) -> None:
    response = post("chain-drive", WHOLE)
    assert response.status_code == 200
    assert response.get_json()["result"]["loop"]["links_count"] == 280


def test_faults_name_the_field() -> None:
    assert faults({"chain": {"size": "06B"}}) == [("/chain/pitch_mm", "out-of-range")]
    assert faults({"comb": {"first_gap": 9}}) == [("/comb/first_gap", "unknown-reference")]
    assert faults({"comb": {"datum_rib": 5}}) == [("/comb/datum_rib", "unknown-reference")]
    assert faults({"comb": {"rib_width_mm": 12}}) == [("/comb/rib_width_mm", "out-of-range")]
    assert faults({"comb": {"rib_pitch_mm": 60}}) == [("/comb/rib_width_mm", "out-of-range")]
    assert faults({"weak_points": [{"id": "a", "kind": "lever", "breaks_at_n": 3}]}) == [
        ("/weak_points/0/lever_mm", "missing")
    ]


def test_a_chain_that_does_not_reach_round_is_refused() -> None:
    with pytest.raises(CannotCalculate) as caught:
        run({"chain": {"links_count": 14}})
    assert caught.value.pointer == "/chain/links_count"


def test_the_whole_lift_is_ok_and_names_its_motor() -> None:
    result = run()
    assert result.verdict == "ok"
    assert result.value["best_motor"] == "geared"


def test_the_table_holds_every_spacing_that_divides() -> None:
    inputs = CALCULATOR.load(WHOLE)
    table = CALCULATOR.table(inputs, CALCULATOR.calculate(inputs))
    assert tuple(table.columns) == TABLE_COLUMNS
    brute = [s for s in range(2, 141) if 280 % s == 0]
    assert [row[0] for row in table.rows] == brute
    assert all(row[0] * row[1] == 280 for row in table.rows)


def test_an_adjuster_without_travel_chooses_nothing_it_cannot_tighten() -> None:
    found = named(run({"adjuster": {"apart_mm": 0, "together_mm": 0}}), "chain-cannot-be-tightened")
    assert found.level == "stop" and found.measure is not None
    assert found.measure.value - (found.measure.limit or 0) == pytest.approx(2.75)


def test_an_adjuster_that_only_comes_together_takes_fewer_links() -> None:
    value = run({"adjuster": {"apart_mm": 0, "together_mm": 20}}).value["loop"]
    assert value["links_count"] == 278
    assert value["adjustment"]["links_possible_count"].tolist() == [278]


def test_uneven_hooks_get_a_proven_spacing() -> None:
    result = run({"hooks": {"spacing_links_count": 12}})
    found = named(result, "hooks-uneven")
    assert found.remedy is not None and found.remedy.patch is not None
    again = run(merge_patch({"hooks": {"spacing_links_count": 12}}, found.remedy.patch))
    assert "hooks-uneven" not in {f.code for f in again.findings}


def test_odd_links_ask_for_an_offset_link() -> None:
    found = named(run({"chain": {"links_count": 281}}), "odd-links")
    assert found.remedy is not None and found.remedy.patch == {"chain": {"links_count": 282}}


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"chain": {"breaking_load_n": 100}}, "chain-overloaded"),
        ({"backstop": {"holding_torque_n_m": 0.05}}, "backstop-too-weak"),
        ({"backstop": None}, "no-backstop"),
        ({"motors": [{"id": "a", "torque_n_m": 0.1, "turns_per_min": 40}]}, "no-motor-fits"),
        ({"fuse": {"setting_n_m": 0.25}}, "fuse-slips-too-soon"),
        ({"fuse": {"setting_n_m": 1.8}}, "fuse-slips-too-late"),
        ({"weak_points": [{"id": "a", "kind": "chain", "breaks_at_n": 8}]}, "no-fuse-window"),
        ({"comb": {"tooth_width_mm": 9}}, "hooks-hit-the-tongue"),
        ({"comb": {"tooth_width_mm": 5}}, "tongue-tight"),
        ({"loading": {"slope_deg": 0.5}}, "ball-comes-too-late"),
        ({"loading": {"slope_deg": 0.8}}, "ball-comes-too-late"),
        ({"hinge": {"cone_repeats_mm": 0.9}}, "cage-out-of-line"),
        ({"hinge": {"depth_clearance_mm": 0.2}}, "cage-too-deep"),
        ({"guard": {"behind_mm": 50}}, "fingers-reach-the-drive"),
        ({"guard": {"opening_mm": 150}}, "guard-open"),
        ({"guard": {"closing_gaps": [{"id": "a", "gap_mm": 12}]}}, "gap-pinches"),
        ({"chain": {"centre_distance_mm": 57, "links_count": 24}}, "sprockets-touch"),
        ({"chain": {"teeth_count": 9, "tail_teeth_count": 9}}, "runs-rough"),
    ],
)
def test_what_goes_wrong_is_said(changes: dict[str, Any], code: str) -> None:
    assert code not in {f.code for f in run().findings}
    found = named(
        CALCULATOR.calculate(CALCULATOR.load(without_nulls(merge_patch(WHOLE, changes)))), code
    )
    assert found.level in ("watch", "stop") and found.remedy is not None
    assert found.measure is not None


def without_nulls(body: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in body.items() if value is not None}


def test_a_strong_motor_without_a_clutch_breaks_the_hook() -> None:
    found = named(run({"fuse": None}), "motor-breaks-it")
    assert found.level == "stop" and "hook" in found.message


def test_a_grown_up_may_reach_less_far() -> None:
    codes = {f.code for f in run({"guard": {"behind_mm": 30, "children_present": False}}).findings}
    assert "fingers-reach-the-drive" not in codes


def test_moving_the_hook_shares_the_clearance() -> None:
    off = run({"comb": {"offset_mm": 0.8}})
    found = named(off, "tongue-tight")
    assert found.remedy is not None and "0.80 mm to the left" in found.remedy.message
    comb = off.value["comb"]
    again = run({"comb": {"offset_mm": 0.8 + comb["best_offset_mm"]}}).value["comb"]
    assert again["least_worst_mm"] == pytest.approx(comb["best_worst_mm"])


def test_waiting_balls_rub_on_the_hooks() -> None:
    """By hand: 12 balls of 0.041 kg on 4 degrees push 0.337 N; 0.3 of it on D/2 over 0.5."""
    with_row, without = run(), run({"loading": {"waiting_balls_count": 0}})
    push = 12 * 0.041 * 9.81 * 0.0697565
    assert with_row.value["loading"]["waiting_push_n"] == pytest.approx(push, rel=1e-5)
    radius_m = with_row.value["loop"]["head_pitch_diameter_mm"] / 2000
    more = [r.value["torque"]["running_torque_n_m"] for r in (with_row, without)]
    assert more[0] - more[1] == pytest.approx(0.3 * push * radius_m / 0.5, rel=1e-5)


def test_shafts_that_may_come_fully_together_are_calculated() -> None:
    left = run({"adjuster": {"apart_mm": 10, "together_mm": 10000}}).value["loop"]["adjustment"]
    assert left["shortest_mm"] == 0.0
    assert left["two_links_out_from_percent"] == 0.0
