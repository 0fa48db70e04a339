"""What stiff hubs do for a section: does it hold by them alone, how far does it sway."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..kit import Kit
from .equilibrium import Floats, Ints
from .first_slip import first_slip
from .frequencies import NoStanding, standing, top_rings
from .handling import Case, feet
from .section import SectionModel
from .semi_rigid import Rods, SemiRigid

MODELS = ("pinned", "semi-rigid", "rigid")


@dataclass(frozen=True)
class Joints:
    """`spring_n_mm_per_rad` at every rod end: 0 pinned, infinite rigid."""

    model: str
    spring_n_mm_per_rad: float


@dataclass(frozen=True)
class Movement:
    """Of the top rings under 1 N, along x and y, and turned by 1 N m about the upright."""

    sway_mm_per_n: tuple[float, float]
    twist_rad_per_nm: float


@dataclass(frozen=True)
class CaseTurned:
    """One case with stiff hubs: moment_n_mm the largest at a rod end, its member, the largest
    displacement against the held hubs, first slip by forces along the rods alone."""

    case: str
    moment_n_mm: float
    moment_member: int
    displacement_max_mm: float
    factor: float
    member: int


@dataclass(frozen=True)
class Stiffened:
    """A section with stiff hubs. `holds_by` is bracing, hub-stiffness or nothing; the rest is
    empty where it holds by nothing, or where it has no corner feet."""

    joints: Joints
    holds_by: str
    pinned: Movement | None = None
    stiff: Movement | None = None
    critical_factors: Floats | None = None
    frequencies_hz: Floats | None = None
    cases: tuple[CaseTurned, ...] = ()


def section_rods(model: SectionModel, kit: Kit, spring_n_mm_per_rad: float) -> Rods:
    """The members of a section with a turning spring at both ends; rods spin in their seats."""
    part = model.part
    bending = np.array([rod.bending_rigidity_n_mm2 for rod in kit.rods])[part.rod]
    return rods_between(
        part.nodes_mm, part.start, part.end, model.stiffness_n_per_mm, bending, spring_n_mm_per_rad
    )


def rods_between(
    nodes_mm: Floats,
    start: Ints,
    end: Ints,
    axial_n_per_mm: Floats,
    bending_n_mm2: Floats,
    spring_n_mm_per_rad: float,
) -> Rods:
    """Members from `start` to `end` with a turning spring at both ends, torsion left out."""
    away = nodes_mm[end] - nodes_mm[start]
    length = np.linalg.norm(away, axis=1)
    return Rods(
        start,
        end,
        away / length[:, None],
        length,
        axial_n_per_mm,
        bending_n_mm2,
        np.zeros(len(length)),
        np.full((len(length), 2), spring_n_mm_per_rad),
    )


def stiffened_section(
    model: SectionModel, kit: Kit, joints: Joints, cases: Sequence[Case], *, mechanisms: int
) -> Stiffened:
    """The section on its feet and in each case, its hubs turning as `joints` says.

    Args: mechanisms of the section with pinned hubs, by rank.

    Leaves out: what a seat takes in bending, torsion of rods, size of hubs, slip, and the second
    order but for the buckling factor.
    Source: Monforton and Wu, end springs (see `semi_rigid.fixity`); movement under 1 N spread over
    the top rings is common practice, no source.
    """
    rods = section_rods(model, kit, joints.spring_n_mm_per_rad)
    nodes = len(model.part.nodes_mm)
    holds_by = "hub-stiffness" if mechanisms else "bracing"
    pinned = None if mechanisms else _pinned(model)
    stiff, critical, frequencies = None, None, None
    turned: list[CaseTurned] = []
    try:
        hubs = feet(model.part) if model.part.has_grid else None
        if hubs is not None:
            fixed = np.zeros((nodes, 3), dtype=bool)
            fixed[hubs] = True
            frame = SemiRigid(nodes, rods, fixed, np.zeros((nodes, 3)))
            stiff = _movement(frame, model)
            frequencies = frame.frequencies_hz(model.mass_kg)
        for case in cases:
            one, axial = _case(model, rods, case)
            turned.append(one)
            if case.id == "stand" and hubs is not None:
                critical = frame.critical_factors(axial)
    except np.linalg.LinAlgError:
        return Stiffened(joints, "nothing")
    return Stiffened(joints, holds_by, pinned, stiff, critical, frequencies, tuple(turned))


def _pinned(model: SectionModel) -> Movement | None:
    try:
        stands = standing(model)
        sway = stands.sway_stiffness_n_per_mm()
        twist = stands.twist_stiffness_nm_per_rad()
    except NoStanding:
        return None
    return Movement((1.0 / sway[0], 1.0 / sway[1]), 1.0 / twist)


def _movement(frame: SemiRigid, model: SectionModel) -> Movement | None:
    try:
        hubs = top_rings(model.part)
    except NoStanding:
        return None
    where = model.part.nodes_mm[hubs]
    away = where - where.mean(axis=0)
    across = np.column_stack([-away[:, 1], away[:, 0]])
    polar = float((across**2).sum())
    loads = np.zeros((len(model.part.nodes_mm), 3, 3))
    for axis in (0, 1):
        loads[hubs, axis, axis] = 1.0 / len(hubs)
    loads[hubs, :2, 2] = across / polar
    moved = frame.solve(loads).displacement_mm
    sway = (float(moved[hubs, 0, 0].mean()), float(moved[hubs, 1, 1].mean()))
    return Movement(sway, 1000.0 * float((moved[hubs, :2, 2] * across).sum()) / polar)


def _case(model: SectionModel, rods: Rods, case: Case) -> tuple[CaseTurned, Floats]:
    nodes = len(model.part.nodes_mm)
    frame = SemiRigid(nodes, rods, case.fixed, case.spring_n_per_mm)
    state = frame.solve(case.loads_n(model.weight_n)[:, :, None])
    moved = state.displacement_mm[:, :, 0]
    held = np.unique(case.bears // 3)
    settled = moved - moved[held].mean(axis=0) if len(held) else moved
    moment = state.end_moment_n_mm[:, :, 0].max(axis=1)
    axial = state.axial_n[:, 0]
    slip = first_slip(axial[None], model.tension_n, model.compression_n)
    turned = CaseTurned(
        case.id,
        float(moment.max()),
        int(moment.argmax()),
        float(np.linalg.norm(settled, axis=1).max()),
        float(slip.factor[0]),
        int(slip.member[0]),
    )
    return turned, axial
