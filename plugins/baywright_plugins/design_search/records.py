"""The study as it stands in the result."""

from collections.abc import Mapping, Sequence
from typing import Any

from .check import Reason
from .dominance import non_dominated
from .objectives import OBJECTIVES
from .records_machines import lost_record, machine_record, miss_record, numbers_record
from .search import costs_of
from .study import Study

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
        "lost": [lost_record(study, one, names) for one in study.lost],
        "near_misses": [miss_record(problem, study, one) for one in study.misses],
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
            {**numbers_record(reason), "message": reason.message, "machines_count": count}
            for reason, count in reasons
        ],
    }


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
