"""Where nothing will do: the machines that fail one check alone, and by how little."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .check import Reason
from .check_shelf import to_buy_reason
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
        miss for check in funnel.checks for miss in _of_check(problem, funnel, evaluation, check.id)
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
    ranked = [item for item in ranked if evaluation.buildable(item[1])]
    ranked.sort(key=lambda item: (item[0], item[1].number))
    for _, machine in ranked[:_TRIED]:
        if evaluation.spent + evaluation.cost(machine) > _WORK:
            break
        worked = evaluation.of(machine, shelf_aside=check == "parts")
        if worked.failed is None:
            reason = funnel.check(check).reason(machine)
            return [NearMiss(check, _to_buy(problem, worked) or reason, worked)]
    return []


def _to_buy(problem: Problem, worked: Worked) -> Reason | None:
    """What the shelf lacks, hub by hub, where it is more than may be bought."""
    most, account = problem.most_to_buy, worked.account
    if most is None or account is None or account.to_buy <= most:
        return None
    return to_buy_reason(account.to_buy, most, account.pieces, at_least=False)


def _of_worked(evaluation: Evaluation, worked: Sequence[Worked]) -> list[NearMiss]:
    """The nearest of those that only strength rules out, and of those only the shelf does."""
    found = []
    weak = [one for one in _failed(worked, "strength") if one.held and one.held.reserve > 0]
    tried = [
        evaluation.of(one.machine, whole=True)
        for one in weak[:_TRIED]
        if evaluation.spent + evaluation.cost(one.machine) <= _WORK
    ]
    for one in sorted(tried, key=_excess)[:1]:
        assert one.failed is not None
        found.append(NearMiss("strength", one.failed, one))
    for one in _failed(worked, "parts")[:_TRIED]:
        if one.account is None or evaluation.spent + evaluation.cost(one.machine) > _WORK:
            continue
        holds = evaluation.of(one.machine, shelf_aside=True)
        if holds.failed is None:
            assert one.failed is not None
            found.append(NearMiss("parts", one.failed, holds))
            break
    return found


def _failed(worked: Sequence[Worked], check: str) -> list[Worked]:
    """Machines that one check ruled out, the nearest miss first."""
    out = [one for one in worked if one.failed is not None and one.failed.check == check]
    return sorted(out, key=_excess)


def _excess(worked: Worked) -> float:
    return worked.failed.excess if worked.failed is not None else 0.0


def _numbers(problem: Problem) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    count = problem.space.count
    if count <= ENUMERABLE:
        return np.arange(count, dtype=np.int64)
    generator = np.random.default_rng(problem.inputs["seed"])
    return problem.space.drawn(generator, FIRST_DRAW)
