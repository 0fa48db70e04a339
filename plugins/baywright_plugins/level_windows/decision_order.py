"""In which order to decide the levels, and what each decision leaves to the others."""

from dataclasses import dataclass

import numpy as np

from .difference_constraints import NONE, OPEN, Closure, Grid, Ints, Rows, round_up


@dataclass(frozen=True)
class Decision:
    """A node in its turn: its window then (counts), its count, and what made the window.

    `low_nm` and `high_nm` are None where open. `narrowed_by`: nodes decided before that narrowed
    it. `low_by` and `high_by`: the rows that set its ends at that moment, all ties.
    """

    node: int
    low_nm: int | None
    high_nm: int | None
    count_nm: int
    narrowed_by: tuple[int, ...]
    low_by: tuple[int, ...]
    high_by: tuple[int, ...]


def decide(closure: Closure, rows: Rows, count_nm: Ints) -> list[Decision]:
    """The narrowest window first; among equals the level that most requirements touch.

    Levels with one height left come first of all, from the bottom up.

    After each decision the windows of the rest shrink to what it leaves; every height in a window
    (of its grid) remains possible, so no decision in this order can run into a dead end.

    Args:
        closure: of all the rows. count_nm: the count each node will get, shape (nodes,).

    Source: the least restricted choice last, a rule of thumb of constraint search (Russell and
    Norvig, Artificial Intelligence, section 6.3, from memory).
    """
    low, high = closure.window()
    grid = closure.grid
    over, below = rows.upside_down(), grid.upside_down()
    touching = np.bincount(np.r_[rows.tail, rows.head], minlength=grid.count)
    waiting = np.ones(len(low), dtype=bool)
    waiting[0] = False
    narrowed: list[list[int]] = [[] for _ in low]
    order: list[Decision] = []
    places = np.arange(len(low))
    for _ in range(len(low) - 1):
        width = np.where(waiting, high - low, -4 * NONE)
        second = np.where(width == 0, low + grid.origin_nm, -touching)
        node = int(np.lexsort((places, second, width))[0])
        order.append(
            Decision(
                node,
                int(low[node]) if low[node] > -OPEN else None,
                int(high[node]) if high[node] < OPEN else None,
                int(count_nm[node]),
                tuple(narrowed[node]),
                _set_by(node, rows, grid, low),
                _set_by(node, over, below, -high),
            )
        )
        waiting[node] = False
        if low[node] == high[node]:
            continue
        before = low, high
        low, high = low.copy(), high.copy()
        low[node] = high[node] = count_nm[node]
        low, high = closure.lowest(low), closure.highest(high)
        for other in np.flatnonzero(waiting & ((low > before[0]) | (high < before[1]))):
            narrowed[other].append(node)
    return order


def _set_by(node: int, rows: Rows, grid: Grid, low: Ints) -> tuple[int, ...]:
    """The rows that put the lower end of a node where it is; none where it is open."""
    if low[node] < -OPEN:
        return ()
    into = np.flatnonzero(rows.head == node)
    reached = low[rows.tail[into]] + grid.counted(rows)[into]
    if grid.snapped[node]:
        reached = round_up(reached, grid.module_nm)
    return tuple(int(row) for row in into[reached == low[node]])
