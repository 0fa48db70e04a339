"""An integer programme written row by row, and its optimum in order of rank."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

#: Branch-and-bound nodes for one aim times variables: a bound on work that does not depend on
#: the clock.
MOST_WORK = 200_000
MOST_NODES = 2000
FEWEST_NODES = 60
#: A gap below this is rounding.
PROVEN = 1e-6

Terms = Mapping[int, float]


class NoWholeAnswer(ArithmeticError):
    """The solver found no whole numbers that satisfy all rows within its bound on work."""


class Sheet:
    """Whole-number variables from 0 up, rows of sums within limits, and aims by name."""

    def __init__(self) -> None:
        self.most: list[float] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.aims: dict[str, dict[int, float]] = {}

    def variable(self, most: float = np.inf, **worth: float) -> int:
        """A new variable of at most `most`, and what one of it adds to each aim named."""
        self.most.append(most)
        number = len(self.most) - 1
        for aim, value in worth.items():
            if value:
                self.aims.setdefault(aim, {})[number] = value
        return number

    def row(self, terms: Terms, *, least: float = -np.inf, most: float = np.inf) -> None:
        """A sum of variables between two limits."""
        self.rows.append((dict(terms), least, most))


@dataclass(frozen=True)
class Solved:
    """x: whole numbers by variable. values and bounds by aim: what was reached, and a proven
    bound below which nothing can come; equal where the answer is proven best."""

    x: tuple[int, ...]
    values: Mapping[str, float]
    bounds: Mapping[str, float]

    @property
    def gap(self) -> float:
        """The largest share of an aim's value that is not proven; 0 where all are."""
        return max((self.gap_of(aim) for aim in self.values), default=0.0)

    def gap_of(self, aim: str) -> float:
        """Share of one aim's value that is not proven."""
        value, bound = self.values[aim], self.bounds[aim]
        return max(0.0, value - bound) / max(abs(value), 1.0)

    @property
    def optimal(self) -> bool:
        return self.gap <= PROVEN


def in_order(sheet: Sheet, aims: Sequence[str], *, most_nodes: int | None = None) -> Solved:
    """The least of the first aim; among those the least of the second; and so on.

    Each aim is one integer programme, with what the aims before it reached as rows. An aim that
    is 0 already, and that nothing can bring below 0, needs none.

    Args:
        aims: names of aims of the sheet; one that no variable adds to counts as reached.
        most_nodes: bound on the nodes for one aim, beyond which the gap is given; left out, by
            the number of variables.

    Raises NoWholeAnswer.
    Source: lexicographic goal programming; scipy.optimize.milp (HiGHS), branch and bound.

    >>> sheet = Sheet()
    >>> a, b = sheet.variable(cost=2.0, pieces=1.0), sheet.variable(cost=4.0, pieces=1.0)
    >>> sheet.row({a: 1.0, b: 2.0}, least=5.0)
    >>> found = in_order(sheet, ["cost", "pieces"])
    >>> found.x, found.values["cost"], found.optimal
    ((1, 2), 10.0, True)
    """
    if most_nodes is None:
        share = MOST_WORK // max(len(sheet.most), 1)
        most_nodes = min(MOST_NODES, max(FEWEST_NODES, share))
    rows = list(sheet.rows)
    x: tuple[int, ...] | None = None
    values: dict[str, float] = {}
    bounds: dict[str, float] = {}
    for aim in aims:
        worth = sheet.aims.get(aim, {})
        if x is None or not _least(worth, x):
            x, bounds[aim] = _solved(sheet.most, rows, worth, most_nodes)
        else:
            bounds[aim] = 0.0
        values[aim] = _sum(worth, x)
        bounds[aim] = min(bounds[aim], values[aim])
        if worth:
            rows.append((worth, -np.inf, values[aim] + 1e-7 * max(1.0, abs(values[aim]))))
    if x is None:
        x, _ = _solved(sheet.most, rows, {}, most_nodes)
    return Solved(x, values, bounds)


def _sum(worth: Terms, x: Sequence[int]) -> float:
    return float(sum(value * x[number] for number, value in worth.items()))


def _least(worth: Terms, x: Sequence[int]) -> bool:
    return all(value > 0 and not x[number] for number, value in worth.items())


def _solved(
    most: Sequence[float],
    rows: Sequence[tuple[Terms, float, float]],
    worth: Terms,
    most_nodes: int,
) -> tuple[tuple[int, ...], float]:
    aim = np.zeros(len(most))
    aim[list(worth)] = list(worth.values())
    if not len(most):
        return (), 0.0
    found = milp(
        aim,
        integrality=np.ones(len(most), dtype=np.int64),
        bounds=Bounds(0, np.array(most, dtype=np.float64)),
        constraints=_matrix(rows, len(most)),
        options={"mip_rel_gap": 0.0, "node_limit": most_nodes},
    )
    if found.x is None:
        raise NoWholeAnswer(found.message)
    bound = float(aim @ found.x) if found.status == 0 else float(found.mip_dual_bound)
    return tuple(round(float(value)) for value in found.x), bound


def _matrix(rows: Sequence[tuple[Terms, float, float]], columns: int) -> list[LinearConstraint]:
    if not rows:
        return []
    at = [number for number, (terms, _, _) in enumerate(rows) for _ in terms]
    over = [column for terms, _, _ in rows for column in terms]
    values = [value for terms, _, _ in rows for value in terms.values()]
    matrix = csr_array((values, (at, over)), shape=(len(rows), columns), dtype=np.float64)
    least = np.array([row[1] for row in rows])
    return [LinearConstraint(matrix, least, np.array([row[2] for row in rows]))]
