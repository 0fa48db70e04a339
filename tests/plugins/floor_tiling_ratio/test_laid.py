"""A floor over several sections through the contract."""

import copy
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.floor_tiling_ratio import FloorTilingRatio
from baywright_plugins.floor_tiling_ratio.laid.from_frame import MOST_CELLS
from baywright_plugins.part_count import PartCount
from baywright_service.contract import (
    CannotCalculate,
    Circle,
    Drawing,
    Finding,
    InvalidInputs,
    Polygon,
    Result,
    Segments,
    merge_patch,
    svg_text,
)

CALCULATOR = FloorTilingRatio()
DATA = Path(__file__).parents[2] / "data"
DESK = DATA / "returns-desk"


def read(name: str) -> Any:
    return json.loads((DESK / f"{name}.json").read_text("utf-8"))


EXPECTED = read("expected")["expected"]["floor"]
PITCHES = [
    {"id": "bay", "pitch_mm": 120, "play_per_seat_mm": 0.15},
    {"id": "tile", "pitch_mm": 51.4},
]
BALL = {"diameter_mm": 48, "mass_kg": 0.041, "restitution_ratio": 0.45}


def desk(**changes: Any) -> dict[str, Any]:
    """The floor of the whole changed machine, read from its frame."""
    body = {
        "pitches": PITCHES,
        "kit": read("kit"),
        "ball": BALL,
        "lay": {"frame": {"layout": read("changed")}, "panel_item": "R60"},
    }
    return dict(merge_patch(body, changes))


def rows(*, along: str = "9", across: int = 5, joint: float = 60, **lay: Any) -> dict[str, Any]:
    """Sections of so many bays along ("5 9"), one width across."""
    sections = [
        {"id": f"S{k}", "bays": [{"pitch": "bay", "count": int(n)}]}
        for k, n in enumerate(along.split(), 1)
    ]
    joints = [{"pitch_mm": joint, "clear_gap_mm": max(0, joint - 34)}] * (len(sections) - 1)
    wide = {"stretches": [{"id": "width", "bays": [{"pitch": "bay", "count": across}]}]}
    floor = {"along": {"stretches": sections, "joints": joints}, "across": wide}
    return {"pitches": copy.deepcopy(PITCHES), "ball": BALL, "lay": {**floor, **lay}}


def run(body: dict[str, Any], *, remedies: bool = False) -> Result:
    """The result; no remedies are looked for unless asked."""
    return CALCULATOR.calculate(CALCULATOR.load(body, proving=not remedies))


def finding(result: Result, code: str) -> Finding:
    return next(f for f in result.findings if f.code == code)


def codes(result: Result) -> set[str]:
    return {f.code for f in result.findings}


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


EDGES = [{"side": side, "wall_mm": 20} for side in ("front", "back", "near")]


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


def assert_mended(body: dict[str, Any], code: str, level: str) -> None:
    found = finding(run(body, remedies=True), code)
    assert found.level == level
    assert found.remedy is not None and found.remedy.patch is not None, found.message
    after = run(merge_patch(body, found.remedy.patch))
    assert (code, found.at) not in {(f.code, f.at) for f in after.findings}


def test_a_strip_that_reaches_no_bearer_is_told_and_mended() -> None:
    """Panels of 40 on bearers every 120: 30 mm over the edge lie on nothing."""
    body = rows(prefer="bearers", edges=[{"side": "front", "overhang_mm": 30}])
    body["pitches"][1]["pitch_mm"] = 40
    assert_mended(body, "edge-piece-unsupported", "stop")


def slope(**changes: Any) -> dict[str, Any]:
    """A slope of spacers on the bearers of one section."""
    steps = {
        "along_percent": 1.5,
        "low_edge_min_mm": 402,
        "module_mm": 60,
        "base_mm": 42,
        "pieces": [
            {"item": "s10", "height_mm": 10, "most_per_support_count": 5},
            {"item": "s2", "height_mm": 2, "most_per_support_count": 4},
        ],
        "most_pieces_per_support_count": 6,
    }
    return {**rows(along="9"), "slope_steps": {**steps, **changes}}


def net(**changes: Any) -> dict[str, Any]:
    """Walls round one section, ball and drop of the machine."""
    netting = {
        "net": {"pitch_mm": 78, "height_mm": 52, "opening_mm": 40},
        "spacers": [{"item": "three", "length_mm": 3}],
    }
    body = {**rows(along="9", across=6), "drop": {"height_mm": 480}}
    return {**body, "netting": dict(merge_patch(netting, changes))}


