"""When each rod and hub is put in: step and bay, as the build order of the parts list has them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..frame import Frame
from ..frame.model import Ints
from ..kit import Kit
from ..part_count.beams import Cell
from ..part_count.build.plan import build_order, is_too_large
from ..part_count.structure import SectionParts
from ..part_count.tally import HubPlan


@dataclass(frozen=True)
class Order:
    """Steps count from 1 in each section; 0 for coupling rods, which come last.

    `bays` are (section, cell); bay_step (b,); rod_step, rod_bay (m,); hub_step, hub_bay (n,).
    A bay of -1 is none. `by_bays` is False where whole levels are the steps.
    """

    bays: tuple[tuple[int, Cell], ...]
    bay_step: Ints
    rod_step: Ints
    rod_bay: Ints
    hub_step: Ints
    hub_bay: Ints
    by_bays: bool


def order_of(
    frame: Frame, kit: Kit, parts: Sequence[SectionParts], hubs: HubPlan, bays_per_step: int
) -> Order:
    """Bay by bay from the ground up; level by level where the machine is too large for that."""
    bays = tuple((number, cell) for number, part in enumerate(parts) for cell in part.bays)
    if is_too_large(frame, parts):
        return _by_levels(frame, bays)
    place = {bay: number for number, bay in enumerate(bays)}
    bay_step = np.zeros(len(bays), dtype=np.int64)
    rod_step, rod_bay = _nothing(len(frame.start))
    hub_step, hub_bay = _nothing(len(frame.nodes_mm))
    for section in build_order(frame, kit, parts, hubs, {}, bays_per_step).sections:
        for number, step in enumerate(section.plan.steps, 1):
            for one in step.built:
                cell = one.unit.cell
                bay = -1 if cell is None else place[section.number, cell]
                if bay >= 0:
                    bay_step[bay] = number
                rods = section.members[list(one.members)]
                nodes = section.nodes[list(one.nodes)]
                rod_step[rods], rod_bay[rods] = number, bay
                hub_step[nodes], hub_bay[nodes] = number, bay
    return Order(bays, bay_step, rod_step, rod_bay, hub_step, hub_bay, True)


def _nothing(count: int) -> tuple[Ints, Ints]:
    return np.zeros(count, dtype=np.int64), np.full(count, -1, dtype=np.int64)


def _by_levels(frame: Frame, bays: tuple[tuple[int, Cell], ...]) -> Order:
    """A step is a level of hubs with the rods that end at it and come from below."""
    hub_step, hub_bay = _nothing(len(frame.nodes_mm))
    for section in range(len(frame.sections)):
        mine = np.flatnonzero(frame.node_section == section)
        _, level = np.unique(np.round(frame.nodes_mm[mine, 2], 3), return_inverse=True)
        hub_step[mine] = level + 1
    rod_step = np.maximum(hub_step[frame.start], hub_step[frame.end])
    rod_step[frame.section < 0] = 0
    cells = np.array([cell[2] + 2 for _, cell in bays], dtype=np.int64)
    no_bay = np.full(len(frame.start), -1, dtype=np.int64)
    return Order(bays, cells, rod_step, no_bay, hub_step, hub_bay, False)
