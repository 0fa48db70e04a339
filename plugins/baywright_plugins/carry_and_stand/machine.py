"""From loaded inputs to bodies, couplings and what is asked of them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs

from ..frame import frame_of
from ..kit import Kit
from .bodies import Body, Weightless, bodies_of_frame, bodies_of_rows
from .carrying import Lifting
from .support import Lean


@dataclass(frozen=True)
class Machine:
    """Bodies in the order given, and pairs of them that are coupled."""

    bodies: tuple[Body, ...]
    couplings: tuple[tuple[int, int], ...]


def machine_of(inputs: Mapping[str, Any]) -> Machine:
    """Raises InvalidInputs (a frame or a name that does not fit), CannotCalculate (no mass)."""
    if "frame" in inputs:
        bodies, couplings = _of_frame(inputs)
    else:
        bodies = bodies_of_rows(inputs["sections"])
        pairs = [(k, k + 1) for k in range(len(bodies) - 1)] if inputs["coupled"] else []
        couplings = pairs
    _known(inputs, [b.id for b in bodies])
    return Machine(tuple(_gripped(bodies, inputs["grips"])), tuple(couplings))


def _of_frame(inputs: Mapping[str, Any]) -> tuple[list[Body], list[tuple[int, int]]]:
    kit = Kit.from_inputs(inputs["kit"])
    frame = frame_of(inputs["frame"], kit)
    plane = inputs.get("first_node_plane_mm", max(float(kit.frame_hub.overhang_mm), 1.0))
    try:
        bodies = bodies_of_frame(frame, kit, plane)
    except Weightless as light:
        name = frame.sections[light.number].id
        raise CannotCalculate(
            "/kit", f"Section {name} weighs nothing: give rods, hubs or fittings their mass."
        ) from light
    place = {body.id: k for k, body in enumerate(bodies)}
    layout = inputs["frame"].get("layout", {"joints": ()})
    pairs = {tuple(sorted(place[name] for name in j["between"])) for j in layout["joints"]}
    return bodies, sorted((a, b) for a, b in pairs if a != b)


def _known(inputs: Mapping[str, Any], names: Sequence[str]) -> None:
    places = [(f"/grips/{k}/section", row["section"]) for k, row in enumerate(inputs["grips"])]
    places += [
        (f"/trolley/sections/{k}", name)
        for k, name in enumerate(inputs.get("trolley", {}).get("sections", ()))
    ]
    faults = [
        (where, Fault("unknown-reference", f"There is no section {name}.", available=list(names)))
        for where, name in places
        if name not in names
    ]
    if faults:
        raise InvalidInputs(faults)


def _gripped(bodies: Sequence[Body], grips: Sequence[Mapping[str, Any]]) -> list[Body]:
    stated = {row["section"]: row for row in grips}
    found = []
    for body in bodies:
        row = stated.get(body.id, {})
        lying = (
            (row["lying_low_mm"], row["lying_high_mm"]) if "lying_low_mm" in row else body.lying_mm
        )
        found.append(replace(body, grip_mm=row.get("height_mm", body.grip_mm), lying_mm=lying))
    return found


def lifting_of(inputs: Mapping[str, Any]) -> Lifting:
    row = inputs["lifting"]
    return Lifting(
        row["reach_mm"], row["lifted_mm"], row["twist_deg"], row["lifts_per_min"],
        row["duration"], row["grip"],
    )  # fmt: skip


def lean_of(inputs: Mapping[str, Any]) -> Lean:
    row = inputs["leaning"]
    return Lean(
        row["force_n"], row["height_mm"], row["restoring_factor"], row["overturning_factor"]
    )
