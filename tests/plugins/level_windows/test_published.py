"""Published cases, run through the calculator; the source stands beside each case in the data."""

import json
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.level_windows import LevelWindows

CALCULATOR = LevelWindows()
FILE = Path(__file__).parents[2] / "data" / "published" / "level_windows.json"
CASES = {case["id"]: case for case in json.loads(FILE.read_text("utf-8"))}
Case = dict[str, Any]


def run(body: dict[str, Any]) -> dict[str, Any]:
    return dict(CALCULATOR.calculate(CALCULATOR.load(body)).value)


def differences(case: Case, **more: Any) -> dict[str, Any]:
    """x_i - x_j <= b as the greatest distance of level i above level j."""
    rows = case["inputs"]["constraints_i_j_b"]
    names = sorted({name for i, j, _ in rows for name in (i, j)})
    return {
        "levels": [{"id": f"x{name}", **more} for name in names],
        "requirements": [
            {"id": f"c{k}", "below": f"x{j}", "above": f"x{i}", "gap": {"gap_max_mm": b}}
            for k, (i, j, b) in enumerate(rows)
        ],
    }


@pytest.mark.parametrize("name", ["heights-clrs-example", "heights-clrs-ex1"])
def test_largest_solution_below_zero(name: str) -> None:
    """Introduction to Algorithms, section 24.4 and exercise 24.4-1: shortest paths from a source
    joined to all by zero, that is the greatest heights of which none is above the floor; on a
    grid of one millimetre they are the same."""
    case = CASES[name]
    body = differences(case, at_most_mm=0)
    for grid in ({}, {"grid": {"module_mm": 1}}):
        found = run({**body, **grid, "objective": "highest"})
        assert [level["high_mm"] for level in found["levels"]] == case["expected"]["x"]
        assert [level["height_mm"] for level in found["levels"]] == case["expected"]["x"]


def test_bellman_ford_figure() -> None:
    """Introduction to Algorithms, Figure 24.4: distances from s are upper ends above the datum."""
    case = CASES["heights-bf"]
    edges = case["inputs"]["edges"]
    body = {
        "levels": [{"id": name, **({"pinned_mm": 0} if name == "s" else {})} for name in "styxz"],
        "requirements": [
            {"id": f"{u}{v}", "below": u, "above": v, "gap": {"gap_max_mm": w}} for u, v, w in edges
        ],
    }
    found = {level["id"]: level["high_mm"] for level in run(body)["levels"]}
    assert found == case["expected"]


def test_two_that_conflict() -> None:
    """The smallest conflicting pair: a way round of weight -2, that is 2 mm missing."""
    case = CASES["heights-two-cycle"]
    found = run(differences(case))
    assert found["holds"] is case["expected"]["feasible"]
    (conflict,) = found["conflicts"]
    assert (conflict["members_count"], conflict["smallest"]) == (2, True)
    assert -conflict["missing_mm"] == case["expected"]["cycle_weight"]


def test_two_drops_against_a_lift() -> None:
    """A ring of weight -5 among four requirements: just its three are named, 5 mm are missing,
    and 5 mm given by any of them cure it."""
    case = CASES["heights-loop-5short"]
    found = run(differences(case))
    (conflict,) = found["conflicts"]
    at = {f"/requirements/{k}" for k in case["expected"]["cycle_constraints"]}
    assert {member["at"] for member in conflict["members"]} == at
    assert -conflict["missing_mm"] == case["expected"]["cycle_weight"]
    assert {(m["give_mm"], m["cures_all"]) for m in conflict["members"]} == {(5, True)}


def test_an_equality_is_no_conflict() -> None:
    """A way round of weight just zero holds."""
    case = CASES["heights-equality"]
    found = run(differences(case, at_most_mm=10))
    heights = [level["height_mm"] for level in found["levels"]]
    assert found["holds"] and heights[0] - heights[1] == case["expected"]["x1_minus_x2"]


def test_heights_that_fail_are_named() -> None:
    """A proposal that breaks two of six: just these are named."""
    case = CASES["heights-cse2"]
    x = case["inputs"]["x"]
    proposal = [{"level": f"x{k + 1}", "at_mm": at} for k, at in enumerate(x)]
    found = run({**differences(case), "proposal": proposal})["proposal"]
    rows = case["inputs"]["constraints_i_j_b"]
    broken = [rows[int(item["at"].rsplit("/", 1)[1])] for item in found["broken"]]
    assert found["holds"] is case["expected"]["satisfied"]
    assert sorted(broken) == sorted(case["expected"]["violated"])


def activities(durations: dict[str, float], predecessors: dict[str, list[str]]) -> dict[str, Any]:
    """Each activity a lift from its start to its end; what follows starts no lower."""
    levels = [{"id": "begin", "pinned_mm": 0}, {"id": "finish"}]
    rows: list[dict[str, Any]] = []

    def above(name: str, below: str, level: str, least: float) -> None:
        gap = {"gap_min_mm": least}
        rows.append({"id": name, "below": below, "above": level, "gap": gap})

    for name, duration in durations.items():
        levels += [{"id": f"{name}-start"}, {"id": f"{name}-end"}]
        above(name, f"{name}-start", f"{name}-end", duration)
        above(f"{name}-first", "begin", f"{name}-start", 0)
        above(f"{name}-last", f"{name}-end", "finish", 0)
        for earlier in predecessors[name]:
            above(f"{earlier}-{name}", f"{earlier}-end", f"{name}-start", 0)
    return {"levels": levels, "requirements": rows}


def critical(body: dict[str, Any], found: dict[str, Any], names: Any) -> list[str]:
    """Activities on any tied way to the finish."""
    levels = [*body["levels"]]
    levels[1] = {"id": "finish", "at_most_mm": found["top_mm"]}
    found = run({**body, "levels": [*levels]})
    steps = {step["title"] for step in found["lowest_top"]["steps"]}
    return [name for name in names if name in steps]


@pytest.mark.parametrize("name", ["heights-cpm-8", "heights-cpm-paper", "heights-cpm-alltied"])
def test_critical_paths_with_all_ties(name: str) -> None:
    """Critical path method: total, all critical activities, earliest and latest starts, float."""
    case = CASES[name]
    given, expected = case["inputs"], case["expected"]
    body = activities(given["durations"], given["predecessors"])
    found = run(body)
    assert found["top_mm"] == expected["total"]
    assert critical(body, found, given["durations"]) == expected["critical"]
    body["levels"][1]["pinned_mm"] = expected["total"]
    level = {out["id"]: out for out in run(body)["levels"]}
    for activity in given["durations"]:
        start = level[f"{activity}-start"]
        if "ES" in expected:
            assert start["low_mm"] == expected["ES"][activity]
            assert start["high_mm"] == expected["LS"][activity]
        if "slack" in expected:
            assert start["high_mm"] - start["low_mm"] == expected["slack"][activity]


def test_expected_durations_make_the_chain() -> None:
    """PERT: (a + 4 m + b) / 6 for each activity, then the same critical path."""
    case = CASES["heights-pert-7"]
    given, expected = case["inputs"], case["expected"]
    durations = {n: (a + 4 * m + b) / 6 for n, (a, m, b) in given["three_point"].items()}
    body = activities(durations, given["predecessors"])
    found = run(body)
    assert found["top_mm"] == pytest.approx(expected["total"], abs=case["tolerance"]["abs"])
    assert critical(body, found, durations) == expected["critical"]
