"""What the builder should know about the search: found, missing, unseen."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Caution, Finding, Measure, Remedy, Result

from ..cautions import section_cautions, snapping_cautions
from .machines import overall_um
from .nearest import NearMiss
from .objectives import OBJECTIVES
from .records_machines import advice
from .schemas import MOST_LIFTS
from .study import Study

Rerun = Callable[[Mapping[str, Any]], Result | None]

#: A remedy is proven by a whole search again, and so only where the first one was short.
MOST_WORK_TO_PROVE = 1500.0


def all_findings(study: Study, value: Mapping[str, Any], rerun: Rerun) -> list[Finding]:
    """Worst first."""
    if not study.problem.space.count:
        return [_no_bays(study)]
    found = [] if study.best else [_nothing(study, value, rerun)]
    if not study.exact:
        found.append(_unseen(study, value))
    if study.best:
        found += [*_all_short(study, value), _found(study, value)]
    return found


def cautions_of(study: Study) -> tuple[Caution, ...]:
    """What carrying and snapping the machines of the set calls for."""
    if not study.best:
        return ()
    masses = [study.bench.mass_kg(shape) for one in study.best for shape in one.contents.shapes]
    rods = min(one.account.rods for one in study.best if one.account is not None)
    return (*section_cautions(masses), *snapping_cautions(2 * rods))


def _no_bays(study: Study) -> Finding:
    limits = study.problem.limits
    text = (
        "No whole number of bays of these rods gives a section of the sizes asked for, within "
        f"{limits.length_um[1] / 1000:g} x {limits.width_um[1] / 1000:g} x "
        f"{limits.height_um[1] / 1000:g} mm over the hub ends."
    )
    remedy = Remedy("Widen the sizes by up to one bay, or allow shorter rods.")
    return Finding("no-bays-fit", "stop", text, ("/envelope",), None, remedy)


def _nothing(study: Study, value: Mapping[str, Any], rerun: Rerun) -> Finding:
    count = study.problem.space.count
    rows = [row for row in value["checks"] if row["removed_count"]]
    last = rows[-1] if rows else None
    words = f"None of {count} machines will do."
    measure = None
    if last is not None:
        words += f" The last {last['removed_count']} went at “{last['title']}”"
        words += f": {last['reasons'][0]['message']}" if last["reasons"] else "."
    at: tuple[str, ...] = ("/checks",)
    remedy = Remedy("Widen the envelope, or allow more rods, bracings or splits.")
    if study.misses:
        miss = study.misses[0]
        words += f" One relaxation would admit a machine: {miss.reason.message}"
        measure = Measure(miss.reason.value, miss.reason.limit, miss.reason.unit)
        remedy = Remedy(advice(miss), _proven(study, miss, rerun))
        at = ("/near_misses/0",)
    return Finding("nothing-will-do", "stop", words, at, measure, remedy)


def _proven(study: Study, miss: NearMiss, rerun: Rerun) -> dict[str, Any] | None:
    patch = patch_of(study, miss)
    if patch is None or study.spent > MOST_WORK_TO_PROVE or not study.found.whole:
        return None
    again = rerun(patch)
    return patch if again is not None and again.value["machines"] else None


def patch_of(study: Study, miss: NearMiss) -> dict[str, Any] | None:
    """The merge patch that would admit a near miss, where one number does it."""
    problem = study.problem
    if miss.check == "parts":
        return {"most_to_buy_count": math.ceil(miss.reason.value)}
    if miss.check == "lifts" and problem.lifts is not None:
        lifts = problem.lifts
        wanted = math.ceil(lifts.required_per_min / lifts.capacity_per_min) + lifts.may_fail
        return {"lifts": {"most_count": wanted}} if wanted <= MOST_LIFTS else None
    if miss.check != "size":
        return None
    length_um, _, height_um = overall_um(problem, miss.worked.machine)
    for name, size, (low, high) in (
        ("length", length_um, problem.limits.length_um),
        ("height", height_um, problem.limits.height_um),
    ):
        if not low <= size <= high:
            return {"envelope": {f"{name}_{'max' if size > high else 'min'}_mm": size / 1000}}
    return None


def _unseen(study: Study, value: Mapping[str, Any]) -> Finding:
    space = value["space"]
    share = 100 * space["seen_ratio"]
    text = (
        f"Only {share:.3g} % of {space['machines_count']} machines were removed or worked out; "
        "better ones may be among the rest."
    )
    remedy = Remedy(
        "Narrow sizes, rods or ways to brace until the search is complete, or try other seeds."
    )
    return Finding(
        "space-not-exhausted", "watch", text, ("/space",), Measure(space["seen_ratio"], 1.0), remedy
    )


def _all_short(study: Study, value: Mapping[str, Any]) -> list[Finding]:
    if study.problem.free is None:
        return []
    least = min(value["machines"], key=lambda one: (one["to_buy_count"], one["id"]))
    if not least["to_buy_count"]:
        return []
    lacking = ", ".join(f"{row['count']} {row['item']}" for row in least["to_buy"][:4])
    text = (
        f"No machine of the set is wholly on the shelf; {least['id']} lacks the fewest pieces: "
        f"{lacking}."
    )
    remedy = Remedy("Buy what is missing, or put two rods in line where a rod is short.")
    place = value["machines"].index(least)
    return [
        Finding(
            "all-short-of-parts", "watch", text, (f"/machines/{place}/to_buy",),
            Measure(least["to_buy_count"], 0), remedy,
        )
    ]  # fmt: skip


def _found(study: Study, value: Mapping[str, Any]) -> Finding:
    space, count = value["space"], len(study.best)
    machines = "machine is" if count == 1 else "machines are"
    whole = "all " if space["exact"] else ""
    bests = _bests(value["objectives"])
    text = (
        f"{count} {machines} beaten by no other one, of {whole}{space['machines_count']}: {bests}."
    )
    return Finding("machines-found", "ok", text, ("/machines",), Measure(count))


def _bests(rows: Sequence[Mapping[str, Any]]) -> str:
    told = []
    for row in rows:
        one = OBJECTIVES[row["id"]]
        word = "most" if one.more_is_better else "least"
        told.append(
            f"{row['best_machine']} has the {word} {_noun(row['id'])} ({one.text(row['best'])})"
        )
    return ", ".join(told)


def _noun(objective: str) -> str:
    return {
        "parts": "parts",
        "mass": "mass",
        "strength_reserve": "strength reserve",
        "build_hours": "build time",
        "shortage": "to buy",
    }[objective]
