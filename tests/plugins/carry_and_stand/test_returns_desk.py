"""The Returns Desk against what an independent program computed for it."""

import math

import pytest

from baywright_plugins.carry_and_stand.team import team_kg
from baywright_plugins.truss_check.kerb import push_ratio
from baywright_service.contract import Result, merge_patch
from tests.plugins.carry_and_stand.machines import (
    EXPECTED,
    codes,
    finding,
    returns_desk,
    run,
)

CARRY = EXPECTED["carry"]


@pytest.fixture(scope="module")
def result() -> Result:
    return run(returns_desk())


def row(result: Result, name: str) -> dict:  # type: ignore[type-arg]
    return next(r for r in result.value["sections"] if r["id"] == name)


def test_two_people_of_16_and_25(result: Result) -> None:
    together = team_kg([16, 25])
    assert together == pytest.approx(CARRY["two_people_16_and_25_kg"], abs=0.05)
    assert result.value["journey"]["crew_bears_two_kg"] == together
    assert team_kg([25]) == CARRY["one_person_25"]


def test_the_tower_takes_two_people_or_three_on_stairs(result: Result) -> None:
    tower = row(result, "S1")
    assert CARRY["S1"] == "20.9 kg, two people, or three on stairs"
    assert tower["mass_kg"] == pytest.approx(20.9, abs=0.05)
    assert (tower["people_count"], tower["people_stairs_count"]) == (2, 3)


def test_a_light_section_a_metre_long_is_two_people(result: Result) -> None:
    desk = row(result, "S4")
    assert (desk["people_by_mass_count"], desk["people_by_size_count"]) == (1, 2)
    assert (desk["people_count"], desk["why"]) == (2, "size")


@pytest.mark.parametrize(
    ("which", "heights"),
    [("changed", (750, 408, 408, 329)), ("planned", (756, 416, 416, 337))],
)
def test_centres_of_mass_above_the_floor(which: str, heights: tuple[float, ...]) -> None:
    """From the independent program, rounded to millimetres; coupling rods are not in its masses."""
    rows = run(returns_desk(which)).value["sections"]
    assert [r["centre_mm"][2] for r in rows] == pytest.approx(heights, abs=1.0)


def test_tip_angles_of_single_sections(result: Result) -> None:
    for name, degrees in CARRY["tip_deg_standing"].items():
        assert row(result, name)["standing"][0]["tip_deg"] == pytest.approx(degrees, abs=0.06)


def test_the_tower_on_its_trolley(result: Result) -> None:
    state = row(result, "S1")["standing"][1]
    assert state["tip_deg"] == pytest.approx(CARRY["tip_deg_S1_on_trolley"], abs=0.06)
    assert state["centre_mm"] == pytest.approx(900, abs=1)
    assert state["lever_mm"] == pytest.approx(260, abs=1)


def test_the_whole_machine(result: Result) -> None:
    machine = result.value["machine"]
    assert machine["mass_kg"] == pytest.approx(CARRY["machine_mass_kg"], abs=0.15)
    assert machine["centre_mm"][2] == pytest.approx(CARRY["machine_com_mm"], abs=0.6)
    assert machine["standing"]["tip_deg"] == pytest.approx(CARRY["machine_tip_deg"], abs=0.06)
    moment = machine["standing"]["holding_moment_nm"]
    assert moment == pytest.approx(CARRY["holding_moment_Nm"], abs=1)
    assert machine["standing"]["lean_moment_nm"] == CARRY["lean_300_N_at_1200_Nm"]


def test_it_tips_under_a_leaning_adult_and_what_helps(result: Result) -> None:
    assert CARRY["verdict"].startswith("tips under a leaning adult; keep leaning below 108 N")
    assert "131 kg ballast or 535 mm outriggers" in CARRY["verdict"]
    found = finding(result, "machine-tips-when-leaned-on")
    assert found.level == result.verdict == "stop"
    remedies = {r["kind"]: r for r in result.value["machine"]["remedies"]}
    assert result.value["machine"]["standing"]["lean_most_n"] == pytest.approx(108, abs=0.5)
    assert remedies["ballast"]["ballast_kg"] == 131
    assert remedies["outriggers"]["outrigger_mm"] == pytest.approx(535, abs=1)
    assert all(r["proven"] for r in remedies.values())


@pytest.mark.parametrize("kind", ["ballast", "outriggers"])
def test_each_remedy_holds_and_a_little_less_does_not(kind: str, result: Result) -> None:
    remedy = next(r for r in result.value["machine"]["remedies"] if r["kind"] == kind)
    after = run(merge_patch(returns_desk(), remedy["patch"]))
    assert "machine-stands-when-leaned-on" in codes(after)
    ((field, amount),) = remedy["patch"]["holding"].items()
    less = run(returns_desk(holding={field: amount - 2}))
    assert "machine-tips-when-leaned-on" in codes(less)


def test_upright_in_the_van_it_tips_in_a_bend(result: Result) -> None:
    assert CARRY["S1_upright_in_van"].startswith("would tip in a bend (0.40 against 0.6)")
    van = row(result, "S1")["van"]
    assert van["ratio"] == pytest.approx(0.40, abs=0.005)
    assert (van["limit_ratio"], van["upright_ok"]) == (0.6, False)
    assert [row(result, name)["van"]["upright_ok"] for name in ("S2", "S3", "S4")] == [True] * 3
    assert finding(result, "lie-down-in-the-van").message.startswith("S1 upright")


def test_the_push_at_a_threshold(result: Result) -> None:
    assert CARRY["threshold_20_mm_wheel_radius_50"] == "push 1.33 x wheel load"
    castors = row(result, "S1")["castors"]
    assert castors["push_ratio"] == pytest.approx(4 / 3) == pytest.approx(push_ratio(50, 20))
    load = castors["push_low_n"] / castors["push_ratio"]
    assert load == pytest.approx(row(result, "S1")["mass_kg"] * 9.80665 / 2, rel=0.001)


def test_the_lowest_section_goes_first_and_the_tower_never_stands_alone(result: Result) -> None:
    set_up = result.value["set_up"]
    assert [s["section"] for s in set_up["steps"]] == ["S4", "S3", "S2", "S1"]
    assert set_up["least_tip_deg"] == pytest.approx(CARRY["machine_tip_deg"], abs=0.06)
    assert set_up["worst_order_deg"] == pytest.approx(21.8, abs=0.06)


def test_labels_say_what_carriers_must_know(result: Result) -> None:
    label = next(x for x in result.value["labels"] if x["section"] == "S1")
    words = " / ".join(label["lines"])
    for part in ("S1 lift tower", "20.9 kg", "2 people, 3 on stairs", "750 mm", "Van: lie down"):
        assert part in words
    assert label["centre_front_mm"] == pytest.approx([317, 750], abs=1) and label["up_arrow"]
    assert math.isclose(row(result, "S1")["grips"]["height_mm"], 42 + 8 * 120)
