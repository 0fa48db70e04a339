"""What is carried: outlines of sections, boxes with blocks, pallets, and names that are wrong."""

from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest

from baywright_plugins.route_fit import RouteFit
from baywright_plugins.route_fit.things import Thing, things_of
from baywright_service.contract import CannotCalculate, InvalidInputs

Json = dict[str, Any]


def things(body: Json) -> dict[str, Thing]:
    inputs = RouteFit().load(body)
    return {thing.id: thing for thing in things_of(inputs, inputs.raw)}


def box(**more: Any) -> Json:
    one = {"id": "b", "outside_mm": {"x": 900, "y": 500, "z": 800}, **more}
    return {"boxes": [one], "passages": [{"id": "d", "width_mm": 900, "height_mm": 2000}]}


def test_feet_at_four_corners_and_a_sprocket(desk: Callable[[str], Json]) -> None:
    """The box over all is the same as with whole sides; the outline knows where parts sit."""
    body = desk("planned")
    whole = things(body)
    body["protrusions"][0] |= {"place": "four-corners", "pad_mm": 40}
    body["protrusions"][1] |= {"place": "patches", "patches_mm": [[200, 300, 400, 420]]}
    local = things(body)
    assert [t.carried.size_mm for t in local.values()] == [
        t.carried.size_mm for t in whole.values()
    ]
    assert all(t.carried.is_box for t in whole.values())
    tower = local["S1"].carried.projections
    assert [len(t.carried.projections) for t in local.values()] == [6, 5, 5, 5]
    assert tower[0].low_mm == (0, 0, 25) and tower[0].high_mm == (634, 754, 1859)
    assert tower[1].low_mm == (0, 0, 0) and tower[1].high_mm == (40, 40, 25)
    assert tower[5].low_mm == (200, 300, 1859) and tower[5].high_mm == (400, 420, 1903)
    assert local["S3"].twin_of == "S2"


def test_a_part_taken_off_is_off(desk: Callable[[str], Json]) -> None:
    """Only what is removable comes off."""
    body = desk("planned")
    body["protrusions"][0]["taken_off"] = True
    assert things(body)["S2"].carried.size_mm[2] == 1499.0
    body["protrusions"][0]["removable"] = True
    assert things(body)["S2"].carried.size_mm[2] == 1474.0


def test_twins_that_are_carried_differently(desk: Callable[[str], Json]) -> None:
    """A twin with a handle on it is no twin on the route."""
    body = desk("planned")
    body["protrusions"].append({"sections": ["S3"], "side": "y-minus", "mm": 30})
    assert things(body)["S3"].twin_of == "S3"


def test_sections_of_an_explicit_frame(desk: Callable[[str], Json]) -> None:
    """Node by node: the span of the nodes and the overhang at both ends."""
    frame = {
        "nodes_mm": [[0, 0, 0], [240, 0, 0], [240, 120, 0], [240, 120, 360], [0, 0, 360]],
        "members": {"start": [0, 1, 2], "end": [1, 2, 3], "rod": ["R240", "R120", "R120"]},
    }
    body = {**desk("planned"), "frame": frame, "protrusions": []}
    only = next(iter(things(body).values()))
    assert only.carried.size_mm == (274.0, 154.0, 394.0) and only.pointer == "/frame"


def test_a_second_look_needs_no_frame(desk: Callable[[str], Json]) -> None:
    """Sizes from the rods alone are those of the frame as built."""
    inputs = RouteFit().load(desk("changed"))
    first = [t.carried for t in things_of(inputs, inputs.raw)]
    assert [t.carried for t in things_of(inputs, inputs.raw, again=True)] == first


def test_on_a_pallet() -> None:
    """EN 13698-1: 1200 x 800 x 144 beneath it, the longer sides alike, this side up."""
    carried = things(box(on_pallet="en-13698-1"))["b"].carried
    assert carried.size_mm == (1200, 800, 944) and carried.keep_upright


