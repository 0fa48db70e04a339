"""One section as a rigid body: what its members take, and its answer to each handling case."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..frame import Frame, node_masses_kg
from ..kit import Kit
from .collapse_mode import DETENT, DETENT_RATIO, why_not
from .equilibrium import Bools, Floats, Truss, free_body
from .first_slip import utilisation
from .handling import Case
from .limit import Collapse, collapse
from .orientation import WorstOrientation, worst_orientation
from .rod_buckling import rod_loads
from .solve import Solver
from .two_part import HubRule, hub_state, seat_tensions_n


class NotHeld(ArithmeticError):
    """The stated supports let the section move or turn; `case` is its id."""

    def __init__(self, case: str) -> None:
        super().__init__(case)
        self.case = case


@dataclass(frozen=True)
class SeatOptions:
    """What is known of rods and hubs beside the kit: strength of crooked rods and their curve,
    how two-part hubs are put in, and the share of its force that a seat keeps after it slips."""

    strength_n_per_mm2: float | None = None
    curve: str = "c"
    hubs: HubRule | None = None
    after_slip_ratio: float = 1.0


@dataclass(frozen=True)
class SectionModel:
    """A frame of one section with capacities: stiffness_n_per_mm, tension_n, compression_n (m,),
    buckles (m,) true where compression is limited by buckling, weight_n (n,), mass_kg (n,)."""

    part: Frame
    stiffness_n_per_mm: Floats
    tension_n: Floats
    compression_n: Floats
    buckles: Bools
    mass_kg: Floats
    weight_n: Floats
    options: SeatOptions = SeatOptions()

    def truss(self, spring_n_per_mm: Floats, fixed: Bools) -> Truss:
        """The section held by springs and fixed directions, both (n, 3)."""
        return self.loose.held(fixed, spring_n_per_mm)

    @cached_property
    def loose(self) -> Truss:
        """The section held by nothing, with its matrices made."""
        part = self.part
        truss = free_body(part.nodes_mm, part.start, part.end, self.stiffness_n_per_mm)
        _ = truss.bar_stiffness, truss.node_order
        return truss


@dataclass(frozen=True)
class CaseState:
    """A solved case: member_force_n (m,), displacement_mm and reaction_n (n, 3), factor of first
    slip and the member that sets it."""

    case: Case
    member_force_n: Floats
    displacement_mm: Floats
    reaction_n: Floats
    factor: float
    member: int
    collapse: Collapse | None = None
    collapse_left_out: str = ""


def section_model(
    part: Frame,
    kit: Kit,
    *,
    gravity_m_s2: float,
    buckling_margin: float,
    options: SeatOptions = SeatOptions(),
) -> SectionModel:
    """Capacities of one section from its kit.

    Where `options` tells how two-part hubs are put in, tension is that of the weaker seat after
    the slide analysis. Else it is that of the frame hub's seat: `held` for a hub in one piece; for
    a hub in two halves `held` only at hubs of faces with both diagonals, at both ends of the rod,
    whichever way their open ends face. Compression is the smallest of bearing, buckling between
    the seats over its margin, and what a crooked rod takes where its strength is known.

    Raises two_part.NoSuchHub and frame.two_part_hubs.SlideUndecided, with `options.hubs` only.
    """
    seat = kit.frame_hub.seat
    stiffness = np.array([kit.stiffness_n_per_mm(k) for k in range(len(kit.rods))])
    compression = np.array(
        [kit.compression_n(k, buckling_margin=buckling_margin) for k in range(len(kit.rods))]
    )
    if options.strength_n_per_mm2 is not None:
        loads = rod_loads(kit, strength_n_per_mm2=options.strength_n_per_mm2, curve=options.curve)
        compression = np.minimum(compression, loads.critical_n)
    tied = np.ones(len(part.nodes_mm), dtype=bool)
    if kit.frame_hub.two_part:
        tied[:] = False
        for face in part.faces:
            if face.diagonals > 1:
                tied[list(face.corners)] = True
    both = tied[part.start] & tied[part.end]
    tension = np.where(both, seat.tension_held_n, seat.tension_free_n)
    if options.hubs is not None:
        tension = seat_tensions_n(part, options.hubs, hub_state(part, options.hubs))
    mass = node_masses_kg(part, kit)
    return SectionModel(
        part,
        stiffness[part.rod],
        tension,
        compression[part.rod],
        (compression < seat.compression_n)[part.rod],
        mass,
        mass * gravity_m_s2,
        options,
    )


def solve_cases(model: SectionModel, cases: Sequence[Case]) -> list[CaseState]:
    """Every case, one factorisation for each way of holding. Raises NotSolvable, and NotHeld where
    faint springs would have to carry load."""
    groups: dict[tuple[bytes, bytes], list[int]] = {}
    for place, case in enumerate(cases):
        groups.setdefault(case.support_key, []).append(place)
    states: dict[int, CaseState] = {}
    for places in groups.values():
        first = cases[places[0]]
        truss = model.truss(first.spring_n_per_mm, first.fixed)
        loads = np.stack([cases[place].loads_n(model.weight_n) for place in places])
        answer = Solver(truss).solve(loads)
        for row, place in enumerate(places):
            case = cases[place]
            _check_held(case, answer.reaction_n[row], loads[row])
            used = utilisation(answer.member_force_n[row], model.tension_n, model.compression_n)
            member = int(used.argmax())
            states[place] = CaseState(
                case,
                answer.member_force_n[row],
                answer.displacement_mm[row],
                answer.reaction_n[row],
                1.0 / used[member] if used[member] > 0 else np.inf,
                member,
            )
    return [states[place] for place in range(len(cases))]


def _check_held(case: Case, reaction_n: Floats, loads_n: Floats) -> None:
    faint = np.ones(reaction_n.size, dtype=bool)
    faint[case.bears] = False
    faint[np.flatnonzero(case.fixed.ravel())] = False
    astray = float(np.abs(reaction_n.ravel()[faint]).sum())
    if astray > 0.01 * float(np.abs(loads_n).sum()):
        raise NotHeld(case.id)


def with_collapse(model: SectionModel, state: CaseState) -> CaseState:
    """The state with its collapse factor, or with why there is none. Raises LimitNotProven.

    Seats are counted with what they keep after slipping; detents and rods that buckle have none.
    """
    case, kept = state.case, model.options.after_slip_ratio
    if kept < DETENT_RATIO:
        return replace(state, collapse_left_out=DETENT)
    truss = model.truss(case.spring_n_per_mm, case.fixed)
    held = np.union1d(case.bears, np.flatnonzero(case.fixed.ravel()))
    found = collapse(
        truss, case.loads_n(model.weight_n), model.tension_n * kept,
        np.where(model.buckles, 1.0, kept) * model.compression_n, held=held,
    )  # fmt: skip
    if found is None:
        return state
    reason = why_not(
        truss, found, model.compression_n, model.buckles, first_slip=float(state.factor)
    )
    if reason:
        return replace(state, collapse_left_out=reason)
    return replace(state, collapse=found)


def turned_any_way(
    model: SectionModel, spring_n_per_mm: Floats, load_factor: float
) -> WorstOrientation:
    """Self weight times `load_factor` in any direction, held by springs (n, 3)."""
    fixed = np.zeros(spring_n_per_mm.shape, dtype=bool)
    solver = Solver(model.truss(spring_n_per_mm, fixed))
    return worst_orientation(solver, model.weight_n * load_factor, 1.0)


def give_mode(model: SectionModel, member: int, force_n: float) -> str:
    """How a member gives under a force of this sign: tension, bearing or buckling."""
    if force_n > 0:
        return "tension"
    return "buckling" if model.buckles[member] else "bearing"


def identity(model: SectionModel) -> tuple[bytes, ...]:
    """Equal for sections that are built and loaded alike, wherever they stand."""
    part = model.part
    away = np.round(part.nodes_mm - part.nodes_mm.min(axis=0), 6)
    columns = (
        away,
        part.lattice,
        part.start,
        part.end,
        part.rod,
        part.role,
        model.mass_kg,
        model.tension_n,
        model.compression_n,
    )
    return tuple(column.tobytes() for column in columns)
