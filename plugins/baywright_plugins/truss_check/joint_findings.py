"""What joints and buckling come to, in words: hubs that slide apart, hubs that alone hold a
shape, what buckles first, seats that let go."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from baywright_service.contract import Finding, Measure, Remedy

from ..kit import Kit
from .answer_joints import opens
from .collapse_mode import BUCKLES, DETENT_RATIO
from .findings import bar_words, joined, names, said
from .frame_check import SectionAnswer
from .handling import Handling
from .joint_answers import AXES, JointAnswer
from .numerals import figures

#: Below this buckling factor deformation adds so much that linear forces are of no use.
SECOND_ORDER = 3.0


def hub_findings(
    answer: SectionAnswer, found: JointAnswer, pointer: str, remedy: Remedy | None
) -> list[Finding]:
    """Two-part hubs of one section: locked, or sliding apart."""
    if found.hubs is None or not found.hubs.hubs.two_part.any():
        return []
    state, part = found.hubs, answer.prepared.model.part
    count = int(state.hubs.two_part.sum())
    loose = np.flatnonzero(~state.state.held)
    at = (f"{pointer}/two_part_hubs",)
    rule = answer.prepared.model.options.hubs
    assert rule is not None
    seat = rule.hub.seat
    if not len(loose):
        return [
            Finding(
                "hubs-locked",
                "ok",
                f"All {count} two-part hubs of {names(answer)} are locked by diagonals: their "
                f"seats take {seat.tension_held_n:g} N.",
                at,
                Measure(0, 0, "1"),
            )
        ]
    shown = [f"{[int(x) for x in part.lattice[k]]} ({opens(state, k)})" for k in loose[:6].tolist()]
    more = f" and {len(loose) - 6} more" if len(loose) > 6 else ""
    turnable = int(state.turnable.sum())
    if rule.rule == "same-way":
        why = "All open ends face the same way, so that diagonals lock nothing."
    elif turnable:
        why = f"{turnable} of them would be locked if the other half moved: mind how they go in."
    else:
        why = "No pair of diagonals ties their halves together."
    return [
        Finding(
            "hubs-slide-apart",
            "watch",
            f"{len(loose)} of {count} two-part hubs of {names(answer)} slide apart: "
            f"{joined(shown)}{more}. {why} Their seats count with {seat.tension_free_n:g} N in "
            f"place of {seat.tension_held_n:g} N.",
            at,
            Measure(len(loose), 0, "1"),
            remedy,
        )
    ]


def stiffness_findings(
    answer: SectionAnswer, found: JointAnswer, kit: Kit, pointer: str, remedy: Remedy | None
) -> list[Finding]:
    """What stiff hubs do: hold what would fold, or stiffen what stands."""
    stiff = found.stiffened
    if stiff is None:
        return []
    at = (f"{pointer}/joint_stiffness",)
    spring = stiff.joints.spring_n_mm_per_rad
    of = f" of {spring:g} N mm/rad" if np.isfinite(spring) else " that do not turn"
    if stiff.holds_by == "nothing":
        return [
            Finding(
                "folds-with-stiff-hubs",
                "stop",
                f"{names(answer)} {said(answer, 'moves', 'move')} freely even with hubs{of}: some "
                "rods join nothing that holds. Look for members left out.",
                at,
            )
        ]
    moves = ""
    if stiff.stiff is not None:
        sway, twist = max(stiff.stiff.sway_mm_per_n), stiff.stiff.twist_rad_per_nm
        moves = f"it sways {sway:.3g} mm per N and twists {1000 * twist:.3g} mrad per N m"
    moment = ""
    if stiff.cases:
        worst = max(stiff.cases, key=lambda one: one.moment_n_mm)
        moment = (
            f"; a seat gets up to {figures(worst.moment_n_mm)} N mm in "
            f"{worst.case.replace('-', ' ')} ({bar_words(answer, kit, worst.moment_member)})"
        )
    if stiff.holds_by == "hub-stiffness":
        return [_holds_only(answer, found, at, f"With hubs{of} {moves or 'it stands'}{moment}",
                            remedy)]  # fmt: skip
    beside = ""
    if stiff.pinned is not None:
        beside = f" ({max(stiff.pinned.sway_mm_per_n):.3g} mm per N with pinned hubs)"
    return [
        Finding(
            "hub-stiffness",
            "ok",
            f"{names(answer)} {said(answer, 'holds', 'hold')} by diagonals. With hubs{of} "
            f"{moves or 'forces change little'}{beside}{moment}. Seats are not checked for "
            "bending: go by the pinned answer.",
            at,
        )
    ]


def _holds_only(
    answer: SectionAnswer,
    found: JointAnswer,
    at: tuple[str, ...],
    numbers: str,
    remedy: Remedy | None,
) -> Finding:
    stiff = found.stiffened
    assert stiff is not None
    factor = None
    if stiff.critical_factors is not None and len(stiff.critical_factors):
        factor = float(stiff.critical_factors[0])
    stop = factor is not None and factor < SECOND_ORDER
    count = answer.held.mechanisms
    buckles = "" if factor is None else f"; it buckles at {factor:.3g} times its weight"
    places = [culprit.words for culprit in answer.culprits[:3]]
    more = f" and {len(answer.culprits) - 3} more" if len(answer.culprits) > 3 else ""
    shapes = f" ({joined(places)}{more})" if places else ""
    return Finding(
        "holds-only-by-hub-stiffness",
        "stop" if stop else "watch",
        f"{names(answer)} {said(answer, 'holds', 'hold')} only by the stiffness of hubs: with "
        f"pinned hubs there {'is' if count == 1 else 'are'} {count} mechanism"
        f"{'' if count == 1 else 's'}{shapes}. {numbers}{buckles}. Brace it: seats that have worn "
        "turn more easily.",
        at,
        None if factor is None else Measure(round(factor, 4), SECOND_ORDER, "1"),
        remedy,
    )


def buckling_findings(
    answer: SectionAnswer, found: JointAnswer, kit: Kit, handling: Handling, pointer: str
) -> list[Finding]:
    """What buckles first, held against the factor wanted; and chords weaker than their column."""
    buckling = found.buckling
    if buckling is None or not buckling.governs:
        return []
    required, factor = handling.required_planned_ratio, buckling.factor
    short = factor < required
    words = _first_to_buckle(answer, found, kit)
    made = [
        Finding(
            "buckling-below-required" if short else "buckling-governs",
            ("stop" if factor < 1 else "watch") if short else "ok",
            f"Of all that can buckle in {names(answer)}, {words} first, at {factor:.3g} times the "
            f"load; wanted is {required:g}. "
            + ("Shorten or double what is pressed." if short else "Seats decide, not buckling."
               if factor > answer.planned_factor else "Buckling decides, not seats: do not push "
               "it."),
            (f"{pointer}/buckling/{_member(buckling.governs)}",),
            Measure(round(float(factor), 4), required, "1"),
        )
    ]  # fmt: skip
    weak = [one for one in buckling.beams if one.column.governs == "chord"]
    if weak:
        one = weak[0]
        made.append(
            Finding(
                "chord-buckles-between-lacing-points",
                "watch",
                f"The {AXES[one.beam.axis]} beam of {names(answer)} from bay "
                f"{list(one.beam.first)} fails by its chords between hubs at "
                f"{figures(one.column.chord_n)} N, while the column formula gives "
                f"{figures(one.column.engesser_n)} N. Shorten its bays or thicken its rods.",
                (f"{pointer}/buckling/beams",),
                Measure(one.column.chord_n, one.column.engesser_n, "N"),
            )
        )
    return made


def _member(governs: str) -> str:
    return {"rod": "rods", "beam": "beams", "frame": "frame"}[governs]


def _first_to_buckle(answer: SectionAnswer, found: JointAnswer, kit: Kit) -> str:
    buckling = found.buckling
    assert buckling is not None
    if buckling.governs == "rod":
        case = found.kept_cases[buckling.rod.case].replace("-", " ")
        return f"the {bar_words(answer, kit, buckling.rod.member)} bows ({case})"
    if buckling.governs == "beam":
        one = buckling.beams[0]
        case = found.kept_cases[one.case].replace("-", " ")
        how = "bows" if one.column.governs == "whole-column" else "gives in its chords"
        return f"the {AXES[one.beam.axis]} beam from bay {list(one.beam.first)} {how} ({case})"
    assert buckling.frame is not None
    return f"the frame buckles as a whole ({buckling.frame.case.replace('-', ' ')})"


def seat_findings(inputs: Mapping[str, Any]) -> list[Finding]:
    """Seats that let go: no reserve behind first slip."""
    kept = inputs.get("seat_after_slip_ratio", 1.0)
    if kept >= DETENT_RATIO:
        return []
    return [
        Finding(
            "seat-is-a-detent",
            "watch",
            f"A seat keeps {100 * kept:.0f} % of its force after it slips, less than "
            f"{100 * DETENT_RATIO:.0f} %: one slip can run through the frame, so no collapse "
            "factor is given. Go by first slip alone.",
            ("/seat_after_slip_ratio",),
            Measure(kept, DETENT_RATIO, "1"),
        )
    ]


def rods_let_go(answer: SectionAnswer, pointer: str) -> list[Finding]:
    """Cases whose collapse factor is left out for a rod that buckles."""
    places = [k for k, s in enumerate(answer.states) if s.collapse_left_out == BUCKLES]
    if not places:
        return []
    listed = joined([answer.states[k].case.title for k in places])
    return [
        Finding(
            "rod-buckles-before-seats-slip",
            "watch",
            f"In {names(answer)} a slender rod buckles before its seats slip ({listed}): it does "
            "not keep its force, so no collapse factor is given. Go by first slip alone.",
            tuple(f"{pointer}/cases/{place}" for place in places),
        )
    ]
