"""The vehicle as part of the route: what goes along it is packed, upright what must be."""

from collections.abc import Callable
from typing import Any

import pytest

from baywright_plugins.route_fit import RouteFit
from baywright_service.contract import InvalidInputs, Result

Json = dict[str, Any]
Run = Callable[[Json], Result]

#: the demo machine's van
VAN = {"length_mm": 2900, "width_mm": 1700, "height_mm": 1750, "door_width_mm": 1550,
       "door_height_mm": 1650}  # fmt: skip


def test_the_demo_machine_in_its_van(desk: Callable[[str], Json], run: Run) -> None:
    """The tower travels lying down; all four sections have their place and mass."""
    result = run({**desk("changed"), "vehicle": VAN})
    load = result.value["vehicle"]
    assert load["answer"] == "fits"
    rows = {row["id"]: row for row in load["placements"]}
    assert set(rows) == {"S1", "S2", "S3", "S4"}
    assert rows["S1"]["attitude"] != "upright"
    masses = {s["id"]: s["mass_kg"] for s in result.value["sections"]}
    assert {id: row["mass_kg"] for id, row in rows.items()} == pytest.approx(masses)
    assert "vehicle-takes-all" in {f.code for f in result.findings}
    assert any("0.8 of its weight" in caution.text for caution in result.cautions)


def test_what_is_kept_upright_on_the_route_is_so_in_the_vehicle(
    desk: Callable[[str], Json], run: Run
) -> None:
    """Upright the tower is too high for the van's door."""
    result = run({**desk("changed"), "vehicle": VAN, "keep_upright": ["S1"]})
    assert result.value["vehicle"]["answer"] == "does-not-fit"
    assert any(f.code == "does-not-pass-vehicle-door" for f in result.findings)


def test_upright_and_not_upright(desk: Callable[[str], Json]) -> None:
    """Kept upright on the route, upright forbidden in the vehicle: named at its place."""
    body = {**desk("changed"), "keep_upright": ["S2"]}
    items = [{"id": "S3"}, {"id": "S2", "may_lie_on": ["x", "y"]}]
    calculator = RouteFit()
    inputs = calculator.load({**body, "vehicle": {**VAN, "items": items}})
    with pytest.raises(InvalidInputs) as caught:
        calculator.calculate(inputs)
    assert [where for where, _ in caught.value.faults] == ["/vehicle/items/1/may_lie_on"]


def test_rows_for_the_vehicle(desk: Callable[[str], Json]) -> None:
    """The table goes on with the order of loading and the place of each thing."""
    calculator = RouteFit()
    inputs = calculator.load({**desk("changed"), "vehicle": VAN})
    result = calculator.calculate(inputs)
    table = calculator.table(inputs, result)
    rows = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
    loaded = [row for row in rows if row["obstacle"] == "load"]
    assert [row["vehicle_order"] for row in loaded] == [1, 2, 3, 4]
    assert [row["section"] for row in loaded] == result.value["vehicle"]["loading_order"]
    assert len(rows) == 12 + 4


def test_no_vehicle_no_picture(desk: Callable[[str], Json]) -> None:
    """A strip that says so."""
    calculator = RouteFit()
    inputs = calculator.load(desk("changed"))
    drawing = calculator.draw(inputs, calculator.calculate(inputs), "vehicle")
    assert not drawing.shapes and "No vehicle" in drawing.description
