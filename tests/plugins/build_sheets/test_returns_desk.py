"""The demo machine: counts as the parts list and an independent program have them."""

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from baywright_plugins.build_sheets import BuildSheets
from baywright_plugins.build_sheets.entries import rising
from baywright_plugins.build_sheets.machine import machine_again
from baywright_plugins.build_sheets.sheets import sheets_of
from baywright_plugins.part_count import PartCount

EXPECTED = json.loads(
    (Path(__file__).parents[2] / "data" / "returns-desk" / "expected.json").read_text("utf-8")
)


@pytest.fixture(scope="module")
def parts(desk_body: Any) -> Any:
    calculator = PartCount()
    return calculator.calculate(calculator.load(desk_body)).value


def of_kind(result: Any, kind: str) -> list[Any]:
    return [row for row in result.value["sheets"] if row["kind"] == kind]


def summed(rows: list[Any], field: str) -> Counter[str]:
    total: Counter[str] = Counter()
    for row in rows:
        total.update(row[field])
    return total


def test_counts_are_those_of_an_independent_program(desk: Any) -> None:
    """1248 hubs, of which 272 must be in one piece; 2560 R120 and 1516 R170."""
    expected = EXPECTED["expected"]["parts_changed_plan"]
    sections = of_kind(desk[1], "section")
    hubs, rods = summed(sections, "hubs"), summed(sections, "rods")
    assert sum(hubs.values()) == expected["hubs"]
    assert hubs["H18"] == expected["one_piece_needed"]
    assert hubs["H2P"] == expected["two_part_possible"]
    assert rods["R120"] == expected["R120"]
    assert rods["R170"] == expected["R170_needed"]


def test_sections_and_joints_add_up_to_the_parts_list(desk: Any, parts: Any) -> None:
    whole = of_kind(desk[1], "section") + of_kind(desk[1], "joint")
    assert summed(whole, "rods") + summed(whole, "hubs") == Counter(parts["counts"])
    for row in of_kind(desk[1], "section"):
        in_section = {
            part["item"]: part["sections"][row["section"]]
            for part in parts["parts"]
            if part["sections"].get(row["section"])
        }
        assert {**row["rods"], **row["hubs"]} == in_section


def test_sizes_over_hub_ends_are_the_expected_ones(desk: Any) -> None:
    """Outside size along x and y; the height there stands on feet, so the frame is lower."""
    sizes = {row["section"]: row["outside_mm_x_y_z"] for row in EXPECTED["changed_sections"]}
    for row in of_kind(desk[1], "section"):
        assert row["over_hub_ends_mm"][:2] == sizes[row["section"]][:2]
        assert row["over_hub_ends_mm"][2] < sizes[row["section"]][2]


def test_levels_with_the_rods_between_them_are_the_section(desk: Any) -> None:
    """What lies in the levels and what rises from each to the next is the section, item by item."""
    machine = machine_again(desk[0], desk[1].value)
    layers = sheets_of(machine, ("layer",))
    for number, section in enumerate(of_kind(desk[1], "section")):
        mine = [sheet for sheet in layers if sheet.section == number]
        rows = [r for r in of_kind(desk[1], "layer") if r["section"] == section["section"]]
        assert summed(rows, "hubs") == Counter(section["hubs"])
        between: Counter[str] = Counter()
        for sheet in mine:
            between.update(rising(machine, sheet))
        assert summed(rows, "rods") + between == Counter(section["rods"])


def test_every_part_is_ticked_off_once(desk: Any, parts: Any) -> None:
    inputs, result = desk
    table = BuildSheets().table(inputs, result)
    item, step = table.columns.index("item"), table.columns.index("step")
    assert Counter(row[item] for row in table.rows) == Counter(parts["counts"])
    places = {tuple(row[table.columns.index("what") :]) for row in table.rows}
    assert len(places) == len(table.rows)
    of_s2 = [row[step] for row in table.rows if row[0] == "section-S2"]
    assert of_s2 == sorted(of_s2)


def test_steps_are_those_of_the_parts_list(desk: Any, desk_body: Any) -> None:
    calculator = PartCount()
    team = {"people_count": 1, "bays_per_step_count": 6}
    body = {**desk_body, "team": team}
    plan = calculator.calculate(calculator.load(body)).value["build_plan"]
    theirs = {(row["section"], row["step"]): row["parts"] for row in plan["steps"]}
    ours = {(r["section"], r["step"]): {**r["rods"], **r["hubs"]} for r in desk[1].value["steps"]}
    ours = {key: parts for key, parts in ours.items() if key[1] > 0}
    assert ours == theirs
