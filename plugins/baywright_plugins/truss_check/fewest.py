"""How few added diagonals could do at all: a bound below any search."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from ..kit import Kit
from .equilibrium import Floats
from .handling import Case, Handling
from .limit import LimitNotProven, collapse
from .mend import Pair, with_diagonals
from .section import SectionModel, section_model, solve_cases


@dataclass(frozen=True)
class Candidates:
    """Diagonals that may be added: node pairs, the rod of each, cost (k,) >= 0."""

    pairs: tuple[Pair, ...]
    rods: tuple[int, ...]
    cost: Floats


@dataclass(frozen=True)
class Bound:
    """least_cost: no set of the candidates that costs less can do. rounds: of the search for it;
    closed: the set of that cost would not collapse, so that only slip could ask for more."""

    least_cost: float
    rounds: int
    closed: bool


def least_cost(
    model: SectionModel,
    cases: Sequence[Case],
    handling: Handling,
    kit: Kit,
    candidates: Candidates,
    *,
    gravity_m_s2: float,
    buckling_margin: float,
    rounds: int = 12,
    nodes: int = 2000,
) -> Bound:
    """A cost below which no set of candidates lets every case reach its required factor.

    First slip comes no later than collapse, so a set that reaches the required factor does not
    collapse before it. For any motion the work of the loads at that factor must then be taken up
    by members that stretch; what is missing without candidates must come from those that the
    motion stretches. Each motion of collapse gives one such condition on which candidates are
    there, and the cheapest set of whole rods that meets all conditions found costs no more than
    any set that will do. With that set in place new motions are found, for some rounds.

    Args:
        cases: all, or some of them, which is a bound too.
        rounds, nodes: how long to go on, and how far branch and bound goes in each round.

    Raises NotSolvable, NotHeld of what it calls.

    Leaves out: nothing that would lower it: seats of two-part hubs count as held, and faint
    springs may bear what `solve_cases` lets them.
    Source: kinematic theorem of plastic limit analysis, as in `limit`; cuts as in Benders 1962
    (from memory); solved with HiGHS.
    """
    conditions: list[tuple[Floats, float]] = []
    chosen: list[int] = []
    best = 0.0
    for count in range(rounds):
        part = with_diagonals(model.part, [candidates.pairs[k] for k in chosen], kit)
        tried = section_model(
            part, kit, gravity_m_s2=gravity_m_s2, buckling_margin=buckling_margin,
            options=model.options,
        )  # fmt: skip
        known = len(conditions)
        for state in solve_cases(tried, cases):
            if state.factor >= handling.required(state.case.kind):
                continue
            motion = _motion(tried, state.case, handling)
            if motion is None:
                continue
            new = _condition(
                model, state.case, handling, kit, candidates, motion, gravity_m_s2, buckling_margin
            )
            if float(new[0][chosen].sum()) < new[1] - 1e-9 * abs(new[1]):
                conditions.append(new)
        if len(conditions) == known:
            return Bound(best, count, closed=True)
        found = _cheapest(candidates.cost, conditions, nodes)
        if found is None:
            return Bound(np.inf, count + 1, closed=True)
        best, chosen = max(best, found[0]), found[1]
    return Bound(best, rounds, closed=False)


def _motion(model: SectionModel, case: Case, handling: Handling) -> Floats | None:
    """How it collapses (n, 3), where it does before the required factor."""
    truss = model.truss(case.spring_n_per_mm, case.fixed)
    held = np.union1d(case.bears, np.flatnonzero(case.fixed.ravel()))
    loads = case.loads_n(model.weight_n)
    try:
        found = collapse(truss, loads, model.tension_n, model.compression_n, held=held)
    except LimitNotProven:
        return None
    if found is None or found.factor >= handling.required(case.kind):
        return None
    return found.motion


def _condition(
    model: SectionModel,
    case: Case,
    handling: Handling,
    kit: Kit,
    candidates: Candidates,
    motion: Floats,
    gravity_m_s2: float,
    buckling_margin: float,
) -> tuple[Floats, float]:
    """Shares (k,) and what they must sum to, for one motion (n, 3) that the supports allow."""
    part, seat = model.part, kit.frame_hub.seat
    wanted = handling.required(case.kind)
    best = max(seat.tension_held_n, seat.tension_free_n)
    halves = kit.frame_hub.two_part or model.options.hubs is not None
    pull = np.maximum(model.tension_n, best) if halves else model.tension_n
    loads = case.loads_n(model.weight_n)
    stretch = model.loose.stretch_mm(motion[None])[0]
    taken = float(np.maximum(pull * stretch, -model.compression_n * stretch).sum())
    faint = case.spring_n_per_mm.ravel() > 0
    faint[case.bears] = False
    astray = 0.01 * float(np.abs(loads).sum()) * float(np.abs(motion.ravel()[faint]).max(initial=0))
    missing = wanted * (float((motion * loads).sum()) - astray) - taken
    ends = np.array(candidates.pairs, dtype=np.int64).reshape(-1, 2)
    away = part.nodes_mm[ends[:, 1]] - part.nodes_mm[ends[:, 0]]
    unit = away / np.linalg.norm(away, axis=1)[:, None]
    own = ((motion[ends[:, 1]] - motion[ends[:, 0]]) * unit).sum(axis=1)
    push = np.array(
        [kit.compression_n(rod, buckling_margin=buckling_margin) for rod in candidates.rods]
    )
    weight = np.array([kit.rods[rod].mass_g for rod in candidates.rods]) / 1000.0 * gravity_m_s2
    sinks = (motion[ends] @ np.array(case.down)).mean(axis=1) * weight * case.load_factor
    share = np.maximum(best * own, -push * own) - wanted * sinks
    return share, missing


def _cheapest(
    cost: Floats, conditions: Sequence[tuple[Floats, float]], nodes: int
) -> tuple[float, list[int]] | None:
    """The least cost that meets the conditions, or what branch and bound has proven of it, and a
    set that meets them; None where no set does."""
    size = [max(float(np.abs(share).max(initial=0.0)), 1e-300) for share, _ in conditions]
    rows = np.stack([share / s for (share, _), s in zip(conditions, size, strict=True)])
    least = np.array([missing / s for (_, missing), s in zip(conditions, size, strict=True)])
    solve: Any = milp
    answer = solve(
        cost,
        constraints=LinearConstraint(rows, least - 1e-9 * np.abs(least), np.inf),
        bounds=Bounds(0, 1),
        integrality=np.ones(len(cost)),
        options={"node_limit": nodes},
    )
    if answer.status == 2:
        return None
    bound = float(answer.mip_dual_bound)
    chosen = [] if answer.x is None else np.flatnonzero(answer.x > 0.5).tolist()
    return bound, chosen
