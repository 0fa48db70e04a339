"""What the builder should know: part, number, limit, and a sentence with a verb."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from baywright_service.contract import Finding, Measure, Remedy

from ..frame import ROLES
from ..kit import Kit
from .first_slip import orientation_factor
from .frame_check import SectionAnswer
from .handling import LYING, Handling
from .movement import movement_findings
from .places import grid_pair
from .section import CaseState, give_mode
from .structure_check import StructureAnswer

GIVES = {
    "tension": "is pulled out of its seat",
    "bearing": "is pressed into its seat",
    "buckling": "buckles",
}
ROLE_WORDS = {
    "axis": "rod",
    "side-diagonal": "diagonal",
    "cross-diagonal": "cross diagonal",
    "second-diagonal": "second diagonal",
    "joint": "joint rod",
    "other": "rod",
}


def joined(words: Sequence[str]) -> str:
    """Words as a list in a sentence.

    >>> joined(["a", "b", "c"])
    'a, b and c'
    """
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def names(answer: SectionAnswer) -> str:
    """The section and its twins."""
    own = answer.prepared.id
    return f"{joined([own, *answer.twins])} (identical)" if answer.twins else own


def said(answer: SectionAnswer, one: str, several: str) -> str:
    """The verb in the number of the sections meant."""
    return several if answer.twins else one


def bar_words(answer: SectionAnswer, kit: Kit, member: int) -> str:
    """A member as a builder would point at it."""
    part = answer.prepared.model.part
    role = ROLE_WORDS[ROLES[int(part.role[member])]]
    rod = kit.rods[int(part.rod[member])].id
    pair = (int(part.start[member]), int(part.end[member]))
    if part.has_grid:
        ends = grid_pair(part, pair)
        return f"{role} {rod} between {ends[0]} and {ends[1]}"
    return f"{role} {rod} between nodes {pair[0]} and {pair[1]}"


def mechanism_finding(answer: SectionAnswer, pointer: str, remedy: Remedy | None) -> Finding:
    """A section that folds."""
    count = answer.held.mechanisms
    move = f"{said(answer, 'has', 'have')} {count} mechanism{'s' if count > 1 else ''}"
    found = [culprit.words for culprit in answer.culprits]
    shown = joined(found[:4]) + (f" and {len(found) - 4} more" if len(found) > 4 else "")
    tail = f" {shown[0].upper()}{shown[1:]} would hold it: brace there." if found else (
        " No face without a diagonal explains it: look for members left out."
    )  # fmt: skip
    return Finding(
        "mechanism",
        "stop",
        f"{names(answer)} {move}: folding takes no force, so no forces are given.{tail}",
        (f"{pointer}/stability/mechanisms",),
        Measure(count, 0, "1"),
        remedy,
    )


def case_findings(
    answer: SectionAnswer, kit: Kit, handling: Handling, pointer: str, remedy: Remedy | None
) -> list[Finding]:
    """What the cases of one stable section come to."""
    told = [k for k, state in enumerate(answer.states) if not state.case.topic]
    short = [
        k for k in told if answer.states[k].factor < handling.required(answer.states[k].case.kind)
    ]
    lying = [k for k in short if answer.states[k].case.id in LYING]
    other = [k for k in short if k not in lying]
    found = []
    if lying:
        found.append(
            _short(answer, kit, handling, pointer, "slips-when-turned-over", lying, remedy)
        )
    if other:
        code = "first-slip-below-required"
        found.append(_short(answer, kit, handling, pointer, code, other, remedy))
    if len(short) < len(told):
        good = [k for k in told if k not in short]
        found.append(_holds(answer, kit, handling, pointer, good, all_told=not short))
    return found


def _short(
    answer: SectionAnswer,
    kit: Kit,
    handling: Handling,
    pointer: str,
    code: str,
    places: Sequence[int],
    remedy: Remedy | None,
) -> Finding:
    states = [answer.states[place] for place in places]
    worst = min(states, key=lambda s: s.factor / handling.required(s.case.kind))
    listed = joined([f"{s.case.title} ({s.factor:.2f})" for s in states])
    planned = any(s.case.kind == "planned" for s in states)
    slips = min(s.factor for s in states) < 1
    level = "stop" if planned or slips else "watch"
    if slips:
        verb = said(answer, "slips under its own weight", "slip under their own weight")
    else:
        verb = f"{said(answer, 'has', 'have')} too little reserve"
    required = handling.required(worst.case.kind)
    return Finding(
        code,
        level,
        f"{names(answer)} {verb}: {listed}; wanted is {required:g}. "
        f"{first_bar(answer, kit, worst)} Add second diagonals there, or take hold elsewhere.",
        tuple(f"{pointer}/cases/{place}" for place in places),
        Measure(round(float(worst.factor), 4), required, "1"),
        remedy,
    )


def first_bar(answer: SectionAnswer, kit: Kit, state: CaseState) -> str:
    """The bar that gives first in a case, and how."""
    force = float(state.member_force_n[state.member])
    mode = give_mode(answer.prepared.model, state.member, force)
    words = bar_words(answer, kit, state.member)
    return f"First the {words} {GIVES[mode]} ({abs(force):.1f} N in {state.case.title})."


def _holds(
    answer: SectionAnswer,
    kit: Kit,
    handling: Handling,
    pointer: str,
    good: Sequence[int],
    *,
    all_told: bool,
) -> Finding:
    worst = min(
        good,
        key=lambda k: answer.states[k].factor / handling.required(answer.states[k].case.kind),
    )
    state = answer.states[worst]
    required = handling.required(state.case.kind)
    behind = "" if state.collapse is None else f", collapse at {state.collapse.factor:.2f}"
    if not all_told:
        listed = joined([f"{answer.states[k].case.title} ({answer.states[k].factor:.2f})"
                         for k in good])  # fmt: skip
        message = f"{names(answer)} {said(answer, 'holds', 'hold')} in these cases: {listed}."
    else:
        message = (
            f"{names(answer)} {said(answer, 'holds', 'hold')} in every case: the weakest is "
            f"{state.case.title} with a first-slip factor of {state.factor:.2f}{behind}; "
            f"wanted is {required:g}. "
            f"{first_bar(answer, kit, state)}"
        )
    return Finding(
        "weakest-case",
        "ok",
        message,
        (f"{pointer}/cases/{worst}",),
        Measure(round(float(state.factor), 4), required, "1"),
    )


def orientation_finding(
    answer: SectionAnswer, kit: Kit, handling: Handling, pointer: str
) -> list[Finding]:
    """Turning a section while it hangs at its carrying grips alone."""
    if answer.turned is None:
        return []
    model = answer.prepared.model
    factor = orientation_factor(
        answer.turned.worst_member_force_n, model.tension_n, model.compression_n
    )
    member = int(factor.argmin())
    required = handling.required_planned_ratio
    if factor[member] >= required:
        return []
    return [
        Finding(
            "any-orientation-below-required",
            "watch",
            f"Turned any way while held only at the carrying grips, {names(answer)} "
            f"{said(answer, 'slips', 'slip')} at "
            f"{factor[member]:.2f} in the worst direction; wanted is {required:g}. Put hands "
            f"under before leaning; first goes the {bar_words(answer, kit, member)}.",
            (f"{pointer}/any_orientation",),
            Measure(round(float(factor[member]), 4), required, "1"),
        )
    ]


def support_findings(answer: SectionAnswer, pointer: str) -> list[Finding]:
    """Load cases whose supports let the section move, and sections without any case."""
    found = [
        Finding(
            "unstable-without-supports",
            "stop",
            f"The supports of {name} let {answer.prepared.id} move as a whole, so no forces are "
            "given. Hold it at three hubs that are not in one line.",
            (pointer,),
        )
        for name in answer.not_held
    ]
    if not answer.states and not answer.not_held:
        found.append(
            Finding(
                "no-cases",
                "watch",
                f"{answer.prepared.id} stands by itself, but nothing is said of how it is held: "
                "state load_cases with supports.",
                (pointer,),
            )
        )
    return found


def structure_findings(answer: StructureAnswer, remedy: Remedy | None) -> list[Finding]:
    """What a structure's analyses come to."""
    held = answer.stability
    if held.mechanisms:
        return [_unstable(answer, remedy)]
    found: list[Finding] = movement_findings(answer)
    rows: Sequence[Any] = answer.value.get("limit_load", ())
    factors = [(row.get("first_slip_factor", np.inf), place) for place, row in enumerate(rows)]
    if factors and np.isfinite(min(factors)[0]):
        factor, place = min(factors)
        row = rows[place]
        collapse = row.get("collapse_factor")
        behind = "" if collapse is None else f", collapse at {collapse:.3g}"
        found.append(
            Finding(
                "first-slip-below-required" if factor < 1 else "weakest-case",
                "stop" if factor < 1 else "ok",
                f"Member {row['governing_member']} gives first, in {row['load_case']} at "
                f"{factor:.3g} times the load ({row['mode']}){behind}. "
                + ("Strengthen it, or take load off." if factor < 1 else "It holds as loaded."),
                (f"/limit_load/{place}",),
                Measure(float(factor), 1.0, "1"),
            )
        )
    for place, row in enumerate(answer.value.get("frame_buckling", ())):
        if len(row["critical_factors"]) and row["critical_factors"][0] < 1:
            found.append(
                Finding(
                    "frame-buckles",
                    "stop",
                    f"The whole frame buckles in {row['load_case']} at "
                    f"{row['critical_factors'][0]:.3g} times the load. Make it wider, or brace it.",
                    (f"/frame_buckling/{place}",),
                    Measure(float(row["critical_factors"][0]), 1.0, "1"),
                )
            )
    if not found:
        found.append(
            Finding(
                "stable",
                "ok",
                f"The structure is stable: no mechanism, {held.self_stress_states} independent "
                f"state{'s' if held.self_stress_states != 1 else ''} of self-stress.",
                ("/stability",),
                Measure(0, 0, "1"),
            )
        )
    return found


def _unstable(answer: StructureAnswer, remedy: Remedy | None) -> Finding:
    held = answer.stability
    count = held.mechanisms
    moving = np.flatnonzero(held.node_mobility > 1e-9)
    loose = len(moving) == len(held.truss.nodes_mm)
    shown = ", ".join(str(node) for node in moving[:12]) + (" ..." if len(moving) > 12 else "")
    unsupported = not held.truss.fixed.any() and not len(held.truss.sprung)
    where = "every node moves" if loose else f"nodes {shown} move"
    advice = (
        "Hold it: three nodes that are not in one line, six directions in all."
        if unsupported
        else "Join the moving nodes to others, or support them."
    )
    return Finding(
        "unstable-without-supports" if unsupported else "mechanism",
        "stop",
        f"The structure has {count} independent mechanism{'s' if count > 1 else ''} "
        f"({where}), so no forces are given, whatever the load. {advice}",
        ("/stability/mechanisms",),
        Measure(count, 0, "1"),
        remedy,
    )