FAULTS = [
    (lambda b: b.pop("kit"), "/kit", "missing"),
    (lambda b: b.update(keep_upright=["S9"]), "/keep_upright/0", "unknown-reference"),
    (lambda b: b["protrusions"][1].update(sections=["S1", "S8"]), "/protrusions/1/sections/1",
     "unknown-reference"),
    (lambda b: b.update(boxes=[{"id": "S1", "outside_mm": {"x": 1, "y": 1, "z": 1}}]),
     "/boxes/0/id", "not-unique"),
    (lambda b: b["protrusions"][1].update(place="patches", patches_mm=[[0, 0, 50, 9000]]),
     "/protrusions/1/patches_mm/0", "out-of-range"),
    (lambda b: b["protrusions"][1].update(place="patches"), "/protrusions/1/patches_mm", "missing"),
    (lambda b: b["passages"][0].pop("width_mm"), "/passages/0/width_mm", "missing"),
    (lambda b: b["passages"][0].update(leaf_off=True), "/passages/0/leaf_off_width_mm", "missing"),
    (lambda b: b["passages"][0].update(corridors_mm=[900, 900, 900]), "/passages/0/legs_mm",
     "missing"),
    (lambda b: b["passages"][0].update(landings=[{"length_mm": 900}]), "/passages/0/flight",
     "missing"),
    (lambda b: b["passages"][0].update(flight={"going_mm": 280, "rise_mm": 170,
     "headroom_mm": 2000}), "/passages/0/flight/width_mm", "missing"),
    (lambda b: b["passages"].append({"id": "x", "library": "adm-new-800"}),
     "/passages/3/height_mm", "missing"),
    (lambda b: b["passages"][0].update(library="ada"), "/passages/0/library", "out-of-range"),
    (lambda b: b.pop("frame"), "", "missing"),
]  # fmt: skip


@pytest.mark.parametrize(("spoil", "pointer", "code"), FAULTS, ids=[f[1] or "/" for f in FAULTS])
def test_fault_is_named(
    spoil: Callable[[Json], Any], pointer: str, code: str, desk: Callable[[str], Json]
) -> None:
    """One change to a valid body, one fault at its place."""
    body = desk("planned")
    spoil(body)
    with pytest.raises(InvalidInputs) as caught:
        things(body)
    assert [(where, fault.code) for where, fault in caught.value.faults] == [(pointer, code)]


def test_faults_of_boxes() -> None:
    """Blocks that do not fill the box; a pallet under blocks; upright and led along z."""
    block = {"low_mm": [0, 0, 0], "high_mm": [900, 500, 700]}
    for body, pointer in (
        (box(outline=[block]), "/boxes/0/outline"),
        (box(outline=[block], on_pallet="en-13698-1"), "/boxes/0/outline"),
        (box(keep_upright=True, led_along="z"), "/boxes/0/led_along"),
        (box(outline=[{"low_mm": [9, 0, 0], "high_mm": [8, 1, 1]}]), "/boxes/0/outline/0/high_mm"),
    ):
        with pytest.raises(InvalidInputs) as caught:
            things(body)
        assert [where for where, _ in caught.value.faults] == [pointer]


def test_too_much_at_once_is_refused(run: Callable[[Json], Any]) -> None:
    """A hundred outlines at sixty passages with corners: refused with a way out, not begun."""
    shape = [
        {"low_mm": [0, 0, 0], "high_mm": [400, 300, 300]},
        {"low_mm": [0, 0, 0], "high_mm": [300, 400, 500]},
    ]
    boxes = [
        {"id": f"b{k}", "outside_mm": {"x": 400, "y": 400, "z": 500 + k},
         "outline": [*shape, {"low_mm": [0, 0, 0], "high_mm": [9, 9, 500 + k]}]}
        for k in range(100)
    ]  # fmt: skip
    passages = [{"id": f"p{k}", "corner_mm": [1200, 1100]} for k in range(60)]
    with pytest.raises(CannotCalculate, match="at a time"):
        run({"boxes": boxes, "passages": passages})
    run({"boxes": deepcopy(boxes[:2]), "passages": passages[:2]})
