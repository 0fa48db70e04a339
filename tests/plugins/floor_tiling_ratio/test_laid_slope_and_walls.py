"""Slope and walls of a floor over sections through the contract; what a builder is told."""

import re
from typing import Any

import pytest

from baywright_service.contract import (
    merge_patch,
)
from tests.plugins.floor_tiling_ratio.bodies import (
    assert_mended,
    finding,
    net,
    rows,
    run,
    slope,
)


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
