"""A checked frame in space: how much its members are used, how it moves, folds and lies."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from baywright_service.contract import (
    Scene,
    SceneAttitude,
    SceneGroup,
    SceneMotion,
    ScenePiece,
    SceneState,
)

from ..frame import Frame, frame_of, frame_scene
from ..kit import Kit
from .first_slip import utilisation
from .frame_check import (
    Prepared,
    SectionAnswer,
    check_sections,
    orientation_value,
    prepare,
    settled,
)
from .structure_check import StructureAnswer

#: Numbers of all cases together: a page must read them in a moment.
MOST_NUMBERS = 600_000
MOST_MOTIONS = 24


def frame_scene_of(inputs: Mapping[str, Any], kit: Kit, first: str) -> Scene:
    """Every section in every case, as the check computes it; collapse is not looked for again.
    `first` is the case to show first."""
    prepared = prepare(inputs, kit)
    answers = check_sections(prepared, inputs, kit, with_limits=False)
    frame = as_checked(frame_of(inputs["frame"], kit), prepared)
    groups = {
        answer.prepared.id: tuple(
            other.prepared.number
            for other in answers
            if other is answer or other.same_as == answer.prepared.id
        )
        for answer in answers
        if answer.same_as is None
    }
    own = [answer for answer in answers if answer.same_as is None]
    states, left_out = _states(own, groups)
    layout = inputs["frame"].get("layout", {})
    return replace(
        frame_scene(frame, kit, title=layout.get("title") or "Frame"),
        states=states,
        motions=_motions(own, groups),
        attitudes=[_attitude(one, groups, kit) for one in own if one.turned is not None],
        left_out=left_out,
        state_first=first,
    )


def as_checked(frame: Frame, prepared: Sequence[Prepared]) -> Frame:
    """The frame with diagonals added and left out as its sections were checked."""
    by_number = {one.number: one for one in prepared}
    columns: list[np.ndarray[Any, np.dtype[np.int64]]] = []
    for number in range(len(frame.sections)):
        one = by_number.get(number)
        nodes = np.flatnonzero(frame.node_section == number)
        part = frame.part(number) if one is None else one.model.part
        place = np.full(len(part.start), number)
        columns.append(
            np.column_stack([nodes[part.start], nodes[part.end], part.rod, place, part.role])
        )
    joints = np.flatnonzero(frame.section < 0)
    between = (frame.start, frame.end, frame.rod, frame.section, frame.role)
    columns.append(np.column_stack([column[joints] for column in between]))
    start, end, rod, section, role = np.concatenate(columns).T
    return replace(frame, start=start, end=end, rod=rod, section=section, role=role)


def _states(
    answers: Sequence[SectionAnswer], groups: Mapping[str, tuple[int, ...]]
) -> tuple[list[SceneState], list[str]]:
    """All cases, the worst first where there are too many numbers, in their own order then."""
    rows = [(answer, state) for answer in answers for state in answer.states]
    by_need = sorted(range(len(rows)), key=lambda k: rows[k][1].factor)
    kept, numbers = set[int](), 0
    for k in by_need:
        answer, state = rows[k]
        numbers += 2 * len(state.member_force_n) + state.displacement_mm.size
        if kept and numbers > MOST_NUMBERS:
            break
        kept.add(k)
    states = [_state(*rows[k], groups) for k in sorted(kept)]
    gone = len(rows) - len(kept)
    return states, [f"{gone} less severe cases are not shown."] if gone else []


def _state(answer: SectionAnswer, state: Any, groups: Mapping[str, tuple[int, ...]]) -> SceneState:
    model = answer.prepared.model
    return SceneState(
        state.case.id,
        state.case.title,
        groups[answer.prepared.id],
        utilisation(state.member_force_n, model.tension_n, model.compression_n),
        state.member_force_n,
        settled(state),
        state.case.down,
    )


def _motions(
    answers: Sequence[SectionAnswer], groups: Mapping[str, tuple[int, ...]]
) -> list[SceneMotion]:
    return [
        SceneMotion(f"{answer.prepared.id}: {culprit.words}", groups[answer.prepared.id], moved)
        for answer in answers
        for culprit in answer.culprits
        for moved in [culprit.movement]
    ][:MOST_MOTIONS]


def _attitude(
    answer: SectionAnswer, groups: Mapping[str, tuple[int, ...]], kit: Kit
) -> SceneAttitude:
    """The section with gravity in the direction that is worst for the first seat to slip."""
    assert answer.turned is not None
    model, found = answer.prepared.model, orientation_value(answer, kit)
    down = np.asarray(found["direction"], dtype=float)
    forces = down @ answer.turned.by_axis_n
    used = utilisation(forces, model.tension_n, model.compression_n)
    rod = found["governing"]["rod"]
    share = 100 * found["governing"]["utilisation_ratio"]
    words = (
        f"{attitude_words(down)} Held there at its carrying grips, a rod {rod} uses {share:.0f} % "
        "of what it takes."
    )
    names = ", ".join((answer.prepared.id, *answer.twins))
    x, y, z = down.tolist()
    return SceneAttitude(names, words, groups[answer.prepared.id], (x, y, z), used, forces)


def attitude_words(down: np.ndarray[Any, np.dtype[np.float64]]) -> str:
    """How something lies whose own direction `down` (unit vector) points to the ground.

    >>> attitude_words(np.array([0.0, 0.0, -1.0]))
    'It stands upright.'
    >>> attitude_words(np.array([0.0, 0.6, -0.8]))
    'It is turned 37° from standing, its +y side down.'
    """
    angle = float(np.degrees(np.arccos(np.clip(-down[2], -1.0, 1.0))))
    if angle < 0.5:
        return "It stands upright."
    if angle > 179.5:
        return "It stands on its head."
    level = down[:2]
    axis = int(np.abs(level).argmax())
    side = f"{'+' if level[axis] > 0 else '-'}{'xy'[axis]}"
    other = abs(float(level[1 - axis]) / float(np.linalg.norm(level)))
    if other > 0.26:
        more = f"{'+' if level[1 - axis] > 0 else '-'}{'xy'[1 - axis]}"
        side = f"corner between {side} and {more}"
    else:
        side = f"{side} side"
    return f"It is turned {angle:.0f}° from standing, its {side} down."


def structure_scene_of(answer: StructureAnswer, first: str) -> Scene:
    """A structure given by nodes and members; without capacities shares are of the largest
    force."""
    truss = answer.structure.truss
    count = len(truss.start)
    states: list[SceneState] = []
    share_of = "of what it takes"
    if answer.linear is not None:
        forces, moved = answer.linear.member_force_n, answer.linear.displacement_mm
        tension, compression = answer.structure.tension_n, answer.structure.compression_n
        if tension is not None and compression is not None:
            used = utilisation(forces, tension, compression)
        else:
            share_of = "of the largest force of all cases"
            used = np.abs(forces) / max(float(np.abs(forces).max(initial=0.0)), 1e-300)
        most = max(1, MOST_NUMBERS // (2 * count + moved[0].size if len(moved) else 1))
        states = [
            SceneState(name, name, (0,), used[row], forces[row], moved[row])
            for row, name in enumerate(answer.structure.case_ids[:most])
        ]
    gone = len(answer.structure.case_ids) - len(states) if answer.linear is not None else 0
    modes = answer.stability.modes[:MOST_MOTIONS]
    size = np.ptp(truss.nodes_mm, axis=0).tolist()
    return Scene(
        title="Structure",
        words=f"{len(truss.nodes_mm)} nodes and {count} members.",
        points_mm=truss.nodes_mm,
        group_of_point=np.zeros(len(truss.nodes_mm), dtype=np.int64),
        start=truss.start,
        end=truss.end,
        group=np.zeros(count, dtype=np.int64),
        kind=np.zeros(count, dtype=np.int64),
        piece=np.zeros(count, dtype=np.int64),
        groups=(SceneGroup("Structure"),),
        kinds=("members",),
        pieces=(ScenePiece("member", max(size) / 250),),
        size_mm=(size[0], size[1], size[2]),
        states=states,
        motions=[
            SceneMotion(f"Mechanism {k + 1}", (0,), mode / max(float(np.abs(mode).max()), 1e-300))
            for k, mode in enumerate(modes)
        ],
        left_out=[f"{gone} load cases are not shown."] if gone > 0 else [],
        share_of=share_of,
        state_first=first,
    )
