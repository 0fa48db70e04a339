"""One ladder worked through: what holds, windows, heights, order, chains, conflicts."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .conflicts import Conflict, smallest_conflict
from .critical_chain import Chain, chain_to
from .decision_order import Decision, decide
from .difference_constraints import NONE, OPEN, Closure, Grid, Ints, Mask, NoAnswer, Rows, close
from .ladder import Ladder
from .most_slack import Placement, highest, lowest, place, slack_of

_MOST_CONFLICTS = 5


@dataclass(frozen=True)
class Window:
    """Lower and upper ends of all nodes as heights in nm, shape (nodes,); beyond OPEN: open."""

    low_nm: Ints
    high_nm: Ints


@dataclass(frozen=True)
class Denied:
    """A wish that cannot be had beside all that is kept, and why."""

    member: int
    conflict: Conflict


@dataclass(frozen=True)
class Ends:
    """The chain that sets the lowest top or the highest bottom; `lifted` is the end's height."""

    node: int
    chain: Chain
    reached_nm: tuple[int, ...]
    free: Chain | None


@dataclass(frozen=True)
class Study:
    """Everything about a ladder. What could not be had is None."""

    ladder: Ladder
    kept: Mask
    conflicts: tuple[Conflict, ...]
    denied: tuple[int, ...]
    reasons: tuple[Denied, ...]
    snapped: Window | None
    free: Window | None
    before_pins: Window | None
    placement: Placement | None
    order: tuple[Decision, ...]
    top: Ends | None
    bottom: Ends | None

    @cached_property
    def rows(self) -> Rows:
        """The rows of all that is kept."""
        return self.ladder.rows.of(self.kept)


def study(ladder: Ladder, *, objective: str, enough_nm: int | None, brief: bool = False) -> Study:
    """Work a ladder through; `brief` leaves out what no proof of a remedy asks for.

    What must hold comes first; where it cannot, conflicts are named and nothing is placed. Then
    wishes, one at a time in their order, each kept if it holds beside all before.
    """
    rows, grid = ladder.rows, ladder.grid
    musts = ~ladder.wishes
    try:
        closure = close(rows.of(musts), grid)
    except NoAnswer:
        conflicts = () if brief else _conflicts(rows, grid, musts)
        free = _window_without_grid(rows.of(musts), grid)
        return Study(
            ladder, musts, conflicts, (), (), None, free, _before_pins(ladder, musts), None, (),
            None, None,
        )  # fmt: skip
    kept = musts.copy()
    denied: list[int] = []
    reasons: list[Denied] = []
    for wish in np.flatnonzero(ladder.wishes):
        kept[wish] = True
        try:
            closure = close(rows.of(kept), grid)
        except NoAnswer:
            denied.append(int(wish))
            if not brief:
                reasons.append(_reason(int(wish), ladder, kept))
            kept[wish] = False
    own = rows.of(kept)
    snapped = _window(closure)
    placement = _placed(own, grid, closure, objective, enough_nm, brief)
    free = _window_without_grid(own, grid)
    counts = placement.height_nm - grid.origin_nm
    return Study(
        ladder,
        kept,
        (),
        tuple(denied),
        tuple(reasons),
        snapped,
        free,
        _before_pins(ladder, kept),
        placement,
        () if brief else tuple(decide(closure, own, counts)),
        _lowest_top(own, grid, snapped, free),
        None if brief else _highest_bottom(own, grid, snapped, free),
    )


def _reason(wish: int, ladder: Ladder, kept: Mask) -> Denied:
    """Why a wish cannot be had beside what is kept; `kept` holds the wish itself."""
    rows = ladder.rows
    conflict = smallest_conflict(rows.of(kept), ladder.grid, share=int(ladder.wishes.sum()))
    if conflict is None:
        raise AssertionError("a denied wish conflicts")
    return Denied(wish, _in_all_rows(conflict, rows, kept))


def _conflicts(rows: Rows, grid: Grid, musts: Mask) -> tuple[Conflict, ...]:
    """The smallest conflict, and others that share no member with those before."""
    left = musts.copy()
    found: list[Conflict] = []
    while len(found) < _MOST_CONFLICTS:
        conflict = smallest_conflict(rows.of(left), grid, share=_MOST_CONFLICTS if found else 1)
        if conflict is None:
            break
        found.append(_in_all_rows(conflict, rows, left))
        left[list(conflict.members)] = False
    return tuple(found)


def _in_all_rows(conflict: Conflict, rows: Rows, members: Mask) -> Conflict:
    """The same with its walk in places of all rows rather than of those members'."""
    places = np.flatnonzero(members[rows.member])
    walk = tuple(int(places[row]) for row in conflict.walk)
    return Conflict(walk, conflict.members, conflict.missing_nm, conflict.smallest)


def _window(closure: Closure) -> Window:
    low, high = closure.window()
    return Window(low + closure.grid.origin_nm, high + closure.grid.origin_nm)


def _window_without_grid(rows: Rows, grid: Grid) -> Window | None:
    try:
        return _window(close(rows, grid.off()))
    except NoAnswer:
        return None


def _before_pins(ladder: Ladder, kept: Mask) -> Window | None:
    """Windows without the what-if pins; None where there are none or nothing holds even then."""
    if not ladder.pins.any():
        return None
    try:
        return _window(close(ladder.rows.of(kept & ~ladder.pins), ladder.grid))
    except NoAnswer:
        return None


def _placed(
    rows: Rows,
    grid: Grid,
    closure: Closure,
    objective: str,
    enough_nm: int | None,
    brief: bool,
) -> Placement:
    if objective == "most-slack":
        return place(rows, grid, enough_nm=enough_nm, total=enough_nm is not None or not brief)
    count = lowest(closure) if objective == "lowest" else highest(closure)
    height = count + grid.origin_nm
    kept = slack_of(rows, height)[rows.slackens]
    least = int(kept.min()) if kept.size else None
    return Placement(height, least, grid.module_nm if enough_nm is None else enough_nm, True)


def _lowest_top(rows: Rows, grid: Grid, window: Window, free: Window | None) -> Ends | None:
    low = np.where(window.low_nm > -OPEN, window.low_nm, NONE)
    low[0] = NONE
    node = int(low.argmax())
    return _ends(node, rows, grid, window.low_nm, free.low_nm if free else None)


def _highest_bottom(rows: Rows, grid: Grid, window: Window, free: Window | None) -> Ends | None:
    """The same seen upside down: rows and heights negated."""
    high = np.where(window.high_nm < OPEN, window.high_nm, -NONE)
    high[0] = -NONE
    node = int(high.argmin())
    free_nm = -free.high_nm if free else None
    return _ends(node, rows.upside_down(), grid.upside_down(), -window.high_nm, free_nm)


def _ends(node: int, rows: Rows, grid: Grid, low_nm: Ints, free_nm: Ints | None) -> Ends | None:
    chain = chain_to(node, rows, grid, low_nm - grid.origin_nm)
    if chain is None:
        return None
    free = None if free_nm is None else chain_to(node, rows, grid.off(), free_nm)
    return Ends(node, chain, tuple(int(low_nm[rows.head[row]]) for row in chain.rows), free)
