"""What the drawings show, chosen when the result is made: drawing computes nothing."""

from collections.abc import Mapping, Sequence
from typing import Any, NoReturn

import numpy as np

from baywright_service.contract import Fault, InvalidInputs

from ..kit import Kit
from .first_slip import utilisation
from .frame_check import SectionAnswer, bar_value, orientation_value, settled
from .handling import Handling
from .section import CaseState
from .structure_check import StructureAnswer

Json = dict[str, Any]


def frame_picture(
    answers: Sequence[SectionAnswer], inputs: Mapping[str, Any], kit: Kit, handling: Handling
) -> Json:
    """The section and case asked for; else an unstable section, else the worst case of all.

    Raises InvalidInputs for a section, case or mechanism that is not there.
    """
    asked = inputs.get("picture", {})
    answer = _chosen(answers, asked, handling)
    value: Json = {"section": answer.prepared.id}
    if answer.culprits:
        number = asked.get("mechanism", 0)
        if number >= len(answer.culprits):
            _refuse("mechanism", f"There are {len(answer.culprits)}, numbered from 0.")
        value["mechanism"] = number
        value["movement"] = answer.culprits[number].movement
    if not answer.states:
        return value
    state = _case(answer, asked, handling)
    model = answer.prepared.model
    used = utilisation(state.member_force_n, model.tension_n, model.compression_n)
    value["case"] = state.case.id
    value["utilisation_ratio"] = used
    value["force_n"] = state.member_force_n
    value["displacement_mm"] = settled(state)
    value["down"] = list(state.case.down)
    value["held_nodes"] = np.unique(state.case.bears // 3)
    value["labels"] = [
        {
            **bar_value(answer, kit, member, float(state.member_force_n[member])),
            "utilisation_ratio": float(used[member]),
        }
        for member in np.argsort(-used, kind="stable")[:10].tolist()
    ]
    if answer.turned is not None:
        worst = answer.turned.worst_member_force_n
        value["orientation_ratio"] = worst / np.minimum(model.tension_n, model.compression_n)
        value["orientation_direction"] = orientation_value(answer, kit)["direction"]
    return value


def _chosen(
    answers: Sequence[SectionAnswer], asked: Mapping[str, Any], handling: Handling
) -> SectionAnswer:
    if "section" in asked:
        for answer in answers:
            if answer.prepared.id == asked["section"]:
                return answer
        _refuse("section", "This section is not among those checked.")
    return min(answers, key=lambda a: (-a.held.mechanisms, _reserve(a, handling)))


def _reserve(answer: SectionAnswer, handling: Handling) -> float:
    return min((s.factor / handling.required(s.case.kind) for s in answer.in_hand), default=np.inf)


def _case(answer: SectionAnswer, asked: Mapping[str, Any], handling: Handling) -> CaseState:
    if "case" in asked:
        for state in answer.states:
            if state.case.id == asked["case"]:
                return state
        _refuse("case", "This case is not among those computed for this section.")
    return min(
        answer.in_hand or answer.states, key=lambda s: s.factor / handling.required(s.case.kind)
    )


def structure_picture(answer: StructureAnswer, inputs: Mapping[str, Any]) -> Json:
    """The load case asked for, else the one that uses its members most."""
    asked = inputs.get("picture", {})
    held, structure = answer.stability, answer.structure
    if held.mechanisms:
        number = asked.get("mechanism", 0)
        if number >= held.mechanisms:
            _refuse("mechanism", f"There are {held.mechanisms}, numbered from 0.")
        movement = held.modes[number]
        return {"mechanism": number, "movement": movement / np.abs(movement).max()}
    if answer.linear is None or not structure.case_ids:
        return {}
    forces = answer.linear.member_force_n
    capable = structure.tension_n is not None and structure.compression_n is not None
    if structure.tension_n is not None and structure.compression_n is not None:
        used = utilisation(forces, structure.tension_n, structure.compression_n)
    else:
        used = np.abs(forces) / max(float(np.abs(forces).max()), np.finfo(float).tiny)
    row = int(used.max(axis=1).argmax())
    if "case" in asked:
        if asked["case"] not in structure.case_ids:
            _refuse("case", "There is no such load case.")
        row = structure.case_ids.index(asked["case"])
    value: Json = {
        "case": structure.case_ids[row],
        "utilisation_ratio": used[row],
        "force_n": forces[row],
        "displacement_mm": answer.linear.displacement_mm[row],
    }
    if capable:
        truss = structure.truss
        value["labels"] = [
            {
                "member": member,
                "nodes": [int(truss.start[member]), int(truss.end[member])],
                "force_n": float(forces[row, member]),
                "utilisation_ratio": float(used[row, member]),
            }
            for member in np.argsort(-used[row], kind="stable")[:10].tolist()
        ]
    orientation = answer.value.get("any_orientation")
    if orientation is not None:
        worst = orientation["worst_member_force_n"]
        if structure.tension_n is not None and structure.compression_n is not None:
            value["orientation_ratio"] = worst / np.minimum(
                structure.tension_n, structure.compression_n
            )
        else:
            value["orientation_ratio"] = worst / max(float(worst.max()), np.finfo(float).tiny)
        member = int(np.asarray(value["orientation_ratio"]).argmax())
        value["orientation_direction"] = orientation["direction"][member]
    return value


def _refuse(field: str, detail: str) -> NoReturn:
    raise InvalidInputs([(f"/picture/{field}", Fault("unknown-reference", detail))])
