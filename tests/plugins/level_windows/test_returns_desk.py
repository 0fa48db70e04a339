"""Heights of the Returns Desk: what an independent program computed."""

import copy
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.level_windows import LevelWindows
from baywright_service.contract import Result, merge_patch

CALCULATOR = LevelWindows()
DATA = Path(__file__).parents[2] / "data" / "returns-desk" / "expected.json"
EXPECTED = json.loads(DATA.read_text("utf-8"))["expected"]["heights"]
PLANNED, CHANGED = (CALCULATOR.examples[k].inputs for k in (0, 1))


def run(body: Any) -> Result:
    return CALCULATOR.calculate(CALCULATOR.load(body))


@cache
def planned() -> Result:
    return run(PLANNED)


def lows(result: Result) -> dict[str, float]:
    return {level["id"]: level["low_mm"] for level in result.value["levels"]}


def test_tower_and_what_it_is_made_of() -> None:
    """Tower top 1903 on the grid and 1740 without; every level in between."""
    value = planned().value
    low = lows(planned())
    assert value["top"] == "tower-top"
    assert value["top_mm"] == low["tower-top"] == EXPECTED["tower_top_mm"]
    assert value["top_without_grid_mm"] == EXPECTED["tower_top_without_snapping_mm"]
    assert low["play-floor"] == EXPECTED["play_floor_mm"]
    assert low["track-start"] == EXPECTED["long_track_start_mm"]
    assert low["discharge"] == EXPECTED["lift_discharge_mm"]
    assert low["head-sprocket"] == EXPECTED["head_sprocket_mm"]


def test_loss_is_the_sum_of_its_steps() -> None:
    """163 mm by rounding, told step by step along the one chain that sets the top."""
    value = planned().value
    chain = value["lowest_top"]
    assert value["loss_mm"] == 1903 - 1740 == chain["lost_mm"]
    assert sum(step["lost_mm"] for step in chain["steps"]) == value["loss_mm"]
    assert chain["ways_count"] == 1
    assert [s["reached_mm"] for s in chain["steps"]][-1] == value["top_mm"]


def test_trolley_is_denied_with_what_is_missing_and_a_cure() -> None:
    """108 mm too high; the remedy that works is 3.5 % instead of 4 % on the long track."""
    result = planned()
    (conflict,) = result.value["conflicts"]
    assert f"conflict, {conflict['missing_mm']:g} mm too high" == EXPECTED["on_trolley"]
    assert conflict["wish"] == "chapel-trolley" and conflict["smallest"]
    assert conflict["because_of_grid"] and conflict["members_count"] == 12
    found = next(f for f in result.findings if f.code == "wish-denied")
    assert "108 mm are missing" in found.message and "allows 1795 mm" in found.message
    assert found.remedy is not None and found.remedy.patch is not None
    assert "3.5 % instead of 4 %" in found.remedy.message
    mended = run(merge_patch(copy.deepcopy(dict(PLANNED)), found.remedy.patch))
    assert mended.value["wishes_kept"] == ["chapel-trolley"]
    assert mended.value["top_mm"] == EXPECTED["on_trolley_with_3.5_percent"]["tower_top_mm"]


def test_flatter_track_leaves_room_on_the_trolley() -> None:
    """Tower top 1783, 12 mm to spare under the door."""
    result = run(CHANGED)
    expected = EXPECTED["on_trolley_with_3.5_percent"]
    assert result.verdict == "ok"
    assert result.value["top_mm"] == expected["tower_top_mm"]
    trolley = next(r for r in result.value["requirements"] if r["id"] == "chapel-trolley")
    assert trolley["slack_mm"] == expected["spare_mm"]


def test_each_member_of_the_conflict_says_how_far_it_must_give() -> None:
    """Long track 120 (to 840: 3.5 %), trolley 108, drop feature 108: each alone cures it."""
    (conflict,) = planned().value["conflicts"]
    give = {m["at"]: m["give_mm"] for m in conflict["members"]}
    places = {r["id"]: f"/requirements/{k}" for k, r in enumerate(PLANNED["requirements"])}
    assert give[places["long-track"]] == 960 - 840
    assert give[places["chapel-trolley"]] == 108
    assert give[places["drop-feature"]] == 108
    assert all(member["cures_all"] for member in conflict["members"])


def test_snapping_finding_shows_the_step_that_saves_a_module() -> None:
    """15 mm less fall of the return lane saves a whole module of 60 mm."""
    found = next(f for f in planned().findings if f.code == "snapping-costs-height")
    assert found.remedy is not None and found.remedy.patch is not None
    mended = run(merge_patch(copy.deepcopy(dict(PLANNED)), found.remedy.patch))
    assert mended.value["top_mm"] == EXPECTED["tower_top_mm"] - 60
    assert "2 % instead of 2.5 %" in found.remedy.message


@pytest.mark.parametrize("trolley_mm", [42, 43])
def test_the_trolley_that_just_fits(trolley_mm: float) -> None:
    """1960 - 15 - 1903 leaves 42 mm for a trolley."""
    body = copy.deepcopy(dict(PLANNED))
    body["requirements"][-1]["door"]["trolley_mm"] = trolley_mm
    assert run(body).value["wishes_kept"] == (["chapel-trolley"] if trolley_mm == 42 else [])