@pytest.mark.parametrize(
    ("code", "level", "body"),
    [
        ("slope-off-steps", "watch", slope(low_edge_min_mm=421, along_percent=0.15, pieces=[])),
        ("slope-has-level-stretch", "watch", slope(along_percent=1.3)),
        ("floor-kinks", "watch", slope(along_percent=1.3, kink_percent=1)),
        ("net-too-low", "stop", net(rows_count=2)),
        ("net-meets-no-post", "watch", net(most_bays_count=1, most_spacers_count=0)),
        ("ball-through-net", "stop", net(net={"opening_mm": 50})),
        ("ball-through-net", "stop", net(net={"opening_mm": 40, "made_of": "cord"})),
        ("ball-under-net", "stop", net(bottom_gap_mm=50)),
    ],
)
def test_remedies_on_slope_and_net_clear_their_finding(
    code: str, level: str, body: dict[str, Any]
) -> None:
    """A patch, merged into the inputs, makes the finding go."""
    assert_mended(body, code, level)


def test_level_stretches_and_kinks_are_placed() -> None:
    """1.3 % over bays of 120 mm in steps of 2 mm: 1.56 mm a bay is two or nothing."""
    record = run(slope(along_percent=1.3, kink_percent=1)).value["slope_steps"]
    level = record["level_stretches"]
    assert level and all(fall["percent"] == 0 for fall in level)
    percents = {round(fall["percent"], 9) for fall in record["falls"]}
    assert percents == {0, round(2 / 120 * 100, 9)}
    assert record["error_max_mm"] <= 1
    assert {kink["at_mm"] for kink in record["kinks"]} >= {fall["start_mm"] for fall in level[1:2]}
    joints = run(slope(along_percent=1.3, kink_percent=1)).value["laid"]["along"]["pieces"]
    edges = {*joints["start_mm"], *joints["end_mm"]}
    for kink in record["kinks"]:
        assert kink["under_joint"] == any(abs(x - kink["at_mm"]) <= 0.9 for x in edges)


def test_a_flat_span_below_what_keeps_a_ball_rolling_stops() -> None:
    """Grooves of 20 mm need 2 % or so; 0.2 mm a bay are a sixth of a percent."""
    pieces = [{"item": "fine", "height_mm": 0.2, "most_per_support_count": 4}]
    pieces.append({"item": "one", "height_mm": 1})
    body = slope(along_percent=0.2 / 120 * 100, pieces=pieces)
    result = run({**body, "rolling": {"slope_percent": 2, "groove_mm": 20}})
    keep = result.value["rolling"]["slope_to_keep_rolling_percent"]
    assert 0 < result.value["slope_steps"]["fall_min_percent"] < keep
    assert finding(result, "slope-below-rolling").level == "stop"


def test_supports_are_those_given_or_the_bays_of_a_plain_floor() -> None:
    """Named places win; a floor of one frame has a support at every bay."""
    named = slope(supports_mm=[0, 500, 900], lines_mm=[10])
    assert run(named).value["slope_steps"]["supports"]["along_mm"] == [0, 500, 900]
    plain = {**slope(), "floor": {"along_mm": 480, "across_mm": 360}}
    del plain["lay"]
    record = run(plain).value["slope_steps"]
    assert sorted(set(record["supports"]["along_mm"])) == [0, 120, 240, 360, 480]
    assert sorted(set(record["supports"]["across_mm"])) == [0, 360]


def test_walls_go_round_section_by_section_with_shared_corners() -> None:
    """2 and 4 bays by 3: posts at every bay, each section its own, four corners shared."""
    body = {**net(), "lay": rows(along="2 4", across=3)["lay"]}
    record = run(body).value["netting"]
    walls = [(wall["side"], wall.get("section"), wall["bays_count"]) for wall in record["walls"]]
    assert walls == [
        ("near", "S1", 2),
        ("near", "S2", 4),
        ("far", "S1", 2),
        ("far", "S2", 4),
        ("front", None, 3),
        ("back", None, 3),
    ]
    assert record["posts_count"] == 3 + 5 + 3 + 5 + 4 + 4 - 4
    by_bays = {wall["bays_count"]: wall for wall in record["walls"]}
    assert (by_bays[2]["panels_count"], by_bays[2]["spacers_count"]) == (3, [2])
    assert (by_bays[4]["panels_count"], by_bays[4]["spacers_count"]) == (6, [4])
    assert (by_bays[3]["panels_count"], by_bays[3]["cut_to_mm"]) == (4, 42)
    assert record["wall_needed_mm"] == pytest.approx(145.2)
    assert (record["rows_count"], record["wall_mm"]) == (3, 156)


