"""The rows of the result."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

import numpy as np

from ..frame import over_hub_ends
from .entries import entries_of
from .machine import Machine
from .page import scale_of
from .panels import Panel
from .sheets import Sheet
from .views import panels_of

Row = dict[str, Any]


def sheet_row(machine: Machine, sheet: Sheet, paper: str) -> Row:
    """What a sheet holds and at which scales it fits."""
    frame, order = machine.frame, machine.order
    panels, entries = panels_of(machine, sheet), entries_of(machine, sheet)
    scales = {name: scale_of(panels, entries, name) for name in ("a4", "a3")}
    rods, hubs = machine.items(sheet.members, sheet.nodes)
    steps = np.concatenate([order.rod_step[sheet.members], order.hub_step[sheet.nodes]])
    ends = np.concatenate([frame.start[sheet.members], frame.end[sheet.members], sheet.nodes])
    size = over_hub_ends(frame.nodes_mm[ends], machine.kit.frame_hub.overhang_mm)
    return {
        "id": sheet.id,
        "title": sheet.title,
        "kind": sheet.kind,
        "section": frame.sections[sheet.section].id,
        "rods_count": len(sheet.members),
        "hubs_count": len(sheet.nodes),
        "rods": rods,
        "hubs": hubs,
        "over_hub_ends_mm": [round(side, 6) for side in size],
        "scale_a4": scales["a4"],
        "scale_a3": scales["a3"],
        "least_bay_mm": _least_bay(machine, sheet, panels) / scales[paper],
        "first_step": int(steps.min()) if len(steps) else 0,
        "last_step": int(steps.max()) if len(steps) else 0,
    }


def _least_bay(machine: Machine, sheet: Sheet, panels: Sequence[Panel]) -> float:
    """The shortest bay of the views, mm; of the rods where no bays are known."""
    gaps = [
        b - a
        for panel in panels
        for chain in (panel.across, panel.up)
        if chain is not None and (chain.rods or sheet.kind == "beam")
        for a, b in zip(chain.planes, chain.planes[1:], strict=False)
    ]
    if gaps:
        return min(gaps)
    lengths = machine.frame.length_mm[sheet.members]
    return float(lengths.min()) if len(lengths) else float(machine.kit.rods[0].pitch_mm)


def step_rows(machine: Machine) -> list[Row]:
    """The parts of each step, section by section."""
    frame, kit, order = machine.frame, machine.kit, machine.order
    rods: dict[tuple[int, int], Counter[int]] = {}
    hubs: dict[tuple[int, int], Counter[int]] = {}
    for section, step, rod in zip(
        frame.section.tolist(), order.rod_step.tolist(), frame.rod.tolist(), strict=True
    ):
        if section >= 0:
            rods.setdefault((section, step), Counter())[rod] += 1
    for section, step, hub in zip(
        frame.node_section.tolist(), order.hub_step.tolist(), machine.hub_kind.tolist(), strict=True
    ):
        hubs.setdefault((section, step), Counter())[hub] += 1
    return [
        {
            "section": frame.sections[key[0]].id,
            "step": key[1],
            "rods": {kit.rods[k].id: n for k, n in sorted(rods.get(key, Counter()).items())},
            "hubs": {
                kit.hubs[k].id: n for k, n in sorted(hubs.get(key, Counter()).items()) if k >= 0
            },
        }
        for key in sorted({*rods, *hubs})
    ]


def part_columns(machine: Machine) -> Row:
    """Columns of bays, rods and hubs."""
    frame, kit, order = machine.frame, machine.kit, machine.order
    cells = np.array([cell for _, cell in order.bays], dtype=np.int64).reshape(-1, 3)
    return {
        "bays": {
            "section": [frame.sections[section].id for section, _ in order.bays],
            "bay": cells + 1,
            "step": order.bay_step,
        },
        "rods": {
            "item": [kit.rods[rod].id for rod in frame.rod.tolist()],
            "step": order.rod_step,
            "bay": order.rod_bay,
        },
        "hubs": {
            "item": [kit.hubs[k].id if k >= 0 else "" for k in machine.hub_kind.tolist()],
            "step": order.hub_step,
            "bay": order.hub_bay,
        },
    }
