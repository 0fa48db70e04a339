"""The study as it stands in the result."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from .check import Reason
from .dominance import non_dominated
from .evaluate import Worked
from .funnel import MOST_REASONS
from .objectives import OBJECTIVES
from .records_machines import lost_record, machine_record, miss_record, numbers_record
from .search import costs_of
from .study import Study

Json = dict[str, Any]


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
    rows = [
        _check(
            check.id,
            check.title,
            study.funnel.tallies[check.id].looked_at,
            study.funnel.tallies[check.id].removed,
            study.funnel.reasons(check.id),
        )
        for check in study.funnel.checks
    ]
    worked = study.found.worked
    failed = [one.failed for one in worked if one.failed is not None]
    for check, id, title, came in (
        ("parts", "parts-exact", "Parts on the shelf, hub by hub", len(worked)),
        ("strength", "strength", "Strength of every section", sum(map(_was_held, worked))),
    ):
        mine = [reason for reason in failed if reason.check == check]
        rows.append(_check(id, title, came, len(mine), _commonest(mine)))
    return rows


def _was_held(worked: Worked) -> bool:
    return worked.held is not None


def _commonest(reasons: Sequence[Reason]) -> list[tuple[Reason, int]]:
    """Reasons of one wording with how many machines have it, the commonest first."""
    counts = Counter(reason.message for reason in reasons)
    first = {reason.message: reason for reason in reversed(reasons)}
    return [(first[message], count) for message, count in counts.most_common(MOST_REASONS)]


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