SHORT = [
    ("panels-short", {"lay": {"panels_on_hand_count": 3}}),
    ("panels-enough", {"lay": {"panels_on_hand_count": 999}}),
    ("slope-pieces-short", {"slope_steps": {"pieces": [
        {"item": "s2", "height_mm": 2, "most_per_support_count": 6, "on_hand_count": 1}]}}),
    ("net-spacers-short", {"netting": {"spacers": [
        {"item": "three", "length_mm": 3, "on_hand_count": 1}]}}),
    ("net-panels-to-cut", {"netting": {"spacers": []}}),
    ("edge-open", {"lay": {"edges": [{"side": "far", "wall_mm": 20}]}}),
    ("no-joint-on-bearer", {"lay": {"along": {"stretches": [
        {"id": "S", "planes_mm": [0, 77, 131]}]}, "joint_play_mm": 0, "edges": [
        {"side": "front", "overhang_mm": 9}, {"side": "back", "overhang_mm": 5}],
        "prefer": "whole"}}),
    ("bay-ratio", {"lay": {"along": {"stretches": [{"id": "S", "planes_mm": [0, 257, 514]}]}}}),
    ("bay-without-ratio", {"lay": {"along": {"stretches": [
        {"id": "S", "planes_mm": [0, 84.8, 169.6]}]}}}),
]  # fmt: skip


@pytest.mark.parametrize(("code", "change"), SHORT, ids=[code for code, _ in SHORT])
def test_findings(code: str, change: dict[str, Any]) -> None:
    """Each thing a builder should know has its code, a sentence, and a place."""
    body = {**slope(), **(net() if "netting" in change else {})}
    found = finding(run(dict(merge_patch(body, change))), code)
    assert found.message.endswith(".") and found.message[0].isupper()
    assert all(pointer.startswith("/") for pointer in found.at)


def test_messages_hold_no_name_of_the_program() -> None:
    """Plain words: no field names, brackets or quotes of a data structure."""
    body = {**slope(along_percent=1.3), "netting": net(rows_count=1)["netting"]}
    body = {**body, "drop": {"height_mm": 480}}
    for found in run(body, remedies=True).findings:
        text = found.message + (found.remedy.message if found.remedy else "")
        assert not re.search(r"[\[\]{}]|_mm|None|'[a-z_]+'", text), text


FAULTS = [
    ("/lay/along", "missing", {"lay": {"along": None}}),
    ("/lay/along/joints", "out-of-range", {"lay": {"along": {"joints": [{"pitch_mm": 60}]}}}),
    ("/lay/frame", "missing", {"lay": {"level": 1}}),
    ("/lay/panel", "unknown-reference", {"lay": {"panel": "plank"}}),
    (
        "/lay/along/stretches/0/bays/0/pitch",
        "unknown-reference",
        {"lay": {"along": {"stretches": [{"id": "S", "bays": [{"pitch": "b", "count": 1}]}]}}},
    ),
    (
        "/lay/along/stretches/0/planes_mm/2",
        "out-of-range",
        {"lay": {"along": {"stretches": [{"id": "S", "planes_mm": [0, 9, 9]}]}}},
    ),
    ("/ball", "missing", {"ball": None, "lay": {"edges": EDGES}}),
    ("/netting/bay", "unknown-reference", {"netting": {"bay": "b"}}),
    ("/netting/net/opening_mm", "out-of-range", {"netting": {"net": {"opening_mm": 78}}}),
    ("/slope_steps/low_edge_max_mm", "out-of-range", {"slope_steps": {"low_edge_max_mm": 1}}),
    ("/slope_steps/supports_mm/1", "out-of-range", {"slope_steps": {"supports_mm": [3, 3]}}),
    ("/slope_steps/pieces", "missing", {"slope_steps": {"module_mm": None, "pieces": []}}),
]


