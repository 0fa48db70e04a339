"""One row for each rod and hub, to be ticked off, in the order of assembly."""

from collections.abc import Sequence
from typing import Any

from baywright_service.contract import TableData

from .machine import Machine
from .sheets import Sheet

COLUMNS = (
    "sheet", "step", "bay", "what", "item", "from_x_mm", "from_y_mm", "from_z_mm", "to_x_mm",
    "to_y_mm", "to_z_mm", "length_mm",
)  # fmt: skip


def tick_table(machine: Machine, sheets: Sequence[Sheet]) -> TableData:
    """Rows of the sheets, steps in order, in a step bay by bay, hubs before rods."""
    return TableData(COLUMNS, [row for sheet in sheets for row in _rows(machine, sheet)])


def _rows(machine: Machine, sheet: Sheet) -> list[list[Any]]:
    frame, kit, order = machine.frame, machine.kit, machine.order
    rows: list[tuple[tuple[int, int, int, int], list[Any]]] = []
    for node in sheet.nodes.tolist():
        step, bay, kind = (int(x[node]) for x in (order.hub_step, order.hub_bay, machine.hub_kind))
        item = kit.hubs[kind].id if kind >= 0 else ""
        at = frame.nodes_mm[node].tolist()
        row = [sheet.id, step, _bay(machine, bay), "hub", item, *at, None, None, None, None]
        rows.append(((step, bay, 0, node), row))
    for member in sheet.members.tolist():
        step, bay = int(order.rod_step[member]), int(order.rod_bay[member])
        ends = [*frame.nodes_mm[frame.start[member]].tolist()]
        ends += frame.nodes_mm[frame.end[member]].tolist()
        rod = kit.rods[int(frame.rod[member])]
        row = [sheet.id, step, _bay(machine, bay), "rod", rod.id, *ends, rod.pitch_mm]
        rows.append(((step, bay, 1, member), row))
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])]


def _bay(machine: Machine, bay: int) -> str:
    """A bay by its places along x, y and z from 1; empty where there is none."""
    if bay < 0:
        return ""
    return "/".join(str(place + 1) for place in machine.order.bays[bay][1])
