"""An explicit structure: from inputs to columns, and what the analyses say of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs, escape

from .answer_bulk import envelope_value, variants_value
from .collapse_mode import DETENT, DETENT_RATIO, why_not, yielding
from .eigen import Modes, frame_buckling, natural_frequencies
from .equilibrium import Bools, Floats, Ints, Truss
from .first_slip import first_slip, orientation_factor, utilisation
from .limit import LimitNotProven, collapse
from .orientation import worst_orientation
from .rows import NodeSupports
from .solve import LinearState, NotSolvable, Solver
from .stability import RankUndecided, Stability, stability_and_solver

#: Up to this many members node mobility and member redundancy are part of the answer.
DETAILED = 1500
#: Above this many members times load cases collapse is left out: it would take too long.
MOST_LIMITS = 100_000


@dataclass(frozen=True)
class Structure:
    """A structure as columns; forces_n (c, n, 3); capacities and masses where given."""

    truss: Truss
    case_ids: tuple[str, ...]
    forces_n: Floats
    support_nodes: Ints
    tension_n: Floats | None
    compression_n: Floats | None
    node_mass_kg: Floats | None
    buckles: Bools | None = None


def structure_of(inputs: Mapping[str, Any]) -> Structure:
    """The structure of validated inputs. Raises InvalidInputs with every fault of reference."""
    given = inputs["structure"]
    nodes, members = given["nodes_mm"], given["members"]
    faults = _faults(given, len(nodes))
    mass = inputs.get("node_mass_kg")
    if mass is not None and len(mass) != len(nodes):
        detail = f"Must hold {len(nodes)} entries, one for each node."
        faults.append(("/node_mass_kg", Fault("out-of-range", detail)))
    if faults:
        raise InvalidInputs(faults)
    start, end = members["start"], members["end"]
    length = np.linalg.norm(nodes[end] - nodes[start], axis=1)
    size = float(np.ptp(nodes, axis=0).max())
    if (length <= 1e-9 * size).any():
        place = int(np.flatnonzero(length <= 1e-9 * size)[0])
        detail = "Both ends of this member lie at one point."
        pointer = escape("structure", "members", "end", place)
        raise InvalidInputs([(pointer, Fault("out-of-range", detail))])
    supports: NodeSupports | None = given["supports"] or None
    fixed = np.zeros(nodes.shape, dtype=bool)
    spring = np.zeros(nodes.shape)
    support_nodes = np.zeros(0, dtype=np.int64)
    if supports is not None:
        np.logical_or.at(fixed, supports.node, supports.fixed)
        np.add.at(spring, supports.node, supports.spring_n_per_mm)
        support_nodes = supports.node
    truss = Truss(nodes, start, end, members["axial_stiffness_n"] / length, fixed, spring)
    cases = given["load_cases"]
    forces = np.zeros((len(cases), *nodes.shape))
    for row, case in enumerate(cases):
        if case["forces"]:
            np.add.at(forces[row], case["forces"].node, case["forces"].force_n)
    tension, compression, buckles = _capacities(members, length, inputs["buckling_margin_ratio"])
    return Structure(
        truss, tuple(case["id"] for case in cases), forces, support_nodes, tension, compression,
        mass, buckles,
    )  # fmt: skip


def _capacities(
    members: Mapping[str, Any], length_mm: Floats, margin: float
) -> tuple[Floats | None, Floats | None, Bools | None]:
    compression = members.get("compression_n")
    bending = members.get("bending_stiffness_n_mm2")
    buckles = None
    if bending is not None:
        euler = np.pi**2 * bending / length_mm**2 / margin
        buckles = np.ones(len(euler), dtype=bool) if compression is None else euler < compression
        compression = euler if compression is None else np.minimum(compression, euler)
    return members.get("tension_n"), compression, buckles


def _faults(given: Mapping[str, Any], nodes: int) -> list[tuple[str, Fault]]:
    members = given["members"]
    count = len(members["start"])
    faults: list[tuple[str, Fault]] = []
    for name, column in members.items():
        if len(column) != count:
            detail = f"Must hold {count} entries, as many as start."
            faults.append((f"/structure/members/{name}", Fault("out-of-range", detail)))
    known = f"There are {nodes} nodes, numbered from 0."
    for name in ("start", "end"):
        for place in np.flatnonzero(members[name] >= nodes)[:20]:
            pointer = f"/structure/members/{name}/{place}"
            faults.append((pointer, Fault("unknown-reference", known)))
    if len(members["end"]) == count:
        for place in np.flatnonzero(members["start"] == members["end"])[:20]:
            pointer = f"/structure/members/end/{place}"
            faults.append((pointer, Fault("not-unique", "The member starts where it ends.")))
    if "tension_n" in members and not {"compression_n", "bending_stiffness_n_mm2"} & set(members):
        detail = "Capacities are needed both ways: give compression_n or bending_stiffness_n_mm2."
        faults.append(("/structure/members/compression_n", Fault("missing", detail)))
    if "compression_n" in members and "tension_n" not in members:
        detail = "Capacities are needed both ways: give tension_n."
        faults.append(("/structure/members/tension_n", Fault("missing", detail)))
    if given["supports"]:
        for place in np.flatnonzero(given["supports"].node >= nodes)[:20]:
            pointer = f"/structure/supports/{place}/node"
            faults.append((pointer, Fault("unknown-reference", known)))
    for row, case in enumerate(given["load_cases"]):
        if case["forces"]:
            for place in np.flatnonzero(case["forces"].node >= nodes)[:20]:
                pointer = f"/structure/load_cases/{row}/forces/{place}/node"
                faults.append((pointer, Fault("unknown-reference", known)))
    return faults


@dataclass(frozen=True)
class StructureAnswer:
    """The result members, and what findings are made of."""

    structure: Structure
    stability: Stability
    value: dict[str, Any]
    linear: LinearState | None = None
    collapse_motion: Mapping[int, Floats] = field(default_factory=dict)
    swings: Modes | None = None


def check_structure(structure: Structure, inputs: Mapping[str, Any]) -> StructureAnswer:
    """All analyses that are asked for and that the inputs allow. Raises CannotCalculate."""
    truss = structure.truss
    try:
        held, solver = stability_and_solver(truss)
    except NotSolvable as reason:
        raise _unsolvable(reason) from reason
    except RankUndecided as reason:
        raise CannotCalculate(
            "/structure", f"Whether it is stable cannot be told: {reason}."
        ) from reason
    value: dict[str, Any] = {"load_cases": [], "stability": stability_value(held)}
    if solver is None:
        return StructureAnswer(structure, held, value)
    analyses = _analyses(structure, inputs)
    motions: Mapping[int, Floats] = {}
    try:
        linear = solver.solve(structure.forces_n)
    except NotSolvable as reason:
        raise _unsolvable(reason) from reason
    if "linear" in analyses:
        value["load_cases"] = _case_values(structure, linear)
    if "envelope" in analyses:
        value["envelope"] = envelope_value(linear, structure.tension_n, structure.compression_n)
    if "variants" in inputs["structure"]:
        value["variants"] = variants_value(
            truss, structure.forces_n, structure.tension_n, structure.compression_n,
            inputs["structure"]["variants"],
        )  # fmt: skip
    if "any-orientation" in analyses:
        value["any_orientation"] = _orientation_value(structure, solver, inputs["gravity_m_s2"])
    if "limit-load" in analyses:
        kept = inputs.get("seat_after_slip_ratio", 1.0)
        value["limit_load"], motions = _limit_values(structure, linear, kept)
    if "frame-buckling" in analyses:
        value["frame_buckling"] = _buckling_values(structure, solver, linear, inputs["mode_count"])
    swings: Modes | None = None
    if "vibration" in analyses:
        assert structure.node_mass_kg is not None
        modes = natural_frequencies(
            truss, solver, structure.node_mass_kg, count=inputs["mode_count"]
        )
        value["vibration"] = {"frequencies_hz": modes.value}
        swings = modes
    return StructureAnswer(structure, held, value, linear, motions, swings)


def _unsolvable(reason: NotSolvable) -> CannotCalculate:
    detail = f"Its stiffnesses lie too far apart to be solved: {reason}."
    return CannotCalculate("/structure/members/axial_stiffness_n", detail)


def _analyses(structure: Structure, inputs: Mapping[str, Any]) -> Sequence[str]:
    """What runs. Raises InvalidInputs where an analysis that is asked for lacks its inputs."""
    masses = structure.node_mass_kg is not None
    if not masses and gravity_rows(structure) is not None:
        masses = True
    capable = structure.tension_n is not None
    if "analyses" not in inputs:
        return ["linear", *["any-orientation"] * masses, *["limit-load"] * capable]
    asked: Sequence[str] = inputs["analyses"]
    faults = []
    for place, name in enumerate(asked):
        pointer = f"/analyses/{place}"
        if name == "any-orientation" and not masses:
            faults.append((pointer, Fault("missing", "It needs node_mass_kg.")))
        if name == "vibration" and structure.node_mass_kg is None:
            faults.append((pointer, Fault("missing", "It needs node_mass_kg.")))
        if name == "limit-load" and not capable:
            detail = "It needs tension_n and compression_n of the members."
            faults.append((pointer, Fault("missing", detail)))
    if faults:
        raise InvalidInputs(faults)
    return asked


def gravity_rows(structure: Structure) -> tuple[int, int, int] | None:
    """Places of three load cases that are self weight along x, y and z: at every node the same
    force, turned from axis to axis. None where there are none."""
    found: dict[int, list[int]] = {0: [], 1: [], 2: []}
    for row, forces in enumerate(structure.forces_n):
        used = np.flatnonzero(np.abs(forces).max(axis=0) > 0)
        if len(used) == 1 and (forces[:, used[0]] != 0).sum() > len(forces) // 2:
            found[int(used[0])].append(row)
    for x in found[0]:
        along = structure.forces_n[x][:, 0]
        close = 1e-9 * float(np.abs(along).max())
        same = [
            next(
                (
                    row for row in found[axis]
                    if np.abs(structure.forces_n[row][:, axis] - along).max() <= close
                ),
                None,
            )
            for axis in (1, 2)
        ]  # fmt: skip
        if along.min() >= 0 and same[0] is not None and same[1] is not None:
            return x, same[0], same[1]
    return None


def stability_value(held: Stability) -> dict[str, Any]:
    """The `stability` member of a structure's result."""
    value: dict[str, Any] = {
        "mechanisms": held.mechanisms,
        "self_stress_states": held.self_stress_states,
        "degrees_of_freedom": held.degrees_of_freedom,
        "members": held.members,
        "springs": len(held.truss.sprung),
    }
    mobility = held.node_mobility
    value["moving_nodes"] = np.flatnonzero(mobility > 1e-9)
    if held.mechanisms or held.members <= DETAILED:
        value["node_mobility"] = mobility
    if held.members <= DETAILED:
        value["member_redundancy"] = held.member_redundancy
        value["self_stressed_members"] = np.flatnonzero(held.member_redundancy > 1e-9)
    return value