@pytest.mark.parametrize(("pointer", "code", "change"), FAULTS)
def test_fault_is_named(pointer: str, code: str, change: dict[str, Any]) -> None:
    """One change to a valid body, one fault at its place."""
    body = {**slope(), "netting": net()["netting"]}
    with pytest.raises(InvalidInputs) as caught:
        CALCULATOR.load(dict(merge_patch(body, change)))
    assert [(p, f.code) for p, f in caught.value.faults] == [(pointer, code)]


def test_a_frame_needs_its_kit_and_says_it_all() -> None:
    """No kit; along beside the frame; a rod the kit lacks: each at its place."""
    body = desk()
    for change, places in (
        ({"kit": None}, ["/kit"]),
        ({"lay": rows()["lay"]}, ["/lay/across", "/lay/along"]),
    ):
        with pytest.raises(InvalidInputs) as caught:
            CALCULATOR.load(dict(merge_patch(body, change)))
        assert [p for p, _ in caught.value.faults] == places
    body["lay"]["frame"]["layout"]["sections"][1]["rods"]["x"][0]["rod"] = "R1"
    with pytest.raises(InvalidInputs) as caught:
        run(body)
    assert caught.value.faults[0][0] == "/lay/frame/layout/sections/1/rods/x/0/rod"


BOX = [[0, 0, 0], [120, 0, 0]]
REFUSED = [
    ("/lay/level", desk(lay={"level": 10})),
    ("/lay/sections/0", desk(lay={"sections": ["S9"]})),
    (
        "/lay/frame",
        desk(lay={"frame": {"layout": None, "nodes_mm": BOX, "members": {
            "start": [0], "end": [1], "rod": ["R120"]}}}),
    ),
    ("/lay/joint_play_mm", rows(joint_play_mm=25.7)),
    ("/lay/along/stretches/0/bare_planes", merge_patch(rows(), {"lay": {"along": {
        "stretches": [{"id": "S", "planes_mm": [0, 120], "bare_planes": [2]}]}}})),
    ("/lay/along", rows(along="400 400 400")),
    ("/slope_steps/supports_mm", {**slope(), "lay": None}),
    ("/netting/walls", {**net(), "lay": None}),
    ("/netting/walls", merge_patch(net(), {"lay": {"along": {
        "stretches": [{"id": "S", "planes_mm": [0, 84.8]}]}}})),
    ("/slope_steps/pieces", slope(
        module_mm=5, along_percent=20, base_mm=0, low_edge_min_mm=0, low_edge_max_mm=10000,
        supports_mm=[0, 100000], most_pieces_per_support_count=6, pieces=[
            {"item": f"p{k}", "height_mm": 1 + 0.001 * 7**k, "most_per_support_count": 6}
            for k in range(6)])),
]  # fmt: skip


@pytest.mark.parametrize(("pointer", "body"), REFUSED)
def test_what_cannot_be_trusted_is_refused(pointer: str, body: dict[str, Any]) -> None:
    """Valid inputs without an honest answer are refused with their place."""
    body = {key: value for key, value in body.items() if value is not None}
    body.setdefault("pitches", PITCHES)
    with pytest.raises(CannotCalculate) as caught:
        run(body)
    assert caught.value.pointer == pointer


def test_sections_that_overlap_are_no_row() -> None:
    """Two sections at one place along x."""
    layout = read("changed")
    layout["joints"] = []
    for section in layout["sections"]:
        section["at_mm"] = [0, 0, 0]
    with pytest.raises(CannotCalculate, match="overlap along x"):
        run(desk(lay={"frame": {"layout": layout}}))
    alone = run(desk(lay={"frame": {"layout": layout}, "sections": ["S2"]})).value["laid"]
    assert [stretch["id"] for stretch in alone["along"]["stretches"]] == ["S2"]


def test_a_frame_too_large_to_look_at_is_refused() -> None:
    """More bays than are worth looking at, all sections together."""
    layout = {"sections": [
        {"id": f"S{k}", "rods": {
            "x": [{"rod": "R120", "count": 100}], "y": [{"rod": "R120", "count": 90}],
            "z": [{"rod": "R120", "count": 100}]}, "at_mm": [k * 20000, 0, 0]}
        for k in range(2)]}  # fmt: skip
    assert MOST_CELLS < 2 * 100 * 90 * 100
    with pytest.raises(CannotCalculate, match="more than"):
        run(desk(lay={"frame": {"layout": layout}}))


