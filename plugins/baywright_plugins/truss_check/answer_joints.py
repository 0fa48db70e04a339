"""From inputs to what is known of joints, and what a section answers about them."""

from collections.abc import Mapping, Sequence
from typing import Any, NoReturn

import numpy as np

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs, escape

from ..frame import Frame
from ..frame.two_part_hubs import SlideUndecided
from ..kit import Kit
from .joint_stiffness import Joints, Stiffened
from .section import SeatOptions, SectionModel, section_model
from .two_part import AXES, HubState, NoSuchHub, hub_rule, hub_state

Json = dict[str, Any]

#: Loose hubs that are listed one by one.
LISTED = 60


def joints_of(inputs: Mapping[str, Any], kit: Kit | None) -> Joints:
    """How hubs turn. Raises InvalidInputs where their stiffness is stated nowhere."""
    given = inputs.get("joints", {"model": "pinned"})
    model = given["model"]
    if model == "pinned":
        return Joints(model, 0.0)
    if model == "rigid":
        return Joints(model, np.inf)
    spring = given.get("rotational_stiffness_n_mm_per_rad")
    detail = "State the turning stiffness of the joints."
    if spring is None and kit is not None:
        spring = kit.frame_hub.rotational_stiffness_n_mm_per_rad
        detail = (
            f"The kit states none for hub {kit.frame_hub.id}: give it here, or as "
            "rotational_stiffness_n_mm_per_rad of the hub."
        )
    if not spring:
        _refuse("/joints/rotational_stiffness_n_mm_per_rad", "missing", detail)
    return Joints(model, float(spring))


def seat_options(inputs: Mapping[str, Any], kit: Kit) -> SeatOptions:
    """What inputs say of rods and hubs beside the kit. Raises InvalidInputs."""
    rule = None
    if "two_part_hubs" in inputs:
        try:
            rule = hub_rule(inputs["two_part_hubs"], kit)
        except NoSuchHub as fault:
            _refuse("/two_part_hubs/hub", "unknown-reference", fault.reason)
    return SeatOptions(
        inputs.get("rod_compression_strength_n_per_mm2"),
        inputs["rod_buckling_curve"],
        rule,
        inputs.get("seat_after_slip_ratio", 1.0),
    )


def checked_model(part: Frame, kit: Kit, inputs: Mapping[str, Any]) -> SectionModel:
    """The model of one section. Raises InvalidInputs, CannotCalculate."""
    try:
        return section_model(
            part,
            kit,
            gravity_m_s2=inputs["gravity_m_s2"],
            buckling_margin=inputs["buckling_margin_ratio"],
            options=seat_options(inputs, kit),
        )
    except NoSuchHub as fault:
        if fault.row < 0:
            raise CannotCalculate("/two_part_hubs", fault.reason) from fault
        pointer = escape("two_part_hubs", "nodes", fault.section, fault.row)
        _refuse(pointer, "unknown-reference", fault.reason)
    except SlideUndecided as fault:
        detail = f"Which hubs slide apart cannot be told: {fault}."
        raise CannotCalculate("/two_part_hubs", detail) from fault


def _refuse(pointer: str, code: str, detail: str) -> NoReturn:
    raise InvalidInputs([(pointer, Fault(code, detail))])


def hubs_of(model: SectionModel) -> HubState | None:
    """The two-part hubs of a section, where inputs tell how they are put in."""
    rule = model.options.hubs
    return None if rule is None else hub_state(model.part, rule)


def hubs_value(model: SectionModel, state: HubState, nodes: Sequence[int]) -> Json:
    """The member `two_part_hubs` of a section; `nodes` are its nodes' numbers in the frame."""
    rule, part, two_part = model.options.hubs, model.part, state.hubs.two_part
    assert rule is not None
    loose = np.flatnonzero(~state.state.held)
    free = ~state.state.held[part.start] | ~state.state.held[part.end]
    return {
        "hub": rule.hub.id,
        "two_part_count": int(two_part.sum()),
        "locked_count": int((two_part & state.state.held).sum()),
        "loose_count": len(loose),
        "one_piece_count": int((~two_part).sum()),
        "tension_held_n": rule.hub.seat.tension_held_n,
        "tension_free_n": rule.hub.seat.tension_free_n,
        "members_held_count": int((~free).sum()),
        "members_free_count": int(free.sum()),
        "loose": [
            {
                "at": [int(x) for x in part.lattice[node]],
                "node": int(nodes[node]),
                "opens": opens(state, node),
                "turnable": bool(state.turnable[node]),
            }
            for node in loose[:LISTED].tolist()
        ],
    }


def opens(state: HubState, node: int) -> str:
    """The way in which a two-part hub opens, as -x or +z."""
    sign = "+" if state.hubs.way[node] > 0 else "-"
    return sign + AXES[int(state.hubs.axis[node])]


def stiffness_value(found: Stiffened, bar_of: Any) -> Json:
    """The member `joint_stiffness` of a section; bar_of(member, force) gives a bar's JSON."""
    joints = found.joints
    value: Json = {"model": joints.model, "holds_by": found.holds_by}
    if np.isfinite(joints.spring_n_mm_per_rad):
        value["rotational_stiffness_n_mm_per_rad"] = joints.spring_n_mm_per_rad
    for prefix, moved in (("", found.stiff), ("pinned_", found.pinned)):
        if moved is not None:
            value[f"{prefix}sway_mm_per_n"] = list(moved.sway_mm_per_n)
            value[f"{prefix}twist_rad_per_nm"] = moved.twist_rad_per_nm
    if found.critical_factors is not None:
        value["critical_factors"] = found.critical_factors
    if found.frequencies_hz is not None:
        value["frequencies_hz"] = found.frequencies_hz
    if found.cases:
        worst = max(found.cases, key=lambda one: one.moment_n_mm)
        slip = min(found.cases, key=lambda one: one.factor)
        value["moment_max_n_mm"] = worst.moment_n_mm
        value["moment_case"] = worst.case
        value["moment_member"] = bar_of(worst.moment_member)
        value["displacement_max_mm"] = max(one.displacement_max_mm for one in found.cases)
        if np.isfinite(slip.factor):
            value["first_slip_factor"] = slip.factor
            value["first_slip_case"] = slip.case
    return value
