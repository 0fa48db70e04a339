"""The machine that sheets are drawn of: frame, kit, kinds of hub, order of assembly."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from baywright_service.contract import CannotCalculate

from ..frame import ROLES, Frame, frame_of
from ..frame.model import Ints
from ..kit import Kit, available_counts
from ..part_count.structure import SectionParts, section_parts
from ..part_count.tally import frame_tally
from .order import Order, order_of

#: Largest machine that sheets are made for, and the most bays of all its beams together.
MOST_RODS = 40_000
MOST_BEAM_BAYS = 30_000
MOST_SECTIONS = 300

#: Lean of a rod from its port, as the parts list allows it, degrees.
_PORT_TOLERANCE_DEG = 2.0


@dataclass(frozen=True)
class Machine:
    """`hub_kind` (n,): places among the hubs of the kit, -1 where none can stand."""

    frame: Frame
    kit: Kit
    parts: tuple[SectionParts, ...]
    hub_kind: Ints
    order: Order

    @cached_property
    def between(self) -> dict[tuple[int, int], int]:
        """The member between two hubs, the lower number first."""
        ends = np.sort(np.column_stack([self.frame.start, self.frame.end]), axis=1).tolist()
        return {(a, b): member for member, (a, b) in enumerate(ends)}

    @cached_property
    def coupled(self) -> frozenset[int]:
        """Hubs at which a coupling rod ends."""
        loose = self.frame.section < 0
        ends = np.concatenate([self.frame.start[loose], self.frame.end[loose]])
        return frozenset(ends.tolist())

    @cached_property
    def rods_along(self) -> dict[tuple[int, int], tuple[str, ...]]:
        """For each section and axis the rod of each bay, "" where no member shows it."""
        frame = self.frame
        found: dict[tuple[int, int], tuple[str, ...]] = {}
        step = frame.lattice[frame.end] - frame.lattice[frame.start]
        for number, section in enumerate(frame.sections):
            mine = (frame.section == number) & (frame.role == ROLES.index("axis"))
            for axis in range(3) if section.bays is not None else ():
                along = np.flatnonzero(mine & (step[:, axis] != 0))
                place = np.minimum(frame.lattice[frame.start[along], axis],
                                   frame.lattice[frame.end[along], axis])  # fmt: skip
                rods = dict(zip(place.tolist(), frame.rod[along].tolist(), strict=True))
                found[number, axis] = tuple(
                    self.kit.rods[rods[k]].id if k in rods else ""
                    for k in range(section.bays[axis])  # type: ignore[index]
                )
        return found

    def item_of(self, member: int) -> str:
        """The rod of a member, by its id."""
        return self.kit.rods[int(self.frame.rod[member])].id

    def items(self, members: Ints, nodes: Ints) -> tuple[dict[str, int], dict[str, int]]:
        """Rods and hubs by id, in the order of the kit, those that are used."""
        rods = np.bincount(self.frame.rod[members], minlength=len(self.kit.rods)).tolist()
        kinds = self.hub_kind[nodes]
        hubs = np.bincount(kinds[kinds >= 0], minlength=len(self.kit.hubs)).tolist()
        return (
            {rod.id: count for rod, count in zip(self.kit.rods, rods, strict=True) if count},
            {hub.id: count for hub, count in zip(self.kit.hubs, hubs, strict=True) if count},
        )


def machine_of(inputs: Mapping[str, Any]) -> Machine:
    """The machine of the inputs, its hubs chosen and its order of assembly worked out.

    Raises InvalidInputs, and CannotCalculate beyond the largest machine.
    """
    frame, kit, parts = _frame(inputs)
    _within_bounds(frame, parts)
    free = available_counts(inputs["stock"]) if "stock" in inputs else None
    hubs = frame_tally(frame, kit, (), free, tolerance_deg=_PORT_TOLERANCE_DEG).hubs
    kinds = np.array([*hubs.kinds, -1], dtype=np.int64)
    order = order_of(frame, kit, parts, hubs, inputs["bays_per_step_count"])
    return Machine(frame, kit, parts, kinds[hubs.kind_of_node], order)


def machine_again(inputs: Mapping[str, Any], value: Mapping[str, Any]) -> Machine:
    """The machine of a result: what was chosen and worked out is read from it."""
    frame, kit, parts = _frame(inputs)
    place = {hub.id: number for number, hub in enumerate(kit.hubs)}
    kinds = np.array([place.get(item, -1) for item in value["hubs"]["item"]], dtype=np.int64)
    bays = tuple((number, cell) for number, part in enumerate(parts) for cell in part.bays)
    order = Order(
        bays,
        np.asarray(value["bays"]["step"], dtype=np.int64),
        np.asarray(value["rods"]["step"], dtype=np.int64),
        np.asarray(value["rods"]["bay"], dtype=np.int64),
        np.asarray(value["hubs"]["step"], dtype=np.int64),
        np.asarray(value["hubs"]["bay"], dtype=np.int64),
        bool(value["by_bays"]),
    )
    return Machine(frame, kit, parts, kinds, order)


def _frame(inputs: Mapping[str, Any]) -> tuple[Frame, Kit, tuple[SectionParts, ...]]:
    kit = Kit.from_inputs(inputs["kit"])
    frame = frame_of(inputs["frame"], kit)
    if len(frame.start) > MOST_RODS:
        reason = f"Sheets are made for at most {MOST_RODS} rods; these are {len(frame.start)}."
        raise CannotCalculate("/frame", f"{reason} Give the sections in several runs.")
    if len(frame.sections) > MOST_SECTIONS:
        reason = f"Sheets are made for at most {MOST_SECTIONS} sections, not {len(frame.sections)}."
        raise CannotCalculate("/frame", f"{reason} Give the sections in several runs.")
    return frame, kit, tuple(section_parts(frame, inputs["frame"].get("layout")))


def _within_bounds(frame: Frame, parts: tuple[SectionParts, ...]) -> None:
    pointlike = np.flatnonzero(frame.length_mm <= 0)
    if len(pointlike):
        where = f"/frame/members/end/{int(pointlike[0])}"
        raise CannotCalculate(where, "Both ends lie at one point, so the rod takes no port.")
    bays = sum(beam.bays for part in parts for beam in part.beams)
    if bays > MOST_BEAM_BAYS:
        reason = (
            f"The beams have {bays} bays together, counted beam by beam; sheets are made for at "
            f"most {MOST_BEAM_BAYS}. List fewer beams, or give the sections in several runs."
        )
        raise CannotCalculate("/frame/layout/sections", reason)
