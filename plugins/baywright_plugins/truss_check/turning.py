"""Diagonals turned the other way: no rod more, but pulled bars become pressed ones."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..kit import Kit
from .handling import Handling
from .leave_out import without_members
from .mend import Pair, mirror_groups, with_diagonals
from .places import key
from .section import CaseState, SectionModel, section_model, solve_cases


@dataclass(frozen=True)
class Turned:
    """gone and come: node pairs of the same faces, before and after; model and states then."""

    gone: tuple[Pair, ...]
    come: tuple[Pair, ...]
    model: SectionModel
    states: tuple[CaseState, ...]


def turn_diagonals(
    model: SectionModel,
    states: Sequence[CaseState],
    handling: Handling,
    kit: Kit,
    *,
    gravity_m_s2: float,
    buckling_margin: float,
    most_steps: int = 4,
) -> Turned:
    """Mirror groups of single diagonals turned the other way, one group after another, each the
    one that leaves the least shortfall, summed over all cases as ln(required/factor), while it
    falls by a hundredth or more. Each is solved from scratch.

    Greedy: another choice may do more. Raises NotSolvable, NotHeld.

    Leaves out: faces without or with both diagonals.
    Source: common practice, no source: a rod takes far more pressed than its seat takes pulled.
    """
    now = Turned((), (), model, tuple(states))
    for _ in range(most_steps):
        short = [s for s in now.states if s.factor < handling.required(s.case.kind)]
        if not short:
            break
        options: list[tuple[float, int, Turned]] = []
        for group in mirror_groups(now.model, short):
            gone = [_across(now.model, pair) for pair in group]
            if any(pair in now.come for pair in gone):
                continue
            ends = zip(now.model.part.start.tolist(), now.model.part.end.tolist(), strict=True)
            place = {key(a, b): member for member, (a, b) in enumerate(ends)}
            part = without_members(now.model.part, [place[pair] for pair in gone])
            other = section_model(
                with_diagonals(part, group, kit), kit, gravity_m_s2=gravity_m_s2,
                buckling_margin=buckling_margin, options=model.options,
            )  # fmt: skip
            again = solve_cases(other, [s.case for s in now.states])
            turned = Turned((*now.gone, *gone), (*now.come, *group), other, tuple(again))
            options.append((_shortfall(again, handling), len(options), turned))
        if not options:
            break
        best = min(options, key=lambda option: option[:2])
        if best[0] > _shortfall(now.states, handling) - 0.01:
            break
        now = best[2]
    return now


def _shortfall(states: Sequence[CaseState], handling: Handling) -> float:
    return sum(max(0.0, float(np.log(handling.required(s.case.kind) / s.factor))) for s in states)


def _across(model: SectionModel, pair: Pair) -> Pair:
    """The diagonal that crosses a missing one."""
    for face in model.part.faces:
        a, b, c, d = face.corners
        if key(a, d) == key(*pair):
            return key(b, c)
        if key(b, c) == key(*pair):
            return key(a, d)
    raise LookupError(pair)
