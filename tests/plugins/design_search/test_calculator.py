"""Faults by name, refusals, findings and near misses, and every example."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.design_search import DesignSearch
from baywright_service.contract import CannotCalculate, InvalidInputs, Result, merge_patch

Json = dict[str, Any]
Run = Callable[[Json], Result]

_TWO = [{"id": "two", "alike_count": 2}]
FAULTS = [
    ({"bay_rods": ["R999"]}, "/bay_rods/0", "unknown-reference"),
    ({"joint_rod": "R999"}, "/joint_rod", "unknown-reference"),
    ({"splits": _TWO}, "/joint_rod", "missing"),
    ({"splits": [{"id": "none"}]}, "/splits/0/sections", "missing"),
    ({"splits": [{"id": "a", "alike_count": 1, "sections": [{"id": "S1"}]}]},
     "/splits/0/sections", "not-unique"),
    ({"splits": [{"id": "a", "sections": [{"id": "S1", "twin_of": "S9"}]}]},
     "/splits/0/sections/0/twin_of", "unknown-reference"),
    ({"splits": [{"id": "a", "sections": [{"id": f"S{k}"} for k in range(6)]}],
      "joint_rod": "R60"}, "/splits/0/sections", "too-many"),
    ({"envelope": {"length_max_mm": 400, "length_min_mm": 500, "width_max_mm": 400,
                   "height_max_mm": 400}}, "/envelope/length_min_mm", "out-of-range"),
    ({"objectives": ["shortage"]}, "/objectives", "missing"),
    ({"objectives": ["mass", "mass"]}, "/objectives", "not-unique"),
    ({"most_to_buy_count": 3}, "/most_to_buy_count", "missing"),
    ({"scatter": {"across": "mass", "up": "mass"}}, "/scatter/up", "not-unique"),
    ({"accessories": [{"item": "ball", "count": 1}]}, "/accessories/0/item", "unknown-reference"),
    ({"floor": {"panels": [{"id": "tile"}]}}, "/floor/panels/0/pitch_mm", "missing"),
    ({"floor": {"panels": [{"id": "t", "pitch_mm": 50}], "sections": ["S7"]}},
     "/floor/sections/0", "unknown-reference"),
    ({"lifts": {"required_balls_per_min": 9, "capacity_per_min": 9, "section": "S7"}},
     "/lifts/section", "unknown-reference"),
    ({"lifts": {"required_balls_per_min": 9, "capacity_per_min": 9, "fewest_count": 9}},
     "/lifts/fewest_count", "out-of-range"),
    ({"protrusions": [{"sections": ["S7"], "side": "z-plus", "mm": 3}]},
     "/protrusions/0/sections/0", "unknown-reference"),
    ({"bracings": [{"id": "b", "second_diagonals": {"S7": []}}]},
     "/bracings/0/second_diagonals/S7", "unknown-reference"),
    ({"passages": [{"id": "door", "width_mm": 700}]}, "/passages/0/height_mm", "missing"),
    ({"strength": {"leaning": {}}}, "/strength/leaning/person_n", "missing"),
    ({"strenght": {}}, "/strenght", "unknown-field"),
]  # fmt: skip


@pytest.mark.parametrize(("more", "pointer", "code"), FAULTS, ids=[f[1] for f in FAULTS])
def test_fault_is_named(small: Callable[..., Json], more: Json, pointer: str, code: str) -> None:
    """One change to a valid body, one fault with its place."""
    calculator = DesignSearch()
    with pytest.raises(InvalidInputs) as caught:
        calculator.calculate(calculator.load(small(**more)))
    assert (pointer, code) in [(place, fault.code) for place, fault in caught.value.faults]


@pytest.mark.parametrize("example", DesignSearch.examples, ids=lambda one: one.title)
def test_examples_hold(assert_example_holds: Any, example: Any) -> None:
    """Inputs and result follow the published schemas."""
    assert_example_holds(DesignSearch(), example.inputs)


def codes(result: Result) -> dict[str, str]:
    return {one.code: one.level for one in result.findings}


def test_more_machines_than_can_be_numbered(small: Callable[..., Json]) -> None:
    """A refusal that says how to narrow, in place of a wrong number."""
    body = small(
        envelope={"length_max_mm": 9000, "width_max_mm": 9000, "height_max_mm": 9000},
        splits=[{"id": "five", "sections": [{"id": f"S{k}"} for k in range(5)]}],
        joint_rod="R60",
    )
    calculator = DesignSearch()
    with pytest.raises(CannotCalculate) as caught:
        calculator.calculate(calculator.load(body))
    assert caught.value.pointer == "/envelope" and "narrower" in caught.value.reason


def test_no_bays_of_these_rods(run: Run, small: Callable[..., Json]) -> None:
    """Between 300 and 380 mm there is no whole number of bays of R120."""
    narrow = {**small()["envelope"], "width_min_mm": 300, "width_max_mm": 380}
    result = run(small(bay_rods=["R120"], envelope=narrow))
    assert codes(result) == {"no-bays-fit": "stop"}
    assert result.value["space"]["machines_count"] == 0


def test_nothing_passes_the_hatch(run: Run, small: Callable[..., Json]) -> None:
    """The nearest miss names passage and millimetres, and comes with its plan."""
    hatch = [{"id": "hatch", "title": "Hatch", "width_mm": 250, "height_mm": 900}]
    result = run(small(bay_rods=["R120"], passages=hatch))
    assert codes(result) == {"nothing-will-do": "stop"}
    miss = result.value["near_misses"][0]
    assert (miss["check"], miss["limit"], miss["value"]) == ("doors", 234, 274)
    assert "40 mm more" in miss["advice"] and miss["plan"]["steps"]
    (finding,) = result.findings
    assert finding.measure is not None and finding.measure.value == 274


def test_a_longer_envelope_admits_one(run: Run, small: Callable[..., Json]) -> None:
    """Two alike need 120 mm more than the envelope has; the patch is proven by a new search."""
    box = {**small()["envelope"], "length_max_mm": 400, "width_max_mm": 280, "height_max_mm": 400}
    body = small(bay_rods=["R120"], splits=_TWO, joint_rod="R120", envelope=box)
    body["envelope"]["length_min_mm"] = 396
    result = run(body)
    (finding,) = result.findings
    assert finding.code == "nothing-will-do" and finding.remedy is not None
    patch = finding.remedy.patch
    assert patch is not None and set(patch) == {"envelope"}
    again = run(merge_patch(body, patch))
    assert again.value["machines"]


def test_more_lifts_admit_one(run: Run, small: Callable[..., Json]) -> None:
    """Three lifts of 18 with one stopped bring up 36 of 40; four do, and the patch says so."""
    lifts = {"required_balls_per_min": 40, "capacity_per_min": 18, "most_count": 3}
    body = small(bay_rods=["R120"], lifts=lifts)
    result = run(body)
    (finding,) = result.findings
    assert finding.remedy is not None and finding.remedy.patch == {"lifts": {"most_count": 4}}
    miss = result.value["near_misses"][0]
    assert (miss["check"], miss["value"], miss["limit"]) == ("lifts", 36, 40)
    assert run(merge_patch(body, finding.remedy.patch)).value["machines"]


def test_too_weak_and_by_how_much(run: Run, small: Callable[..., Json]) -> None:
    """Carried with 90 times its weight every machine slips; the strongest is the nearest miss."""
    heavy = {"handling": {"cases": ["carry-on-back"], "dynamic_factor": 20,
                          "required_planned_ratio": 9}}  # fmt: skip
    result = run(small(bay_rods=["R120"], strength=heavy))
    assert codes(result) == {"nothing-will-do": "stop"}
    miss = result.value["near_misses"][0]
    lost = result.value["lost"]
    assert miss["check"] == "strength" and miss["limit"] == 9
    strongest = max(one["strength_reserve_ratio"] for one in lost)
    assert miss["value"] / 9 == pytest.approx(strongest)


def test_without_diagonals_it_folds(run: Run, small: Callable[..., Json]) -> None:
    """Frames without diagonals fold, and say in how many ways."""
    bare = [{"id": "bare", "side_faces": {"default": "none"}, "cross_faces": {"every": 0}}]
    result = run(small(bay_rods=["R120"], bracings=bare))
    assert all("folds in at least" in one["message"] for one in result.value["lost"])
    assert result.value["machines"] == []


def test_second_diagonals_that_fit_nowhere(run: Run, small: Callable[..., Json]) -> None:
    """They rule out every machine, by name, whatever else is asked for."""
    beyond = {"S1": [[[0, 0, 30], [0, 1, 31]]]}
    body = small(
        bay_rods=["R120"],
        bracings=[{"id": "beyond", "second_diagonals": beyond}],
        stock={"counts": []},
        most_to_buy_count=0,
    )
    result = run(body)
    bracing = next(row for row in result.value["checks"] if row["check"] == "bracing")
    assert bracing["removed_count"] == result.value["space"]["machines_count"]
    assert "[0, 0, 30]" in bracing["reasons"][0]["message"]
    assert result.value["near_misses"] == []


def test_what_the_shelf_lacks(run: Run, small: Callable[..., Json]) -> None:
    """With nothing on the shelf every piece is to be bought; with none allowed nothing will do,
    and buying them is the relaxation."""
    empty: Json = {"counts": []}
    some = run(small(bay_rods=["R120"], stock=empty))
    best = some.value["machines"][0]
    assert best["to_buy_count"] == best["pieces_count"]
    assert codes(some)["all-short-of-parts"] == "watch"
    none = run(small(bay_rods=["R120"], stock=empty, most_to_buy_count=0))
    assert none.value["machines"] == []
    missing = next(one for one in none.value["checks"] if one["check"] == "parts")
    assert missing["removed_count"] == none.value["space"]["machines_count"]
    miss = none.value["near_misses"][0]
    assert (miss["check"], miss["limit"]) == ("parts", 0)
    (finding,) = none.findings
    assert finding.remedy is not None
    assert finding.remedy.patch == {"most_to_buy_count": miss["value"]}
    assert best["pieces_count"] == miss["value"]


def test_chosen_objectives_alone_decide(run: Run, small: Callable[..., Json]) -> None:
    """By mass alone the lightest is left; the others lost to it."""
    found = run(small(bay_rods=["R120"], objectives=["mass"])).value
    whole = run(small(bay_rods=["R120"])).value
    masses = [one["mass_kg"] for one in [*whole["machines"], *whole["lost"]]]
    (machine,) = found["machines"]
    assert machine["mass_kg"] == min(masses) and machine["best_in"] == ["mass"]
    assert {one["beaten_by"] for one in found["lost"]} == {machine["id"]}


def test_machines_alike_stand_once(run: Run, small: Callable[..., Json]) -> None:
    """Two ways to brace that are the same give pairs of which one stands for both."""
    twice = [{"id": name, "side_faces": {"default": "lean-in"}} for name in ("one", "other")]
    found = run(small(bay_rods=["R120"], bracings=twice)).value
    alike = [one for one in found["lost"] if one["reason"] == "alike"]
    assert len(alike) >= len(found["machines"])
    assert {one["chosen"]["bracing"] for one in found["machines"]} == {"one"}


def test_guarded_leaning_does_not_count(run: Run, small: Callable[..., Json]) -> None:
    """A push that would rule all out counts only where no rail keeps people off."""
    push = {"person_n": 900, "height_mm": 300}
    cases = {"handling": {"cases": ["stand"]}}
    leant = run(small(bay_rods=["R120"], strength={**cases, "leaning": push}))
    railed = run(small(bay_rods=["R120"], strength={**cases, "leaning": {**push, "guarded": True}}))
    assert not leant.value["machines"] and railed.value["machines"]
    assert "leaned on" in leant.value["lost"][0]["message"]


def test_cautions_for_carrying_and_thumbs(run: Run, small: Callable[..., Json]) -> None:
    """Every answer ends in the planning-aid line; heavy sections call for more."""
    assert DesignSearch.cautions[-1].startswith("Planning aid, not a safety certificate")
    load = [{"id": "one", "alike_count": 1,
             "fittings": [{"title": "motor", "mass_kg": 30, "levels": [0]}]}]  # fmt: skip
    heavy = run(small(bay_rods=["R120"], splits=load,
                      strength={"handling": {"cases": ["stand"]}}))  # fmt: skip
    assert any("kg" in caution.text for caution in heavy.cautions)
