"""The fewest requirements that cannot hold together, and how much each must give."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from .difference_constraints import Grid, Mask, NoAnswer, Rows, close, holds, round_up
from .shortest_walk import any_walk, shortest_walk

#: Nanoseconds that the proof that no smaller set conflicts may take by count, not by clock:
#: one check of n nodes is taken for 15 000 n + 1.5 n^3 of them.
_PROOF_WORK_NS = 2_000_000_000
_MOST_ROUNDS = 100
#: After so many ways round, how far a member must give is halved in instead.
_MOST_CUTS = 20


@dataclass(frozen=True)
class Conflict:
    """A set of members that cannot hold together; without any one of them the rest can.

    `walk`: rows in order, from a level up and back to below itself. `missing_nm`: by how much the
    last row is broken where all others are just kept. `members`: in the order of the walk.
    `smallest`: no set of fewer members conflicts; False where that was not proven.
    """

    walk: tuple[int, ...]
    members: tuple[int, ...]
    missing_nm: int
    smallest: bool


def smallest_conflict(rows: Rows, grid: Grid, *, share: int = 1) -> Conflict | None:
    """The fewest members that cannot hold together on this grid; None where all can.

    Without free levels a conflict is a way round through the rows that comes back too high, with
    rounding up at every level; the shortest one uses the fewest rows, one for each member (a
    member with both ends on it is a conflict of its own, looked for first). With free levels two
    stretches of a way round may share a row; whether a smaller set exists is then settled by
    hitting sets: every set of members that conflicts meets the rest of every largest set that
    holds.

    `share`: among how many such searches the work is to be shared before one is cut short.

    Source: Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, 3rd ed., theorem 24.9;
    Ignatiev et al., Smallest MUS extraction with minimal hitting set dualization (2015), from
    memory. Compared with trying all subsets in the tests.
    """
    try:
        close(rows, grid)
    except NoAnswer as no_answer:
        start = no_answer.node
    else:
        return None
    alone = _alone(rows, grid)
    if alone is not None:
        return alone
    walk, shortest = shortest_walk(rows, grid, start, share=share)
    found = _conflict(walk, rows, grid, shortest)
    if grid.snapped.all() or len(found.members) == 1:
        return found
    return _proven_smallest(_irreducible(found, rows, grid), rows, grid, share)


def give_needed(member: int, conflict: Conflict, rows: Rows, grid: Grid) -> int | None:
    """By how many nm this member must give, alone, for all rows to hold; None: that is not enough.

    It gives on the side where the conflict uses it.
    """
    if not holds(rows.only(rows.member != member), grid):
        return None
    used = np.isin(np.arange(len(rows.member)), conflict.walk) & (rows.member == member)
    give = 0
    for _ in range(_MOST_CUTS):
        eased = rows.with_least(rows.least_nm - give * used)
        try:
            close(eased, grid)
        except NoAnswer as no_answer:
            walk = any_walk(eased, grid, no_answer.node)
        else:
            return give
        if not used[list(walk)].any():
            return None
        give = _first_that(_comes_back_low(walk, rows, grid, used), give)
    return _first_that(lambda more: holds(rows, grid, rows.least_nm - more * used), give)


def _first_that(fits: Callable[[int], bool], low: int) -> int:
    """The least number above `low` that fits, where `low` does not and all large ones do."""
    step = 1
    while not fits(low + step):
        step *= 2
    low, high = low + step // 2, low + step
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high


def _comes_back_low(
    walk: tuple[int, ...], rows: Rows, grid: Grid, used: Mask
) -> Callable[[int], bool]:
    """Whether a walk comes back no higher than it started, where the used rows give so much."""
    counted = grid.counted(rows)
    steps = [(int(counted[r]), bool(used[r]), bool(grid.snapped[rows.head[r]])) for r in walk]
    module = grid.module_nm

    def low_enough(give: int) -> bool:
        at = 0
        for asked, gives, snapped in steps:
            at += asked - give if gives else asked
            at = -(-at // module) * module if snapped else at
        return at <= 0

    return low_enough


def reached(walk: tuple[int, ...], rows: Rows, grid: Grid) -> list[tuple[int, int]]:
    """For each row of a walk what it climbs to, before and after rounding, from its start (nm)."""
    counted = grid.counted(rows)
    first = int(grid.origin_nm[rows.tail[walk[0]]])
    at, found = 0, []
    for row in walk:
        plain = at + int(counted[row])
        head = rows.head[row]
        at = -(-plain // grid.module_nm) * grid.module_nm if grid.snapped[head] else plain
        origin = int(grid.origin_nm[head]) - first
        found.append((plain + origin, at + origin))
    return found


def _turned(walk: tuple[int, ...], rows: Rows, grid: Grid) -> tuple[int, ...]:
    """The same way round, from the hall floor if it touches it, else ending on its way down."""
    starts = [k for k, row in enumerate(walk) if grid.snapped[rows.tail[row]]] or [0]
    best = min(starts, key=lambda k: (rows.tail[walk[k]] != 0, rows.least_nm[walk[k - 1]] > 0, k))
    return walk[best:] + walk[:best]


def _conflict(walk: tuple[int, ...], rows: Rows, grid: Grid, smallest: bool) -> Conflict:
    walk = _turned(walk, rows, grid)
    members = tuple(dict.fromkeys(int(rows.member[row]) for row in walk))
    return Conflict(walk, members, reached(walk, rows, grid)[-1][0], smallest)


def _alone(rows: Rows, grid: Grid) -> Conflict | None:
    """A range between two snapped levels in which no whole module lies."""
    counted = grid.counted(rows)
    order = np.lexsort((np.arange(len(counted)), rows.member))
    first, second = order[:-1], order[1:]
    both = (
        (rows.member[first] == rows.member[second])
        & (rows.tail[first] == rows.head[second])
        & grid.snapped[rows.tail[first]]
        & grid.snapped[rows.head[first]]
    )
    asked = round_up(counted[first], grid.module_nm) + round_up(counted[second], grid.module_nm)
    bad = np.flatnonzero(both & (asked > 0))
    if not bad.size:
        return None
    return _conflict((int(first[bad[0]]), int(second[bad[0]])), rows, grid, True)


def _irreducible(conflict: Conflict, rows: Rows, grid: Grid) -> Conflict:
    """The same without members that the contradiction does not need."""
    kept = list(conflict.members)
    for member in conflict.members:
        fewer = [other for other in kept if other != member]
        if not holds(rows.only(np.isin(rows.member, fewer)), grid):
            kept = fewer
    return conflict if len(kept) == len(conflict.members) else _of(kept, rows, grid, False)


def _of(members: list[int], rows: Rows, grid: Grid, smallest: bool) -> Conflict:
    """The conflict among just these members."""
    places = np.flatnonzero(np.isin(rows.member, members))
    few = rows.only(np.isin(rows.member, members))
    walk, _ = shortest_walk(few, grid, int(few.tail[0]))
    return _conflict(tuple(int(places[k]) for k in walk), rows, grid, smallest)


class _OutOfWork(Exception):
    """The proof has used up its checks."""


class _Checks:
    """Which members hold together; each answer counts."""

    def __init__(self, rows: Rows, grid: Grid, share: int) -> None:
        self.rows, self.grid = rows, grid
        self.members = np.unique(rows.member)
        self.place = np.searchsorted(self.members, rows.member)
        self.left = int(_PROOF_WORK_NS / share / (15_000 * grid.count + 1.5 * grid.count**3))

    def hold(self, chosen: Mask) -> bool:
        """Whether the chosen of `members` hold together."""
        self.left -= 1
        if self.left < 0:
            raise _OutOfWork
        return holds(self.rows.only(chosen[self.place]), self.grid)

    def grow(self, chosen: Mask) -> Mask:
        """As many members as hold together with the chosen ones, added in halves."""
        grown = chosen.copy()
        waiting = [np.flatnonzero(~chosen)]
        while waiting:
            block = waiting.pop()
            tried = grown.copy()
            tried[block] = True
            if self.hold(tried):
                grown = tried
            elif len(block) > 1:
                waiting += [block[len(block) // 2 :], block[: len(block) // 2]]
        return grown


def _proven_smallest(conflict: Conflict, rows: Rows, grid: Grid, share: int) -> Conflict:
    """The smallest set of all, by hitting sets; the given one where that is too much work."""
    checks = _Checks(rows, grid, share)
    try:
        chosen = _fewest(conflict, checks)
    except _OutOfWork:
        return replace(conflict, smallest=False)
    if chosen is None:
        return replace(conflict, smallest=True)
    return _of([int(member) for member in checks.members[chosen]], rows, grid, True)


def _fewest(conflict: Conflict, checks: _Checks) -> Mask | None:
    """A set smaller than the conflict that conflicts as well; None where there is none.

    Raises _OutOfWork.
    """
    inside = np.isin(checks.members, conflict.members)
    to_meet = [~checks.grow(inside & (checks.members != member)) for member in conflict.members]
    for _ in range(_MOST_ROUNDS):
        chosen = _fewest_that_meet(to_meet, len(inside))
        if chosen.sum() >= len(conflict.members):
            return None
        if not checks.hold(chosen):
            return chosen
        to_meet.append(~checks.grow(chosen))
    raise _OutOfWork


def _fewest_that_meet(sets: list[Mask], count: int) -> Mask:
    """The fewest members that meet every set."""
    if not sets:
        return np.zeros(count, dtype=bool)
    answer = milp(
        np.ones(count),
        constraints=LinearConstraint(np.array(sets, dtype=float), 1, np.inf),
        bounds=Bounds(0, 1),
        integrality=np.ones(count, dtype=np.int64),
        options={"mip_rel_gap": 0.0},
    )
    return np.asarray(answer.x) > 0.5
