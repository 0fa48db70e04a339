"""The calculator on the way and among people: drops, thresholds, leaning, balls, grips, factors."""

import math
from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.truss_check import TrussCheck
from baywright_service.contract import InvalidInputs, Result
from tests.plugins.truss_check.conftest import desk_body
from tests.plugins.truss_check.sections import EXPECTED

Check = Callable[[Any], Result]
DROP = {
    "height_mm": 20, "foot_stiffness_min_n_per_mm": 4, "foot_stiffness_max_n_per_mm": 15,
}  # fmt: skip
THRESHOLD = {"wheel_radius_mm": 50, "step_mm": 20}


def asked(travel: dict[str, Any], plan: str = "changed", **more: Any) -> dict[str, Any]:
    """Section S2 of the demo machine, standing, with something asked under travel."""
    body = {**desk_body(plan), "sections": ["S2"], "analyses": ["linear"], "travel": travel}
    return {**body, "handling": {"cases": ["stand"]}, "seek_remedies": False, **more}


def only(result: Result) -> Any:
    [section] = result.value["sections"]
    return section


def case_of(result: Result, name: str) -> Any:
    [case] = [c for c in only(result)["cases"] if c["id"] == name]
    return case


def finding_of(result: Result, code: str) -> Any:
    [finding] = [f for f in result.findings if f.code == code]
    return finding


@pytest.mark.parametrize("feet_n_per_mm", [15, 4])
def test_a_drop_of_the_demo_machine(check: Check, feet_n_per_mm: int) -> None:
    """Factor after 20 mm and fall at first slip, as an independent program printed them for a rigid
    frame, from a mass it had rounded to 17.8 kg (17.83 here) and a standing factor rounded to 3.51
    (3.515 here): 0.17 % and 0.14 %, which come to 0.01 in the factor and 1.1 % in the height."""
    spring = {f"foot_stiffness_{end}_n_per_mm": feet_n_per_mm for end in ("min", "max")}
    result = check(asked({"drop": {"height_mm": 20, **spring}}))
    expected = EXPECTED["drop"][f"S2_changed_feet_{feet_n_per_mm}_N_per_mm_each"]
    [rigid, giving] = only(result)["travel"]["drop"]["falls"]
    assert not rigid["frame_gives"] and giving["frame_gives"]
    assert rigid["first_slip_factor"] == pytest.approx(expected["factor_after_20_mm"], abs=0.01)
    assert rigid["first_slip_height_mm"] == pytest.approx(expected["first_slip_drop_mm"], rel=0.011)
    worst = case_of(result, "drop-worst")
    assert worst["first_slip_factor"] == pytest.approx(rigid["first_slip_factor"], rel=1e-6)
    assert worst["kind"] == "accidental" and worst["required_factor"] == 1.25
    best = case_of(result, "drop-best")
    assert best["first_slip_factor"] == pytest.approx(giving["first_slip_factor"], rel=1e-6)


def test_a_drop_is_told_as_a_range(check: Check) -> None:
    """Hard feet under a rigid frame slip, soft feet under a frame that gives do not: watch."""
    result = check(asked({"drop": DROP}))
    told = only(result)["travel"]["drop"]
    factors = [fall["first_slip_factor"] for fall in told["falls"]]
    assert len(factors) == 4 and factors == sorted(factors) and factors[0] < 1 < factors[-1]
    finding = finding_of(result, "drop-slips-seats")
    assert finding.level == "watch" and "at most 7.8 mm" in finding.message
    assert finding.measure.value == 20 and finding.measure.limit == pytest.approx(7.76)
    assert finding.measure.limit == pytest.approx(told["first_slip_height_min_mm"], abs=0.005)
    high = check(asked({"drop": {**DROP, "height_mm": 200}}))
    assert finding_of(high, "drop-slips-seats").level == "stop"
    low = check(asked({"drop": {**DROP, "height_mm": 1}}))
    assert finding_of(low, "drop-holds").level == "ok"


