"""On the way and among people: balls in a section, laid down, dropped, over a step, leaned on."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from ..frame import Frame
from .drop import Drop, DropRange, NotDropped, drop_range
from .equilibrium import Floats
from .handling import (
    ACCIDENTAL,
    DROP,
    Case,
    Handling,
    NoHub,
    feet,
    grip_level,
    handling_cases,
)
from .kerb import WAYS, NotRolled, kerb_case, push_ratio
from .leaning import (
    BARRIER_LOADS,
    FACES,
    Leaning,
    NotLeanedOn,
    leaning_case,
    line_load,
    person,
)
from .load_factors import LoadFactors, factored
from .resting import resting_case
from .section import CaseState, SectionModel, solve_cases

Given = Mapping[str, Any]


@dataclass(frozen=True)
class Rolled:
    """One way over the threshold: level of the hands, their height above the axles, push in N and
    the solved case; `reason` where it cannot be rolled."""

    toward: str
    level: int = 0
    height_mm: float = 0.0
    push_n: float = 0.0
    state: CaseState | None = None
    reason: str = ""


@dataclass(frozen=True)
class Leaned:
    """The face that is worst for one load. The section by itself tips at tips_at_n; tied down, its
    first seat slips at slips_at_n, infinite where no load does it."""

    face: str
    leaning: Leaning
    state: CaseState
    tips_at_n: float
    slips_at_n: float


@dataclass(frozen=True)
class Travelled:
    """The solved cases, what they tell beside, for each that does not apply its id and why, and
    what was asked for."""

    states: tuple[CaseState, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    falls: DropRange | None = None
    push_ratio: float | None = None
    rolled: tuple[Rolled, ...] = ()
    leaned: tuple[Leaned, ...] = ()
    asked: Given = field(default_factory=dict)


def ball_force_n(part: Frame, given: Sequence[Given], section: str, gravity_m_s2: float) -> Floats:
    """Weight of balls on the hubs of one section, shape (n, 3): evenly on the levels stated.

    Raises LookupError: the section has no hub on one of the levels.
    """
    force = np.zeros(part.nodes_mm.shape)
    top = int(part.lattice[:, 2].max()) if part.has_grid else 0
    for load in given:
        if section not in load.get("sections", (section,)):
            continue
        mass = load["mass_kg"] if "mass_kg" in load else load["balls_count"] * load["ball_mass_kg"]
        hubs = np.arange(len(force))
        if "levels" in load:
            levels = [int(k) + top + 1 if k < 0 else int(k) for k in load["levels"]]
            there = set(part.lattice[:, 2].tolist()) if part.has_grid else set()
            for level, asked in zip(levels, load["levels"], strict=True):
                if level not in there:
                    raise LookupError(f"{section} has no hub on level {int(asked)}.")
            hubs = np.flatnonzero(np.isin(part.lattice[:, 2], levels))
        force[hubs, 2] -= mass * gravity_m_s2 / len(hubs)
    return force


def travel(
    model: SectionModel,
    handling: Handling,
    factors: LoadFactors,
    given: Given,
    balls_n: Floats | None,
) -> Travelled:
    """Every case that `given` asks for, solved.

    Args:
        given: validated TravelSchema. balls_n: (n, 3) as from `ball_force_n`.

    Raises NotSolvable, NotHeld.
    """
    told = Travelled(asked=given)
    if balls_n is not None:
        told = _with(told, *_loaded(model, handling, factors, balls_n))
    for name in given.get("resting", ()):
        try:
            case = factored(resting_case(model.part, handling, name), factors)
            told = _with(told, solve_cases(model, [case]))
        except NoHub as missing:
            told = _with(told, (), (name, str(missing)))
    if "drop" in given:
        told = _dropped(told, model, handling, factors, given["drop"])
    if "threshold" in given:
        told = _rolled(told, model, handling, factors, given["threshold"])
    if "leaning" in given:
        told = _leaned(told, model, handling, factors, given["leaning"], balls_n)
    return told


def _with(
    told: Travelled, states: Sequence[CaseState], *left_out: tuple[str, str], **more: Any
) -> Travelled:
    return replace(
        told, states=(*told.states, *states), left_out=(*told.left_out, *left_out), **more
    )


def _loaded(
    model: SectionModel, handling: Handling, factors: LoadFactors, balls_n: Floats
) -> tuple[Any, ...]:
    made = handling_cases(model.part, replace(handling, cases=("stand",)))
    if not made.cases:
        return (), ("stand-with-balls", made.left_out[0][1])
    case = replace(
        made.cases[0], id="stand-with-balls", title="stand with its balls", force_n=balls_n
    )
    return (solve_cases(model, [factored(case, factors)]),)


def _dropped(
    told: Travelled, model: SectionModel, handling: Handling, factors: LoadFactors, given: Given
) -> Travelled:
    height = given["height_mm"]
    try:
        falls = drop_range(
            model, height, given["foot_stiffness_max_n_per_mm"],
            given["foot_stiffness_min_n_per_mm"],
        )  # fmt: skip
    except NotDropped as missing:
        return _with(told, (), ("drop", str(missing)))
    cases = [
        factored(_fall(model.part, handling, name, one, height), factors)
        for name, one in (("drop-worst", falls.worst), ("drop-best", falls.best))
    ]
    return _with(told, solve_cases(model, cases), falls=falls)


def collapse_of_falls(states: Sequence[CaseState]) -> list[CaseState]:
    """The states with the collapse of drops worked out from that of standing, where it is known: a
    fall loads the same feet by the same weights, `load_factor` times."""
    stand = next((s for s in states if s.case.id == "stand"), None)
    if stand is None:
        return list(states)
    found = []
    for state in states:
        if state.case.topic == DROP:
            ratio = stand.case.load_factor / state.case.load_factor
            known = stand.collapse
            if known is not None:
                known = replace(
                    known, factor=known.factor * ratio, upper_bound=known.upper_bound * ratio
                )
            state = replace(state, collapse=known, collapse_left_out=stand.collapse_left_out)
        found.append(state)
    return found


def _fall(part: Frame, handling: Handling, name: str, one: Drop, height_mm: float) -> Case:
    spring = one.foot_stiffness_n_per_mm
    stands = handling_cases(part, replace(handling, cases=("stand",), grip_spring_n_per_mm=spring))
    frame = "frame gives" if one.frame_gives else "frame rigid"
    title = f"dropped {height_mm:g} mm, feet of {spring:g} N/mm, {frame}"
    return replace(
        stands.cases[0], id=name, title=title, kind=ACCIDENTAL, load_factor=one.dynamic_factor,
        topic=DROP,
    )  # fmt: skip


def _rolled(
    told: Travelled, model: SectionModel, handling: Handling, factors: LoadFactors, given: Given
) -> Travelled:
    radius, step = given["wheel_radius_mm"], given["step_mm"]
    try:
        ratio = push_ratio(radius, step)
    except NotRolled as reason:
        ways = tuple(Rolled(way, reason=str(reason)) for way in given.get("toward", WAYS))
        return _with(told, (), ("over-threshold", str(reason)), rolled=ways)
    ways = tuple(
        _one_way(model, handling, factors, given, toward) for toward in given.get("toward", WAYS)
    )
    solved = [way.state for way in ways if way.state is not None]
    left_out = [(f"over-threshold toward {way.toward}", way.reason) for way in ways if way.reason]
    worst = sorted(solved, key=lambda state: state.factor)[:1]
    return _with(told, worst, *left_out, push_ratio=ratio, rolled=ways)


def _one_way(
    model: SectionModel, handling: Handling, factors: LoadFactors, given: Given, toward: str
) -> Rolled:
    """The highest level of the hands from which on down it holds, or else the level that strains
    it least."""
    part = model.part
    bays = part.sections[0].bays
    top = grip_level(bays[2]) if bays is not None else 0
    levels = [given["push_level"]] if "push_level" in given else list(range(top, -1, -1))
    cases, where, reason = [], [], ""
    for level in levels:
        try:
            case = kerb_case(
                model, handling, wheel_radius_mm=given["wheel_radius_mm"],
                step_mm=given["step_mm"], toward=toward, push_level=level,
            )  # fmt: skip
        except NotRolled as fault:
            reason = reason or str(fault)
            continue
        cases.append(factored(replace(case, id="over-threshold"), factors))
        where.append(level)
    if not cases:
        return Rolled(toward, reason=reason)
    states = solve_cases(model, cases)
    wanted = handling.required(cases[0].kind)
    short = [k for k, state in enumerate(states) if state.factor < wanted]
    last = max(short, default=-1) + 1  # from there down it holds at every level
    best = last if last < len(states) else max(range(len(states)), key=lambda k: states[k].factor)
    pushed = cases[best].force_n
    assert pushed is not None
    hands = np.flatnonzero(pushed.any(axis=1))
    height = float(part.nodes_mm[hands, 2].mean() - part.nodes_mm[feet(part) or hands, 2].mean())
    return Rolled(toward, where[best], height, float(np.abs(pushed).sum()), states[best])


def _leaned(
    told: Travelled,
    model: SectionModel,
    handling: Handling,
    factors: LoadFactors,
    given: Given,
    balls_n: Floats | None,
) -> Travelled:
    part, height = model.part, given["height_mm"]
    line = line_load_n_per_mm(given)
    loads: list[tuple[str, str, Callable[[Frame, str, float, float], Leaning], float]] = []
    if line is not None:
        loads.append(("leaned-on-by-a-row", f"leaned on by a row, {line:g} kN/m", line_load, line))
    if "person_n" in given:
        force = given["person_n"]
        loads.append(("leaned-on-by-one", f"leaned on by one, {force:g} N", person, force))
    states, leaned, left_out = [], [], []
    for name, title, spread, size in loads:
        try:
            found = [(face, spread(part, face, size, height)) for face in given.get("faces", FACES)]
            cases = [
                leaning_case(part, handling, one, name, f"{title} on face {face}")
                for face, one in found
            ]
        except NotLeanedOn as reason:
            left_out.append((name, str(reason)))
            continue
        if balls_n is not None:
            cases = [replace(c, force_n=_sum(c.force_n, balls_n)) for c in cases]
        empty = replace(cases[0], force_n=balls_n)
        *each, alone = solve_cases(model, [factored(c, factors) for c in (*cases, empty)])
        worst = min(range(len(each)), key=lambda k: each[k].factor)
        face, one = found[worst]
        states.append(each[worst])
        leaned.append(
            Leaned(
                face,
                one,
                each[worst],
                _tips_at_n(model, face, one.height_mm),
                one.total_n * _slips_at(model, alone, each[worst]),
            )  # fmt: skip
        )
    return _with(told, states, *left_out, leaned=tuple(leaned))


def line_load_n_per_mm(given: Given) -> float | None:
    """The line load asked for, by class or in numbers."""
    if "category" in given:
        return next(o.line_load_n_per_mm for o in BARRIER_LOADS if o.id == given["category"])
    line: float | None = given.get("line_load_n_per_mm")
    return line


def _sum(force: Floats | None, other: Floats) -> Floats:
    return other if force is None else force + other


def _tips_at_n(model: SectionModel, face: str, height_mm: float) -> float:
    """Moments about the feet on the far side: F h = W a; without balls."""
    axis, sign = FACES[face]
    along = -sign * model.part.nodes_mm[:, axis]
    under = feet(model.part) or []
    arm = float(along[under].max()) - float(model.weight_n @ along / model.weight_n.sum())
    return float(model.weight_n.sum()) * arm / height_mm if height_mm > 0 else np.inf


def _slips_at(model: SectionModel, alone: CaseState, leaned: CaseState) -> float:
    """The share of the leaning load at which the first seat slips beside the weight; 0 where the
    weight alone does it."""
    start, grows = alone.member_force_n, leaned.member_force_n - alone.member_force_n
    limit = np.where(grows > 0, model.tension_n - start, -model.compression_n - start)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(grows == 0, np.inf, limit / grows)
    return max(0.0, float(share.min(initial=np.inf))) if alone.factor > 1 else 0.0
