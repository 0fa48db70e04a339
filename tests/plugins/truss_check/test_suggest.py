"""Diagonals to add, to turn and to leave out: proven by a run, bounded, and from the shelf."""

import copy
from collections.abc import Callable
from itertools import combinations
from typing import Any

import numpy as np
import pytest

from baywright_plugins.truss_check import TrussCheck
from baywright_plugins.truss_check.cheapest import cheapest
from baywright_plugins.truss_check.fewest import Candidates, least_cost
from baywright_plugins.truss_check.handling import Handling, handling_cases
from baywright_plugins.truss_check.mend import Pair, mirror_groups, with_diagonals
from baywright_plugins.truss_check.section import SectionModel, section_model, solve_cases
from baywright_service.contract import InvalidInputs, Result, merge_patch
from tests.plugins.truss_check.conftest import desk_body
from tests.plugins.truss_check.sections import KIT, box_model
from tests.plugins.truss_check.wire import desk

pytestmark = pytest.mark.slow

Check = Callable[[Any], Result]
OPTIONS: dict[str, Any] = {"gravity_m_s2": 9.81, "buckling_margin": 1.5}


def bare(*names: str, **more: Any) -> dict[str, Any]:
    """The changed demo machine without its second diagonals."""
    layout = copy.deepcopy(desk("changed"))
    for one in layout["sections"]:
        one.pop("second_diagonals", None)
    body = {**desk_body("changed"), "frame": {"layout": layout}, "sections": list(names)}
    return {**body, "analyses": ["linear"], **more}


def of(result: Result, code: str) -> Any:
    [finding] = [f for f in result.findings if f.code == code]
    return finding


def reaches(result: Result) -> bool:
    return all(
        case["first_slip_factor"] >= case["required_factor"]
        for section in result.value["sections"]
        for case in section["cases"]
    )


def test_twenty_second_diagonals_mend_the_play_sections(check: Check) -> None:
    """As chosen apart from this project: twenty in S2, worst planned case 1.77; the patch, posted,
    reaches every factor, and the bound says how far it may be from the fewest."""
    body = bare("S2", "S3", suggest={})
    result = check(body)
    told = result.value["sections"][0]["suggest"]["mend"]
    assert told["rods_count"] == len(told["diagonals"]) == 20
    assert told["first_slip_factor"] == pytest.approx(1.77, abs=0.011)
    assert told["proven"] and not told["exact"]
    assert told["cost"] == 20 and 0 < told["cost_at_least"] <= 20
    assert told["cost_gap"] == told["cost"] - told["cost_at_least"]
    finding = of(result, "mend-suggested")
    assert finding.level == "ok" and "none with less than" in finding.message
    again = check(merge_patch(body, {**finding.remedy.patch, "suggest": None}))
    assert reaches(again) and not reaches(result)
    assert [s["section"] for s in again.value["sections"]] == ["S2", "S3"]


def test_the_shelf_is_shared_by_twins(check: Check) -> None:
    """36 R170 are free beside the bare frame: eighteen for each of two sections that want 20."""
    body = bare("S2", "S3", suggest={}, stock=desk("stock"))
    result = check(body)
    told = result.value["sections"][0]["suggest"]["mend"]
    rods = result.value["sections"][0]["suggest"]["mend"]["rods_count"]
    finding = of(result, "mend-short-of-rods")
    assert finding.level == "watch" and told["short_count"] == 2 * rods - 36
    plenty = {"counts": [{"item": "R170", "on_hand_count": 100_000}]}
    full = check({**body, "stock": plenty})
    assert full.value["sections"][0]["suggest"]["mend"]["short_count"] == 0
    assert of(full, "mend-suggested").level == "ok"


def test_turned_diagonals_are_pressed_and_save_rods(check: Check) -> None:
    body = bare("S2", suggest={"turn": True})
    result = check(body)
    told = result.value["sections"][0]["suggest"]["mend"]
    assert told["proven"] and told["rods_count"] < 20
    assert len(told["turned_from"]) == len(told["turned_to"]) > 0
    patch = of(result, "mend-suggested").remedy.patch
    again = check(merge_patch(body, {**patch, "suggest": None}))
    assert reaches(again)
    members = [r.value["sections"][0]["stability"]["members"] for r in (result, again)]
    assert members[1] == members[0] + told["rods_count"]


def test_only_the_chosen_cases_count(check: Check) -> None:
    """Carried on its back alone it needs fewer than turned every way."""
    body = bare("S2", suggest={"cases": ["carry-on-back"]})
    told = check(body).value["sections"][0]["suggest"]["mend"]
    assert told["proven"] and told["weakest_case"] == "carry-on-back"
    assert 0 < told["rods_count"] < 20
    with pytest.raises(InvalidInputs) as refused:
        check(bare("S2", suggest={"cases": ["carry-on-nose"]}))
    assert refused.value.faults[0][0] == "/suggest/cases/0"


