"""Published packings, pallets in containers, and tipping."""

import json
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.route_fit.vehicle.tipping import BEND_RATIO, BRAKING_RATIO

from .packings import judge, load

PUBLISHED = json.loads(
    (Path(__file__).parents[3] / "data" / "published" / "vehicle_packing.json").read_text("utf-8")
)


def cases(quantity: str) -> list[Any]:
    found = [case for case in PUBLISHED if case["quantity"] == quantity]
    assert found
    return found


def flat(names: list[str]) -> dict[str, Any]:
    """Options under which nothing stands on anything."""
    return {"items": [{"id": name, "do_not_stack": True, "this_side_up": True} for name in names]}


@pytest.mark.parametrize("case", cases("squares_in_rectangle"), ids=lambda c: c["id"])
def test_squared_rectangle(case: Any) -> None:
    """Nine different squares fill it: found and proven shortest; 1 mm less is too little."""
    boxes = {f"q{side}": (side, side, 1.0) for side in case["inputs"]["squares"]}
    length, width = case["expected"]["length"], case["inputs"]["width"]
    record, _ = load(boxes, (length, width, 1.0), **flat(list(boxes)))
    assert record["answer"] == "fits" and record["aim_proven"]
    assert record["used_length_mm"] == length
    judge(record, boxes)
    record, findings = load(boxes, (length - 1, width, 1.0), **flat(list(boxes)))
    assert record["answer"] == "does-not-fit"
    assert [f.code for f in findings] == ["vehicle-too-small"]


def test_eight_of_the_nine_squares_need_the_whole_length_too() -> None:
    """Exact up to eight: without the smallest square 33 is still the least, by the search."""
    sides = [s for s in cases("squares_in_rectangle")[0]["inputs"]["squares"] if s > 1]
    boxes = {f"q{side}": (side, side, 1.0) for side in sides}
    record, _ = load(boxes, (60, 32, 1.0), **flat(list(boxes)))
    assert (record["used_length_mm"], record["aim_proven"]) == (33, True)


@pytest.mark.parametrize("case", cases("rectangles_in_square"), ids=lambda c: c["id"])
def test_pinwheel_of_rectangles(case: Any) -> None:
    """No straight cut divides it."""
    boxes = {f"r{a}x{b}": (a, b, 1.0) for a, b in case["inputs"]["rectangles"]}
    width = case["inputs"]["width"]
    record, _ = load(boxes, (2 * width, width, 1.0), **flat(list(boxes)))
    assert record["used_length_mm"] == case["expected"]["length"] and record["aim_proven"]
    judge(record, boxes)


@pytest.mark.parametrize("case", cases("blocks_in_cube"), ids=lambda c: c["id"])
def test_blocks_that_lie_across_one_another(case: Any) -> None:
    """Everything fills the cube, let down from above; the six large blocks alone lack support."""
    side = case["inputs"]["cube"]
    boxes = {f"b{k}": tuple(size) for k, size in enumerate(case["inputs"]["blocks"])}
    record, _ = load(boxes, (side, side, side), rear_only=False)
    assert (record["answer"], record["used_length_mm"]) == ("fits", side)
    judge(record, boxes, rear_only=False)
    assert any(len(row["on"]) > 1 for row in record["placements"])
    large = {name: size for name, size in boxes.items() if max(size) > 1}
    record, _ = load(large, (side, side, side), rear_only=False)
    assert record["answer"] == "does-not-fit"


@pytest.mark.parametrize("case", cases("pallets_on_container_floor"), ids=lambda c: c["id"])
def test_pallets_in_a_container(case: Any) -> None:
    """Common practice says how many; one more is proven not to go in."""
    along, across = case["inputs"]["pallet_mm"]
    door = dict(zip(("door_width_mm", "door_height_mm"), case["inputs"]["door_mm"], strict=True))
    most = case["expected"]["most"]
    for count, answer in ((most, "fits"), (most + 1, "does-not-fit")):
        boxes = {f"p{k}": (along, across, 1500.0) for k in range(count)}
        options = {**flat(list(boxes)), **door}
        record, _ = load(boxes, tuple(case["inputs"]["inside_mm"]), **options)
        assert record["answer"] == answer
        if answer == "fits":
            assert record["aim_proven"] and record["used_length_mm"] == 5600
            judge(record, boxes, **options)


def test_tipping_limits_are_those_of_the_standard() -> None:
    """EN 12195-1: 0.6 sideways where goods may tip, 0.8 forward."""
    expected = cases("acceleration_coefficients")[0]["expected"]
    assert expected["sideways"] == BEND_RATIO and expected["forward"] == BRAKING_RATIO