@pytest.mark.slow
def test_collapse_of_a_fall_is_that_of_standing_over_the_blow(check: Check) -> None:
    """Worked out from standing, and by the linear program where standing is not among the cases."""
    limits = {"analyses": ["linear", "limit-load"]}
    known = check({**asked({"drop": DROP}), **limits})
    alone = check({**asked({"drop": DROP}), **limits, "handling": {"cases": ["carry-upright"]}})
    for name in ("drop-worst", "drop-best"):
        one, other = (case_of(result, name)["collapse_factor"] for result in (known, alone))
        assert one == pytest.approx(other, rel=1e-6)


def test_drops_are_no_worst_case_of_the_section(check: Check) -> None:
    """What holds in hand is told apart from what might happen."""
    plain, dropped = check(asked({})), check(asked({"drop": DROP, "leaning": {"person_n": 300}}))
    for key in ("first_slip_factor", "utilisation_max"):
        assert only(dropped)[key] == only(plain)[key]
    assert dropped.value["picture"]["case"] == "stand"
    shown = check(asked({"drop": DROP}, picture={"case": "drop-worst"}))
    assert shown.value["picture"]["case"] == "drop-worst"


def test_over_a_threshold(check: Check) -> None:
    """Wheels of 50 over 20 ask 4/3 of the wheel load (by hand, sqrt(2 R h - h^2)/(R - h)); the
    level named is the highest from which on down every level holds."""
    result = check(asked({"threshold": THRESHOLD}))
    told = only(result)["travel"]["threshold"]
    assert told["push_ratio"] == pytest.approx(4 / 3)
    assert {way["toward"] for way in told["ways"]} == {"x+", "x-", "y+", "y-"}
    worst = min(way["first_slip_factor"] for way in told["ways"])
    assert case_of(result, "over-threshold")["first_slip_factor"] == worst >= 1.65
    finding = finding_of(result, "threshold-holds")
    assert finding.level == "ok" and "1.33 times" in finding.message
    for way in told["ways"]:
        for level in range(way["push_level"] + 2):
            one = {**THRESHOLD, "toward": [way["toward"]], "push_level": level}
            again = check(asked({"threshold": one}))
            holds = level <= way["push_level"]
            assert (again.verdict == "ok") == holds, (way, level)


def test_a_threshold_that_cannot_be_rolled(check: Check) -> None:
    result = check(asked({"threshold": {"wheel_radius_mm": 20, "step_mm": 20}}))
    finding = finding_of(result, "threshold-cannot-be-rolled")
    assert finding.level == "stop" and "axle" in finding.message
    high = check(asked({"threshold": {**THRESHOLD, "push_level": 12, "toward": ["y+"]}}))
    assert "pitches" in finding_of(high, "threshold-cannot-be-rolled").message


def test_leaning_tips_by_hand(check: Check) -> None:
    """Moments about the far feet: F = W a / h, the centre of mass in the middle of 600 mm but for
    what the changed plan's diagonals shift; a rail turns a stop into a thing to watch."""
    leaning = {"person_n": 300, "category": "crowd-light", "faces": ["y-"]}
    result = check(asked({"leaning": leaning}))
    weight = only(result)["mass_kg"] * 9.81
    row, one = only(result)["travel"]["leaning"]["pushes"]
    for push in (row, one):
        assert push["tips_at_n"] == pytest.approx(weight * 300 / 1200, rel=0.01)
        assert push["face"] == "y-" and push["height_mm"] == 1200
    assert row["load_n"] == pytest.approx(0.36 * 1080) and one["load_n"] == 300
    assert finding_of(result, "tips-when-leaned-on").level == "stop"
    guarded = check(asked({"leaning": {**leaning, "guarded": True}}))
    assert finding_of(guarded, "tips-when-leaned-on").level == "watch"


def test_leaning_slips_where_it_says(check: Check) -> None:
    """At the load named the first-slip factor is one."""
    first = check(asked({"leaning": {"person_n": 300, "faces": ["x+"]}}))
    [push] = only(first)["travel"]["leaning"]["pushes"]
    at = {"person_n": push["slips_at_n"], "faces": ["x+"]}
    again = check(asked({"leaning": at}))
    assert case_of(again, "leaned-on-by-one")["first_slip_factor"] == pytest.approx(1.0, rel=1e-6)


