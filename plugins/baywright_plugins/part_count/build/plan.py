"""Steps of all sections, in the order in which they are built, with their parts."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...frame import Frame
from ...frame.model import Ints
from ...kit import Kit
from ..structure import SectionParts
from ..tally import HubPlan
from .section_order import SectionOrder, section_order
from .steps import SectionSteps, section_steps

#: Largest machine a build order is worked out for.
MOST_BAYS = 2000
MOST_HUBS = 4000


@dataclass(frozen=True)
class SectionPlan:
    """How one section is built; `parts[k]` are the pieces of step k by item, in the order of the
    kit. `members` and `nodes` are the numbers in the machine of those of `part`."""

    number: int
    part: Frame
    nodes: Ints
    members: Ints
    plan: SectionSteps
    parts: tuple[dict[str, int], ...]


@dataclass(frozen=True)
class BuildOrder:
    """Sections in the order of building."""

    sections: tuple[SectionPlan, ...]
    order: SectionOrder


#: Item ids that stand for one member, where it is built of more than its rod.
Swaps = Mapping[int, tuple[str, ...]]


def is_too_large(frame: Frame, sections: Sequence[SectionParts]) -> bool:
    """Whether the machine is larger than a build order is worked out for."""
    bays = sum(len(section.bays) for section in sections)
    return bays > MOST_BAYS or not bays and len(frame.nodes_mm) > MOST_HUBS


def build_order(
    frame: Frame,
    kit: Kit,
    sections: Sequence[SectionParts],
    hubs: HubPlan,
    swaps: Swaps,
    bays_per_step: int,
) -> BuildOrder:
    """The steps of every section that has hubs. Twins share their steps, not their kinds of hub.

    Args:
        swaps: for members built of other parts than their rod, those parts.
    """
    parts = [frame.part(number) for number in range(len(frame.sections))]
    order = section_order(frame, parts)
    steps = {
        number: section_steps(parts[number], sections[number].bays, bays_per_step)
        for number in sorted(set(order.twin_of))
    }
    plans = []
    for number in order.order:
        nodes = np.flatnonzero(frame.node_section == number)
        members = np.flatnonzero(frame.section == number)
        if not len(nodes):
            continue
        plan = steps[order.twin_of[number]]
        pieces = tuple(
            _pieces(nodes[step.nodes], members[step.members], frame, kit, hubs, swaps)
            for step in plan.steps
        )
        plans.append(SectionPlan(number, parts[number], nodes, members, plan, pieces))
    return BuildOrder(tuple(plans), order)


def _pieces(
    nodes: Ints, members: Ints, frame: Frame, kit: Kit, hubs: HubPlan, swaps: Swaps
) -> dict[str, int]:
    counted: Counter[str] = Counter()
    for member in members.tolist():
        counted.update(swaps.get(member, (kit.rods[int(frame.rod[member])].id,)))
    for kind in hubs.kind_of_node[nodes].tolist():
        if kind >= 0:
            counted[kit.hubs[hubs.kinds[kind]].id] += 1
    known = [*(rod.id for rod in kit.rods), *(hub.id for hub in kit.hubs)]
    return {item: counted[item] for item in known if counted[item]}
