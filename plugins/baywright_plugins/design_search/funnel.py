"""Machines go through the cheap checks one after another; what falls out is counted and told."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from .check import Bools, Check, Reason
from .check_grid import BracingCheck, SizeCheck
from .check_shelf import PartsCheck
from .check_use import DoorsCheck, FloorCheck, LiftsCheck
from .floors import Floors
from .machines import Counting, Machine, machine_at
from .problem import Problem
from .shapes import Drawings
from .shelf import Shelf
from .space import Looked

#: Reasons told for one check.
MOST_REASONS = 6
#: Reasons worked out before those of equal words are put together.
MOST_WORKED_OUT = 40


@dataclass
class Tally:
    """One check: machines that came to it, those it removed, and by reason one of them and how
    many."""

    looked_at: int = 0
    removed: int = 0
    groups: dict[tuple[int, ...], int] = field(default_factory=dict)
    examples: dict[tuple[int, ...], Machine] = field(default_factory=dict)


class Funnel:
    """The checks that are asked for, in order, and what each removed."""

    def __init__(
        self, problem: Problem, drawings: Drawings, floors: Floors, counting: Counting, shelf: Shelf
    ) -> None:
        self.problem = problem
        every: Sequence[Check] = (
            SizeCheck(problem),
            BracingCheck(problem),
            DoorsCheck(problem),
            FloorCheck(problem, floors),
            LiftsCheck(problem),
            PartsCheck(problem, drawings, counting, shelf),
        )
        self.checks = tuple(check for check in every if check.asked)
        self.tallies = {check.id: Tally() for check in self.checks}

    def live_blocks(self) -> Bools:
        """Blocks that some machine may be found in; the others are removed whole, and counted."""
        space = self.problem.space
        live = np.ones(len(space.blocks), dtype=bool)
        for place, block in enumerate(space.blocks):
            check = next((one for one in self.checks if one.fails_block(block)), None)
            if check is None:
                continue
            live[place] = False
            (one,) = space.looked(space.first[place : place + 1])
            tally = self.tallies[check.id]
            tally.looked_at += block.count
            tally.removed += block.count
            key = (*block.rods, block.split, *check.facets(one)[0].tolist())
            tally.groups[key] = tally.groups.get(key, 0) + block.count
            tally.examples.setdefault(key, machine_at(self.problem, one, 0))
        return live

    def through(self, looked: Looked) -> Looked:
        """Those that pass every check; the others are counted at the first that removes them."""
        for check in self.checks:
            if not len(looked.number):
                break
            out = check.fails(looked)
            tally = self.tallies[check.id]
            tally.looked_at += len(out)
            if out.any():
                tally.removed += int(out.sum())
                self._group(check, tally, looked.only(out))
            looked = looked.only(~out)
        return looked

    def but_one(self, looked: Looked, left_out: str) -> Looked:
        """Those that pass every check but one, and fail that one; nothing is counted."""
        for check in self.checks:
            if not len(looked.number):
                break
            out = check.fails(looked)
            looked = looked.only(out if check.id == left_out else ~out)
        return looked

    def check(self, id: str) -> Check:
        return next(check for check in self.checks if check.id == id)

    def reasons(self, id: str) -> list[tuple[Reason, int]]:
        """Why a check removed machines, and how many for each reason; the commonest first."""
        tally, check = self.tallies[id], self.check(id)
        common = sorted(tally.groups.items(), key=lambda item: (-item[1], item[0]))
        told: dict[str, tuple[Reason, int]] = {}
        for key, count in common[:MOST_WORKED_OUT]:
            reason = check.reason(tally.examples[key])
            known = told.get(reason.message)
            told[reason.message] = (reason, count + (known[1] if known else 0))
        found = sorted(told.values(), key=lambda one: -one[1])
        return found[:MOST_REASONS]

    def _group(self, check: Check, tally: Tally, out: Looked) -> None:
        if check.nearest_first:
            out = out.only(np.argsort(check.excess(out), kind="stable"))
        facets = check.facets(out)
        kinds, first, counts = np.unique(facets, axis=0, return_index=True, return_counts=True)
        block = (*out.block.rods, out.block.split)
        for kind, row, count in zip(kinds.tolist(), first.tolist(), counts.tolist(), strict=True):
            key = (*block, *kind)
            if key not in tally.groups:
                tally.groups[key] = 0
                tally.examples[key] = machine_at(self.problem, out, row)
            tally.groups[key] += count