def drawn(view: str, body: dict[str, Any]) -> Drawing:
    inputs = CALCULATOR.load(body, proving=True)
    return CALCULATOR.draw(inputs, CALCULATOR.calculate(inputs), view)


def test_plan_shows_sections_cut_pieces_and_what_comes_off() -> None:
    """Every section once; cut pieces hatched; pieces over joints in their own ink."""
    body = rows(along="5 5", way="start-anew", edges=[{"side": "far", "wall_mm": 20}])
    drawing = drawn("laid", body)
    polygons = [shape for shape in drawing.shapes if isinstance(shape, Polygon)]
    laid = run(body).value["laid"]
    sections = [p for p in polygons if p.ink.fill == "#f5f7fa"]
    assert [min(x for x, _ in p.points) for p in sections] == [0, 660]
    hatched = [p for p in polygons if p.ink.hatched]
    assert len(hatched) == laid["along"]["strips_count"] + laid["across"]["strips_count"]
    off = [p for p in polygons if p.ink.fill == "#fdf0d5"]
    assert len(off) == laid["along"]["coming_off_count"]
    dots = [shape for shape in drawing.shapes if isinstance(shape, Circle)]
    fixed = [way["ways"][0]["on_bearers_count"] for way in (laid["along"], laid["across"])]
    assert len(dots) == fixed[0] * fixed[1]
    assert {entry.text for entry in drawing.legend} >= {"wall", "piece cut from a panel"}


def test_slope_says_how_much_higher_it_is_drawn() -> None:
    """The exaggeration stands in the title, and the drawn heights follow it."""
    body = slope()
    drawing = drawn("slope", body)
    times = int(re.search(r"drawn (\d+) times", drawing.title).group(1))  # type: ignore[union-attr]
    (supports,) = (s for s in drawing.shapes if isinstance(s, Segments) and s.ink.width == 0.5)
    tops = [pair[1][1] for pair in supports.pairs]
    record = run(body).value["slope_steps"]
    assert max(tops) - min(tops) == pytest.approx(times * record["rise_mm"])


def test_wall_shows_posts_panels_and_spacers_of_one_repeat() -> None:
    """Two bays a repeat, drawn twice: five posts, six net panels in each of three rows."""
    drawing = drawn("wall", net())
    polygons = [shape for shape in drawing.shapes if isinstance(shape, Polygon)]
    assert sum(p.ink.hatched for p in polygons) == 4
    assert sum(not p.ink.hatched for p in polygons) == 6 * 3
    posts = [s for s in drawing.shapes if isinstance(s, Segments) and s.ink.width == 0.8]
    assert [pair[0][0] for pair in posts[0].pairs] == [0, 120, 240, 360, 480]


def test_views_without_their_inputs_say_what_to_give() -> None:
    """A sentence in place of a picture."""
    for view in ("laid", "slope", "wall"):
        drawing = drawn(view, dict(CALCULATOR.examples[0].inputs))
        assert "Give" in drawing.description and not drawing.shapes


def test_marks_are_rows_that_follow_one_another() -> None:
    """CSV: pieces from front to back, bearers and joints with what happens there."""
    body = rows(along="5 5")
    inputs = CALCULATOR.load(body, proving=True)
    result = CALCULATOR.calculate(inputs)
    table = CALCULATOR.table(inputs, result)
    assert table.columns[:4] == ("direction", "what", "from_mm", "to_mm")
    along = [row for row in table.rows if row[0] == "along"]
    whats = {row[1] for row in along}
    assert {"section", "whole panel", "bearer of the frame", "separation joint"} <= whats
    panels = [row for row in along if row[1] == "whole panel"]
    assert len(panels) == result.value["laid"]["along"]["whole_count"]
    assert all(row[4] == pytest.approx(51.4) for row in panels)


@pytest.mark.parametrize("number", [4, 5])
def test_examples_answer_with_pictures(
    number: int, assert_example_holds: Callable[..., None]
) -> None:
    """Inputs and result follow the published schemas; equal inputs draw equal pictures."""
    body = CALCULATOR.examples[number].inputs
    assert_example_holds(CALCULATOR, body)
    for view in ("laid", "slope", "wall"):
        assert svg_text(drawn(view, dict(body))) == svg_text(drawn(view, dict(body)))
