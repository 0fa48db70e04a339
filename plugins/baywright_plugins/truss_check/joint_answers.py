"""What each section answers about its joints and its buckling, and the same of a structure."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from baywright_service.contract import Fault, InvalidInputs

from ..kit import Kit
from .answer_joints import hubs_of, hubs_value, joints_of, stiffness_value
from .eigen import Modes, frame_buckling
from .equilibrium import Floats
from .frame_check import MOST_MEMBERS, SectionAnswer, bar_value
from .joint_stiffness import Joints, Stiffened, rods_between, stiffened_section
from .rod_buckling import rod_loads
from .section_buckling import BeamAnswer, SectionBuckling, section_buckling
from .semi_rigid import SemiRigid
from .solve import Solver
from .structure_check import StructureAnswer
from .two_part import HubState

Json = dict[str, Any]
AXES = "xyz"

#: Beams that are listed.
LISTED = 20


@dataclass(frozen=True)
class JointAnswer:
    """One section; None for what was not asked for or cannot be told."""

    hubs: HubState | None = None
    stiffened: Stiffened | None = None
    buckling: SectionBuckling | None = None
    kept_cases: tuple[str, ...] = ()


def joint_answers(
    answers: Sequence[SectionAnswer], inputs: Mapping[str, Any], kit: Kit, *, proving: bool
) -> list[JointAnswer]:
    """One for each section; twins share theirs. Raises InvalidInputs."""
    joints = joints_of(inputs, kit)
    known: dict[str, JointAnswer] = {}
    found = []
    for answer in answers:
        name = answer.same_as or answer.prepared.id
        if name not in known:
            known[name] = _of_section(answer, inputs, kit, joints, proving)
        found.append(known[name])
    return found


def _of_section(
    answer: SectionAnswer, inputs: Mapping[str, Any], kit: Kit, joints: Joints, proving: bool
) -> JointAnswer:
    one = answer.prepared
    stiffened = None
    if joints.model != "pinned" and not proving:
        cases = [s.case for s in answer.states if not s.case.topic] or [
            *one.cases.cases,
            *one.own_cases,
        ]
        stiffened = stiffened_section(
            one.model, kit, joints, cases, mechanisms=answer.held.mechanisms
        )
    buckling = None
    states = answer.in_hand
    asked = inputs.get("analyses", ("frame-buckling",))
    if states and "frame-buckling" in asked and not answer.held.mechanisms:
        loads = rod_loads(
            kit,
            strength_n_per_mm2=inputs.get("rod_compression_strength_n_per_mm2"),
            curve=inputs["rod_buckling_curve"],
            end_spring_n_mm_per_rad=joints.spring_n_mm_per_rad,
        )
        whole = "analyses" in inputs or answer.held.members <= MOST_MEMBERS
        buckling = section_buckling(
            one.model, states, loads, count=inputs["mode_count"], with_frame=whole
        )
    return JointAnswer(hubs_of(one.model), stiffened, buckling, tuple(s.case.id for s in states))


def joint_value(answer: SectionAnswer, found: JointAnswer, kit: Kit) -> Json:
    """Members two_part_hubs, joint_stiffness and buckling of a section's result."""
    value: Json = {}
    if found.hubs is not None:
        nodes = answer.prepared.nodes.tolist()
        value["two_part_hubs"] = hubs_value(answer.prepared.model, found.hubs, nodes)
    if found.stiffened is not None:

        def bar_of(member: int) -> Json:
            bar = bar_value(answer, kit, member, 0.0)
            return {k: v for k, v in bar.items() if k not in ("force_n", "mode")}

        value["joint_stiffness"] = stiffness_value(found.stiffened, bar_of)
    if found.buckling is not None:
        value["buckling"] = _buckling_value(answer, found, found.buckling, kit)
    return value