def _case_values(structure: Structure, linear: LinearState) -> list[dict[str, Any]]:
    listed = np.zeros(len(structure.support_nodes), dtype=bool)
    listed[np.unique(structure.support_nodes, return_index=True)[1]] = True
    values = []
    for row, name in enumerate(structure.case_ids):
        reaction = linear.reaction_n[row, structure.support_nodes]
        value: dict[str, Any] = {
            "id": name,
            "member_force_n": linear.member_force_n[row],
            "displacement_mm": linear.displacement_mm[row],
            "reaction_n": np.where(listed[:, None], reaction, 0.0).reshape(-1, 3),
            "residual_ratio": float(linear.residual_ratio[row]),
        }
        if structure.tension_n is not None and structure.compression_n is not None:
            used = utilisation(
                linear.member_force_n[row], structure.tension_n, structure.compression_n
            )
            value["utilisation_max"] = float(used.max())
            value["governing_member"] = int(used.argmax())
        values.append(value)
    return values


def _orientation_value(structure: Structure, solver: Solver, gravity: float) -> dict[str, Any]:
    mass = structure.node_mass_kg
    if mass is None:
        rows = gravity_rows(structure)
        assert rows is not None
        mass, gravity = structure.forces_n[rows[0]][:, 0], 1.0
    worst = worst_orientation(solver, mass, gravity)
    value: dict[str, Any] = {
        "worst_member_force_n": worst.worst_member_force_n,
        "direction": worst.direction,
        "load_factor": 1.0,
    }
    if structure.tension_n is not None and structure.compression_n is not None:
        factor = orientation_factor(
            worst.worst_member_force_n, structure.tension_n, structure.compression_n
        )
        member = int(factor.argmin())
        if np.isfinite(factor[member]):
            pressed = structure.compression_n[member] < structure.tension_n[member]
            sign = -1.0 if pressed else 1.0
            value["first_slip_factor"] = float(factor[member])
            value["governing_member"] = member
            value["governing_direction"] = sign * worst.direction[member]
    return value


