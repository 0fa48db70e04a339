"""The study as it stands in the result."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..frame.grid import AXES
from .check import Reason
from .dominance import non_dominated
from .evaluate import Worked
from .machines import machine_words, panel_of
from .nearest import NearMiss
from .objectives import OBJECTIVES
from .plans import plan_of
from .problem import Problem, Section, Triple
from .search import costs_of
from .study import Lost, Study

Json = dict[str, Any]

_TITLES = {"parts": "Parts on the shelf", "strength": "Strength of every section"}


def result_of(study: Study) -> Json:
    """The whole result."""
    problem = study.problem
    listed = study.best[: problem.inputs["most_listed"]]
    names = names_of(study)
    machines = [machine_record(study, one, names) for one in listed]
    value: Json = {
        "space": _space(study),
        "checks": check_records(study),
        "objectives": _objectives(study, names),
        "machines": machines,
        "machines_left_out_count": len(study.best) - len(listed),
        "lost": [_lost(study, one, names) for one in study.lost],
        "near_misses": [_miss(problem, study, one) for one in study.misses],
    }
    scatter = _scatter(study, names)
    if scatter:
        value["scatter"] = scatter
    return value


def names_of(study: Study) -> dict[int, str]:
    """Names of machines by their numbers: first those of the set, then the others in order."""
    order = [*study.best, *(one.worked for one in study.lost)]
    return {one.machine.number: f"M{k + 1}" for k, one in enumerate(order)}


def _space(study: Study) -> Json:
    count = study.problem.space.count
    unseen = study.unseen
    return {
        "machines_count": count,
        "pruned_count": study.removed,
        "evaluated_count": len(study.found.worked),
        "feasible_count": study.feasible,
        "unseen_count": unseen,
        "seen_ratio": (count - unseen) / count if count else 1.0,
        "exact": study.exact,
        "method": "complete enumeration" if study.found.whole else "seeded search",
        "stopped_by": study.found.stopped_by,
        "seed": study.problem.inputs["seed"],
        "sections_checked_count": study.checked,
    }


def check_records(study: Study) -> list[Json]:
    """Every check with what it removed; the last two count machines worked out."""
    rows = []
    for check in study.funnel.checks:
        tally = study.funnel.tallies[check.id]
        reasons = study.funnel.reasons(check.id)
        rows.append(_check(check.id, check.title, tally.looked_at, tally.removed, reasons))
    worked = study.found.worked
    for id, came in (("parts", len(worked)), ("strength", 0)):
        failed = [one.failed for one in worked if one.failed is not None and one.failed.check == id]
        if id == "strength":
            came = sum(one.held is not None for one in worked)
        told: dict[str, tuple[Reason, int]] = {}
        for reason in sorted(failed, key=lambda one: one.excess):
            told[reason.message] = (reason, told.get(reason.message, (reason, 0))[1] + 1)
        reasons = sorted(told.values(), key=lambda item: -item[1])[:6]
        title = "Parts on the shelf, hub by hub" if id == "parts" else _TITLES[id]
        name = "parts-exact" if id == "parts" else id
        rows.append(_check(name, title, came, len(failed), reasons))
    return rows


def _check(
    id: str, title: str, came: int, removed: int, reasons: Sequence[tuple[Reason, int]]
) -> Json:
    return {
        "check": id,
        "title": title,
        "looked_at_count": came,
        "removed_count": removed,
        "left_count": came - removed,
        "reasons": [
            {**_numbers(reason), "message": reason.message, "machines_count": count}
            for reason, count in reasons
        ],
    }


def _numbers(reason: Reason) -> Json:
    return {"value": reason.value, "limit": reason.limit, "unit": reason.unit}


def _objectives(study: Study, names: Mapping[int, str]) -> list[Json]:
    rows = []
    for name in study.problem.objectives:
        one = OBJECTIVES[name]
        row: Json = {
            "id": name,
            "title": one.title,
            "field": one.field,
            "unit": one.unit or "1",
            "more_is_better": one.more_is_better,
        }
        if study.best:
            values = [worked.values[name] for worked in study.best]
            best, worst = (max, min) if one.more_is_better else (min, max)
            place = values.index(best(values))
            row |= {
                "best": values[place],
                "worst": worst(values),
                "best_machine": names[study.best[place].machine.number],
            }
        rows.append(row)
    return rows


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
        **_overall(problem, worked),
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


def _overall(problem: Problem, worked: Worked) -> Json:
    machine = worked.machine
    x, y, z = (problem.kit.rods[k].pitch_um for k in machine.rods)
    length = sum(bays[0] for bays in machine.bays) * x + problem.ends_um[0]
    length += (len(machine.bays) - 1) * problem.joint_um
    return {
        "length_mm": length / 1000,
        "width_mm": (machine.bays[0][1] * y + problem.ends_um[1]) / 1000,
        "height_mm": (max(bays[2] for bays in machine.bays) * z + problem.ends_um[2]) / 1000,
    }


def _lost(study: Study, lost: Lost, names: Mapping[int, str]) -> Json:
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
            **_numbers(reason),
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


def _miss(problem: Problem, study: Study, miss: NearMiss) -> Json:
    machine = miss.worked.machine
    return {
        "check": miss.check,
        "message": miss.reason.message,
        **_numbers(miss.reason),
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
        "parts": f"Buy {value - limit:.0f} pieces more than allowed, or put rods in line where they "
        "are short.",
        "strength": "Add second diagonals where it slips, carry it with more hands, or lighten "
        "what it carries.",
    }[miss.check]


def _scatter(study: Study, names: Mapping[int, str]) -> Json | None:
    problem = study.problem
    wanted = problem.inputs.get("scatter", {"across": "parts", "up": "strength_reserve"})
    pair = (wanted["across"], wanted["up"])
    if "shortage" in pair and problem.free is None:
        return None
    good = [one for one in study.found.worked if one.failed is None]
    if not good:
        return None
    costs = costs_of(good, pair)
    rows = non_dominated(costs).nonzero()[0].tolist()
    seen: dict[tuple[float, ...], int] = {}
    for row in rows:
        seen.setdefault(tuple(costs[row].tolist()), row)
    steps = sorted(seen.values(), key=lambda row: good[row].values[pair[0]])
    return {
        "across": pair[0],
        "up": pair[1],
        "machines": [names[good[row].machine.number] for row in steps],
        "across_values": [float(good[row].values[pair[0]]) for row in steps],
        "up_values": [float(good[row].values[pair[1]]) for row in steps],
    }
