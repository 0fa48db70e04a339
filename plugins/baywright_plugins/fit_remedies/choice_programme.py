"""One option from each of several groups at least cost, under linear conditions: exact."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

Floats = NDArray[np.float64]

#: Branches of the search before it is broken off; a count, not a time, so that equal questions
#: get equal answers on any machine.
MOST_NODES = 2000

_OPTIMAL, _LIMIT, _INFEASIBLE = 0, 1, 2


@dataclass(frozen=True)
class Condition:
    """low <= sum of coefficient x column <= high."""

    columns: tuple[int, ...]
    coefficients: tuple[float, ...]
    low: float
    high: float


@dataclass(frozen=True)
class Programme:
    """`costs[g][o]` of option o of group g; one option of each group is taken.

    `switch_costs`: yes-or-no columns beside the groups, paid where a condition turns them on.
    `switches_decide`: once every switch is yes or no only one option of each group is left, so
    that only switches need be held to whole numbers, which is quicker. `shares`: further columns
    between 0 and 1 that cost nothing, for conditions that are tighter with them.
    """

    costs: tuple[tuple[float, ...], ...]
    switch_costs: tuple[float, ...] = ()
    conditions: tuple[Condition, ...] = ()
    switches_decide: bool = False
    shares: int = 0

    @cached_property
    def first_columns(self) -> tuple[int, ...]:
        """The column of each group's first option, and at the end that of the first switch."""
        return (0, *np.cumsum([len(group) for group in self.costs]).tolist())

    def column(self, group: int, option: int) -> int:
        return self.first_columns[group] + option

    def switch(self, number: int) -> int:
        return self.first_columns[-1] + number

    @property
    def width(self) -> int:
        """Columns in all; shares come last."""
        return self.first_columns[-1] + len(self.switch_costs) + self.shares


@dataclass(frozen=True)
class Choice:
    """`options[g]` is what is taken of group g; no choice costs less than `bound`.

    `proven`: the search was not broken off, so that none costs less than this one.
    """

    options: tuple[int, ...]
    switches: tuple[bool, ...]
    cost: float
    bound: float
    proven: bool


class NoChoice(ValueError):
    """Nothing fulfils the conditions; `proven` is False where the search was broken off."""

    def __init__(self, *, proven: bool) -> None:
        super().__init__("nothing fulfils the conditions" if proven else "broken off")
        self.proven = proven


def cheapest(
    programme: Programme,
    excluded: Iterable[Condition] = (),
    *,
    most_nodes: int = MOST_NODES,
) -> Choice:
    """The choice of least cost.

        minimise c x,   sum over each group x = 1,   low <= A x <= high,   x in {0, 1}

    Args:
        programme: at least one group, each with at least one option.
        excluded: further conditions, such as cuts that rule out choices known already.
        most_nodes: branches of the search tree at most.

    Raises:
        NoChoice: no choice, or none found within `most_nodes`.

    Leaves out: which of several choices of equal cost is taken.
    Source: Martello and Toth, Knapsack Problems (1990), for choices of this kind; solved by
    scipy.optimize.milp (HiGHS, branch and cut).

    >>> cheapest(Programme(((3.0, 1.0), (2.0, 5.0)))).options
    (1, 0)
    """
    matrix, low, high = _matrix(programme, list(excluded))
    worth = np.zeros(programme.width)
    paid = [*(c for group in programme.costs for c in group), *programme.switch_costs]
    worth[: len(paid)] = paid
    whole = np.zeros(len(worth), dtype=np.int64)
    whole[programme.first_columns[-1] if programme.switches_decide else 0 : len(paid)] = 1
    found = milp(
        worth,
        integrality=whole,
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, low, high),
        options={"mip_rel_gap": 0.0, "node_limit": most_nodes},
    )
    if found.x is None:
        if found.status in (_LIMIT, _INFEASIBLE):
            raise NoChoice(proven=found.status == _INFEASIBLE)
        raise RuntimeError(found.message)
    return _choice(programme, found, worth)


def _choice(programme: Programme, found: Any, worth: Floats) -> Choice:
    taken = found.x > 0.5
    ends = programme.first_columns
    options = tuple(
        int(np.flatnonzero(taken[first:stop])[0])
        for first, stop in zip(ends[:-1], ends[1:], strict=True)
    )
    cost = float(worth[taken].sum())  # shares cost nothing
    proven = found.status == _OPTIMAL
    bound = cost if proven else min(float(found.mip_dual_bound), cost)
    switches = tuple(bool(on) for on in taken[ends[-1] : programme.width - programme.shares])
    return Choice(options, switches, cost, bound, proven)


def not_all(columns: Sequence[Sequence[int]]) -> Condition:
    """A cut: not one of each of these sets of columns together (each set from one group).

    >>> not_all([(0, 1), (4,)]).high
    1.0
    """
    flat = tuple(column for group in columns for column in group)
    return Condition(flat, (1.0,) * len(flat), -np.inf, float(len(columns) - 1))


def _matrix(
    programme: Programme, excluded: Sequence[Condition]
) -> tuple[csr_array, Floats, Floats]:
    ends = programme.first_columns
    one_of_each = [
        Condition(tuple(range(first, stop)), (1.0,) * (stop - first), 1.0, 1.0)
        for first, stop in zip(ends[:-1], ends[1:], strict=True)
    ]
    conditions = [*one_of_each, *programme.conditions, *excluded]
    rows = np.repeat(np.arange(len(conditions)), [len(c.columns) for c in conditions])
    columns = np.array([k for c in conditions for k in c.columns], dtype=np.int64)
    values = np.array([x for c in conditions for x in c.coefficients], dtype=np.float64)
    matrix = csr_array((values, (rows, columns)), shape=(len(conditions), programme.width))
    low = np.array([c.low for c in conditions])
    high = np.array([c.high for c in conditions])
    return matrix, low, high
