"""Everything found out about one question, before it is written down."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from baywright_service.contract import Inputs

from .dominance import dominators
from .evaluate import Evaluation, Worked
from .floors import Floors
from .funnel import Funnel
from .machines import Counting
from .nearest import NearMiss, near_misses
from .problem import Problem
from .reading import problem_of
from .search import MOST_WORK, Search, costs_of, search
from .shapes import Drawings
from .shelf import Shelf
from .strength import Bench

Ints = NDArray[np.int64]

#: Work of a run that only proves a remedy.
PROVING_WORK = 2000.0


@dataclass(frozen=True)
class Lost:
    """A machine that was worked out and lost: to a check, to a machine of the set (its place
    there), or because it is alike with one."""

    worked: Worked
    beaten_by: int | None = None
    alike: bool = False


@dataclass(frozen=True)
class Study:
    """`best`: the set, sorted by the first objective; `misses` only where it is empty."""

    problem: Problem
    funnel: Funnel
    found: Search
    best: tuple[Worked, ...]
    lost: tuple[Lost, ...]
    misses: tuple[NearMiss, ...]
    checked: int
    spent: float
    drawings: Drawings
    bench: Bench

    @property
    def removed(self) -> int:
        return self.found.removed

    @property
    def unseen(self) -> int:
        return self.problem.space.count - self.removed - len(self.found.worked)

    @property
    def feasible(self) -> int:
        return sum(one.failed is None for one in self.found.worked)

    @property
    def exact(self) -> bool:
        journey = self.problem.journey
        broken_off = journey is not None and journey.broken_off
        return self.unseen == 0 and not broken_off


def study_of(inputs: Inputs) -> Study:
    """The whole search. Raises InvalidInputs, CannotCalculate."""
    problem = problem_of(inputs)
    drawings, floors = Drawings(problem), Floors(problem)
    shelf = Shelf(problem.kit, problem.free, inputs["use_substitutes"])
    counting, bench = Counting(problem, drawings, floors), Bench(problem, drawings)
    funnel = Funnel(problem, drawings, floors, counting, shelf)
    evaluation = Evaluation(problem, counting, shelf, bench)
    most_work = PROVING_WORK if inputs.proving else MOST_WORK
    found = search(problem, funnel, evaluation, most_work=most_work)
    spent = evaluation.spent
    best, lost = split_up(found, problem)
    misses: list[NearMiss] = []
    if not best and not inputs.proving:
        misses = near_misses(problem, funnel, evaluation, found)
    return Study(
        problem, funnel, found, best, lost, tuple(misses), bench.checked, spent, drawings, bench
    )


def split_up(found: Search, problem: Problem) -> tuple[tuple[Worked, ...], tuple[Lost, ...]]:
    """The machines that no other one beats, and the others with what they lost to.

    Of machines alike in every objective the one with the lowest number stands for all.
    """
    good = [one for one in found.worked if one.failed is None]
    lost = [Lost(one) for one in found.worked if one.failed is not None]
    if not good:
        return (), tuple(lost)
    costs = costs_of(good, problem.objectives)
    beaten = dominators(costs)
    first: dict[bytes, int] = {}
    for row in np.flatnonzero(beaten < 0).tolist():
        first.setdefault(costs[row].tobytes(), row)
    order = sorted(first.values(), key=lambda row: (costs[row].tolist(), row))
    place = {row: k for k, row in enumerate(order)}
    for row, one in enumerate(good):
        if row in place:
            continue
        if beaten[row] >= 0:
            by = first[costs[int(beaten[row])].tobytes()]
            lost.append(Lost(one, place[by]))
        else:
            lost.append(Lost(one, place[first[costs[row].tobytes()]], alike=True))
    lost.sort(key=lambda one: one.worked.machine.number)
    return tuple(good[row] for row in order), tuple(lost)
