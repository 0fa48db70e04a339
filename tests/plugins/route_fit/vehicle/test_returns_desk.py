"""The Returns Desk in its van, against what an independent program computed."""

import json
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.route_fit.vehicle import Cargo, VehicleSchema, draw_vehicle, vehicle_answers
from baywright_service.contract import Finding

from .packings import Record, judge

DESK = json.loads(
    (Path(__file__).parents[3] / "data" / "returns-desk" / "expected.json").read_text("utf-8")
)
VAN = {
    "length_mm": 2900, "width_mm": 1700, "height_mm": 1750,
    "door_width_mm": 1550, "door_height_mm": 1650,
}  # fmt: skip


def sections(plan: str) -> list[Any]:
    found: list[Any] = DESK[f"{plan}_sections"]
    return found


def sizes(plan: str) -> dict[str, tuple[float, float, float]]:
    return {s["section"]: tuple(s["outside_mm_x_y_z"]) for s in sections(plan)}


def travel(plan: str, *, along: bool, **options: Any) -> tuple[Record, list[Finding]]:
    """The four sections; nothing may stand on them; `along`: no section travels crosswise."""
    items = [
        {
            "id": s["section"],
            "do_not_stack": True,
            "centre_height_mm": s["com_above_hall_floor_mm"],
            **({"led_along": "z" if s["section"] == "S1" else "x"} if along else {}),
        }
        for s in sections(plan)
    ]
    vehicle = VehicleSchema().load({**VAN, "items": items, **options})
    cargo = [
        Cargo(s["section"], "", tuple(s["outside_mm_x_y_z"]), s["mass_kg"]) for s in sections(plan)
    ]
    return vehicle_answers(vehicle, cargo)


def test_changed_plan_lies_in_two_rows() -> None:
    """S1 lying with S4 in its row, S2 and S3 in line beside, 1268 of 1700 wide."""
    layout = DESK["expected"]["van"]["layout"]
    record, findings = travel("changed", along=True, aim="free-width")
    judge(record, sizes("changed"))
    assert (record["answer"] == "fits") is DESK["expected"]["van"]["fits"]
    assert f"{record['used_width_mm']:.0f} of {record['bay_mm'][1]:.0f} wide" in layout
    rows: dict[float, list[Any]] = {}
    for row in record["placements"]:
        rows.setdefault(row["at_mm"][1], []).append(row)
    first, second = sorted(rows.values(), key=lambda r: "S1" not in [one["id"] for one in r])
    assert {row["id"] for row in first} == {"S1", "S4"}
    assert {row["id"] for row in second} == {"S2", "S3"}
    spans = {row["id"]: row["size_mm"] for row in record["placements"]}
    assert f"S1 lying {spans['S1'][0]:.0f} x {spans['S1'][1]:.0f}" in layout
    assert f"S4 {spans['S4'][0]:.0f} x {spans['S4'][1]:.0f}" in layout
    assert f"in line {spans['S2'][0] + spans['S3'][0]:.0f} x {spans['S2'][1]:.0f}" in layout
    assert record["used_length_mm"] == 1903 + 874 and record["aim_proven"]
    assert [f.code for f in findings] == ["vehicle-takes-all"]


def test_turned_across_they_are_shorter_still() -> None:
    """No narrower than the rows, 240 shorter than they; both proven."""
    record, _ = travel("changed", along=False)
    judge(record, sizes("changed"))
    assert (record["used_length_mm"], record["aim_proven"]) == (2537, True)
    record, _ = travel("changed", along=False, aim="free-width")
    assert (record["used_width_mm"], record["aim_proven"]) == (1268, True)
    assert record["used_length_mm"] <= 1903 + 874


def test_first_plan_goes_in_too() -> None:
    """754 deep, two rows of them are 1508 wide; the tower narrower."""
    record, _ = travel("plan", along=False)
    judge(record, sizes("plan"))
    assert (record["answer"], record["aim_proven"]) == ("fits", True)


def test_the_tower_upright_would_tip_in_a_bend() -> None:
    """0.40 against 0.6, from the distance between its feet and its centre of mass."""
    tower = next(s for s in sections("changed") if s["section"] == "S1")
    x, y, z = tower["outside_mm_x_y_z"]
    feet = [120.0 * bays for bays in tower["bays_xyz"][:2]]
    item = {
        "id": "S1", "centre_height_mm": tower["com_above_hall_floor_mm"], "base_mm": feet,
        "this_side_up": True,
    }  # fmt: skip
    tall = {**VAN, "height_mm": 2200, "door_height_mm": 2100, "items": [item]}
    record, findings = vehicle_answers(
        VehicleSchema().load(tall), [Cargo("S1", "Tower", (x, y, z), 20.9)]
    )
    ratio = record["placements"][0]["tips_across_ratio"]
    expected = DESK["expected"]["carry"]["S1_upright_in_van"]
    assert f"{ratio:.2f} against 0.6" in expected
    finding = next(f for f in findings if f.code == "would-tip-in-a-bend")
    assert finding.level == "watch" and finding.measure is not None
    assert finding.measure.value == pytest.approx(0.4) and finding.measure.limit == 0.6
    del item["this_side_up"]
    record, findings = vehicle_answers(
        VehicleSchema().load(tall), [Cargo("S1", "Tower", (x, y, z), 20.9)]
    )
    assert record["used_length_mm"] == 634, "standing it is shorter, so it stands"
    finding = next(f for f in findings if f.code == "would-tip-in-a-bend")
    assert finding.remedy is not None and finding.remedy.message.startswith("Lay S1 down")
    record, findings = vehicle_answers(
        VehicleSchema().load(VAN), [Cargo("S1", "Tower", (x, y, z), 20.9)]
    )
    assert record["placements"][0]["attitude"] == "on-back"
    assert [f.code for f in findings] == ["vehicle-takes-all"]


def test_picture_names_every_section_twice() -> None:
    """Once from above, once from the side."""
    from baywright_service.contract import Label

    record, _ = travel("changed", along=True, aim="free-width")
    drawing = draw_vehicle(record)
    words = [shape.text for shape in drawing.shapes if isinstance(shape, Label)]
    for row in record["placements"]:
        assert words.count(f"{row['order']} {row['id']}") == 2
