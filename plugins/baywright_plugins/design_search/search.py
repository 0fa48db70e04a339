"""Going through the space: all of it where it is small, by a seeded search where it is not."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .dominance import non_dominated
from .evaluate import Evaluation, Worked
from .funnel import Funnel
from .machines import machine_at
from .objectives import OBJECTIVES
from .problem import Problem
from .space import Looked

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

#: Spaces up to this many machines go through the cheap checks whole.
ENUMERABLE = 200_000
#: Work on strength in one search, in units of about a millisecond.
MOST_WORK = 4000.0
#: Machines passed over because their strength would take too much work, before it ends.
MOST_SKIPPED = 2000
#: Of a large space: rounds, machines drawn at random at first, and in each round beside them.
ROUNDS, FIRST_DRAW, DRAW = 8, 8_000, 600


@dataclass(frozen=True)
class Search:
    """What was found. `worked` in the order of their numbers. `whole`: the cheap checks saw every
    machine, and `removed` so many. `stopped_by`: what ended the search."""

    worked: tuple[Worked, ...]
    whole: bool
    removed: int
    stopped_by: str


def search(problem: Problem, funnel: Funnel, evaluation: Evaluation, *, most_work: float) -> Search:
    """Machines worked out to the end, within `most_evaluations` and `most_work`."""
    run = _Run(problem, funnel, evaluation, most_work)
    whole = problem.space.count <= ENUMERABLE
    if whole:
        run.look_at(np.arange(problem.space.count, dtype=np.int64), share=1.0)
    else:
        run.rounds()
    worked = tuple(sorted(run.worked, key=lambda one: one.machine.number))
    removed = sum(tally.removed for tally in funnel.tallies.values())
    return Search(worked, whole, removed, run.stopped_by)


def costs_of(worked: Sequence[Worked], objectives: Sequence[str]) -> Floats:
    """Objectives as columns, each the less the better, rounded to the digits that count."""
    signs = [-1.0 if OBJECTIVES[name].more_is_better else 1.0 for name in objectives]
    rows = [
        [round(one.values[name], OBJECTIVES[name].digits) for name in objectives] for one in worked
    ]
    return np.array(rows, dtype=np.float64).reshape(-1, len(objectives)) * signs + 0.0


class _Run:
    def __init__(
        self, problem: Problem, funnel: Funnel, evaluation: Evaluation, most_work: float
    ) -> None:
        self.problem, self.funnel, self.evaluation = problem, funnel, evaluation
        self.most_work = most_work
        self.generator = np.random.default_rng(problem.inputs["seed"])
        self.worked: list[Worked] = []
        self.stopped_by = "whole-space"

    def look_at(self, numbers: Ints, *, share: float) -> None:
        """Through the checks, then worked out as far as this share of the means reaches."""
        left = [self.funnel.through(one) for one in self.problem.space.looked(numbers)]
        rows = [(one, row) for one in left for row in range(len(one.number))]
        most = int(np.ceil(share * self.problem.inputs["most_evaluations"]))
        skipped = 0
        for place in self._order(left).tolist():
            if len(self.worked) >= most:
                self.stopped_by = "most-evaluations"
                return
            machine = machine_at(self.problem, *rows[place])
            if self.evaluation.spent + self.evaluation.cost(machine) <= share * self.most_work:
                self.worked.append(self.evaluation.of(machine))
                continue
            self.stopped_by, skipped = "work-limit", skipped + 1
            if skipped > MOST_SKIPPED:
                return

    def rounds(self) -> None:
        """Blocks that cannot do are removed whole; then, round by round, machines at random and
        neighbours of the best."""
        space, seen = self.problem.space, np.empty(0, dtype=np.int64)
        live = self.funnel.live_blocks()
        for number in range(1, ROUNDS + 1):
            drawn = [space.drawn(self.generator, FIRST_DRAW if number == 1 else DRAW, live)]
            if self.worked:
                drawn.append(space.neighbours(self._parents(), self.generator, DRAW))
            numbers = np.setdiff1d(np.concatenate(drawn), seen)
            numbers = numbers[live[space.block_of(numbers)]]
            seen = np.union1d(seen, numbers)
            self.look_at(numbers, share=number / ROUNDS)
        self.stopped_by = "seeded-search"

    def _parents(self) -> Ints:
        """The machines that no other one beats; where none will do, all that were worked out."""
        good = [one for one in self.worked if one.failed is None]
        if not good:
            return np.array([one.machine.number for one in self.worked], dtype=np.int64)
        best = non_dominated(costs_of(good, self.problem.objectives))
        return np.array([one.machine.number for one in good], dtype=np.int64)[best]

    def _order(self, left: Sequence[Looked]) -> Ints:
        """The order to work machines out in: by turns one of each kind (block, bracing, depth),
        small ones first, every fourth at random."""
        if not left:
            return np.empty(0, dtype=np.int64)
        kinds = np.concatenate(
            [
                np.column_stack([np.full(len(one.number), k), one.bracing, one.depth])
                for k, one in enumerate(left)
            ]
        )
        sizes = np.concatenate([_edges(self.problem, one) for one in left])
        _, kind = np.unique(kinds, axis=0, return_inverse=True)
        kind = kind.ravel()
        by_kind = np.lexsort((sizes, kind))
        starts = np.searchsorted(kind[by_kind], kind[by_kind], side="left")
        turn = np.empty(len(kind), dtype=np.int64)
        turn[by_kind] = np.arange(len(kind)) - starts
        in_turn = np.lexsort((kind, turn))
        at_random = self.generator.permutation(len(kind))
        every_third = np.arange(3, len(kind) + 1, 3)
        mixed = np.insert(in_turn, every_third, at_random[: len(every_third)])
        _, first = np.unique(mixed, return_index=True)
        return mixed[np.sort(first)]


def _edges(problem: Problem, looked: Looked) -> Ints:
    """Bays along the edges of all sections, shape (n,): parts grow with them."""
    found = np.zeros(len(looked.number), dtype=np.int64)
    for section in problem.splits[looked.block.split].sections:
        found += looked.length[:, section.own] + looked.depth + looked.height[:, section.own]
    return found
