"""What stands below the views of a sheet: rods, hubs and steps in words."""

import numpy as np

from .machine import Machine
from .page import Entry
from .sheets import Sheet

#: Sections named below a sheet as those it is coupled with.
MOST_NAMED = 12


def entries_of(machine: Machine, sheet: Sheet) -> list[list[Entry]]:
    """Lines of words: counts that add up, then how to read the marks."""
    rods, hubs = machine.items(sheet.members, sheet.nodes)
    lines = [[Entry(f"Rods on this sheet: {sum(rods.values())}"), *_counts(rods)]]
    if len(sheet.nodes):
        place = {hub.id: number for number, hub in enumerate(machine.kit.hubs)}
        known = [Entry(f"{item} × {count}", place[item]) for item, count in hubs.items()]
        missing = len(sheet.nodes) - sum(hubs.values())
        known += [Entry(f"no hub of the kit fits × {missing}", -1)] if missing else []
        lines.append([Entry(f"Hubs: {len(sheet.nodes)}"), *known])
    if sheet.kind == "layer":
        lines += _between_levels(machine, sheet)
    if sheet.kind == "section":
        lines += _couplings(machine, sheet)
    if sheet.kind == "joint":
        lines.append([Entry("These rods are counted with the joint, not with a section.")])
    steps = _steps(machine, sheet)
    return [*lines, steps] if steps else lines


def _counts(items: dict[str, int]) -> list[Entry]:
    return [Entry(f"{item} × {count}") for item, count in items.items()]


def rising(machine: Machine, sheet: Sheet) -> dict[str, int]:
    """Rods that go from a layer to the levels above it, by id."""
    frame = machine.frame
    here = np.zeros(len(frame.nodes_mm), dtype=bool)
    here[sheet.nodes] = True
    mine = frame.section == sheet.section
    leaving = np.flatnonzero(mine & (here[frame.start] != here[frame.end]))
    inside = np.where(here[frame.start[leaving]], frame.start[leaving], frame.end[leaving])
    other = frame.start[leaving] + frame.end[leaving] - inside
    up = leaving[frame.nodes_mm[other, 2] > frame.nodes_mm[inside, 2]]
    return machine.items(up, sheet.nodes[:0])[0]


def _between_levels(machine: Machine, sheet: Sheet) -> list[list[Entry]]:
    above = rising(machine, sheet)
    said = [Entry("Rods up to the next level, not counted here:"), *_counts(above)]
    marks = Entry("Marks: dot at a hub, a rod goes up; cross, a rod comes from below")
    return [said, [marks]] if above else [[marks]]


def _couplings(machine: Machine, sheet: Sheet) -> list[list[Entry]]:
    """Coupling rods that end at this section, by the section they lead to."""
    frame = machine.frame
    loose = np.flatnonzero(frame.section < 0)
    first, last = frame.node_section[frame.start[loose]], frame.node_section[frame.end[loose]]
    here = (first == sheet.section) | (last == sheet.section)
    others = np.where(first == sheet.section, last, first)[here]
    entries = []
    coupled = np.unique(others).tolist()
    for other in coupled[:MOST_NAMED]:
        counted = machine.items(loose[here][others == other], sheet.nodes[:0])[0]
        name = frame.sections[other].id
        entries += [Entry(f"{item} × {count} to {name}") for item, count in counted.items()]
    if len(coupled) > MOST_NAMED:
        entries.append(Entry(f"and to {len(coupled) - MOST_NAMED} more sections"))
    return [[Entry("Couplings, not counted here:"), *entries]] if entries else []


def _steps(machine: Machine, sheet: Sheet) -> list[Entry]:
    order = machine.order
    steps = np.concatenate([order.rod_step[sheet.members], order.hub_step[sheet.nodes]])
    steps = steps[steps > 0]
    if not len(steps):
        return []
    low, high = int(steps.min()), int(steps.max())
    words = f"steps {low} to {high}" if high > low else f"step {low}"
    return [Entry(f"Order of assembly: {words}, numbers in the bays; from the ground up")]
