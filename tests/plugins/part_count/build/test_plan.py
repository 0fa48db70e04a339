"""The whole plan through the calculator: the demo machine, findings, refusals, pictures, rows."""

import doctest
import importlib
import json
import pkgutil
from collections import Counter
from typing import Any

import pytest

import baywright_plugins.part_count.build as package
from baywright_plugins.part_count import PartCount
from baywright_plugins.part_count.build.changes import built_in, changed
from baywright_plugins.part_count.examples import EXAMPLES, KIT
from baywright_service.contract import (
    CannotCalculate,
    Circle,
    InvalidInputs,
    Label,
    Polygon,
    Result,
    svg_text,
)
from tests.plugins.part_count.build.conftest import box
from tests.plugins.part_count.conftest import DESK, read

CALCULATOR = PartCount()
EXPECTED = read(DESK / "expected.json")["expected"]["parts_changed_plan"]
SMALL = {"kit": KIT, "frame": {"layout": {"title": "box", "sections": [box("A", 3, 3, 4)]}}}
WITH_TEAM = next(e.inputs for e in EXAMPLES if "team" in e.inputs)
MODULES = [module.name for module in pkgutil.iter_modules(package.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings(name: str) -> None:
    module = importlib.import_module(f"{package.__name__}.{name}")
    assert doctest.testmod(module).failed == 0


@pytest.fixture(scope="module")
def desk(count: Any, desk_inputs: Any) -> Result:
    """The demo machine built by one person, pairs in line built in."""
    return count(desk_inputs("changed"), use_substitutes=True, team={"people_count": 1})  # type: ignore[no-any-return]


def plan_of(result: Result) -> Any:
    return result.value["build_plan"]


def finding(result: Result, code: str) -> Any:
    (found,) = [f for f in result.findings if f.code == code]
    return found


def test_one_person_needs_the_hours_of_an_independent_program(desk: Result) -> None:
    """328 bays in 24.0 h with learning; steps hold every bay, rod end and rod."""
    plan = plan_of(desk)
    assert plan["person_h"] == pytest.approx(
        EXPECTED["build_hours_with_90_percent_learning"], abs=0.05
    )
    assert plan["elapsed_h"] == pytest.approx(plan["person_h"]) and plan["elapsed_proven"]
    assert sum(row["bays_count"] for row in plan["steps"]) == EXPECTED["bays"]
    beside = {row["item"]: row["count"] - row["replaced_count"] for row in plan["beside"]}
    ends = 2 * sum(number for item, number in beside.items() if item != "MID")
    assert plan["snaps_count"] + ends == EXPECTED["snaps"]
    rods = sum(row["rods_count"] + row["diagonals_count"] for row in plan["steps"])
    assert rods + ends // 2 == EXPECTED["total_rods"]
    assert sum(row["hubs_count"] for row in plan["steps"]) == EXPECTED["hubs"]


def test_four_people_without_learning(count: Any, desk_inputs: Any) -> None:
    """49.2 h of work, whoever does it; days, people and rod ends add up."""
    team = {"people_count": 4}
    plan = plan_of(count(desk_inputs("changed"), build={"learning_ratio": 1.0}, team=team))
    assert plan["person_h"] == pytest.approx(EXPECTED["without_learning"], abs=0.05)
    assert sum(row["work_min"] for row in plan["people"]) == pytest.approx(60 * plan["person_h"])
    assert sum(row["snaps_count"] for row in plan["people"]) == plan["snaps_count"]
    assert sum(row["steps_done_count"] for row in plan["calendar"]) == plan["steps_count"]
    assert plan["calendar"][-1]["done_ratio"] == 1.0
    assert len(plan["calendar"]) == plan["days_count"]
    assert plan["elapsed_bound_h"] <= plan["elapsed_h"] < 1.1 * plan["elapsed_bound_h"]


def test_bags_hold_the_steps_and_nothing_else(desk: Result) -> None:
    """Every part of every step is in one bag that names the step; the sum of steps, and what is
    beside them, is what the machine takes."""
    plan = plan_of(desk)
    held: Counter[tuple[str, str]] = Counter()
    for bag in plan["bags"]:
        assert bag["pieces_count"] == sum(bag["parts"].values()) <= 100
        assert bag["full_ratio"] == pytest.approx(bag["pieces_count"] / 100)
        for item, pieces in bag["parts"].items():
            held[bag["section"], item] += pieces
    needed: Counter[tuple[str, str]] = Counter()
    for step in plan["steps"]:
        for item, pieces in step["parts"].items():
            needed[step["section"], item] += pieces
    assert held == needed
    for row in desk.value["parts"]:
        steps = sum(number for (_, item), number in needed.items() if item == row["item"])
        beside = [b for b in plan["beside"] if b["item"] == row["item"]]
        over = sum(b["count"] - b["replaced_count"] for b in beside)
        assert steps + over == row["total_count"]
    first = plan["bags"][0]["label"]
    assert first.startswith("S1 · step 1 of 18 · 44 R120, 24 R170, ")


def test_twins_follow_one_another_and_share_their_steps(desk: Result) -> None:
    plan = plan_of(desk)
    assert [row["section"] for row in plan["sections"]] == ["S1", "S2", "S3", "S4"]
    assert [row.get("twin_of") for row in plan["sections"]] == [None, None, "S2", None]
    second, third = (
        [(row["where"], row["rods_count"]) for row in plan["steps"] if row["section"] == name]
        for name in ("S2", "S3")
    )
    assert second == third
    hours = [row["person_h"] for row in plan["sections"]]
    assert hours[2] < hours[1]


def test_a_known_place_of_a_pair_puts_it_into_its_step(count: Any) -> None:
    """Six rods short, all diagonals light: the steps list the pairs, nothing is left beside."""
    shelf = {"R170": 0, "R85": 50, "MID": 50}
    plain = count(SMALL, team={})
    members = sum(row["rods_count"] + row["diagonals_count"] for row in plan_of(plain)["steps"])
    long = plain.value["counts"]["R170"]
    shelf["R170"] = long - 6
    stock = {"counts": [{"item": item, "on_hand_count": n} for item, n in shelf.items()]}
    result = count(
        SMALL, stock=stock, team={}, use_substitutes=True, member_compression_n=[0.1] * members
    )
    plan = plan_of(result)
    assert plan["beside"] == []
    assert sum(row["parts"].get("MID", 0) for row in plan["steps"]) == 6
    assert sum(row["parts"].get("R85", 0) for row in plan["steps"]) == 12
    assert plan["snaps_count"] == 2 * (members + 6) == result.value["totals"]["snaps_count"]


def test_a_programme_says_which_members_are_pairs_and_which_are_left_out(framed: Any) -> None:
    """Members 0 to 9: 3 is left out, 5 a pair; 5 is then number 4. Without a member, no guess."""
    frame, _, _ = framed(SMALL["frame"]["layout"])
    rows = [
        {"what": "left-out", "member": 3},
        {"what": "pair", "member": 5, "first": "R60", "second": "R60", "mid_hub": "MID"},
        {"what": "left-out"},
    ]
    supplies = [{"item": "R120", "built_in_count": 7}]
    value = {"programme": {"changes": rows, "supplies": supplies}, "parts": []}
    built, swaps = changed(frame, value)
    assert len(built.start) == len(frame.start) - 1
    assert built.start[4] == frame.start[5] and swaps == {4: ("R60", "R60", "MID")}
    assert built_in(value) == {"R120": 7}


def test_checks_come_when_the_plane_stands(desk: Result) -> None:
    """S2: the ring on the ground after step 5, 1235 mm, play explains 3.7 mm."""
    checks = [row for row in plan_of(desk)["checks"] if row["section"] == "S2"]
    assert [row["after_step"] for row in checks] == [5, 16, 14]
    assert checks[0]["diagonal_mm"] == pytest.approx((1080**2 + 600**2) ** 0.5)
    assert checks[0]["equal_within_mm"] == pytest.approx(3.71, abs=0.005)


def test_pauses_too_few_are_mended_by_a_proven_patch(count: Any) -> None:
    result = count(SMALL, team={"people_count": 3, "pause_min": 2, "pause_every_min": 120})
    few = finding(result, "pauses-too-few")
    assert few.measure.value == 118.0 and few.remedy.patch["team"]["pause_min"] == 5
    again = count(SMALL, team={"people_count": 3, **few.remedy.patch["team"]})
    assert "pauses-too-few" not in {f.code for f in again.findings}


def test_quick_work_is_called_repetitive(count: Any) -> None:
    """A bay of some 24 rod ends in 2 min is more than 10 a minute."""
    result = count(SMALL, build={"first_bay_min": 2.0, "floor_min": 2.0}, team={})
    repeated = finding(result, "repetitive-snapping")
    assert repeated.level == "watch" and repeated.measure.value > 10
    assert plan_of(result)["thumbs"]["repetition_points"] in (3, 6)


@pytest.mark.parametrize(
    ("snap", "codes"),
    [
        ({"lead_angle_deg": 20.0}, set()),
        ({"lead_angle_deg": 50.0}, {"hard-push"}),
        ({"lead_angle_deg": 20.0, "return_angle_deg": 60.0}, {"hard-pull"}),
        ({"lead_angle_deg": 20.0, "return_angle_deg": 80.0}, {"seat-locks"}),
    ],
)
def test_forces_of_the_seat(count: Any, snap: Any, codes: set[str]) -> None:
    given = {"deflection_n": 20.0, "friction_ratio": 0.4, **snap}
    found = count(SMALL, team={"snap": given}).findings
    assert {"hard-push", "hard-pull", "seat-locks"} & {f.code for f in found} == codes


def test_a_bare_section_is_said_to_sway(count: Any) -> None:
    spec = box("A", 2, 2, 3, side_faces={"default": "none"}, cross_faces={"every": 0})
    result = count({"kit": KIT, "frame": {"layout": {"sections": [spec]}}}, team={})
    sways = finding(result, "sways-while-built")
    assert sways.level == "watch" and "even when finished" in sways.message
    assert any("may fold" in caution.text for caution in result.cautions)


def test_a_frame_without_bays_has_steps_and_bags_but_no_hours(count: Any) -> None:
    """Two triangles side by side; with bays stated there are hours too."""
    nodes = [[0, 0, 0], [120, 0, 0], [0, 120, 0], [120, 120, 0]]
    members = {"start": [0, 0, 1, 1, 2], "end": [1, 2, 3, 2, 3],
               "rod": ["R120", "R120", "R120", "R170", "R120"]}  # fmt: skip
    body = {"kit": KIT, "frame": {"nodes_mm": nodes, "members": members}}
    plan = plan_of(count(body, team={}))
    assert plan["steps_count"] == 1 and plan["bags_count"] == 1
    assert "person_h" not in plan and "person" not in plan["steps"][0]
    timed = plan_of(count(body, team={}, build={"bays_count": 3, "learning_ratio": 1.0}))
    assert timed["person_h"] == pytest.approx(3 * 9 / 60)


@pytest.mark.parametrize(
    ("pointer", "body"),
    [
        ("/build/floor_min", {**SMALL, "build": {
            "learning_ratio": 0.5, "floor_min": 0, "learning_model": "cumulative-average"}}),
        ("/team/snap/lead_angle_deg", {**SMALL, "team": {"snap": {
            "deflection_n": 10, "friction_ratio": 1.0, "lead_angle_deg": 45}}}),
    ],
)  # fmt: skip
def test_where_no_honest_plan_exists(count: Any, pointer: str, body: Any) -> None:
    with pytest.raises(CannotCalculate) as refused:
        count({"team": {}, **body})
    assert refused.value.pointer == pointer


def test_what_is_too_large_is_refused_by_its_size(
    count: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(package.rows, "MOST_BAGS", 12)
    with pytest.raises(CannotCalculate, match="at least; at most 12") as bags:
        count(SMALL, team={}, pieces_per_bag=20)
    assert bags.value.pointer == "/pieces_per_bag"
    monkeypatch.setattr(package.plan, "MOST_BAYS", 20)
    with pytest.raises(CannotCalculate, match="at most") as bays:
        count(SMALL, team={})
    assert bays.value.pointer == "/team"


@pytest.mark.parametrize(
    ("pointer", "code", "body"),
    [
        ("/team/people_count", "out-of-range", {**SMALL, "team": {"people_count": 0}}),
        ("/team/pause_min", "out-of-range", {**SMALL, "team": {"pause_min": 40}}),
        ("/team/snap/friction_ratio", "missing", {**SMALL, "team": {"snap": {
            "deflection_n": 1, "lead_angle_deg": 1}}}),
        ("/team", "not-unique", {"team": {}, "assembly": {"tree": {"a": {"b": 1}}, "top": "a"}}),
    ],
)  # fmt: skip
def test_each_fault_is_named(pointer: str, code: str, body: Any) -> None:
    with pytest.raises(InvalidInputs) as refused:
        CALCULATOR.load(body)
    assert [(where, fault.code) for where, fault in refused.value.faults] == [(pointer, code)]


def test_pictures_number_every_step_and_show_every_bar(desk: Result, count: Any) -> None:
    """Twins are drawn once: 18 + 18 + 14 numbers; a bar for each of the 68 steps."""
    plan = plan_of(desk)
    order = package.draw_order(plan, "desk")
    dots = [shape for shape in order.shapes if isinstance(shape, Circle)]
    numbers = [s.text for s in order.shapes if isinstance(s, Label) and s.text.isdigit()]
    assert len(dots) == len(numbers) == 50
    assert numbers[:18] == [str(k) for k in range(1, 19)]
    apart = min(
        (a.centre[0] - b.centre[0]) ** 2 + (a.centre[1] - b.centre[1]) ** 2
        for k, a in enumerate(dots)
        for b in dots[:k]
    )
    assert apart**0.5 > 1.5 * dots[0].radius
    times = package.draw_timetable(plan, "desk")
    assert sum(isinstance(shape, Polygon) for shape in times.shapes) == plan["steps_count"]
    assert "data-empty" in svg_text(package.draw_order({}, "desk"))
    assert "data-empty" in svg_text(package.draw_timetable({}, "desk"))


def test_rows_for_a_spreadsheet(desk: Result) -> None:
    """Parts first, as without a team; then a row for each step."""
    inputs = CALCULATOR.load(WITH_TEAM)
    result = CALCULATOR.calculate(inputs)
    table = CALCULATOR.table(inputs, result)
    assert all(len(row) == len(table.columns) for row in table.rows)
    kinds = [row[table.columns.index("kind")] for row in table.rows]
    assert kinds.count("step") == result.value["build_plan"]["steps_count"]
    without = {key: value for key, value in WITH_TEAM.items() if key != "team"}
    plain = CALCULATOR.load(without)
    parts = CALCULATOR.table(plain, CALCULATOR.calculate(plain))
    assert [row[: len(parts.columns)] for row in table.rows][: len(parts.rows)] == parts.rows
    assert json.dumps(table.rows, allow_nan=False)
