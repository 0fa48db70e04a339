"""Heights on the grid that keep the most slack: the smallest slack first, then the total."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .difference_constraints import NONE, OPEN, Closure, Grid, Ints, Rows, close, holds, round_up
from .total_slack import largest_total


@dataclass(frozen=True)
class Placement:
    """Heights (nm above the hall floor, shape (nodes,)) and what they keep.

    `least_nm`: the smallest slack, None where nothing limits it. `counted_to_nm`: slack beyond
    this does not count in the total. `proven`: no placement with that smallest slack has a larger
    total; False where the search was cut short.
    """

    height_nm: Ints
    least_nm: int | None
    counted_to_nm: int
    proven: bool


def slack_of(rows: Rows, height_nm: Ints) -> Ints:
    """What each row leaves at these heights, shape (rows,); negative where it is broken."""
    return height_nm[rows.head] - height_nm[rows.tail] - rows.least_nm


def least_slack(rows: Rows, grid: Grid) -> int | None:
    """The largest smallest slack, in nm, over all rows whose slack counts; None: no limit.

    A slack t for all rows is a difference system with every distance longer by t; whether it
    holds falls from yes to no at one t. Where all nodes are snapped, t is a slack of some row, so
    the module first and then the few remainders are halved; else t is halved to the nanometre.

    Raises:
        NoAnswer: the rows contradict one another even without slack.

    Source: parametric feasibility of difference constraints, Introduction to Algorithms, 3rd ed.,
    section 24.4 and problem 24-6 (from memory); compared with brute force in the tests.
    """
    asked = close(rows, grid).asked_nm()
    counted = grid.counted(rows)
    room = -asked[rows.head, rows.tail] - counted
    room = room[rows.slackens]
    if not room.size or room.min() > OPEN:
        return None
    most = int(room.min())
    steps = rows.slackens.astype(np.int64)
    if not grid.snapped.all():
        return _largest(rows, grid, steps, np.arange(0), most)
    remainders = np.unique(-counted[rows.slackens] % grid.module_nm)
    return _largest(rows, grid, steps, remainders, most)


def _largest(rows: Rows, grid: Grid, steps: Ints, remainders: Ints, most: int) -> int:
    """The largest t up to `most` that holds; with remainders, only those above whole modules."""

    def fits(t: int) -> bool:
        return t <= most and holds(rows, grid, rows.least_nm + t * steps)

    if fits(most):
        return most
    if not remainders.size:
        return _last_that(fits, most)
    module = grid.module_nm
    whole = _last_that(lambda k: fits(k * module), most // module) * module
    tried = whole + remainders
    found = _last_that(lambda k: k == 0 or fits(int(tried[k - 1])), len(tried))
    return int(tried[found - 1]) if found else whole


def _last_that(fits: Callable[[int], bool], most: int) -> int:
    """The last of 0..most that fits, where 0 does and none does after one that does not."""
    low, high = 0, most
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if fits(middle) else (low, middle - 1)
    return low


def place(rows: Rows, grid: Grid, *, enough_nm: int | None, total: bool = True) -> Placement:
    """Heights that keep the most slack.

    First the smallest slack is made as large as it can be (`least_slack`). Then the sum of all
    slacks, each counted up to `enough_nm` (a module where left out), is made as large as it can
    be: a linear programme; where all nodes are snapped its corners are whole (total unimodularity),
    else branch and bound. Last, the lowest heights that keep those slacks; a level that nothing
    holds up is set no lower than the hall floor where it may be.

    Raises:
        NoAnswer: the rows contradict one another.

    Source: scipy.optimize.milp (HiGHS); Schrijver, Theory of Linear and Integer Programming,
    section 19.3 on network matrices, from memory. Compared with brute force in the tests.
    Leaves out: how far each distance may really drift; all millimetres of slack count alike.
    """
    least = least_slack(rows, grid)
    enough = grid.module_nm if enough_nm is None else enough_nm
    base = enough if least is None else least
    counted_to = max(base, enough)
    closure = close(rows, grid, rows.least_nm + np.where(rows.slackens, base, 0))
    low, high = closure.window()
    proven = True
    if total and counted_to > base and (low < high).any():
        profile, proven = largest_total(rows, grid, base, counted_to)
        if profile is not None:
            closure = close(rows, grid, rows.least_nm + profile)
    return Placement(lowest(closure) + grid.origin_nm, least, counted_to, proven)


def lowest(closure: Closure) -> Ints:
    """The least counts; a level that nothing holds up goes to the hall floor where it may be."""
    floor = _open_below(closure.grid)
    low, high = closure.lowest(floor), closure.highest(-floor)
    for node in np.flatnonzero(low < -OPEN):
        if low[node] < -OPEN:
            floor[node] = min(_ground(closure.grid, int(node)), high[node])
            low = closure.lowest(floor)
    return low


def highest(closure: Closure) -> Ints:
    """The greatest counts; a level that nothing holds down stays as low as `lowest` puts it."""
    ceiling = -_open_below(closure.grid)
    high = closure.highest(ceiling)
    if (high > OPEN).any():
        high = closure.highest(np.where(high > OPEN, lowest(closure), ceiling))
    return high


def _open_below(grid: Grid) -> Ints:
    floor = np.full(grid.count, NONE)
    floor[0] = 0
    return floor


def _ground(grid: Grid, node: int) -> int:
    """The count of the hall floor, or of the first plane above it."""
    ground = -grid.origin_nm[node : node + 1]
    return int((round_up(ground, grid.module_nm) if grid.snapped[node] else ground)[0])
