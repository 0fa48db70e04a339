"""Suggestions for one section: found, put into a patch, and proven by a run of it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from baywright_service.contract import Fault, Finding, InvalidInputs, Measure, Remedy, Result

from ..frame import frame_of
from ..kit import Kit, available_counts
from .cheapest import Cheapest, cheapest, rod_across
from .findings import names, said
from .frame_check import SectionAnswer
from .handling import PLANNED, Handling
from .leave_out import LeftOut, NothingToSpare, leave_out
from .mend import Pair
from .places import grid_pair
from .section import CaseState, NotHeld
from .solve import NotSolvable
from .stability import RankUndecided
from .turning import Turned, turn_diagonals

Json = dict[str, Any]
Rerun = Callable[[Mapping[str, Any]], Result | None]

#: Above this many members in a section no search is made.
MOST_MEMBERS = 2500


@dataclass(frozen=True)
class Suggested:
    """One section's suggestions as a value, with its findings and the remedy for what falls
    short."""

    value: Json
    findings: tuple[Finding, ...] = ()
    remedy: Remedy | None = None


class Shelf:
    """Rods that are free for suggestions; what one section takes is gone for the next."""

    def __init__(self, inputs: Mapping[str, Any], kit: Kit) -> None:
        self.free: dict[int, int] | None = None
        if "stock" not in inputs:
            return
        there = available_counts(inputs["stock"])
        used = np.bincount(frame_of(inputs["frame"], kit).rod, minlength=len(kit.rods))
        self.free = {
            place: max(0, there.get(rod.id, 0) - int(used[place]))
            for place, rod in enumerate(kit.rods)
        }

    def share(self, sections: int) -> dict[int, int] | None:
        """What each of some sections that are built alike can have."""
        if self.free is None:
            return None
        return {rod: count // sections for rod, count in self.free.items()}

    def take(self, rods: Sequence[int], sections: int) -> int:
        """Take rods for each of some sections; how many are missing."""
        missing = 0
        for rod in rods if self.free is not None else ():
            assert self.free is not None
            left = self.free[rod] - sections
            missing += max(0, -left)
            self.free[rod] = max(0, left)
        return missing


def suggest(
    answer: SectionAnswer,
    inputs: Mapping[str, Any],
    kit: Kit,
    handling: Handling,
    shelf: Shelf,
    rerun: Rerun,
    pointer: str,
) -> Suggested:
    """What `inputs["suggest"]` asks for, for one stable section on a grid.

    Raises InvalidInputs for a case that is not there; NotSolvable, NotHeld, RankUndecided.
    """
    asked = inputs["suggest"]
    states = _chosen(answer, asked)
    part = answer.prepared.model.part
    short = [s for s in states if s.factor < handling.required(s.case.kind)]
    value: Json = {}
    found: list[Finding] = []
    remedy = None
    if len(part.start) > MOST_MEMBERS or not part.has_grid or not states:
        reason = f"it has no grid, no case, or more than {MOST_MEMBERS} members"
        return Suggested({"mend": {"reason": reason}})
    if short and (asked["mend"] or asked["turn"]):
        value["mend"], finding = _mend(answer, states, inputs, kit, handling, shelf, rerun, pointer)
        found.append(finding)
        remedy = finding.remedy
    if asked["leave_out"]:
        value["leave_out"], spare = _spare(answer, states, inputs, kit, handling, rerun, pointer)
        found += [] if spare is None else [spare]
    return Suggested(value, tuple(found), remedy)


def suggestions(
    answers: Sequence[SectionAnswer],
    inputs: Mapping[str, Any],
    kit: Kit,
    handling: Handling,
    rerun: Rerun,
) -> dict[int, Suggested]:
    """By place among the answers, twins once; empty where nothing is asked for."""
    if "suggest" not in inputs:
        return {}
    if inputs["suggest"]["cost"] == "price" and not any(rod.price > 0 for rod in kit.rods):
        detail = "The kit states no price of a rod."
        raise InvalidInputs([("/suggest/cost", Fault("missing", detail))])
    shelf = Shelf(inputs, kit)
    found = {}
    for place, answer in enumerate(answers):
        if answer.same_as is not None or answer.held.mechanisms:
            continue
        pointer = f"/sections/{place}"
        try:
            found[place] = suggest(answer, inputs, kit, handling, shelf, rerun, pointer)
        except (NotSolvable, NotHeld, RankUndecided) as reason:
            found[place] = Suggested({"mend": {"reason": str(reason)}})
    return found


def _chosen(answer: SectionAnswer, asked: Mapping[str, Any]) -> list[CaseState]:
    if "cases" not in asked:
        return list(answer.in_hand)
    there = {state.case.id: state for state in answer.states}
    faults = [
        (f"/suggest/cases/{k}", Fault("unknown-reference", f"There is no case {name} here."))
        for k, name in enumerate(asked["cases"])
        if name not in there
    ]
    if faults:
        raise InvalidInputs(faults)
    return [there[name] for name in asked["cases"]]


def _mend(
    answer: SectionAnswer,
    states: Sequence[CaseState],
    inputs: Mapping[str, Any],
    kit: Kit,
    handling: Handling,
    shelf: Shelf,
    rerun: Rerun,
    pointer: str,
) -> tuple[Json, Finding]:
    asked, sections = inputs["suggest"], 1 + len(answer.twins)
    options = {
        "gravity_m_s2": inputs["gravity_m_s2"],
        "buckling_margin": inputs["buckling_margin_ratio"],
    }
    turned = Turned((), (), answer.prepared.model, tuple(states))
    if asked["turn"]:
        turned = turn_diagonals(answer.prepared.model, states, handling, kit, **options)
    still = [s for s in turned.states if s.factor < handling.required(s.case.kind)]
    price = _price(kit, asked["cost"])
    mended: Cheapest | None = None
    if still and asked["mend"]:
        mended = cheapest(
            turned.model, turned.states, handling, kit, price, free=shelf.share(sections), **options
        )
        if not mended.pairs and np.isfinite(mended.at_least) and shelf.free is not None:
            mended = cheapest(turned.model, turned.states, handling, kit, price, **options)
    at = (f"{pointer}/suggest/mend",)
    if still and (mended is None or not mended.pairs):
        return _no_mend(answer, mended, at)
    added = () if mended is None else mended.pairs
    after = turned.states if mended is None else mended.states
    rods = [rod_across(turned.model.part, kit, pair) for pair in added]
    missing = shelf.take(rods, sections)
    patch = _patch(answer, inputs, add=(*turned.come, *added), leave=turned.gone)
    proven = _proven(rerun, answer, patch, [s.case.id for s in states])
    worst = _weakest(after)
    part = answer.prepared.model.part
    value: Json = {
        "diagonals": [grid_pair(part, pair) for pair in added],
        "rods_count": len(added),
        "first_slip_factor": float(worst.factor),
        "weakest_case": worst.case.id,
        "proven": proven,
    }
    if turned.gone:
        value["turned_from"] = [grid_pair(part, pair) for pair in turned.gone]
        value["turned_to"] = [grid_pair(part, pair) for pair in turned.come]
    if shelf.free is not None:
        value["short_count"] = missing
    if mended is not None:
        value |= {"cost": mended.cost, "exact": mended.exact}
        if np.isfinite(mended.at_least):
            value |= {"cost_at_least": mended.at_least, "cost_gap": mended.gap}
    message = _mend_words(answer, value, worst, mended, asked["cost"])
    remedy = Remedy(message, patch) if proven else Remedy(message)
    code = "mend-short-of-rods" if missing else "mend-suggested"
    return value, Finding(
        code if proven else "mend-not-proven",
        "ok" if proven and not missing else "watch",
        message,
        at,
        Measure(round(float(worst.factor), 4), handling.required(worst.case.kind), "1"),
        remedy,
    )


def _no_mend(
    answer: SectionAnswer, mended: Cheapest | None, at: tuple[str, ...]
) -> tuple[Json, Finding]:
    hopeless = mended is not None and not np.isfinite(mended.at_least)
    if hopeless:
        reason = "even a second diagonal on every face would not do"
    elif mended is None:
        reason = "turning diagonals alone does not do"
    else:
        reason = "the search found no set of second diagonals that does"
    words = (
        f"{names(answer)}: {reason}. Make {said(answer, 'it', 'them')} lighter, hold "
        f"{said(answer, 'it', 'them')} at more hubs, or use stronger seats."
    )
    return {"reason": reason}, Finding("mend-not-found", "watch", words, at)


def _mend_words(
    answer: SectionAnswer,
    value: Json,
    worst: CaseState,
    mended: Cheapest | None,
    cost: str,
) -> str:
    of = f"each of {names(answer)}" if answer.twins else answer.prepared.id
    does = []
    if "turned_from" in value:
        does.append(f"Turn {len(value['turned_from'])} diagonals the other way in {of}")
    if value["rods_count"]:
        count = value["rods_count"]
        word = "add" if does else "Add"
        does.append(f"{word} {count} second diagonal{'s' if count > 1 else ''} to {of}")
    text = (
        f"{', and '.join(does)}: then {worst.case.title} is the weakest planned case with "
        f"{worst.factor:.2f}."
    )
    if mended is not None:
        unit = {"count": "rods", "mass": "g", "price": "in price"}[cost]
        if mended.exact:
            text += " No set of whole mirror groups that costs less would do."
        if not mended.exact:
            floor = f", though none with less than {mended.at_least:g} {unit}"
            text += f" Found step by step: less than {mended.cost:g} {unit} may do"
            text += f"{floor if mended.at_least > 0 else ''}."
    if value.get("short_count"):
        text += f" The shelf is {value['short_count']} rods short of it."
    return text


def _spare(
    answer: SectionAnswer,
    states: Sequence[CaseState],
    inputs: Mapping[str, Any],
    kit: Kit,
    handling: Handling,
    rerun: Rerun,
    pointer: str,
) -> tuple[Json, Finding | None]:
    model = answer.prepared.model
    try:
        found = leave_out(
            model, [s.case for s in states], handling, kit, gravity_m_s2=inputs["gravity_m_s2"],
            buckling_margin=inputs["buckling_margin_ratio"],
            most=inputs["suggest"].get("most_left_out"),
        )  # fmt: skip
    except NothingToSpare as reason:
        return {"reason": str(reason)}, None
    worst = _weakest(found.states)
    value: Json = {
        "diagonals": [grid_pair(model.part, pair) for pair in found.pairs],
        "rods_count": len(found.pairs),
        "mass_g": float(sum(kit.rods[int(model.part.rod[k])].mass_g for k in found.members)),
        "at_most_count": found.at_most,
        "single_left_count": len(found.single_left),
        "first_slip_factor": float(worst.factor),
    }
    at = (f"{pointer}/suggest/leave_out",)
    measure = Measure(round(float(worst.factor), 4), handling.required(worst.case.kind), "1")
    if not found.pairs:
        words = f"{names(answer)} {said(answer, 'needs', 'need')} every diagonal: none can go."
        return value, Finding("every-diagonal-needed", "ok", words, at, measure)
    patch = _patch(answer, inputs, add=(), leave=found.pairs)
    value["proven"] = _proven(rerun, answer, patch, [s.case.id for s in states])
    words = _spare_words(answer, found, worst)
    if not value["proven"]:
        return value, Finding("leave-out-not-proven", "watch", words, at, measure, Remedy(words))
    return value, Finding("can-leave-out", "ok", words, at, measure, Remedy(words, patch))


def _spare_words(answer: SectionAnswer, found: LeftOut, worst: CaseState) -> str:
    of = f"each of {names(answer)}" if answer.twins else answer.prepared.id
    count = len(found.pairs)
    then = (
        f"each of {len(found.single_left)} more could still go"
        if found.single_left
        else "no single one more could go"
    )
    return (
        f"Leave {count} diagonal{'s' if count > 1 else ''} out of {of} and save the thumbs: "
        f"{worst.case.title} is then weakest with {worst.factor:.2f}, and {then}. More than "
        f"{found.at_most} can never go."
    )


def _weakest(states: Sequence[CaseState]) -> CaseState:
    planned = [s for s in states if s.case.kind == PLANNED]
    return min(planned or states, key=lambda s: s.factor)


def _price(kit: Kit, cost: str) -> Callable[[int], float]:
    if cost == "mass":
        return lambda rod: kit.rods[rod].mass_g
    if cost == "price":
        return lambda rod: kit.rods[rod].price
    return lambda rod: 1.0


def _patch(
    answer: SectionAnswer, inputs: Mapping[str, Any], *, add: Sequence[Pair], leave: Sequence[Pair]
) -> Json:
    """Added diagonals of a request that are left out are added no more."""
    part = answer.prepared.model.part
    going = [grid_pair(part, pair) for pair in leave]
    patch: Json = {}
    names_ = (answer.prepared.id, *answer.twins)

    def given(field: str, name: str) -> list[Any]:
        return [[[int(x) for x in e] for e in pair] for pair in inputs[field].get(name, ())]

    taken_back = {
        name: [p for p in given("added_diagonals", name) if p in going or p[::-1] in going]
        for name in names_
    }
    if add or any(taken_back.values()):
        new = [grid_pair(part, pair) for pair in add]
        patch["added_diagonals"] = {
            name: [p for p in given("added_diagonals", name) if p not in taken_back[name]] + new
            for name in names_
        }
    if leave:
        patch["left_out_diagonals"] = {
            name: given("left_out_diagonals", name)
            + [p for p in going if p not in taken_back[name] and p[::-1] not in taken_back[name]]
            for name in names_
        }
    return patch


def _proven(
    rerun: Rerun, answer: SectionAnswer, patch: Mapping[str, Any], cases: Sequence[str]
) -> bool:
    """Whether a run of the patched inputs has every chosen case at its factor."""
    narrow = {"sections": [answer.prepared.id], "seek_remedies": False, "analyses": ["linear"]}
    apart = {"suggest": None, "excitation": None, "picture": None}
    proof = rerun({**patch, **narrow, **apart})
    if proof is None:
        return False
    there = {case["id"]: case for case in proof.value["sections"][0]["cases"]}
    return all(
        name in there
        and there[name].get("first_slip_factor", np.inf) >= there[name]["required_factor"]
        for name in cases
    )