def test_what_can_be_left_out_is_proven(check: Check) -> None:
    body = {**desk_body("changed"), "sections": ["S4"], "analyses": ["linear"]}
    result = check({**body, "suggest": {"leave_out": True}})
    told = result.value["sections"][0]["suggest"]["leave_out"]
    assert told["proven"] and 0 < told["rods_count"] <= told["at_most_count"]
    assert told["at_most_count"] == result.value["sections"][0]["stability"]["self_stress_states"]
    again = check(merge_patch(body, of(result, "can-leave-out").remedy.patch))
    [section] = again.value["sections"]
    assert reaches(again) and section["stability"]["mechanisms"] == 0
    assert len(section["left_out_diagonals"]) == told["rods_count"]
    assert section["first_slip_factor"] == pytest.approx(told["first_slip_factor"], rel=1e-9)
    few = check({**body, "suggest": {"leave_out": True, "most_left_out": 3}})
    less = few.value["sections"][0]["suggest"]["leave_out"]
    assert less["rods_count"] == 3 and less["single_left_count"] > 0


def test_no_diagonal_can_be_left_out_of_a_section_that_falls_short(check: Check) -> None:
    told = check(bare("S2", suggest={"leave_out": True, "mend": False}))
    assert "falls short" in told.value["sections"][0]["suggest"]["leave_out"]["reason"]


def test_a_section_past_mending_says_so(check: Check) -> None:
    """Ten times the equipment: even a second diagonal on every face would not carry it."""
    layout = copy.deepcopy(desk("changed"))
    [heavy] = [s for s in layout["sections"] if s["id"] == "S4"]
    heavy["fittings"][0]["mass_kg"] = 70
    body = {**bare("S4", suggest={}), "frame": {"layout": {**layout, "joints": []}}}
    body["frame"]["layout"]["sections"] = [heavy]
    result = check(body)
    assert "even a second diagonal" in of(result, "mend-not-found").message
    assert result.value["sections"][0]["suggest"]["mend"]["reason"]


def weak_box(mass_kg: float, *cases: str) -> tuple[SectionModel, Handling, Any]:
    """A small box that falls short in some of its cases."""
    model = box_model(
        (3, 2, 3),
        side_faces={"default": "lean-in"},
        cross_faces={"every": 1},
        fittings=[{"mass_kg": mass_kg, "levels": [0, 1]}],
    )
    handling = Handling(cases=cases)
    states = solve_cases(model, handling_cases(model.part, handling).cases)
    assert any(s.factor < handling.required(s.case.kind) for s in states)
    return model, handling, states


def holds(model: SectionModel, handling: Handling, states: Any, pairs: Any) -> bool:
    other = section_model(with_diagonals(model.part, pairs, KIT), KIT, **OPTIONS)
    again = solve_cases(other, [s.case for s in states])
    return all(s.factor >= handling.required(s.case.kind) for s in again)


def missing(model: SectionModel, handling: Handling, states: Any) -> list[tuple[Pair, ...]]:
    short = [s for s in states if s.factor < handling.required(s.case.kind)]
    return mirror_groups(model, short, most=1000)


@pytest.mark.parametrize("seed", range(3))
def test_the_bound_lies_below_every_set_that_does(seed: int) -> None:
    """Sets drawn at random, pruned one by one until none of their diagonals can go: under random
    costs none of those that do costs less than the bound."""
    model, handling, states = weak_box(70, "stand", "carry-upright")
    random = np.random.default_rng(seed)
    pairs = tuple(pair for group in missing(model, handling, states) for pair in group)
    rod = KIT.rod_spanning(170.0) or 0
    candidates = Candidates(pairs, (rod,) * len(pairs), random.uniform(0.5, 2.0, len(pairs)))
    short = [s.case for s in states if s.factor < handling.required(s.case.kind)]
    bound = least_cost(model, short, handling, KIT, candidates, **OPTIONS)
    sets = []
    for _ in range(3):
        chosen = np.flatnonzero(random.random(len(pairs)) < 0.8).tolist()
        if not holds(model, handling, states, [pairs[k] for k in chosen]):
            continue
        for one in random.permutation(chosen).tolist():
            fewer = [k for k in chosen if k != one]
            if holds(model, handling, states, [pairs[k] for k in fewer]):
                chosen = fewer
        sets.append(float(candidates.cost[chosen].sum()))
    assert sets and 0 < bound.least_cost <= min(sets)


def test_the_bound_is_met_where_nothing_is_short() -> None:
    model, handling, states = weak_box(70, "stand", "carry-upright")
    light = Handling(cases=handling.cases, required_planned_ratio=0.5)
    pairs = tuple(pair for group in missing(model, handling, states) for pair in group)
    candidates = Candidates(pairs, (0,) * len(pairs), np.ones(len(pairs)))
    cases = [s.case for s in states]
    bound = least_cost(model, cases, light, KIT, candidates, **OPTIONS)
    assert bound.least_cost == 0 and bound.closed


