"""Counts by item and place: what a frame and its accessories take of each part of the kit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..frame import Frame
from ..kit import Kit
from .hub_choice import HubChoice, choose_hubs
from .hub_kinds import NodeClass, UsedPorts, node_classes, used_ports
from .kit_parts import kit_parts


@dataclass
class Use:
    """How many of one part go where; `sections` in the order of the frame's sections."""

    sections: list[int]
    joints: int = 0
    accessories: int = 0

    @property
    def total(self) -> int:
        return sum(self.sections) + self.joints + self.accessories

    @property
    def groups(self) -> list[int]:
        """The counts that are packed and bagged apart."""
        return [*self.sections, self.joints, self.accessories]


@dataclass(frozen=True)
class HubPlan:
    """Kinds of the kit that may be a node (`kinds`, places in the kit), what can stand where,
    and which is taken. `kind_of_node` (n,) holds places in `kinds`, -1 where none fits."""

    kinds: tuple[int, ...]
    classes: tuple[NodeClass, ...]
    ports: UsedPorts
    choice: HubChoice
    kind_of_node: NDArray[np.int64]


@dataclass
class Tally:
    """Use by item id, in the order of the kit: rods, hubs, items."""

    uses: dict[str, Use]
    hubs: HubPlan
    section_accessories: dict[str, Use] = field(default_factory=dict)


def frame_tally(
    frame: Frame,
    kit: Kit,
    accessories: Sequence[Mapping[str, Any]],
    free: Mapping[str, int] | None,
    *,
    tolerance_deg: float,
) -> Tally:
    """Everything the frame and its accessories take.

    Args:
        free: pieces on the shelf by item; it decides only which hub goes where. None: no shelf.
        tolerance_deg: lean of a rod from its port.
    """
    none = [0] * len(frame.sections)
    uses = {part.id: Use(list(none)) for part in kit_parts(kit)}
    beside = _accessories(accessories, frame, uses)
    for place, rod in enumerate(kit.rods):
        mine = frame.section[frame.rod == place]
        _add(uses[rod.id], np.bincount(mine[mine >= 0], minlength=len(none)).tolist())
        uses[rod.id].joints += int((mine < 0).sum())
    left = None if free is None else {
        item: max(free.get(item, 0) - use.total, 0) for item, use in uses.items()
    }  # fmt: skip
    hubs = plan_hubs(frame, kit, left, tolerance_deg=tolerance_deg)
    for number, place in enumerate(hubs.kinds):
        sections = frame.node_section[hubs.kind_of_node == number]
        _add(uses[kit.hubs[place].id], np.bincount(sections, minlength=len(none)).tolist())
    return Tally(uses, hubs, beside)


def _add(use: Use, sections: Sequence[int]) -> None:
    use.sections = [a + b for a, b in zip(use.sections, sections, strict=True)]


def _accessories(
    accessories: Sequence[Mapping[str, Any]], frame: Frame, uses: dict[str, Use]
) -> dict[str, Use]:
    """Add the accessories to `uses`; those named for a section are also given by themselves."""
    place = {section.id: k for k, section in enumerate(frame.sections)}
    beside: dict[str, Use] = {}
    for row in accessories:
        use = uses[row["item"]]
        if "section" not in row:
            use.accessories += row["count"]
            continue
        use.sections[place[row["section"]]] += row["count"]
        own = beside.setdefault(row["item"], Use([0] * len(place)))
        own.sections[place[row["section"]]] += row["count"]
    return beside


def plan_hubs(
    frame: Frame, kit: Kit, free: Mapping[str, int] | None, *, tolerance_deg: float
) -> HubPlan:
    """Which kind of hub each node of the frame takes.

    The kind with the fewest ports (then the cheapest, then the first of the kit) is preferred;
    the shelf is used before anything is bought. Within a class, lower node numbers take the
    preferred kinds.
    """
    kinds = tuple(k for k, hub in enumerate(kit.hubs) if hub.role == "frame")
    ports = used_ports(frame.nodes_mm, frame.start, frame.end, tolerance_deg=tolerance_deg)
    classes = node_classes(ports, [kit.hubs[k] for k in kinds])
    order = sorted(
        range(len(kinds)),
        key=lambda k: (len(set(kit.hubs[kinds[k]].ports)), kit.hubs[kinds[k]].price, k),
    )
    rank = [order.index(k) for k in range(len(kinds))]
    fitting = [c for c in classes if c.fits]
    shelf = None if free is None else {k: free.get(kit.hubs[kinds[k]].id, 0) for k in order}
    choice = choose_hubs([len(c.nodes) for c in fitting], [c.fits for c in fitting], rank, shelf)
    kind_of_node = np.full(len(frame.nodes_mm), -1, dtype=np.int64)
    for number, one in enumerate(fitting):
        kind_of_node[one.nodes] = np.repeat(order, [choice.placed[number][k] for k in order])
    return HubPlan(kinds, tuple(classes), ports, choice, kind_of_node)


def bags(use: Sequence[int], pieces_per_bag: int) -> int:
    """Bags when each group is packed apart and none is mixed.

    >>> bags([250, 0, 10], 100)
    4
    """
    return sum(-(-pieces // pieces_per_bag) for pieces in use)


def reserve(needed: int, ratio: float) -> int:
    """Spares: the share `ratio` of what is needed, rounded up, counted in exact decimals.

    >>> reserve(100, 0.07)
    7
    """
    exact = needed * Fraction(repr(ratio))
    return -(-exact.numerator // exact.denominator)
