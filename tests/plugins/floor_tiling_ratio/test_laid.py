"""A floor over several sections through the contract."""

import copy
from typing import Any

import pytest

from baywright_plugins.part_count import PartCount
from baywright_service.contract import (
    merge_patch,
)
from tests.plugins.floor_tiling_ratio.bodies import (
    CALCULATOR,
    EDGES,
    EXPECTED,
    assert_mended,
    codes,
    desk,
    finding,
    rows,
    run,
)


@pytest.mark.parametrize(
    ("bays", "tiles", "left"),
    [
        (9, "tiles_along_1080", "left_over_mm"),
        (6, "tiles_across_720", "left_over_720_mm"),
        (5, "tiles_across_600", "left_over_600_mm"),
    ],
)
def test_one_section_is_laid_as_the_worked_machine(bays: int, tiles: str, left: str) -> None:
    """Tiles and left-over of The Returns Desk, from an independent program."""
    record = run(rows(along=str(bays), prefer="bearers")).value["laid"]["along"]
    assert record["whole_count"] == EXPECTED[tiles]
    pieces = record["pieces"]
    width = record["to_mm"] - record["from_mm"]
    whole = sum(
        end - start
        for start, end, kind in zip(
            pieces["start_mm"], pieces["end_mm"], pieces["kind"], strict=True
        )
        if kind == "whole"
    )
    assert width - whole == pytest.approx(EXPECTED[left], abs=1e-9)
    ratio = record["ratios"][0]
    assert [ratio["bays_count"], ratio["panels_count"]] == EXPECTED["ratio_bays_to_tiles"]
    assert ratio["misfit_mm"] == EXPECTED["misfit_mm_per_3_bays"]


def test_frame_and_typed_sections_give_the_same_floor() -> None:
    """Sections, joints and gaps read from the frame are those one would type."""
    frame = run(desk(lay={"joint_play_mm": 0.9})).value["laid"]
    typed = run(rows(along="5 9 9 7", joint_play_mm=0.9)).value["laid"]
    for way in ("along", "across"):
        assert frame[way]["pieces"] == typed[way]["pieces"]
        assert frame[way]["ways"] == typed[way]["ways"]
    for one, other in zip(frame["along"]["joints"], typed["along"]["joints"], strict=True):
        assert one == other
    planes = rows(along="5 9 9 7", joint_play_mm=0.9)
    for stretch in planes["lay"]["along"]["stretches"]:
        count = stretch.pop("bays")[0]["count"]
        stretch["planes_mm"] = [7 + 120 * k for k in range(count + 1)]
    assert run(planes).value["laid"]["along"] == typed["along"]


def test_levels_of_a_frame_tell_what_lies_there() -> None:
    """Box frames: lengthwise beams at the foot have hubs at every plane and rods across only at
    the edges; half way up only the corner columns have hubs, so the rest needs rails."""
    foot = run(desk(lay={"level": 0})).value["laid"]["along"]
    kinds = foot["bearers"]["kind"]
    assert kinds.count("frame") == 8 * 2  # both ends of four sections are two planes of beams
    assert set(kinds) == {"frame", "add-at-node"}
    middle = run(desk(lay={"level": 5})).value["laid"]["along"]
    assert set(middle["bearers"]["kind"]) == {"add-at-node", "add-between"}
    assert len(middle["bearers"]["kind"]) == len(kinds) == 34
    assert "on rails" in finding(run(desk(lay={"level": 5})), "bearers-to-add").message


def test_rods_that_bearers_lack_are_counted_one_by_one() -> None:
    """At the foot a plane between the edge beams has rods in the first and last bay of five."""
    counted = run(desk(lay={"level": 0})).value["parts_for_count"]
    rods = {line["item"]: line["count"] for line in counted if "bearers" in line["title"]}
    assert rods == {"R120": 3 * (34 - 16)}


def test_part_count_takes_the_parts() -> None:
    """`parts_for_count` is a list of accessories as it stands; strangers are kept apart."""
    body = desk(slope_steps={"along_percent": 1, "low_edge_min_mm": 60, "module_mm": 60})
    body["netting"] = {"net": {"item": "R240", "pitch_mm": 60, "height_mm": 60, "opening_mm": 40}}
    result = run(body)
    counted = result.value["parts_for_count"]
    strangers = result.value["parts_not_in_kit"]
    assert {line["item"] for line in strangers} == {"post"}
    assert finding(result, "parts-not-in-kit").at == ("/kit",)
    parts = PartCount()
    inputs = {"kit": body["kit"], "frame": body["lay"]["frame"], "accessories": counted}
    found = parts.calculate(parts.load(inputs)).value["parts"]
    beside = {part["item"]: part["accessories_count"] for part in found}
    for item in ("R60", "R240"):
        assert beside[item] == sum(line["count"] for line in counted if line["item"] == item)


def test_pieces_by_size_fill_the_floor() -> None:
    """Sizes times counts are the area; panels to cut are enough for the cut pieces."""
    laid = run(rows(along="5 9 9 7", prefer="bearers", way="start-anew")).value["laid"]
    sizes = laid["sizes"]
    area = sum(
        size["count"] * size["along_mm"] * size["across_mm"]
        for size in sizes
        if size["use"] != "panels to cut pieces from"
    )
    along, across = laid["along"], laid["across"]
    play = laid["along"]["joint_play_mm"]
    assert area == pytest.approx(3780 * 600, abs=600 * play * 8)
    whole = next(s for s in sizes if s["use"] == "whole panels")
    assert whole["count"] == (along["whole_count"] - 3) * across["whole_count"]
    cut = sum(s["count"] for s in sizes if s["item"] == "tile-cut")
    spare = next(s for s in sizes if s["use"] == "panels to cut pieces from")
    assert spare["count"] <= cut
    assert laid["panels_needed_count"] == sum(s["count"] for s in sizes if s["item"] == "tile")
    rows_across = len(across["pieces"]["kind"])
    assert laid["coming_off_count"] == along["coming_off_count"] * rows_across