def test_a_set_called_exact_is_the_cheapest_of_mirror_groups() -> None:
    """Every cheaper set of whole mirror groups tried from scratch, apart from the search."""
    model, handling, states = weak_box(40, "carry-on-right-end")
    found = cheapest(model, states, handling, KIT, lambda rod: 1.0, **OPTIONS)
    assert found.pairs and found.exact
    groups = missing(model, handling, states)
    tried = 0
    for count in (1, 2, 3):
        for chosen in combinations(groups, count):
            pairs = [pair for group in chosen for pair in group]
            if len(pairs) < found.cost:
                tried += 1
                assert not holds(model, handling, states, pairs)
    assert tried and holds(model, handling, states, found.pairs)


@pytest.mark.parametrize(
    ("field", "value", "pointer"),
    [
        ("suggest", {"mend": False}, "/suggest/mend"),
        ("suggest", {"cost": "price"}, "/suggest/cost"),
        ("left_out_diagonals", {"S9": []}, "/left_out_diagonals/S9"),
        ("left_out_diagonals", {"S2": [[[0, 0, 0], [0, 0, 1]]]}, "/left_out_diagonals/S2/0"),
        ("left_out_diagonals", {"S2": [[[0, 0, 0], [9, 9, 9]]]}, "/left_out_diagonals/S2/0/1"),
        ("left_out_diagonals", {"S2": [[[0, 0, 2], [0, 1, 1]]] * 2}, "/left_out_diagonals/S2/1"),
    ],
)
def test_bad_input_is_named(check: Check, field: str, value: Any, pointer: str) -> None:
    body = {**desk_body("changed"), "sections": ["S2"], "analyses": ["linear"], field: value}
    with pytest.raises(InvalidInputs) as refused:
        check(body)
    assert [at for at, _ in refused.value.faults] == [pointer]


@pytest.mark.parametrize("field", ["travel", "partial_factors", "suggest"])
def test_a_structure_is_not_asked_what_only_a_frame_has(
    check: Check, calculator: TrussCheck, field: str
) -> None:
    with pytest.raises(InvalidInputs) as refused:
        check({**calculator.examples[2].inputs, field: {}})
    assert [at for at, _ in refused.value.faults] == [f"/{field}"]


def test_leaving_out_and_adding_again_changes_nothing(check: Check) -> None:
    """The members keep their numbers in the frame, the added one has none."""
    body = {**desk_body("changed"), "sections": ["S2"], "analyses": ["linear"], "detail": "full"}
    pair = [[[0, 0, 2], [0, 1, 1]]]
    plain = check(body)
    back = check({**body, "left_out_diagonals": {"S2": pair}, "added_diagonals": {"S2": pair}})
    [one], [other] = plain.value["sections"], back.value["sections"]
    assert other["first_slip_factor"] == pytest.approx(one["first_slip_factor"], rel=1e-9)
    numbers = set(one["members"].tolist()) - set(other["members"].tolist())
    assert len(numbers) == 1 and other["members"].tolist().count(-1) == 1


def test_suggestions_follow_the_published_schemas(
    assert_example_holds: Callable[[Any, Any], None], calculator: TrussCheck
) -> None:
    assert_example_holds(calculator, bare("S2", suggest={"turn": True, "leave_out": True}))
    layout = desk("changed")
    asked = {"leave_out": True, "cost": "mass", "most_left_out": 2}
    body = {**desk_body("changed"), "frame": {"layout": layout}, "sections": ["S4"]}
    excitation = {"hooks_per_min": 20, "links_per_hook_count": 14, "sources_hz": {"drum": 2.1}}
    assert_example_holds(
        calculator,
        {**body, "analyses": ["linear"], "suggest": asked, "excitation": excitation},
    )


def test_cost_by_mass_and_by_price(check: Check) -> None:
    """R170 weighs 5.34 g and is given a price: twenty of them."""
    mass = check(bare("S2", suggest={"cost": "mass"})).value["sections"][0]["suggest"]["mend"]
    assert mass["cost"] == pytest.approx(mass["rods_count"] * 5.34)
    kit = copy.deepcopy(desk("kit"))
    [rod] = [rod for rod in kit["rods"] if rod["id"] == "R170"]
    rod["price"] = 0.3
    told = check(bare("S2", kit=kit, suggest={"cost": "price"}))
    price = told.value["sections"][0]["suggest"]["mend"]
    assert price["cost"] == pytest.approx(price["rods_count"] * 0.3)
    assert price["cost_at_least"] == pytest.approx(0.3 * round(price["cost_at_least"] / 0.3))
