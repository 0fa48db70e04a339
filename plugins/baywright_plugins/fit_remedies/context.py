"""One run: inputs made into a kit, a route, a frame; and the way to calculate again."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import CannotCalculate, Fault, Inputs, InvalidInputs, Result

from ..frame import Frame, frame_of
from ..frame.grid import AXES
from ..kit import Kit, available_counts
from ..route_fit.passing import clearances_from_inputs, passages_from_inputs
from ..route_fit.route_schemas import RoutePassageSchema
from .box_parts import hubs_count
from .journey import Journey
from .state import State, state_of

#: Hubs of the largest frame: each way is proven by building it again.
MOST_HUBS = 10_000
#: Obstacles of the route times sections: each way looks at them again.
MOST_LOOKS = 4000


@dataclass(frozen=True)
class Context:
    """`available` holds free pieces by part (None: no stock given); `rerun` proves a patch."""

    inputs: Inputs
    kit: Kit
    available: Mapping[str, int] | None
    rerun: Callable[[Mapping[str, Any]], Result | None]
    frame: Frame
    split_rod: int

    @property
    def raw_layout(self) -> Mapping[str, Any]:
        layout: Mapping[str, Any] = self.inputs.raw["frame"]["layout"]
        return layout

    @property
    def raw_protrusions(self) -> Sequence[Mapping[str, Any]]:
        parts: Sequence[Mapping[str, Any]] = self.inputs.raw.get("protrusions", ())
        return parts

    def journey(self) -> Journey:
        """The whole route. Raises CannotCalculate where it is too long for so many sections."""
        clearances = clearances_from_inputs(self.inputs.get("clearances"))
        journey = Journey(passages_from_inputs(self.inputs["passages"]), clearances)
        sections = len(self.frame.sections)
        if journey.obstacles * sections > MOST_LOOKS and not self.inputs.proving:
            raise CannotCalculate(
                "/passages",
                f"{journey.obstacles} openings, turns, flights and landings for {sections} "
                f"sections are more than {MOST_LOOKS} to look at again and again. Give the "
                "narrowest passages, or fewer sections at a time.",
            )
        return journey

    def journey_of(self, passages: Sequence[Mapping[str, Any]]) -> Journey:
        """The journey through passages as on the wire."""
        loaded = [RoutePassageSchema().load(passage) for passage in passages]
        clearances = clearances_from_inputs(self.inputs.get("clearances"))
        return Journey(passages_from_inputs(loaded), clearances)

    def state(self, journey: Journey) -> State:
        return state_of(
            self.raw_layout,
            self.frame,
            self.kit,
            journey,
            flush_axes=self.inputs["flush_axes"],
            protrusions=self.raw_protrusions,
        )


def context_of(inputs: Inputs, rerun: Callable[[Mapping[str, Any]], Result | None]) -> Context:
    """Raises InvalidInputs where something named is not there; CannotCalculate for a frame that
    has no grid, or is too large."""
    if "layout" not in inputs["frame"]:
        raise CannotCalculate(
            "/frame/nodes_mm",
            "Nodes given one by one cannot be edited bay by bay; give the frame as a layout.",
        )
    kit = Kit.from_inputs(inputs["kit"])
    _check_names(inputs, kit)
    least = sum(_least_hubs(spec) for spec in inputs["frame"]["layout"]["sections"])
    most = math.inf if inputs.proving else MOST_HUBS
    frame = frame_of(inputs["frame"], kit) if least <= most else None
    if frame is None or len(frame.nodes_mm) > most:
        raise CannotCalculate(
            "/frame/layout",
            f"The frame has more than {MOST_HUBS} hubs, too many to build it again and again. Give "
            "the sections that stick, with their neighbours, by themselves.",
        )
    return Context(
        inputs=inputs,
        kit=kit,
        available=available_counts(inputs["stock"]) if "stock" in inputs else None,
        rerun=rerun,
        frame=frame,
        split_rod=_split_rod(inputs, kit),
    )


def _least_hubs(spec: Mapping[str, Any]) -> int:
    """Hubs that a section has at least: known before it is built."""
    if "beams" in spec:
        return 8
    x, y, z = (sum(run["count"] for run in spec["rods"][axis]) for axis in AXES)
    return hubs_count((x, y, z))


def _split_rod(inputs: Inputs, kit: Kit) -> int:
    if "split_rod" in inputs:
        return kit.rod_index[inputs["split_rod"]]
    joints = inputs["frame"]["layout"]["joints"]
    if joints and joints[0]["rod"] in kit.rod_index:
        return kit.rod_index[joints[0]["rod"]]
    return min(range(len(kit.rods)), key=lambda k: kit.rods[k].pitch_um)


def _check_names(inputs: Inputs, kit: Kit) -> None:
    sections = {spec["id"] for spec in inputs["frame"]["layout"]["sections"]}
    faults = [
        (f"/protrusions/{k}/sections/{n}", f"There is no section {name}.")
        for k, part in enumerate(inputs["protrusions"])
        for n, name in enumerate(part.get("sections", ()))
        if name not in sections
    ]
    faults += [
        (f"/fixed_sections/{k}", f"There is no section {name}.")
        for k, name in enumerate(inputs["fixed_sections"])
        if name not in sections
    ]
    faults += [
        (f"/rods/{k}", f"The kit has no rod {name}.")
        for k, name in enumerate(inputs.get("rods", ()))
        if name not in kit.rod_index
    ]
    if inputs.get("split_rod", kit.rods[0].id) not in kit.rod_index:
        faults.append(("/split_rod", f"The kit has no rod {inputs['split_rod']}."))
    if faults:
        raise InvalidInputs(
            [(pointer, Fault("unknown-reference", detail)) for pointer, detail in faults]
        )


__all__ = ["AXES", "Context", "context_of"]
