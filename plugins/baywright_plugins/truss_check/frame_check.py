"""A frame, section by section: from inputs to models, and what each section answers."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from baywright_service.contract import CannotCalculate, Fault, InvalidInputs, escape

from ..frame import ROLES, Frame, frame_of
from ..kit import Kit
from .answer_joints import checked_model
from .answer_travel import travel_value
from .collapse_mode import yield_forces_n, yielding
from .equilibrium import Bools, Floats
from .first_slip import orientation_factor, utilisation
from .frequencies import NoStanding, standing
from .handling import (
    DROP,
    LEANING,
    PLANNED,
    Case,
    Cases,
    Handling,
    handling_cases,
    held_all_ways,
)
from .leave_out import DIAGONALS, without_members
from .limit import Collapse, LimitNotProven
from .load_factors import DEFAULT, LoadFactors, factored, own_factors
from .mend import Culprit, NoFace, culprits, with_diagonals
from .orientation import WorstOrientation
from .places import grid_pair, key
from .section import (
    CaseState,
    NotHeld,
    SectionModel,
    give_mode,
    identity,
    solve_cases,
    turned_any_way,
    with_collapse,
)
from .solve import NotSolvable
from .stability import RankUndecided, Stability, internal_stability, stability
from .travel import Travelled, ball_force_n, collapse_of_falls, travel

Json = dict[str, Any]

#: Collapse of sections with more members is left out: it would take too long.
MOST_MEMBERS = 5000


@dataclass(frozen=True)
class Prepared:
    """One section before anything is computed: its number in the frame, its members' numbers
    there (-1 for added diagonals), its nodes' numbers there, the diagonals added and left out as
    node pairs, and the cases it is held to."""

    number: int
    id: str
    title: str
    model: SectionModel
    members: np.ndarray[tuple[int], np.dtype[np.int64]]
    nodes: np.ndarray[tuple[int], np.dtype[np.int64]]
    added: tuple[tuple[int, int], ...]
    cases: Cases
    own_cases: tuple[Case, ...]
    balls_n: Floats | None = None
    gone: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class SectionAnswer:
    """One section after: `states` is empty where it is not stable by itself."""

    prepared: Prepared
    held: Stability
    culprits: tuple[Culprit, ...] = ()
    states: tuple[CaseState, ...] = ()
    not_held: tuple[str, ...] = ()
    turned: WorstOrientation | None = None
    critical_factors: Floats | None = None
    frequencies_hz: Floats | None = None
    travelled: Travelled = field(default=Travelled())
    same_as: str | None = None
    twins: tuple[str, ...] = field(default=())

    @property
    def planned_factor(self) -> float:
        """Lowest first-slip factor over the planned cases; infinite where there are none."""
        planned = [s.factor for s in self.states if s.case.kind == PLANNED]
        return min(planned, default=np.inf)

    @property
    def in_hand(self) -> tuple[CaseState, ...]:
        """The cases but drops and leaning, which ask what if."""
        return tuple(s for s in self.states if s.case.topic not in (DROP, LEANING))

    @property
    def worst(self) -> CaseState | None:
        """The case with the lowest factor."""
        return min(self.in_hand, key=lambda s: s.factor, default=None)


def handling_of(inputs: Mapping[str, Any]) -> Handling:
    """The handling that validated inputs state."""
    factors, given = factors_of(inputs), dict(inputs.get("handling", {}))
    if "cases" in given:
        given["cases"] = tuple(given["cases"])
    given.setdefault("required_planned_ratio", factors.required_planned)
    given.setdefault("required_accidental_ratio", factors.required_accidental)
    return Handling(**given)


def factors_of(inputs: Mapping[str, Any]) -> LoadFactors:
    """The partial factors that validated inputs state."""
    return own_factors(inputs.get("partial_factors", {"set": DEFAULT}))


def prepare(inputs: Mapping[str, Any], kit: Kit) -> list[Prepared]:
    """The sections that are asked for. Raises InvalidInputs for names that are not there."""
    frame = frame_of(inputs["frame"], kit)
    handling = handling_of(inputs)
    ids = [section.id for section in frame.sections]
    _check_names(inputs, ids)
    wanted = inputs.get("sections", ids)
    prepared = []
    for number, name in enumerate(ids):
        if name not in wanted:
            continue
        nodes = np.flatnonzero(frame.node_section == number)
        whole = frame.part(number)
        gone = _left_out(inputs, name, whole)
        part = without_members(whole, gone) if gone else whole
        added = _added(inputs, name, part)
        try:
            full = with_diagonals(part, added, kit)
        except NoFace as fault:
            pointer = escape("added_diagonals", name, fault.place)
            raise InvalidInputs([(pointer, Fault("unknown-reference", fault.reason))]) from fault
        model = checked_model(full, kit, inputs)
        factors = factors_of(inputs)
        own = [
            factored(_own_case(case, full, nodes, row), factors)
            for row, case in enumerate(inputs["load_cases"])
            if case["section"] == name
        ]
        cases = Cases(())
        if part.has_grid:
            cases = handling_cases(full, handling, _grips(inputs, name, full))
            cases = replace(cases, cases=tuple(factored(one, factors) for one in cases.cases))
        mine = np.delete(np.flatnonzero(frame.section == number), gone)
        members = np.concatenate([mine, np.full(len(added), -1, dtype=np.int64)])
        prepared.append(
            Prepared(
                number,
                name,
                frame.sections[number].title,
                model,
                members,
                nodes,
                tuple(added),
                cases,
                tuple(own),
                _balls(inputs, name, full),
                tuple((int(whole.start[k]), int(whole.end[k])) for k in gone),
            )  # fmt: skip
        )
    return prepared


def _check_names(inputs: Mapping[str, Any], ids: Sequence[str]) -> None:
    faults = [
        (f"/sections/{place}", name)
        for place, name in enumerate(inputs.get("sections", ()))
        if name not in ids
    ]
    faults += [
        (escape(field, name), name)
        for field in ("added_diagonals", "left_out_diagonals")
        for name in inputs[field]
        if name not in ids
    ]
    travel = inputs.get("travel", {})
    faults += [
        (escape("travel", "grips", name), name)
        for name in travel.get("grips", {})
        if name not in ids
    ]
    faults += [
        (f"/travel/ball_loads/{row}/sections/{place}", name)
        for row, load in enumerate(travel.get("ball_loads", ()))
        for place, name in enumerate(load.get("sections", ()))
        if name not in ids
    ]
    faults += [
        (f"/load_cases/{row}/section", case["section"])
        for row, case in enumerate(inputs["load_cases"])
        if case["section"] not in ids
    ]
    if faults:
        known = ", ".join(ids)
        raise InvalidInputs(
            [
                (
                    at,
                    Fault("unknown-reference", f"There is no section “{name}”; there are {known}."),
                )
                for at, name in faults
            ]
        )


def _added(inputs: Mapping[str, Any], name: str, part: Frame) -> list[tuple[int, int]]:
    return _pairs(inputs, "added_diagonals", name, part)


def _left_out(inputs: Mapping[str, Any], name: str, part: Frame) -> list[int]:
    """Members that a request leaves out, each a diagonal that is there."""
    pairs = _pairs(inputs, "left_out_diagonals", name, part)
    if not pairs:
        return []
    ends = zip(part.start.tolist(), part.end.tolist(), strict=True)
    there = {key(a, b): member for member, (a, b) in enumerate(ends)}
    gone: list[int] = []
    for place, pair in enumerate(pairs):
        member = there.get(key(*pair))
        if member is None or part.role[member] not in DIAGONALS or member in gone:
            twice = member is not None and member in gone
            detail = "It is left out already." if twice else "There is no diagonal between these."
            pointer = escape("left_out_diagonals", name, place)
            raise InvalidInputs([(pointer, Fault("unknown-reference", detail))])
        gone.append(member)
    return gone


def _pairs(inputs: Mapping[str, Any], field: str, name: str, part: Frame) -> list[tuple[int, int]]:
    pairs = []
    for place, pair in enumerate(inputs[field].get(name, ())):
        ends = []
        for end, where in enumerate(pair):
            node = part.node_at(0, (int(where[0]), int(where[1]), int(where[2])))
            if node is None:
                pointer = escape(field, name, place, end)
                detail = f"There is no hub at {[int(x) for x in where]}."
                raise InvalidInputs([(pointer, Fault("unknown-reference", detail))])
            ends.append(node)
        pairs.append((ends[0], ends[1]))
    return pairs


def _grips(inputs: Mapping[str, Any], name: str, part: Frame) -> list[list[int]] | None:
    given = inputs.get("travel", {}).get("grips", {}).get(name)
    if given is None:
        return None
    grips = []
    for number, grip in enumerate(given):
        hubs = []
        for place, where in enumerate(grip):
            node = part.node_at(0, (int(where[0]), int(where[1]), int(where[2])))
            if node is None:
                pointer = escape("travel", "grips", name, number, place)
                detail = f"There is no hub at {[int(x) for x in where]}."
                raise InvalidInputs([(pointer, Fault("unknown-reference", detail))])
            hubs.append(node)
        grips.append(hubs)
    return grips


def _balls(inputs: Mapping[str, Any], name: str, part: Frame) -> Floats | None:
    given = inputs.get("travel", {}).get("ball_loads", ())
    if not any(name in load.get("sections", (name,)) for load in given):
        return None
    try:
        return ball_force_n(part, given, name, inputs["gravity_m_s2"])
    except LookupError as missing:
        fault = Fault("unknown-reference", str(missing))
        raise InvalidInputs([("/travel/ball_loads", fault)]) from missing


def _own_case(case: Mapping[str, Any], part: Frame, nodes: Any, row: int) -> Case:
    shape = part.nodes_mm.shape
    fixed: Bools = np.zeros(shape, dtype=bool)
    spring, force = np.zeros(shape), np.zeros(shape)
    for place, support in enumerate(case["supports"]):
        node = _node(support, part, nodes, f"/load_cases/{row}/supports/{place}")
        for axis in support["fixed"]:
            fixed[node, "xyz".index(axis)] = True
        spring[node] += support.get("spring_n_per_mm", 0.0)
    for place, load in enumerate(case["forces"]):
        node = _node(load, part, nodes, f"/load_cases/{row}/forces/{place}")
        force[node] += load["n"]
    down = np.array(case.get("down", (0.0, 0.0, -1.0)), dtype=float)
    size = float(np.linalg.norm(down))
    if size == 0:
        pointer = f"/load_cases/{row}/down"
        raise InvalidInputs([(pointer, Fault("out-of-range", "Gravity needs a direction."))])
    down = down / size
    return Case(
        case["id"], case["title"] or case["id"], case["kind"],
        (float(down[0]), float(down[1]), float(down[2])), case["weight_factor"], spring, fixed,
        np.flatnonzero((spring.ravel() > 0) | fixed.ravel()), force,
    )  # fmt: skip


def _node(row: Mapping[str, Any], part: Frame, nodes: Any, pointer: str) -> int:
    if ("at" in row) == ("node" in row):
        raise InvalidInputs([(pointer, Fault("missing", "Give either at or node."))])
    if "at" in row:
        where = tuple(int(x) for x in row["at"])
        node = part.node_at(0, (where[0], where[1], where[2])) if part.has_grid else None
        if node is None:
            detail = f"There is no hub at {list(where)} in this section."
            raise InvalidInputs([(f"{pointer}/at", Fault("unknown-reference", detail))])
        return node
    found = np.flatnonzero(nodes == row["node"])
    if not len(found):
        detail = "This node is not in this section."
        raise InvalidInputs([(f"{pointer}/node", Fault("unknown-reference", detail))])
    return int(found[0])


def check_sections(
    prepared: Sequence[Prepared], inputs: Mapping[str, Any], kit: Kit, *, with_limits: bool
) -> list[SectionAnswer]:
    """Every section; those that are built and loaded alike are computed once."""
    known: dict[Any, SectionAnswer] = {}
    answers: list[SectionAnswer] = []
    for one in prepared:
        cases = (*one.cases.cases, *one.own_cases)
        balls = b"" if one.balls_n is None else one.balls_n.tobytes()
        same = (*identity(one.model), *(_case_key(case) for case in cases), balls)
        first = known.get(same)
        if first is None:
            answer = _check_section(one, inputs, kit, with_limits)
            known[same] = answer
        else:
            answer = replace(first, prepared=one, same_as=first.prepared.id)
        answers.append(answer)
    twins = {
        a.prepared.id: tuple(b.prepared.id for b in answers if b.same_as == a.prepared.id)
        for a in answers
    }
    return [replace(a, twins=twins[a.prepared.id]) for a in answers]


def _case_key(case: Case) -> bytes:
    force = b"" if case.force_n is None else case.force_n.tobytes()
    text = repr((case.id, case.kind, case.down, case.load_factor)).encode()
    return text + case.spring_n_per_mm.tobytes() + case.fixed.tobytes() + force


def _check_section(
    one: Prepared, inputs: Mapping[str, Any], kit: Kit, with_limits: bool
) -> SectionAnswer:
    model, part = one.model, one.model.part
    pointer = escape("frame", "layout", "sections", one.number) if part.has_grid else "/frame"
    try:
        held = internal_stability(part.nodes_mm, part.start, part.end)
    except RankUndecided as reason:
        detail = f"Whether {one.id} is stable cannot be told: {reason}."
        raise CannotCalculate(pointer, detail) from reason
    if held.mechanisms:
        found = culprits(part, held.modes, kit) if part.has_grid else []
        return SectionAnswer(one, held, tuple(found))
    handling = handling_of(inputs)
    travelled = Travelled()
    try:
        states, not_held = _solved(one)
        if "travel" in inputs and part.has_grid:
            given = inputs["travel"]
            travelled = travel(model, handling, factors_of(inputs), given, one.balls_n)
            states += travelled.states
        if with_limits and len(part.start) <= MOST_MEMBERS:
            stands = any(s.case.id == "stand" for s in states)
            states = [
                s if stands and s.case.topic == DROP else with_collapse(model, s) for s in states
            ]
            states = collapse_of_falls(states)
    except (NotSolvable, NotHeld, LimitNotProven) as reason:
        raise CannotCalculate(pointer, f"{one.id} cannot be computed: {reason}.") from reason
    analyses = inputs.get("analyses", ("linear", "any-orientation", "limit-load"))
    turned = None
    if "any-orientation" in analyses and part.has_grid:
        grips = held_all_ways(part, handling)
        if grips is not None:
            turned = turned_any_way(model, grips, handling.dynamic_factor)
    critical, frequencies = _standing_modes(model, analyses, inputs["mode_count"])
    return SectionAnswer(
        one, held, (), tuple(states), tuple(not_held), turned, critical, frequencies, travelled
    )


def _solved(one: Prepared) -> tuple[list[CaseState], list[str]]:
    cases, not_held = [*one.cases.cases], list[str]()
    for case in one.own_cases:
        if stability(one.model.truss(case.spring_n_per_mm, case.fixed)).mechanisms:
            not_held.append(case.id)
        else:
            cases.append(case)
    while True:
        try:
            return solve_cases(one.model, cases), not_held
        except NotHeld as fault:
            not_held.append(fault.case)
            cases = [case for case in cases if case.id != fault.case]


def _standing_modes(
    model: SectionModel, analyses: Sequence[str], count: int
) -> tuple[Floats | None, Floats | None]:
    """Elastic buckling factors under self weight and natural frequencies, feet held."""
    if not {"frame-buckling", "vibration"} & set(analyses):
        return None, None
    try:
        stands = standing(model)
    except NoStanding:
        return None, None
    critical = frequencies = None
    if "frame-buckling" in analyses:
        critical = stands.buckling(count=count).value
    if "vibration" in analyses:
        frequencies = stands.frequencies(count=count).value
    return critical, frequencies


def bar_value(answer: SectionAnswer, kit: Kit, member: int, force_n: float) -> Json:
    """One member of a section as it stands in results."""
    one, part = answer.prepared, answer.prepared.model.part
    pair = (int(part.start[member]), int(part.end[member]))
    value: Json = {
        "role": ROLES[int(part.role[member])],
        "rod": kit.rods[int(part.rod[member])].id,
        "nodes": [int(one.nodes[node]) for node in pair],
        "force_n": force_n,
        "mode": give_mode(one.model, member, force_n),
    }
    if part.has_grid:
        value["between"] = grid_pair(part, pair)
    if one.members[member] >= 0:
        value["member"] = int(one.members[member])
    return value


def section_value(answer: SectionAnswer, kit: Kit, handling: Handling, *, full: bool) -> Json:
    """One section as it stands in the result."""
    one, model = answer.prepared, answer.prepared.model
    value: Json = {"section": one.id, "title": one.title}
    if answer.same_as is not None:
        value["same_as"] = answer.same_as
    value["mass_kg"] = float(model.mass_kg.sum())
    value["stability"] = _stability_value(answer, kit, full)
    value["cases"] = [case_value(answer, kit, handling, s, full=full) for s in answer.states]
    told = answer.travelled
    reasons = [f"{name}: {reason}" for name, reason in (*one.cases.left_out, *told.left_out)]
    reasons += [f"{name}: the supports do not hold the section" for name in answer.not_held]
    if answer.held.members > MOST_MEMBERS:
        reasons.append(f"collapse: it has more than {MOST_MEMBERS} members")
    if reasons:
        value["left_out"] = reasons
    beside = travel_value(told)
    if beside:
        value["travel"] = beside
    if answer.in_hand:
        value |= _envelope_values(answer, kit, full)
    if answer.turned is not None:
        value["any_orientation"] = orientation_value(answer, kit)
    if answer.critical_factors is not None:
        value["critical_factors"] = answer.critical_factors
    if answer.frequencies_hz is not None:
        value["frequencies_hz"] = answer.frequencies_hz
    if one.added:
        value["added_diagonals"] = [grid_pair(model.part, pair) for pair in one.added]
    if one.gone:
        value["left_out_diagonals"] = [grid_pair(model.part, pair) for pair in one.gone]
    return value


def _stability_value(answer: SectionAnswer, kit: Kit, full: bool) -> Json:
    held, part = answer.held, answer.prepared.model.part
    value: Json = {
        "mechanisms": held.mechanisms,
        "self_stress_states": held.self_stress_states,
        "degrees_of_freedom": held.degrees_of_freedom,
        "members": held.members,
    }
    if held.mechanisms:
        value["moving_nodes"] = answer.prepared.nodes[held.node_mobility > 1e-9]
        value["places"] = [
            _place_value(number, culprit, part, answer, kit, full)
            for number, culprit in enumerate(answer.culprits)
        ]
    return value


def _place_value(
    number: int, culprit: Culprit, part: Frame, answer: SectionAnswer, kit: Kit, full: bool
) -> Json:
    apart = part.nodes_mm[culprit.pair[0]] - part.nodes_mm[culprit.pair[1]]
    rod = kit.rod_spanning(float(np.linalg.norm(apart)))
    moving = np.abs(culprit.movement).max(axis=1) > 0.1
    value: Json = {
        "number": number,
        "words": culprit.words,
        "missing_diagonal": grid_pair(part, culprit.pair),
        "nodes": [int(answer.prepared.nodes[node]) for node in culprit.pair],
        "moving_nodes": answer.prepared.nodes[moving],
    }
    if culprit.face is not None:
        value["normal"] = "xyz"[culprit.face.normal]
        value["kind"] = culprit.face.kind
    if rod is not None:
        value["rod"] = kit.rods[rod].id
    if full:
        value["movement"] = culprit.movement
    return value


def case_value(
    answer: SectionAnswer, kit: Kit, handling: Handling, state: CaseState, *, full: bool
) -> Json:
    """One case of one section as it stands in the result."""
    case = state.case
    value: Json = {
        "id": case.id,
        "title": case.title,
        "kind": case.kind,
        "required_factor": handling.required(case.kind),
    }
    if np.isfinite(state.factor):
        force = float(state.member_force_n[state.member])
        value["first_slip_factor"] = float(state.factor)
        value["utilisation_max"] = 1.0 / float(state.factor)
        value["governing"] = {
            **bar_value(answer, kit, state.member, force),
            "case": case.id,
            "utilisation_ratio": 1.0 / float(state.factor),
        }
    if state.collapse is not None:
        value["collapse_factor"] = state.collapse.factor
        value["upper_bound_factor"] = state.collapse.upper_bound
        value |= _collapse_members(answer, kit, state.case, state.collapse)
    elif state.collapse_left_out:
        value["collapse_left_out"] = state.collapse_left_out
    value["displacement_max_mm"] = float(np.sqrt((settled(state) ** 2).sum(axis=1).max()))
    if full:
        value["member_force_n"] = state.member_force_n
        value["displacement_mm"] = state.displacement_mm
        value["reactions"] = _reactions(answer, state)
    return value


def _collapse_members(answer: SectionAnswer, kit: Kit, case: Case, found: Collapse) -> Json:
    model = answer.prepared.model
    truss = model.truss(case.spring_n_per_mm, case.fixed)
    members = yielding(truss, found)
    forces = yield_forces_n(truss, found, model.tension_n, model.compression_n)
    rows = [bar_value(answer, kit, k, float(forces[k])) for k in members[:30].tolist()]
    return {"collapse_members": rows, "collapse_members_count": len(members)}


def settled(state: CaseState) -> Floats:
    """Displacements (n, 3) less the mean movement of the hubs that bear the load."""
    hubs = np.unique(state.case.bears // 3)
    return np.asarray(state.displacement_mm - state.displacement_mm[hubs].mean(axis=0))


def _reactions(answer: SectionAnswer, state: CaseState) -> list[Json]:
    part = answer.prepared.model.part
    rows = []
    for hub in np.unique(state.case.bears // 3).tolist():
        row: Json = {"node": int(answer.prepared.nodes[hub]), "n": state.reaction_n[hub]}
        if part.has_grid:
            row["at"] = [int(x) for x in part.lattice[hub]]
        rows.append(row)
    return rows


def _envelope_values(answer: SectionAnswer, kit: Kit, full: bool) -> Json:
    model = answer.prepared.model
    forces = np.stack([state.member_force_n for state in answer.in_hand])
    used = utilisation(forces, model.tension_n, model.compression_n)
    envelope = used.max(axis=0)
    worst = used.argmax(axis=0)
    ten = np.argsort(-envelope, kind="stable")[:10]
    value: Json = {"utilisation_max": float(envelope.max())}
    if np.isfinite(answer.planned_factor):
        value["first_slip_factor"] = float(answer.planned_factor)
    value["worst_members"] = [
        {
            **bar_value(answer, kit, member, float(forces[worst[member], member])),
            "case": answer.in_hand[int(worst[member])].case.id,
            "utilisation_ratio": float(envelope[member]),
        }
        for member in ten.tolist()
    ]
    if full:
        value["members"] = answer.prepared.members
        value["utilisation_ratio"] = envelope
    return value


def orientation_value(answer: SectionAnswer, kit: Kit) -> Json:
    """Self weight in the worst direction, the section held at its carrying grips."""
    model, turned = answer.prepared.model, answer.turned
    assert turned is not None
    factor = orientation_factor(turned.worst_member_force_n, model.tension_n, model.compression_n)
    member = int(factor.argmin())
    pressed = bool(model.compression_n[member] < model.tension_n[member])
    sign = -1.0 if pressed else 1.0
    force = sign * float(turned.worst_member_force_n[member])
    return {
        "first_slip_factor": float(factor[member]),
        "direction": sign * turned.direction[member],
        "governing": {
            **bar_value(answer, kit, member, force),
            "utilisation_ratio": 1.0 / float(factor[member]),
        },
    }
