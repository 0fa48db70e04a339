"""The demo machine, against what an independent program computed and against grid-fit."""

from collections.abc import Callable
from functools import cache
from typing import Any

import pytest

from baywright_plugins.grid_fit import GridFit
from baywright_plugins.truss_check.stability import internal_stability
from baywright_service.contract import Result, merge_patch
from tests.plugins.separation_joints.builds import Json, codes, finding, frame_and_kit, run

Desk = Callable[[str], Json]
Bare = Callable[[str], Result]


@pytest.fixture(scope="module")
def bare(desk: Desk) -> Callable[[str], Result]:
    """The demo machine's results, each worked out once, without a search for remedies."""
    return cache(lambda which: run(desk(which), bare=True))


@pytest.mark.parametrize("which", ["planned", "changed"])
def test_joints_and_sections(which: str, bare: Bare, desk_data: Json) -> None:
    """Every section rigid alone; sixteen R60 at each joint, 60 centre and 26 clear; 3814 long."""
    result = bare(which)
    joints, machine = result.value["joints"], result.value["machine"]
    assert [joint["rods_count"] for joint in joints] == [16, 16, 16]
    assert machine["coupling_rods"] == [{"rod": "R60", "count": 48}]
    assert {(joint["gap_mm"], joint["clear_gap_mm"]) for joint in joints} == {(60.0, 26.0)}
    by_hand = (5 + 9 + 9 + 7) * 120 + 3 * 60 + 2 * 17
    assert machine["outside_mm"]["x"] == by_hand == 3814
    assert [row["mechanisms_count"] for row in result.value["sections"]] == [0, 0, 0, 0]
    assert [row.get("like") for row in result.value["sections"]] == [None, None, "S2", None]
    expected = desk_data["expected"][f"{which}_sections".replace("planned", "plan")]
    for row, other in zip(result.value["sections"], expected, strict=True):
        assert row["mass_kg"] == pytest.approx(other["mass_kg"], abs=0.05)
        assert list(row["bays"].values()) == other["bays_xyz"]
        assert row["hubs_count"] == other["hubs"]
        assert row["outside_mm"]["x"] == other["outside_mm_x_y_z"][0]
    assert codes(result, "stop") == []
    assert codes(result, "watch") == ["joint-racks"]


@pytest.mark.parametrize("which", ["planned", "changed"])
def test_joints_agree_with_grid_fit(which: str, desk: Desk, bare: Bare) -> None:
    """The same layout through grid-fit: rods, matches, size over the hub ends."""
    inputs = desk(which)
    grid = GridFit()
    other = grid.calculate(grid.load({"kit": inputs["kit"], "layout": inputs["frame"]["layout"]}))
    result = bare(which)
    names = ("between", "axis", "rods_count", "possible_count", "matches")
    mine = [[joint[name] for name in names] for joint in result.value["joints"]]
    assert mine == [[joint[name] for name in names] for joint in other.value["joints"]]
    assert result.value["machine"]["outside_mm"] == other.value["overall_outside_mm"]


def test_the_changed_plan_keeps_its_faces_matched(bare: Bare, desk_data: Json) -> None:
    """One bay less in depth of all four: coupling faces still match, twins stay twins."""
    option = desk_data["expected"]["expected"]["doors"]["options"][0]
    result = bare("changed")
    assert all(j["matches"] for j in result.value["joints"]) == option["coupling_faces_still_match"]
    assert (result.value["sections"][2]["like"] == "S2") == option["S2_and_S3_stay_identical"]
    assert result.value["sections"][1]["outside_mm"]["y"] == option["outside_depth_mm"]
    words = desk_data["expected"]["expected"]["carry"]["S1"]
    assert words.startswith(f"{result.value['sections'][0]['mass_kg']:.1f} kg")


def test_one_short_rod_leaves_three_mechanisms(desk: Desk, desk_data: Json) -> None:
    """One R85 among the R120 of the depth: sixteen faces bare, three ways to fold, no rod mends."""
    option = desk_data["expected"]["expected"]["doors"]["options"][1]
    inputs = desk("planned")
    layout = inputs["frame"]["layout"]
    layout["sections"], layout["joints"] = layout["sections"][1:2], []
    for spec in layout["sections"]:
        spec["rods"]["y"] = [
            {"rod": "R120", "count": 3}, {"rod": "R85", "count": 1}, {"rod": "R120", "count": 2},
        ]  # fmt: skip
    result = run(inputs)
    row = result.value["sections"][0]
    assert row["mechanisms_count"] == option["mechanisms_in_S2"]
    assert row["bare_faces_count"] == option["faces_left_without_a_diagonal_in_S2"]
    assert row["outside_mm"]["y"] == option["outside_depth_mm"]
    found = finding(result, "section-not-rigid")
    assert found.level == "stop" and (found.remedy is None or found.remedy.patch is None)


def test_the_whole_machine_counts_as_one_frame(desk: Desk, bare: Bare) -> None:
    """Nine ways for three joints that slide twice and turn once, as the rank of the whole says."""
    inputs = desk("changed")
    frame, _ = frame_and_kit(inputs)
    whole = internal_stability(frame.nodes_mm, frame.start, frame.end).mechanisms
    machine = bare("changed").value["machine"]
    assert machine["mechanisms_count"] == whole == 9
    assert machine["standing_mechanisms_count"] == 0


def test_rods_across_the_gaps_hold_it(desk: Desk) -> None:
    """The remedy: couple with R120 and set three R170 across each gap; nothing moves then."""
    inputs = desk("changed")
    remedy = finding(run(inputs), "joint-racks").remedy
    patched = run(merge_patch(inputs, remedy.patch))
    assert patched.value["machine"]["mechanisms_count"] == 0
    assert patched.value["machine"]["outside_mm"]["x"] == 3814 + 3 * 60
    assert "joint-racks" not in codes(patched) and codes(patched, "stop") == []
    loose = {part["item"]: part["count"] for part in patched.value["joints"][0]["loose_parts"]}
    assert loose == {"R120": 16, "R170": 3}


def test_it_comes_apart_from_its_lighter_end(bare: Bare) -> None:
    """S4 first, to the right: 16 seats of 60 N and the friction of 13.4 kg."""
    value: dict[str, Any] = dict(bare("changed").value)
    steps = value["taking_apart"]["steps"]
    assert [step["sections"] for step in steps] == [["S4"], ["S3"], ["S2"]]
    assert [step["joints"] for step in steps] == [[2], [1], [0]]
    mass = value["sections"][3]["mass_kg"]
    assert steps[0]["force_n"] == pytest.approx(960 + 0.4 * 9.80665 * mass)
    assert steps[0]["slide_mm"] == pytest.approx(17 - 10 + 0.3)
    assert value["joints"][0]["rod_sticks_out_mm"] == pytest.approx(40 - 7)
