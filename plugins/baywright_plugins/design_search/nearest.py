"""Where nothing will do: the machines that fail one check alone, and by how little."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .check import Reason
from .evaluate import Evaluation, Worked
from .funnel import Funnel
from .machines import Machine, machine_at
from .problem import Problem
from .search import ENUMERABLE, FIRST_DRAW, Search

#: Machines tried to the end for each check, nearest first.
_TRIED = 3
#: Work on strength for near misses, in units of about a millisecond.
_WORK = 1200.0


@dataclass(frozen=True)
class NearMiss:
    """A machine that would do if one check were relaxed; `reason` says by how much."""

    check: str
    reason: Reason
    worked: Worked


def near_misses(
    problem: Problem, funnel: Funnel, evaluation: Evaluation, found: Search
) -> list[NearMiss]:
    """The nearest miss of each check, the nearest of all first.

    A machine counts where every other check holds, strength included. Of a space too large to be
    gone through, a seeded draw is looked at.
    """
    evaluation.spent = 0.0
    misses = [
        miss
        for check in funnel.checks
        if check.id != "parts"
        for miss in _of_check(problem, funnel, evaluation, check.id)
    ]
    misses += _of_worked(evaluation, found.worked)
    return sorted(misses, key=lambda miss: (miss.reason.excess, miss.worked.machine.number))


def _of_check(
    problem: Problem, funnel: Funnel, evaluation: Evaluation, check: str
) -> list[NearMiss]:
    ranked: list[tuple[float, Machine]] = []
    for looked in problem.space.looked(_numbers(problem)):
        alone = funnel.but_one(looked, check)
        if not len(alone.number):
            continue
        excess = funnel.check(check).excess(alone)
        order = np.argsort(excess, kind="stable")[:_TRIED]
        ranked += [
            (float(excess[row]), machine_at(problem, alone, row))
            for row in order.tolist()
            if np.isfinite(excess[row])
        ]
    ranked.sort(key=lambda item: (item[0], item[1].number))
    for _, machine in ranked[:_TRIED]:
        if evaluation.spent + evaluation.cost(machine) > _WORK:
            break
        worked = evaluation.of(machine)
        if worked.failed is None:
            return [NearMiss(check, funnel.check(check).reason(machine), worked)]
    return []


def _of_worked(evaluation: Evaluation, worked: Sequence[Worked]) -> list[NearMiss]:
    """The nearest of those that only strength rules out, and of those only the shelf does."""
    found = []
    weak = [
        one for one in worked
        if one.failed is not None and one.failed.check == "strength" and one.held is not None
        and one.held.reserve > 0
    ]  # fmt: skip
    if weak:
        best = max(weak, key=lambda one: one.held.reserve if one.held else 0.0)
        assert best.failed is not None
        found.append(NearMiss("strength", best.failed, best))
    lacking = [
        one for one in worked
        if one.failed is not None and one.failed.check == "parts" and one.account is not None
    ]  # fmt: skip
    for one in sorted(lacking, key=lambda one: one.failed.excess if one.failed else 0.0)[:_TRIED]:
        if evaluation.spent + evaluation.cost(one.machine) > _WORK:
            break
        again = evaluation.of(one.machine, shelf_aside=True)
        if again.failed is None:
            assert one.failed is not None
            found.append(NearMiss("parts", one.failed, again))
            break
    return found


def _numbers(problem: Problem) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    count = problem.space.count
    if count <= ENUMERABLE:
        return np.arange(count, dtype=np.int64)
    generator = np.random.default_rng(problem.inputs["seed"])
    return np.unique(generator.integers(0, count, FIRST_DRAW))
