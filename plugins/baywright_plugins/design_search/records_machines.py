"""Machines as they stand in the result: those of the set, those that lost, near misses."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..frame.grid import AXES
from .check import Reason
from .evaluate import Worked
from .machines import machine_words, overall_um, panel_of
from .nearest import NearMiss
from .objectives import OBJECTIVES
from .plans import plan_of
from .problem import Problem, Section, Triple
from .search import costs_of
from .study import Lost, Study

Json = dict[str, Any]


def values_record(worked: Worked, *, stock: bool) -> Json:
    """What a machine is compared by, as far as it is known."""
    row: Json = {"build_hours_h": worked.hours}
    if worked.account is not None:
        row |= {"pieces_count": worked.account.pieces, "mass_kg": worked.mass_kg}
        if stock:
            row["to_buy_count"] = worked.account.to_buy
    if worked.held is not None:
        row["strength_reserve_ratio"] = worked.held.reserve
    return row


def machine_record(study: Study, worked: Worked, names: Mapping[int, str]) -> Json:
    """A machine of the set, with its plan."""
    problem, machine, account = study.problem, worked.machine, worked.account
    assert account is not None
    name = names[machine.number]
    words = machine_words(problem, machine)
    best_in = [
        objective
        for objective in problem.objectives
        if costs_of([worked], (objective,)) == costs_of(study.best, (objective,)).min()
    ]
    return {
        "id": name,
        "number": machine.number,
        "words": words,
        **values_record(worked, stock=problem.free is not None),
        "chosen": _chosen(problem, worked),
        "sections": _sections(study, worked),
        **{
            f"{name}_mm": size / 1000
            for name, size in zip(
                ("length", "width", "height"), overall_um(problem, machine), strict=True
            )
        },
        "hubs_count": account.hubs,
        "rods_count": account.rods,
        "bays_count": worked.contents.bays,
        **({"panels_count": worked.contents.panels} if problem.panels else {}),
        "to_buy": [{"item": item, "count": n} for item, n in account.short.items()],
        "best_in": best_in,
        "plan": plan_of(problem, machine, worked.contents, study.drawings, f"Machine {name}"),
    }


def _chosen(problem: Problem, worked: Worked) -> Json:
    machine = worked.machine
    chosen: Json = {
        "bay_rods": [problem.kit.rods[k].id for k in machine.rods],
        "split": problem.splits[machine.split].id,
        "bracing": problem.bracings[machine.bracing].id,
    }
    panel = panel_of(problem, machine)
    if panel is not None:
        chosen["panel"] = panel.id
    if machine.lifts:
        chosen["lifts_count"] = machine.lifts
    return chosen


def _sections(study: Study, worked: Worked) -> list[Json]:
    problem, machine = study.problem, worked.machine
    rows = []
    for section, bays, shape in zip(
        problem.splits[machine.split].sections, machine.bays, worked.contents.shapes, strict=True
    ):
        held = study.bench.held(shape)
        rows.append(
            {
                "id": section.id,
                "title": section.title,
                "bays": dict(zip(AXES, bays, strict=True)),
                "over_hubs_mm": dict(
                    zip(AXES, _over_hubs(problem, section, machine.rods, bays), strict=True)
                ),
                "strength_reserve_ratio": held.reserve,
                "worst_case": held.case,
            }
        )
    return rows


def _over_hubs(problem: Problem, section: Section, rods: Triple, bays: Triple) -> list[float]:
    return [
        (count * problem.kit.rods[rod].pitch_um + ends) / 1000
        for count, rod, ends in zip(bays, rods, problem.ends_um, strict=True)
    ]


def lost_record(study: Study, lost: Lost, names: Mapping[int, str]) -> Json:
    problem, worked = study.problem, lost.worked
    row: Json = {
        "id": names[worked.machine.number],
        "number": worked.machine.number,
        "words": machine_words(problem, worked.machine),
        **values_record(worked, stock=problem.free is not None),
    }
    if worked.failed is not None:
        reason = worked.failed
        return {
            **row, "reason": "infeasible", "message": reason.message, "check": reason.check,
            **numbers_record(reason),
        }  # fmt: skip
    assert lost.beaten_by is not None
    winner = study.best[lost.beaten_by]
    name = names[winner.machine.number]
    if lost.alike:
        text = f"Alike in everything compared with {name}, which stands for both."
        return {**row, "reason": "alike", "message": text, "beaten_by": name, "worse_by": []}
    worse = worse_by(worked, winner, problem.objectives)
    told = [
        f"{OBJECTIVES[objective].text(by)} {_worse_words(objective)}"
        for objective, by in worse
        if by
    ]
    text = f"{name} is no worse in anything and better in something: here {', '.join(told)}."
    return {
        **row, "reason": "dominated", "message": text, "beaten_by": name,
        "worse_by": [{"objective": objective, "by": by} for objective, by in worse],
    }  # fmt: skip


def worse_by(worked: Worked, winner: Worked, objectives: Sequence[str]) -> list[tuple[str, float]]:
    """How much worse a machine is than the one that beats it, by objective, rounded as compared."""
    apart = costs_of([worked], objectives)[0] - costs_of([winner], objectives)[0]
    return [
        (name, round(float(by), OBJECTIVES[name].digits))
        for name, by in zip(objectives, apart, strict=True)
    ]


def _worse_words(objective: str) -> str:
    return {
        "parts": "more",
        "mass": "heavier",
        "strength_reserve": "less strength reserve",
        "build_hours": "longer to build",
        "shortage": "more to buy",
    }[objective]


def miss_record(problem: Problem, study: Study, miss: NearMiss) -> Json:
    machine = miss.worked.machine
    return {
        "check": miss.check,
        "message": miss.reason.message,
        **numbers_record(miss.reason),
        "words": machine_words(problem, machine),
        "advice": advice(miss),
        "plan": plan_of(
            problem, machine, miss.worked.contents, study.drawings, "A machine that nearly does"
        ),
    }


def advice(miss: NearMiss) -> str:
    """What would admit the machine, in one sentence with a verb."""
    limit, value = miss.reason.limit, miss.reason.value
    return {
        "size": f"Let the envelope reach {value:g} mm in place of {limit:g} mm.",
        "bracing": "Take rods along the axes that one rod of the kit braces, or add such a rod.",
        "doors": f"Find {value - limit:.0f} mm more at that passage: take the leaf off, go another "
        "way, or take what sticks out off.",
        "floor": f"Take panels of another pitch, or shims that make good {value - limit:.2f} mm.",
        "lifts": "Allow more lifts, quicker ones, or fewer that may stop.",
        "parts": f"Buy {value - limit:.0f} pieces more than allowed, or put rods in line where "
        "they are short.",
        "strength": "Add second diagonals where it slips, carry it with more hands, or lighten "
        "what it carries.",
    }[miss.check]


def numbers_record(reason: Reason) -> Json:
    """The number that fails and its limit."""
    return {"value": reason.value, "limit": reason.limit, "unit": reason.unit}