def _buckling_value(
    answer: SectionAnswer, found: JointAnswer, buckling: SectionBuckling, kit: Kit
) -> Json:
    value: Json = {
        "governs": buckling.governs or "none",
        "beams": [_beam_value(found, one) for one in buckling.beams[:LISTED]],
        "beams_count": len(buckling.beams) + buckling.unlaced,
    }
    if buckling.unlaced:
        value["unlaced_count"] = buckling.unlaced
    if np.isfinite(buckling.factor):
        value["factor"] = buckling.factor
    rod = buckling.rod
    if np.isfinite(rod.factor):
        state = answer.in_hand[rod.case]
        kind = int(answer.prepared.model.part.rod[rod.member])
        loads = buckling.rods
        force = float(state.member_force_n[rod.member])
        value["rods"] = {
            "factor": rod.factor,
            "case": found.kept_cases[rod.case],
            "governing": bar_value(answer, kit, rod.member, force),
            "free_length_mm": float(loads.free_length_mm[kind]),
            "length_factor": float(loads.length_factor[kind]),
            "euler_n": float(loads.euler_n[kind]),
            "critical_load_n": float(loads.critical_n[kind]),
        }
        if loads.crooked:
            value["rods"]["imperfect_load_n"] = float(loads.imperfect_n[kind])
    if buckling.frame is not None:
        value["frame"] = {
            "factor": float(buckling.frame.factors[0]),
            "case": buckling.frame.case,
            "critical_factors": buckling.frame.factors,
        }
    return value


def _beam_value(found: JointAnswer, one: BeamAnswer) -> Json:
    column = one.column
    value: Json = {
        "axis": AXES[one.beam.axis],
        "first_bay": list(one.beam.first),
        "bays": one.beam.bays,
        "length_mm": one.beam.length_mm,
        "length_factor": one.beam.length_factor,
        "bows_along": AXES[one.bows_along],
        "critical_load_n": column.critical_n,
        "governs": column.governs,
        "euler_n": column.euler_n,
        "engesser_n": column.engesser_n,
        "chord_n": column.chord_n,
        "shear_stiffness_n": one.shear_stiffness_n,
        "compression_n": one.compression_n,
    }
    if np.isfinite(one.factor):
        value["case"] = found.kept_cases[one.case]
        value["factor"] = one.factor
    return value


@dataclass(frozen=True)
class StructureJoints:
    """The members semi_rigid and buckling of a structure's result, and its buckling mode by load
    case, for the picture."""

    value: Json
    modes: Mapping[int, Modes]


def structure_joints(answer: StructureAnswer, inputs: Mapping[str, Any]) -> StructureJoints:
    """Stiff joints and buckling of a structure. Raises InvalidInputs, CannotCalculate."""
    joints = joints_of(inputs, None)
    value: Json = {}
    if joints.model != "pinned":
        value["semi_rigid"] = _semi_rigid_value(answer, inputs, joints)
    if answer.stability.mechanisms or answer.linear is None or not answer.structure.case_ids:
        return StructureJoints(value, {})
    modes = _structure_modes(answer, inputs)
    buckling = _structure_buckling(answer, inputs, modes)
    if buckling:
        value["buckling"] = buckling
    return StructureJoints(value, modes)


def _structure_modes(answer: StructureAnswer, inputs: Mapping[str, Any]) -> Mapping[int, Modes]:
    if "frame-buckling" not in inputs.get("analyses", ()):
        return {}
    assert answer.linear is not None
    truss = answer.structure.truss
    solver = Solver(truss)
    forces = answer.linear.member_force_n
    made = {row: frame_buckling(truss, solver, forces[row], count=1) for row in range(len(forces))}
    return {row: modes for row, modes in made.items() if len(modes.value)}


