"""Whether a section still holds once rods are replaced by pairs in line or left out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...frame import Frame
from ...kit import Kit, compression_capacity_n
from ...truss_check.handling import Case, Handling, handling_cases
from ...truss_check.leave_out import NothingToSpare, leave_out, without_members
from ...truss_check.section import (
    CaseState,
    NotHeld,
    SectionModel,
    identity,
    section_model,
    solve_cases,
)
from ...truss_check.solve import NotSolvable
from ...truss_check.stability import RankUndecided, internal_stability
from ..shortage import Way

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Sections with more members are not solved: it would take too long.
MOST_MEMBERS = 4000
#: Members for which diagonals that can be spared are sought.
MOST_SEARCHED = 1300
#: Diagonals of one section that are left out at most.
MOST_LEFT_OUT = 12
#: A case that falls short as stated may lose this much more of its factor.
KEPT_RATIO = 0.98


@dataclass(frozen=True)
class Loads:
    """How sections are handled, and what a pair in line keeps to its limit."""

    handling: Handling
    gravity_m_s2: float
    buckling_margin: float
    pair_factor: float


@dataclass(frozen=True)
class Held:
    """A section solved as stated: its model, states, the greatest compression of each member in
    any case (m,), and its greatest force either way. `reason` says why there are no states."""

    model: SectionModel | None
    states: tuple[CaseState, ...]
    compression_n: Floats | None
    force_n: Floats | None = None
    reason: str = ""

    @property
    def first_slip(self) -> float:
        return min((state.factor for state in self.states), default=np.inf)


@dataclass(frozen=True)
class Checked:
    """A section solved again. pressed (m,) as `Held.compression_n`; overloaded: pairs beyond
    their own limit; short: cases that lose too much, with the factor they need."""

    states: tuple[CaseState, ...]
    compression_n: Floats
    overloaded: tuple[int, ...]
    short: tuple[tuple[CaseState, float], ...]

    @property
    def holds(self) -> bool:
        return not self.overloaded and not self.short


@dataclass(frozen=True)
class InLine:
    """What two rods in line with a mid-hub are worth as one member."""

    stiffness_n_per_mm: float
    tension_n: float
    compression_n: float
    mass_g: float


def in_line(kit: Kit, way: Way, *, buckling_margin: float) -> InLine:
    """Two rods in line as one member of the truss.

        1/k = sum over both rods of L/(E A) + 1/k_seat + 1/k_mid-seat

    Tension is that of the weaker kind of seat; compression the least of folding at the mid-hub,
    bearing of either seat, and buckling of either rod between its seats. Where the stiffness of
    the mid-hub is not known a pair takes no compression at all.

    Leaves out: play of four seats, bending where the mid-hub is knocked sideways.
    Source: springs in series; `shortage.in_line_limit_n` for folding.
    """
    mid, seat = kit.middle_hub, kit.frame_hub.seat
    assert mid is not None
    soft, least = 0.0, way.compression_limit_n or 0.0
    for place in (way.first, way.second):
        rod = kit.rods[place]
        soft += rod.pitch_mm / rod.axial_rigidity_n
        soft += 1 / seat.stiffness_n_per_mm + 1 / mid.seat.stiffness_n_per_mm
        own = compression_capacity_n(
            rod.pitch_mm - seat.inset_mm - mid.seat.inset_mm,
            rod.bending_rigidity_n_mm2,
            min(seat.compression_n, mid.seat.compression_n),
            buckling_margin=buckling_margin,
        )
        least = min(least, own)
    pull = mid.seat.tension_free_n if mid.two_part else mid.seat.tension_held_n
    mass = kit.rods[way.first].mass_g + kit.rods[way.second].mass_g + mid.mass_g
    return InLine(1 / soft, pull, least, mass)


def as_stated(part: Frame, kit: Kit, loads: Loads, known: dict[object, Held]) -> Held:
    """One section solved in every case it can be held in; equal sections once, in `known`."""
    if not part.has_grid:
        return Held(None, (), None, None, "it has no grid, so no handling cases are known")
    if len(part.start) > MOST_MEMBERS:
        return Held(None, (), None, None, f"it has more than {MOST_MEMBERS} members")
    model = section_model(
        part, kit, gravity_m_s2=loads.gravity_m_s2, buckling_margin=loads.buckling_margin
    )
    same = identity(model)
    if same not in known:
        known[same] = _held(model, loads.handling)
    return replace(known[same], model=model)


def _held(model: SectionModel, handling: Handling) -> Held:
    part = model.part
    cases = list(handling_cases(part, handling).cases)
    try:
        if internal_stability(part.nodes_mm, part.start, part.end).mechanisms:
            return Held(model, (), None, None, "it folds as it stands")
        states = _solved(model, cases)
    except (NotSolvable, RankUndecided) as fault:
        return Held(model, (), None, None, f"{fault}")
    if not states:
        return Held(model, (), None, None, "no case can hold it")
    forces = np.stack([state.member_force_n for state in states])
    return Held(model, tuple(states), pressed(states), np.abs(forces).max(axis=0))


def _solved(model: SectionModel, cases: Sequence[Case]) -> list[CaseState]:
    """The cases whose supports hold the section."""
    left = list(cases)
    while left:
        try:
            return solve_cases(model, left)
        except NotHeld as fault:
            left = [case for case in left if case.id != fault.case]
    return []


def pressed(states: Sequence[CaseState]) -> Floats:
    """Greatest compression of each member in any case, shape (m,), 0 where it is only pulled."""
    forces = np.stack([state.member_force_n for state in states])
    return np.asarray(np.maximum(-forces.min(axis=0), 0.0) + 0.0)


def crossed(part: Frame) -> Bools:
    """Members (m,) that cross another diagonal on their face."""
    pairs = {
        pair
        for face in part.faces
        if face.diagonals > 1
        for pair in (
            frozenset((face.corners[0], face.corners[3])),
            frozenset((face.corners[1], face.corners[2])),
        )
    }
    ends = zip(part.start.tolist(), part.end.tolist(), strict=True)
    return np.array([frozenset(pair) in pairs for pair in ends], dtype=bool)


def substituted(
    model: SectionModel,
    kit: Kit,
    pairs: Mapping[int, InLine],
    gone: Sequence[int],
    loads: Loads,
) -> tuple[SectionModel, NDArray[np.int64]]:
    """The section with some members as pairs and some left out, and the numbers its members had."""
    stay = np.setdiff1d(np.arange(len(model.part.start)), np.array(gone, dtype=np.int64))
    if gone:
        model = section_model(
            without_members(model.part, gone), kit, gravity_m_s2=loads.gravity_m_s2,
            buckling_margin=loads.buckling_margin, options=model.options,
        )  # fmt: skip
    part = model.part
    stiffness, tension = model.stiffness_n_per_mm.copy(), model.tension_n.copy()
    compression, mass = model.compression_n.copy(), model.mass_kg.copy()
    for row, member in enumerate(stay.tolist()):
        pair = pairs.get(member)
        if pair is None:
            continue
        stiffness[row] = pair.stiffness_n_per_mm
        tension[row] = min(tension[row], pair.tension_n)
        compression[row] = max(pair.compression_n, 1e-9)
        more = (pair.mass_g - kit.rods[int(part.rod[row])].mass_g) / 2000.0
        mass[[part.start[row], part.end[row]]] += more
    changed = replace(
        model,
        stiffness_n_per_mm=stiffness,
        tension_n=tension,
        compression_n=compression,
        mass_kg=mass,
        weight_n=mass * loads.gravity_m_s2,
    )
    return changed, stay


def check_again(
    held: Held, kit: Kit, pairs: Mapping[int, InLine], gone: Sequence[int], loads: Loads
) -> Checked:
    """Every case of a section solved again with what was chosen.

    It holds where each pair keeps `pair_factor` to its own limit in every case, nothing folds,
    and each case reaches the factor it needs or, where it fell short as stated, keeps
    `KEPT_RATIO` of what it had.

    Raises NotSolvable, NotHeld, RankUndecided where the section folds.
    """
    assert held.model is not None
    model, stay = substituted(held.model, kit, pairs, gone, loads)
    part = model.part
    if gone and internal_stability(part.nodes_mm, part.start, part.end).mechanisms:
        raise NotSolvable("it folds")
    states = solve_cases(model, [state.case for state in held.states])
    compression = np.zeros(len(held.model.part.start))
    compression[stay] = pressed(states)
    overloaded = tuple(
        member
        for member, pair in sorted(pairs.items())
        if compression[member] * loads.pair_factor > pair.compression_n * (1 + 1e-9)
    )
    short = []
    for before, after in zip(held.states, states, strict=True):
        needed = min(loads.handling.required(before.case.kind), KEPT_RATIO * before.factor)
        if after.factor < needed:
            short.append((after, needed))
    return Checked(tuple(states), compression, overloaded, tuple(short))


def spare_diagonals(held: Held, kit: Kit, loads: Loads) -> tuple[int, ...]:
    """Diagonals that can all go while every case reaches its factor, the one missed least first;
    none where a case falls short as it is. A bounded search, see `truss_check.leave_out`."""
    model = held.model
    if model is None or not held.states or len(model.part.start) > MOST_SEARCHED:
        return ()
    try:
        found = leave_out(
            model, [state.case for state in held.states], loads.handling, kit,
            gravity_m_s2=loads.gravity_m_s2, buckling_margin=loads.buckling_margin,
            most=MOST_LEFT_OUT,
        )  # fmt: skip
    except (NothingToSpare, NotSolvable, NotHeld, RankUndecided):
        return ()
    return found.members