def _limit_values(
    structure: Structure, linear: LinearState, kept: float
) -> tuple[list[dict[str, Any]], dict[int, Floats]]:
    """Rows of the result, and how the structure moves at collapse, by load case."""
    assert structure.tension_n is not None and structure.compression_n is not None
    slip = first_slip(linear.member_force_n, structure.tension_n, structure.compression_n)
    values = []
    motions: dict[int, Floats] = {}
    buckles = structure.buckles
    if buckles is None:
        buckles = np.zeros(len(structure.truss.start), dtype=bool)
    small = len(structure.truss.start) * len(structure.case_ids) <= MOST_LIMITS
    for row, name in enumerate(structure.case_ids):
        value: dict[str, Any] = {"load_case": name}
        if np.isfinite(slip.factor[row]):
            member = int(slip.member[row])
            value["first_slip_factor"] = float(slip.factor[row])
            value["governing_member"] = member
            pulled = linear.member_force_n[row, member] > 0
            value["mode"] = "tension" if pulled else "compression"
            if kept < DETENT_RATIO:
                values.append({**value, "collapse_left_out": DETENT})
                continue
            try:
                found = None if not small else collapse(
                    structure.truss, structure.forces_n[row], structure.tension_n * kept,
                    structure.compression_n * np.where(buckles, 1.0, kept),
                )  # fmt: skip
            except LimitNotProven as reason:
                pointer = f"/structure/load_cases/{row}"
                detail = f"Its collapse factor cannot be proven: {reason}."
                raise CannotCalculate(pointer, detail) from reason
            if found is not None:
                why = why_not(
                    structure.truss, found, structure.compression_n, buckles,
                    first_slip=float(slip.factor[row]),
                )  # fmt: skip
                if why:
                    values.append({**value, "collapse_left_out": why})
                    continue
                value["collapse_factor"] = found.factor
                value["upper_bound_factor"] = found.upper_bound
                value["collapse_members"] = yielding(structure.truss, found)
                motions[row] = found.motion
        values.append(value)
    return values, motions


def _buckling_values(
    structure: Structure, solver: Solver, linear: LinearState, count: int
) -> list[dict[str, Any]]:
    return [
        {
            "load_case": name,
            "critical_factors": frame_buckling(
                structure.truss, solver, linear.member_force_n[row], count=count
            ).value,
        }
        for row, name in enumerate(structure.case_ids)
    ]
