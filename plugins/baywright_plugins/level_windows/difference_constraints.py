"""Heights as difference constraints, some of them on a grid: closure, windows, and no answer.

All lengths are whole nanometres, so that rounding to a grid is exact. A requirement is a row
"head - tail >= least". Heights on the grid are counted from its first plane (and their own
offset): there they are whole multiples of the module. Node 0 is the hall floor, fixed at 0; it
counts as snapped.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

NM_PER_MM = 1_000_000
#: No requirement between two nodes; below a lower end, and negated above an upper end, "open".
NONE = -(1 << 60)
#: Beyond this, either way, an end of a window is open.
OPEN = 1 << 59


@dataclass(frozen=True)
class Rows:
    """Rows "z[head] - z[tail] >= least_nm", each of a member (a requirement or a level's limit).

    All arrays have shape (rows,). `slackens` marks rows whose slack counts: those of ranges that
    leave room, not those of equalities.
    """

    tail: Ints
    head: Ints
    least_nm: Ints
    member: Ints
    slackens: Mask

    def only(self, rows: Mask) -> "Rows":
        """The rows a mask of shape (rows,) leaves."""
        return Rows(
            self.tail[rows],
            self.head[rows],
            self.least_nm[rows],
            self.member[rows],
            self.slackens[rows],
        )

    def of(self, members: Mask) -> "Rows":
        """The rows of those members that a mask of shape (members,) leaves."""
        return self.only(members[self.member])

    def with_least(self, least_nm: Ints) -> "Rows":
        """The same rows asking for other distances."""
        return Rows(self.tail, self.head, least_nm, self.member, self.slackens)

    def upside_down(self) -> "Rows":
        """The same rows for heights counted downwards."""
        return Rows(self.head, self.tail, self.least_nm, self.member, self.slackens)


@dataclass(frozen=True)
class Grid:
    """Which nodes lie on planes `module_nm` apart, and where each counts from (shape (nodes,)).

    A height is `origin_nm` plus the count; the count of a snapped node is a multiple of the module.
    """

    snapped: Mask
    module_nm: int
    origin_nm: Ints

    @property
    def count(self) -> int:
        """How many nodes, the hall floor included."""
        return len(self.snapped)

    def off(self) -> "Grid":
        """The same nodes without a grid: planes one nanometre apart."""
        return Grid(np.ones_like(self.snapped), 1, np.zeros_like(self.origin_nm))

    def upside_down(self) -> "Grid":
        """The same planes for heights counted downwards."""
        return Grid(self.snapped, self.module_nm, -self.origin_nm)

    def counted(self, rows: Rows) -> Ints:
        """What each row asks between counts, shape (rows,)."""
        return rows.least_nm + self.origin_nm[rows.tail] - self.origin_nm[rows.head]


class NoAnswer(Exception):
    """No heights satisfy all rows; `node` lies on a way round that asks to be above itself."""

    def __init__(self, node: int) -> None:
        super().__init__(f"node {node} would have to lie above itself")
        self.node = node


def round_up(value_nm: Ints, module_nm: int) -> Ints:
    """The next whole multiple of the module at or above each value.

    >>> round_up(np.array([61, 60, -1, -61]), 60).tolist()
    [120, 60, 0, -60]
    """
    rounded: Ints = -((-value_nm) // module_nm) * module_nm
    return rounded


@dataclass(frozen=True)
class Closure:
    """What all rows together ask between any two nodes.

    `between_nm`: shape (nodes, nodes), the longest way from one to another through free nodes.
    `on_grid_nm`: shape (snapped, snapped), the longest way between snapped nodes, rounded up to
    the module at each of them. Together they give exact windows.
    """

    grid: Grid
    at: Ints
    between_nm: Ints
    on_grid_nm: Ints

    @cached_property
    def mirrored(self) -> "Closure":
        """The same with up and down exchanged: upper ends are its lower ends, negated."""
        return Closure(
            self.grid,
            self.at,
            np.ascontiguousarray(self.between_nm.T),
            np.ascontiguousarray(self.on_grid_nm.T),
        )

    def lowest(self, floor_nm: Ints) -> Ints:
        """The least counts at or above `floor_nm` (shape (nodes,)) that satisfy all rows."""
        direct: Ints = (floor_nm[:, None] + self.between_nm).max(axis=0)
        snapped = round_up(direct[self.at], self.grid.module_nm)
        snapped = (snapped[:, None] + self.on_grid_nm).max(axis=0)
        found: Ints = np.maximum(direct, (snapped[:, None] + self.between_nm[self.at]).max(axis=0))
        found[self.at] = snapped
        return found

    def highest(self, ceiling_nm: Ints) -> Ints:
        """The greatest counts at or below `ceiling_nm` that satisfy all rows."""
        return -self.mirrored.lowest(-ceiling_nm)

    def window(self) -> tuple[Ints, Ints]:
        """Lower and upper end of each count; beyond OPEN either way it is open."""
        floor = np.full(self.grid.count, NONE)
        floor[0] = 0
        return self.lowest(floor), self.highest(-floor)

    def asked_nm(self) -> Ints:
        """A lower bound on each node above each other, shape (nodes, nodes); exact on the grid."""
        via = _compose(self.between_nm[:, self.at], self.on_grid_nm)
        return np.maximum(self.between_nm, _compose(via, self.between_nm[self.at]))


def direct_rows(rows: Rows, grid: Grid, least_nm: Ints | None = None) -> Ints:
    """The largest distance asked directly between each two nodes, as counts."""
    direct = np.full((grid.count, grid.count), NONE)
    np.fill_diagonal(direct, 0)
    counted = grid.counted(rows if least_nm is None else rows.with_least(least_nm))
    np.maximum.at(direct, (rows.tail, rows.head), counted)
    return direct


def close(rows: Rows, grid: Grid, least_nm: Ints | None = None) -> Closure:
    """All that rows ask, on the grid and off it.

    Longest ways through free nodes come first; between snapped nodes they are rounded up to whole
    modules, and what remains is a difference system in whole numbers, closed again. Any row that
    still holds for the least counts holds for some heights, so an answer exists exactly where
    neither closure finds a node above itself. Time grows with nodes cubed.

    Args:
        rows: what is asked. least_nm: other distances for the same rows.
        grid: which nodes are snapped.

    Raises:
        NoAnswer: the rows contradict one another, on this grid.

    Source: Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, 3rd ed., sections 24.4
    and 25.2; Leiserson and Saxe, A mixed-integer linear programming problem which is efficiently
    solvable, Journal of Algorithms 9 (1988), from memory.
    Leaves out: levels that snap to another module than the rest.
    """
    between = direct_rows(rows, grid, least_nm)
    _through(between, np.flatnonzero(~grid.snapped), None)
    at = np.flatnonzero(grid.snapped)
    on_grid = round_up(between[np.ix_(at, at)], grid.module_nm)
    _through(on_grid, np.arange(len(at)), at)
    return Closure(grid, at, between, on_grid)


def holds(rows: Rows, grid: Grid, least_nm: Ints | None = None) -> bool:
    """Whether any heights satisfy all rows."""
    try:
        close(rows, grid, least_nm)
    except NoAnswer:
        return False
    return True


def _through(longest_nm: Ints, middles: Ints, names: Ints | None) -> None:
    """Floyd and Warshall, one vectorised step for each middle node; in place."""
    own = np.einsum("ii->i", longest_nm)
    for middle in middles:
        if own.max() > 0:
            break
        step = longest_nm[:, middle, None] + longest_nm[middle]
        np.maximum(longest_nm, step, out=longest_nm)
    worst = int(own.argmax())
    if own[worst] > 0:
        raise NoAnswer(worst if names is None else int(names[worst]))


def _compose(first_nm: Ints, second_nm: Ints) -> Ints:
    """Longest ways in two stretches: (n, k) and (k, m) give (n, m)."""
    longest = np.full((first_nm.shape[0], second_nm.shape[1]), 2 * NONE)
    for middle in range(first_nm.shape[1]):
        np.maximum(longest, first_nm[:, middle, None] + second_nm[middle], out=longest)
    return longest
