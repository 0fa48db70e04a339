"""Diagonals that can be left out: each one costs thumbs."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import scipy.linalg

from ..frame import ROLES, Frame
from ..kit import Kit
from .equilibrium import Floats, Ints
from .handling import Case, Handling
from .places import key
from .section import CaseState, SectionModel, section_model, solve_cases
from .solve import Solver
from .stability import internal_stability

DIAGONALS = tuple(k for k, role in enumerate(ROLES) if role.endswith("diagonal"))

#: A member that takes up less than this share of a unit self-stress cannot be missed.
NEEDED = 1e-9


class NothingToSpare(ValueError):
    """The section folds, or a case falls short, before anything is left out."""


@dataclass(frozen=True)
class LeftOut:
    """What can go, proven by solving the lighter section again.

    members: numbers in the section as it was; pairs: their hubs; part: the section without them;
    states: its solved cases. at_most: no set of more diagonals can go without a mechanism.
    single_left: diagonals that are still there and could each go alone, empty unless the search
    was cut short.
    """

    members: tuple[int, ...]
    pairs: tuple[tuple[int, int], ...]
    part: Frame
    states: tuple[CaseState, ...]
    at_most: int
    single_left: tuple[int, ...] = field(default=())


def without_members(part: Frame, members: Iterable[int]) -> Frame:
    """The section without some of its members; its faces count the diagonals that are left."""
    gone = np.zeros(len(part.start), dtype=bool)
    gone[list(members)] = True
    pairs = {key(int(part.start[k]), int(part.end[k])) for k in np.flatnonzero(gone).tolist()}
    faces = []
    for face in part.faces:
        a, b, c, d = face.corners
        fewer = len(pairs & {key(a, d), key(b, c)})
        faces.append(replace(face, diagonals=face.diagonals - fewer) if fewer else face)
    stay = ~gone
    return replace(
        part,
        start=part.start[stay],
        end=part.end[stay],
        rod=part.rod[stay],
        section=part.section[stay],
        role=part.role[stay],
        faces=tuple(faces),
    )


def leave_out(
    model: SectionModel,
    cases: Sequence[Case],
    handling: Handling,
    kit: Kit,
    *,
    gravity_m_s2: float,
    buckling_margin: float,
    keep: Iterable[int] = (),
    most: int | None = None,
) -> LeftOut:
    """Diagonals that can go while every case reaches its factor and nothing folds.

    A bounded search. It tries each diagonal exactly, by a small update of the solved cases, and
    leaves out the one after which the weakest case keeps most, then goes on until none of those
    left can go alone. What it finds is proven by solving the lighter section from scratch; that
    no larger set would do is not proven. Two bounds are: no more than `at_most` diagonals can go
    at all (states of self-stress: each rod that goes takes one, and the last leaves a frame in
    which every rod is needed), and after it no single further one can.

    While it searches the rods keep their weight; then the lighter section is solved from scratch
    and searched again, until nothing more can go.

    Args:
        cases: as in `solve_cases`; the required factor goes by their kind.
        keep: diagonals that must stay, by their numbers among the members.
        most: stop after this many.

    Raises NothingToSpare; NotSolvable, NotHeld, RankUndecided of what it calls.

    Leaves out: rods along the axes; looks; where hubs of two halves need both diagonals, all seats
    count as free in the search.
    Source: Sherman-Morrison update, greedy choice; common practice, no source.
    """
    part = model.part
    held = internal_stability(part.nodes_mm, part.start, part.end)
    if held.mechanisms:
        raise NothingToSpare("the section folds as it is")
    if not _holds(model, solve_cases(model, cases), handling):
        raise NothingToSpare("a case falls short as it is")
    fixed = set(keep)
    gone: list[int] = []
    lighter, states, single = model, list[CaseState](), list[int]()
    while True:
        stay = np.setdiff1d(np.arange(len(part.start)), gone)
        staying = {place for place, member in enumerate(stay.tolist()) if member in fixed}
        search = _Search(
            lighter, cases, handling, kit, held.self_stress_states - len(gone), staying
        )
        while (most is None or len(gone) + len(search.gone) < most) and search.step():
            pass
        new = stay[search.gone].tolist()
        lighter, states = _solved(model, cases, kit, [*gone, *new], gravity_m_s2, buckling_margin)
        while new and not _holds(lighter, states, handling):
            new.pop()
            lighter, states = _solved(
                model, cases, kit, [*gone, *new], gravity_m_s2, buckling_margin
            )
        gone += new
        if not new or len(gone) == most:
            single = stay[search.could_go()].tolist()
            break
    pairs = tuple((int(part.start[k]), int(part.end[k])) for k in gone)
    spare = set(np.flatnonzero(np.isin(part.role, DIAGONALS)).tolist()) - fixed
    bound = min(held.self_stress_states, len(spare))
    return LeftOut(tuple(gone), pairs, lighter.part, tuple(states), bound, tuple(single))


def _solved(
    model: SectionModel,
    cases: Sequence[Case],
    kit: Kit,
    gone: Sequence[int],
    gravity_m_s2: float,
    buckling_margin: float,
) -> tuple[SectionModel, list[CaseState]]:
    part = without_members(model.part, gone)
    lighter = section_model(
        part, kit, gravity_m_s2=gravity_m_s2, buckling_margin=buckling_margin,
        options=model.options,
    )  # fmt: skip
    return lighter, solve_cases(lighter, cases)


def _holds(model: SectionModel, states: Sequence[CaseState], handling: Handling) -> bool:
    part = model.part
    if internal_stability(part.nodes_mm, part.start, part.end).mechanisms:
        return False
    return all(state.factor >= handling.required(state.case.kind) for state in states)


class _Held:
    """The cases that share one way of holding: stretch (c, m) of every member in every case, and
    spread (m, q), how much each member stretches under unit forces along each candidate."""

    def __init__(self, model: SectionModel, cases: Sequence[Case], candidates: Ints) -> None:
        truss = model.truss(cases[0].spring_n_per_mm, cases[0].fixed)
        solver = Solver(truss)
        loads = np.stack([case.loads_n(model.weight_n) for case in cases])
        self.stretch = solver.solve(loads).member_force_n / model.stiffness_n_per_mm
        columns = truss.equilibrium[:, candidates].toarray()
        moved = np.zeros_like(columns)
        moved[truss.free] = solver.displacements(columns[truss.free])
        self.spread = np.asarray(truss.equilibrium.T @ moved)

    def leave(self, member: int, column: int, stiffness: float) -> None:
        share = stiffness / (1.0 - stiffness * self.spread[member, column])
        alone = self.spread[:, column].copy()
        self.stretch += np.outer(self.stretch[:, member] * share, alone)
        self.spread += np.outer(alone * share, self.spread[member])


class _Search:
    def __init__(
        self,
        model: SectionModel,
        cases: Sequence[Case],
        handling: Handling,
        kit: Kit,
        self_stress_states: int,
        keep: set[int],
    ) -> None:
        self.model = model
        diagonal = np.isin(model.part.role, DIAGONALS)
        diagonal[list(keep)] = False
        self.candidates = np.flatnonzero(diagonal)
        groups: dict[tuple[bytes, bytes], list[Case]] = {}
        for case in cases:
            groups.setdefault(case.support_key, []).append(case)
        self.held = [_Held(model, group, self.candidates) for group in groups.values()]
        self.required = [
            np.array([handling.required(case.kind) for case in group]) for group in groups.values()
        ]
        seat = kit.frame_hub.seat
        two_part = kit.frame_hub.two_part
        self.tension = np.full(len(diagonal), seat.tension_free_n) if two_part else model.tension_n
        self.stiffness = model.stiffness_n_per_mm.copy()
        self.self_stress = _self_stress(model, self_stress_states)
        self.gone: list[int] = []

    def _ratios(self) -> Floats:
        """Smallest factor over required factor after each candidate alone is left out, (q,);
        0 where the section would fold."""
        members = self.candidates
        columns = np.arange(len(members))
        stiffness = self.stiffness[members]
        needed = (self.self_stress[members] ** 2).sum(axis=1) <= NEEDED
        usable = ~needed & (stiffness > 0)
        most = np.zeros(len(members))
        pull = (self.stiffness / self.tension)[:, None]
        push = (self.stiffness / self.model.compression_n)[:, None]
        work = np.empty((len(self.stiffness), len(members)))
        for held, required in zip(self.held, self.required, strict=True):
            left = 1.0 - stiffness * held.spread[members, columns]
            usable &= left > NEEDED
            share = stiffness / np.where(left > NEEDED, left, 1.0)
            for stretch, wanted in zip(held.stretch, required, strict=True):
                np.multiply(held.spread, stretch[members] * share, out=work)
                work += stretch[:, None]
                work[members, columns] = 0.0
                pulled = (work * pull).max(axis=0)
                work *= push
                most = np.maximum(most, wanted * np.maximum(pulled, -work.min(axis=0)))
        with np.errstate(divide="ignore"):
            return np.asarray(np.where(usable, 1.0 / most, 0.0))

    def could_go(self) -> list[int]:
        """Members of which each could still go alone."""
        return [int(k) for k in self.candidates[self._ratios() >= 1.0]]

    def step(self) -> bool:
        """Leave out the diagonal that is missed least; False where none can go."""
        ratios = self._ratios()
        best = int(ratios.argmax()) if len(ratios) else 0
        if not len(ratios) or ratios[best] < 1.0:
            return False
        self._leave(best)
        return True

    def _leave(self, column: int) -> None:
        member = int(self.candidates[column])
        for held in self.held:
            held.leave(member, column, float(self.stiffness[member]))
        own = self.self_stress[member].copy()
        self.self_stress -= np.outer(self.self_stress @ own, own) / (own @ own)
        self.stiffness[member] = 0.0
        self.gone.append(member)


def _self_stress(model: SectionModel, states: int) -> Floats:
    """Orthonormal states of self-stress, shape (m, states)."""
    dense = model.loose.equilibrium.toarray()
    q, _, _ = scipy.linalg.qr(dense.T, mode="full", pivoting=True)
    return np.asarray(q[:, q.shape[1] - states :])