def test_five_sixths_says_why_through_lay_too() -> None:
    """Common practice, no source: 6 panels = 2.5 bays = 5 short rods, by the common step."""
    body = dict(copy.deepcopy(CALCULATOR.examples[1].inputs))
    del body["floor"]
    wide = {"stretches": [{"id": "S", "bays": [{"pitch": "bay", "count": 10}]}]}
    body["lay"] = {"along": wide, "across": wide}
    result = run(body)
    ratio = result.value["laid"]["along"]["ratios"][0]
    assert (ratio["inside_bays_count"], ratio["inside_panels_count"]) == (2.5, 6)
    for text in (ratio["steps"], finding(result, "ratio-inside-bay").message):
        assert "1/6 R60 (10 mm): bay is 12 of them, panel 5" in text
        assert "a node after every 6 steps of a bay" in text
        assert "30 steps already: 5 nodes on, 2.5 × bay = 6 × panel" in text
    chosen = result.value["laid"]["along"]["ways"][0]
    assert (chosen["on_bearers_count"], chosen["on_nodes_count"]) == (3, 2)


def test_wide_panels_lie_across_joints_and_another_start_is_proven() -> None:
    """200 mm panels: three edges on bearers and one panel across a joint, or two and none."""
    body = rows(along="5 5 5", prefer="bearers", way="run-through", joint_play_mm=0.5)
    body["pitches"][1]["pitch_mm"] = 200
    result = run(body, remedies=True)
    crossing = finding(result, "panels-cross-joint")
    ways = result.value["laid"]["along"]["ways"]
    facts = [(way["on_bearers_count"], way["coming_off_count"]) for way in ways]
    assert facts == [(3, 1), (2, 0)]
    joints = result.value["laid"]["along"]["joints"]
    (joint,) = (joint for joint in joints if not joint["comes_apart"])
    (piece,) = joint["pieces_off_mm"]
    assert piece[0] < joint["start_mm"] and piece[1] > joint["end_mm"]
    assert crossing.remedy is not None and crossing.remedy.patch is not None
    mended = run(merge_patch(body, crossing.remedy.patch))
    assert all(joint["comes_apart"] for joint in mended.value["laid"]["along"]["joints"])
    assert "floor-comes-apart" in codes(mended)


def test_floor_that_sticks_out_of_a_section_is_measured() -> None:
    """Parted 30 mm beyond the plane, hubs reach 17: 13 mm stick out of one or of both."""
    body = rows(along="3 3", way="run-through", joint_play_mm=0.5)
    body["pitches"][1]["pitch_mm"] = 390
    joint = run(body).value["laid"]["along"]["joints"][0]
    assert joint["parts_at_mm"] == 390
    assert (joint["sticks_out_mm"], joint["sticks_out_of"]) == (13, "S1")
    wide = merge_patch(body, {})
    wide["lay"]["along"]["joints"][0].pop("clear_gap_mm")
    assert "sticks_out_mm" not in run(wide).value["laid"]["along"]["joints"][0]


@pytest.mark.parametrize(
    ("code", "level", "lay"),
    [
        ("strips-to-cut", "watch", {"across": 6, "along": "5"}),
        ("strip-too-narrow", "watch", {"across": 6, "along": "5", "least_strip_mm": 44}),
        ("bearers-to-add", "watch", {"panels_are": "loose"}),
        ("ball-sticks-at-edge", "watch", {"edges": [*EDGES, {"side": "far", "wall_mm": 40}]}),
        ("ball-through-edge", "stop", {"edges": [*EDGES, {"side": "far", "wall_mm": 48}]}),
        (
            "edge-hits-wall",
            "stop",
            {"edges": [*EDGES, {"side": "far", "wall_mm": 20, "overhang_mm": 21}]},
        ),
        (
            "corner-swallows-ball",
            "stop",
            {"edges": [*EDGES[1:], *({"side": s, "wall_mm": 42} for s in ("front", "far"))]},
        ),
        ("edge-piece-tips", "watch", {"edges": [{"side": "front", "overhang_mm": 30}]}),
        (
            "strip-at-landing",
            "stop",
            {
                "along": "5 5",
                "way": "start-anew",
                "keep_clear": [
                    {"name": "lane", "direction": "along", "from_mm": 600, "to_mm": 660}
                ],
            },
        ),
    ],
)
def test_remedies_on_a_laid_floor_clear_their_finding(
    code: str, level: str, lay: dict[str, Any]
) -> None:
    """A patch, merged into the inputs, makes the finding go."""
    assert_mended(rows(**lay), code, level)


def test_a_strip_that_reaches_no_bearer_is_told_and_mended() -> None:
    """Panels of 40 on bearers every 120: 30 mm over the edge lie on nothing."""
    body = rows(prefer="bearers", edges=[{"side": "front", "overhang_mm": 30}])
    body["pitches"][1]["pitch_mm"] = 40
    assert_mended(body, "edge-piece-unsupported", "stop")
