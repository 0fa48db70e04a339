"""How things give way, for the pictures: the collapse mode of a case, the mode of buckling."""

from collections.abc import Mapping
from typing import Any

from .collapse_mode import yielding
from .frame_check import SectionAnswer
from .joint_answers import JointAnswer, StructureJoints, motion_of
from .structure_check import StructureAnswer

Json = dict[str, Any]


def section_motions(picture: Mapping[str, Any], answer: SectionAnswer, found: JointAnswer) -> Json:
    """Members of the picture that show the collapse of its case, and buckling of its section."""
    value: Json = {}
    for state in answer.states:
        if state.case.id != picture.get("case"):
            continue
        if state.collapse is not None:
            case = state.case
            truss = answer.prepared.model.truss(case.spring_n_per_mm, case.fixed)
            value["collapse_motion"] = state.collapse.motion
            value["collapse_factor"] = state.collapse.factor
            value["first_slip_factor"] = float(state.factor)
            value["collapse_members"] = yielding(truss, state.collapse)
        elif state.collapse_left_out:
            value["collapse_left_out"] = state.collapse_left_out
    mode = motion_of(found)
    if mode is not None:
        case_id, factor, shape = mode
        value |= {
            "buckling_case": case_id, "buckling_factor": factor, "buckling_motion": shape,
        }  # fmt: skip
    return value


def structure_motions(answer: StructureAnswer, joints: StructureJoints, row: int) -> Json:
    """The same for load case `row` of a structure."""
    value: Json = {}
    if row in answer.collapse_motion:
        value["collapse_motion"] = answer.collapse_motion[row]
        limit = answer.value["limit_load"][row]
        for name in ("collapse_members", "collapse_factor", "first_slip_factor"):
            value[name] = limit[name]
    elif "limit_load" in answer.value:
        reason = answer.value["limit_load"][row].get("collapse_left_out")
        if reason:
            value["collapse_left_out"] = reason
    if row in joints.modes:
        modes = joints.modes[row]
        value |= {
            "buckling_case": answer.structure.case_ids[row],
            "buckling_factor": float(modes.value[0]),
            "buckling_motion": modes.shape[0],
        }
    return value