def test_the_worst_face_is_told(check: Check) -> None:
    every = check(asked({"leaning": {"person_n": 100}}))
    [push] = only(every)["travel"]["leaning"]["pushes"]
    each = {
        face: case_of(
            check(asked({"leaning": {"person_n": 100, "faces": [face]}})), "leaned-on-by-one"
        )["first_slip_factor"]
        for face in ("x-", "x+", "y-", "y+")
    }
    assert push["face"] == min(each, key=lambda face: each[face])
    assert push["first_slip_factor"] == pytest.approx(min(each.values()), rel=1e-9)


def test_balls_weigh_on_the_levels_stated(check: Check) -> None:
    """2 kg more in a machine of 17.83 kg: the four feet push up by so much."""
    load = {"balls_count": 50, "ball_mass_kg": 0.04, "levels": [3, -1], "sections": ["S2"]}
    result = check(asked({"ball_loads": [load]}, detail="full"))
    case = case_of(result, "stand-with-balls")
    up = sum(row["n"][2] for row in case["reactions"])
    assert up == pytest.approx((only(result)["mass_kg"] + 2.0) * 9.81, rel=1e-6)
    assert case["first_slip_factor"] < case_of(result, "stand")["first_slip_factor"]
    with pytest.raises(InvalidInputs) as refused:
        check(asked({"ball_loads": [{**load, "levels": [40]}]}))
    assert refused.value.faults[0][0] == "/travel/ball_loads"


def test_laid_down_it_rests_on_the_corners_of_one_side(check: Check) -> None:
    names = ["rest-on-head", "rest-on-back", "rest-on-front", "rest-on-right-end",
             "rest-on-left-end"]  # fmt: skip
    result = check(asked({"resting": names}, detail="full"))
    side = {"rest-on-head": (2, 12), "rest-on-back": (1, 5), "rest-on-front": (1, 0),
            "rest-on-right-end": (0, 9), "rest-on-left-end": (0, 0)}  # fmt: skip
    for name in names:
        held = [row["at"] for row in case_of(result, name)["reactions"]]
        axis, place = side[name]
        assert len(held) == 4 and {at[axis] for at in held} == {place}


def test_stated_grips_carry_and_one_lets_go(check: Check) -> None:
    """The default rings, stated, give the default's numbers; others carry elsewhere."""
    rings = [
        [[i + a, j + b, 7] for a in (0, 1) for b in (0, 1)] for i in (0, 8) for j in (0, 4)
    ]  # fmt: skip
    cases = {"cases": ["carry-upright", "grip-let-go-upright", "foot-touches-first"]}
    plain = check(asked({}, handling=cases))
    same = check(asked({"grips": {"S2": rings}}, handling=cases))
    pairs = zip(only(plain)["cases"], only(same)["cases"], strict=True)
    for one, other in pairs:
        assert one["id"] == other["id"]
        assert one["first_slip_factor"] == pytest.approx(other["first_slip_factor"], rel=1e-9)
    top = [[[i, j, 12]] for i in (0, 9) for j in (0, 5)]
    full = check(asked({"grips": {"S2": top}}, handling=cases, detail="full"))
    held = [row["at"] for row in case_of(full, "grip-let-go-upright")["reactions"]]
    assert held == [[0, 0, 12], [0, 5, 12], [9, 0, 12]]
    every = check(asked({"grips": {"S2": top}}, handling={**cases, "every_corner": True}))
    assert [c["id"] for c in only(every)["cases"]][1:5] == [
        f"grip-let-go-upright.{k}" for k in (1, 2, 3, 4)
    ]
    with pytest.raises(InvalidInputs) as refused:
        check(asked({"grips": {"S2": [[[0, 0, 12]], [[3, 3, 6]]]}}, handling=cases))
    assert refused.value.faults[0][0] == "/travel/grips/S2/1/0"


