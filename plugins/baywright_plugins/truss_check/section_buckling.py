"""How near a section is to buckling: each rod, each beam as a laced column, the whole frame."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .beams import Beam, Rods, beam_column, beam_compression_n, beams
from .built_up import BuiltUp
from .eigen import frame_buckling
from .equilibrium import Floats
from .frequencies import NoStanding, standing
from .rod_buckling import RodLoads, Worst, weakest_rod
from .section import CaseState, SectionModel
from .solve import Solver

#: Cases on feet: the floor grips them when the frame buckles, so they are held then.
STANDING = ("stand", "stand-with-balls")


@dataclass(frozen=True)
class BeamAnswer:
    """A beam, its loads, the axis along which it bows, its largest compression in any case, that
    case's place, and the factor; infinite where it is never pressed."""

    beam: Beam
    column: BuiltUp
    shear_stiffness_n: float
    bows_along: int
    compression_n: float
    case: int
    factor: float


@dataclass(frozen=True)
class FrameAnswer:
    """Lowest load factors of the whole frame in one case, and its mode (n, 3), largest 1."""

    case: str
    factors: Floats
    shape: Floats


@dataclass(frozen=True)
class SectionBuckling:
    """`unlaced` counts beams with a bay without diagonals, which have no column load."""

    rods: RodLoads
    rod: Worst
    beams: tuple[BeamAnswer, ...]
    unlaced: int
    frame: FrameAnswer | None

    @property
    def governs(self) -> str:
        """rod, beam or frame; empty where nothing is pressed."""
        name, factor = min(self._factors(), key=lambda one: one[1])
        return name if np.isfinite(factor) else ""

    @property
    def factor(self) -> float:
        return min(factor for _, factor in self._factors())

    def _factors(self) -> list[tuple[str, float]]:
        return [
            ("rod", self.rod.factor),
            ("beam", min((one.factor for one in self.beams), default=np.inf)),
            ("frame", float(self.frame.factors[0]) if self.frame is not None else np.inf),
        ]


def section_buckling(
    model: SectionModel,
    states: Sequence[CaseState],
    loads: RodLoads,
    *,
    count: int,
    with_frame: bool = True,
) -> SectionBuckling:
    """All three ways to buckle over all cases of a section.

    The whole frame is taken in the cases on feet (forces of feet that slide, feet held in the
    mode, as `frequencies.Standing.buckling`) and in the user's own cases with fixed hubs; the one
    with the lowest factor is kept.

    Leaves out: hanging sections as whole frames: they right themselves under the grips.
    """
    forces = np.array([state.member_force_n for state in states])
    rods = Rods(model.part, model.stiffness_n_per_mm)
    found, unlaced = [], 0
    for beam in beams(model.part):
        made = beam_column(
            beam, rods, loads.bending_n_mm2[model.part.rod], loads.free_length_mm[model.part.rod]
        )
        if made is None:
            unlaced += 1
            continue
        column, shear, axis = made
        pressed = beam_compression_n(beam, rods, forces)
        case = int(pressed.argmax())
        most = float(pressed[case])
        factor = column.critical_n / most if most > 0 else np.inf
        found.append(BeamAnswer(beam, column, shear, axis, most, case, factor))
    found.sort(key=lambda one: one.factor)
    return SectionBuckling(
        loads, weakest_rod(model.part, loads, forces), tuple(found), unlaced,
        _frame(model, states, count) if with_frame else None,
    )  # fmt: skip


def _frame(model: SectionModel, states: Sequence[CaseState], count: int) -> FrameAnswer | None:
    answers = []
    for state in states:
        if state.case.id in STANDING:
            try:
                stands = standing(model)
            except NoStanding:
                continue
            truss, solver = stands.truss, stands.solver
        elif state.case.fixed.any():
            truss = model.truss(state.case.spring_n_per_mm, state.case.fixed)
            solver = Solver(truss)
        else:
            continue
        modes = frame_buckling(truss, solver, state.member_force_n, count=count)
        if len(modes.value):
            answers.append(FrameAnswer(state.case.id, modes.value, modes.shape[0]))
    return min(answers, key=lambda one: float(one.factors[0]), default=None)