def _structure_buckling(
    answer: StructureAnswer, inputs: Mapping[str, Any], modes: Mapping[int, Modes]
) -> Json:
    """Rods by Euler where bending stiffness is given, and the whole where it was asked for."""
    assert answer.linear is not None
    structure, forces = answer.structure, answer.linear.member_force_n
    factors: list[tuple[float, str]] = []
    value: Json = {}
    bending = inputs["structure"]["members"].get("bending_stiffness_n_mm2")
    if bending is not None:
        length = structure.truss.length_mm
        euler = np.pi**2 * bending / length**2
        used = -forces / euler
        case, member = np.unravel_index(int(used.argmax()), used.shape)
        if used[case, member] > 0:
            factor = float(1.0 / used[case, member])
            factors.append((factor, "rod"))
            value["rods"] = {
                "factor": factor,
                "case": structure.case_ids[int(case)],
                "member": int(member),
                "free_length_mm": float(length[member]),
                "length_factor": 1.0,
                "euler_n": float(euler[member]),
                "critical_load_n": float(euler[member]),
            }
    if modes:
        row = min(modes, key=lambda k: float(modes[k].value[0]))
        rows = answer.value["frame_buckling"]
        factor = float(modes[row].value[0])
        factors.append((factor, "frame"))
        value["frame"] = {
            "factor": factor,
            "case": structure.case_ids[row],
            "critical_factors": rows[row]["critical_factors"],
        }
    if not factors:
        return {}
    least, governs = min(factors)
    return {"governs": governs, "factor": least, **value}


def _semi_rigid_value(answer: StructureAnswer, inputs: Mapping[str, Any], joints: Joints) -> Json:
    structure, truss = answer.structure, answer.structure.truss
    bending = inputs["structure"]["members"].get("bending_stiffness_n_mm2")
    if bending is None:
        pointer = "/structure/members/bending_stiffness_n_mm2"
        fault = Fault("missing", "Joints that turn stiffly bend members: give E I of each.")
        raise InvalidInputs([(pointer, fault)])
    value: Json = {"model": joints.model, "holds_by": "bracing", "load_cases": []}
    if np.isfinite(joints.spring_n_mm_per_rad):
        value["rotational_stiffness_n_mm_per_rad"] = joints.spring_n_mm_per_rad
    if answer.stability.mechanisms:
        value["holds_by"] = "hub-stiffness"
    rods = rods_between(
        truss.nodes_mm,
        truss.start,
        truss.end,
        truss.stiffness_n_per_mm,
        bending,
        joints.spring_n_mm_per_rad,
    )
    try:
        frame = SemiRigid(len(truss.nodes_mm), rods, truss.fixed, truss.spring_n_per_mm)
        state = frame.solve(np.ascontiguousarray(structure.forces_n.transpose(1, 2, 0)))
    except np.linalg.LinAlgError:
        return {**value, "holds_by": "nothing"}
    buckles = "frame-buckling" in inputs.get("analyses", ())
    for row, name in enumerate(structure.case_ids):
        case: Json = {
            "id": name,
            "member_force_n": state.axial_n[:, row],
            "displacement_mm": state.displacement_mm[:, :, row],
            "rotation_rad": state.rotation_rad[:, :, row],
            "end_moment_n_mm": state.end_moment_n_mm[:, :, row],
        }
        if buckles:
            case["critical_factors"] = frame.critical_factors(
                state.axial_n[:, row], count=inputs["mode_count"]
            )
        value["load_cases"].append(case)
    if structure.case_ids:
        value["moment_max_n_mm"] = float(state.end_moment_n_mm.max())
    if structure.node_mass_kg is not None and structure.node_mass_kg.any():
        value["frequencies_hz"] = frame.frequencies_hz(
            structure.node_mass_kg, count=inputs["mode_count"]
        )
    return value


def motion_of(found: JointAnswer) -> tuple[str, float, Floats] | None:
    """Case, load factor and shape of the buckling mode of a section, where there is one."""
    if found.buckling is None or found.buckling.frame is None:
        return None
    frame = found.buckling.frame
    return frame.case, float(frame.factors[0]), frame.shape