def test_partial_factors_are_named_and_used(check: Check) -> None:
    """EN 1990 Table A1.2(B), from memory: 1.35 on weight, so first slip comes 1.35 times sooner."""
    plain = check(asked({}))
    assert plain.value["partial_factors"]["set"] == "friction-coupler-1.65"
    assert "1.65" in plain.value["partial_factors"]["why"]
    code = check(asked({}, partial_factors={"set": "en-1990-like"}))
    first = case_of(plain, "stand")["first_slip_factor"]
    assert case_of(code, "stand")["first_slip_factor"] == pytest.approx(first / 1.35, rel=1e-9)
    assert case_of(code, "stand")["required_factor"] == 1.3
    none = check(asked({"drop": DROP}, partial_factors={"set": "none"}))
    assert case_of(none, "drop-worst")["required_factor"] == 1.0
    own = check(asked({}, partial_factors={"set": "none", "permanent_ratio": 2}))
    assert case_of(own, "stand")["first_slip_factor"] == pytest.approx(first / 2, rel=1e-9)
    assert "Own numbers for: permanent" in own.value["partial_factors"]["why"]


def test_variable_loads_have_a_factor_of_their_own(check: Check) -> None:
    """Balls alone are multiplied: 1.0 times the weight, 3 times the balls is 3 times the mass."""
    load, thrice = ({"ball_loads": [{"mass_kg": mass}]} for mass in (1.0, 3.0))
    factored = check(asked(load, partial_factors={"set": "none", "variable_ratio": 3}))
    heavier = check(asked(thrice, partial_factors={"set": "none"}))
    name = "stand-with-balls"
    assert case_of(factored, name)["first_slip_factor"] == pytest.approx(
        case_of(heavier, name)["first_slip_factor"], rel=1e-9
    )
    rolled = {"threshold": {**THRESHOLD, "push_level": 0}}
    one, two = (
        check(asked(rolled, partial_factors={"set": "none", "permanent_ratio": r})) for r in (1, 2)
    )
    assert case_of(two, "over-threshold")["first_slip_factor"] == pytest.approx(
        case_of(one, "over-threshold")["first_slip_factor"] / 2, rel=1e-9
    )


def test_handling_may_want_its_own_margin(check: Check) -> None:
    handling = {"cases": ["stand"], "required_planned_ratio": 2.5}
    result = check(asked({}, handling=handling, partial_factors={"set": "none"}))
    assert case_of(result, "stand")["required_factor"] == 2.5
    assert result.value["partial_factors"]["required_planned_ratio"] == 2.5


@pytest.mark.parametrize(
    ("travel", "pointer"),
    [
        ({"drop": {"height_mm": 20}}, "/travel/drop/foot_stiffness_max_n_per_mm"),
        (
            {"drop": {**DROP, "foot_stiffness_max_n_per_mm": 3}},
            "/travel/drop/foot_stiffness_max_n_per_mm",
        ),
        ({"leaning": {}}, "/travel/leaning/person_n"),
        (
            {"leaning": {"category": "en-a", "line_load_n_per_mm": 1}},
            "/travel/leaning/line_load_n_per_mm",
        ),
        ({"ball_loads": [{"balls_count": 3}]}, "/travel/ball_loads/0/mass_kg"),
        (
            {"ball_loads": [{"mass_kg": 1, "sections": ["S9"]}]},
            "/travel/ball_loads/0/sections/0",
        ),
        ({"grips": {"S9": [[[0, 0, 0]], [[1, 0, 0]]]}}, "/travel/grips/S9"),
        ({"threshold": {"wheel_radius_mm": 50, "step_mm": 0}}, "/travel/threshold/step_mm"),
    ],
)
def test_bad_input_is_named(check: Check, travel: dict[str, Any], pointer: str) -> None:
    with pytest.raises(InvalidInputs) as refused:
        check(asked(travel))
    assert pointer in [at for at, _ in refused.value.faults]


def test_twins_with_other_balls_are_no_twins(check: Check) -> None:
    body = {**asked({"ball_loads": [{"mass_kg": 1, "sections": ["S3"]}]}), "sections": ["S2", "S3"]}
    second, third = check(body).value["sections"]
    assert "same_as" not in third and len(third["cases"]) == len(second["cases"]) + 1


def test_drawn(check: Check, calculator: TrussCheck) -> None:
    inputs = calculator.load(asked({"drop": DROP}, picture={"case": "drop-worst"}))
    result = calculator.calculate(inputs)
    drawing = calculator.draw(inputs, result, "deformed")
    assert "drop worst" in drawing.title and math.isfinite(len(drawing.shapes))
