"""What a floor over sections refuses, each at its place."""

from typing import Any

import pytest

from baywright_plugins.floor_tiling_ratio.laid.from_frame import MOST_CELLS
from baywright_service.contract import (
    CannotCalculate,
    InvalidInputs,
    merge_patch,
)
from tests.plugins.floor_tiling_ratio.bodies import (
    CALCULATOR,
    EDGES,
    PITCHES,
    desk,
    net,
    read,
    rows,
    run,
    slope,
)

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
