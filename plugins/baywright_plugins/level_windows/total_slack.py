"""The largest sum of slacks, as a linear programme over the counts of the levels."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from .difference_constraints import NM_PER_MM, NONE, OPEN, Grid, Ints, Rows, close, holds, round_up

Floats = npt.NDArray[np.float64]
#: Branchings are cut short by count, not by time, so that the same inputs give the same answer.
_WORK = 30_000_000
#: Large ladders stop this close to the best total, and say that it is not proven.
_GAP, _LARGE = 1e-3, 2000
_CERTAIN = 1e-6


def largest_total(rows: Rows, grid: Grid, base: int, counted_to: int) -> tuple[Ints | None, bool]:
    """What each row keeps (shape (rows,)) where the total is largest, and whether that is proven.

    None where the solver's answer, rounded, does not hold.
    """
    programme = _Programme(rows, grid, base, counted_to)
    on_planes = grid.snapped[1:] & (grid.module_nm > 1)
    alike = bool((on_planes == on_planes[0]).all())
    found = programme.solve(np.zeros_like(on_planes, dtype=np.int64)) if alike else None
    if found is None or not _near_whole(found.counts[on_planes]):
        found = programme.solve(on_planes.astype(np.int64))
    if found is None:
        return None, False
    height = np.zeros(grid.count, dtype=np.int64)
    height[1:] = np.where(
        on_planes,
        np.round(found.counts).astype(np.int64) * grid.module_nm,
        np.round(found.counts * programme.unit).astype(np.int64),
    )
    height += programme.start
    counted = height[rows.head] - height[rows.tail] - grid.counted(rows)
    for margin in (0, 5):
        profile = programme.profile(counted - margin)
        if holds(rows, grid, rows.least_nm + profile):
            return profile, found.proven
    return None, False


def _near_whole(values: Floats) -> bool:
    return bool(np.abs(values - np.round(values)).max(initial=0.0) < _CERTAIN)


@dataclass(frozen=True)
class _Found:
    counts: Floats
    proven: bool


class _Programme:
    """The linear programme of the largest total: a count for each node, a slack for each member.

    Counts are in modules (millimetres without a grid) above `start`, so that they are small.
    """

    def __init__(self, rows: Rows, grid: Grid, base: int, counted_to: int) -> None:
        self.rows, self.grid, self.base, self.counted_to = rows, grid, base, counted_to
        self.unit = grid.module_nm if grid.module_nm > 1 else NM_PER_MM
        closure = close(rows, grid, rows.least_nm + np.where(rows.slackens, base, 0))
        low, high = closure.window()
        self.start = np.where(low > -OPEN, low, np.where(high < OPEN, high, 0))
        self.low = np.where(low > -OPEN, 0.0, -np.inf)
        self.high = np.where(high < OPEN, (high - self.start) / self.unit, np.inf)
        self.counted = grid.counted(rows) - (self.start[rows.head] - self.start[rows.tail])
        #: Node j lies at least between[i, j] above node i, counted from `start`.
        self.between = closure.asked_nm() + self.start[:, None] - self.start
        own = np.flatnonzero(rows.slackens)
        self.members, self.member_of = np.unique(rows.member[own], return_inverse=True)
        self.own = own

    def profile(self, slack: Ints) -> Ints:
        """What each row keeps: the slack of its member, counted to the limit, never below base."""
        kept = np.full(len(self.members), self.counted_to)
        np.minimum.at(kept, self.member_of, slack[self.own])
        found = np.zeros(len(slack), dtype=np.int64)
        found[self.own] = np.maximum(kept, self.base)[self.member_of]
        return found

    def solve(self, whole: Ints) -> _Found | None:
        """Counts of all nodes but the hall floor; None where the solver gave none."""
        nodes, members = self.grid.count - 1, len(self.members)
        matrix, least = self._rows()
        limit = max(10, _WORK // (len(least) ** 2 + 1))
        gap = _GAP if whole.any() and len(least) > _LARGE else 0.0
        answer = milp(
            np.r_[np.zeros(nodes), np.full(members, -1.0)],
            constraints=LinearConstraint(matrix, least, np.inf),
            bounds=Bounds(
                np.r_[self.low[1:], np.full(members, self.base / self.unit)],
                np.r_[self.high[1:], np.full(members, self.counted_to / self.unit)],
            ),
            integrality=np.r_[whole, np.zeros(members, dtype=np.int64)],
            options={"node_limit": limit, "mip_rel_gap": gap},
        )
        if answer.x is None:
            return None
        proven = answer.status == 0 and (answer.mip_gap or 0.0) < _CERTAIN
        return _Found(answer.x[:nodes], proven)

    def _rows(self) -> tuple[csr_array, Floats]:
        """All rows as "matrix @ (counts, slacks) >= least"."""
        rows, unit, own = self.rows, self.unit, self.own
        chord_row, turn, level = self._chords()
        bare, asked = self._asked()
        tail = np.r_[rows.tail[own], rows.tail[bare], rows.tail[own[chord_row]]]
        head = np.r_[rows.head[own], rows.head[bare], rows.head[own[chord_row]]]
        slope = np.r_[np.ones(len(own) + len(bare)), turn]
        member = np.r_[self.member_of, np.full(len(bare), -1), self.member_of[chord_row]]
        least = np.r_[self.counted[own] / unit, asked / unit, -level]
        line = np.arange(len(least))
        has_tail, has_head, has_member = tail > 0, head > 0, member >= 0
        entries = np.r_[-slope[has_tail], slope[has_head], -np.ones(has_member.sum())]
        at_row = np.r_[line[has_tail], line[has_head], line[has_member]]
        nodes = self.grid.count - 1
        at_column = np.r_[tail[has_tail] - 1, head[has_head] - 1, nodes + member[has_member]]
        shape = (len(least), nodes + len(self.members))
        return csr_array((entries, (at_row, at_column)), shape=shape), least

    def _asked(self) -> tuple[Ints, Ints]:
        """What rows ask with the smallest slack in it, in whole modules between snapped nodes.

        Rows that follow from others, or from the window of one node, are left out.
        """
        rows, grid = self.rows, self.grid
        asked = self.counted + np.where(rows.slackens, self.base, 0)
        on_grid = grid.snapped[rows.tail] & grid.snapped[rows.head]
        asked = np.where(on_grid, round_up(asked, grid.module_nm), asked)
        needed = (rows.tail > 0) & (rows.head > 0) & (asked >= self.between[rows.tail, rows.head])
        return np.flatnonzero(needed), asked[needed]

    def _chords(self) -> tuple[Ints, Floats, Floats]:
        """Slack between whole modules, straightened: (index in own, slope, value at 0) of each.

        A slack as a function of the distance is concave with a kink where it meets the limit or
        the other end. Between the whole distances on both sides of a kink a chord takes its place,
        so that the best corner of the programme is whole.
        """
        grid, rows, module = self.grid, self.rows, self.grid.module_nm
        if module == 1:
            return np.arange(0), np.zeros(0), np.zeros(0)
        first = np.unique(self.member_of, return_index=True)[1]
        second = np.full(len(first), -1)
        others = np.setdiff1d(np.arange(len(self.own)), first)
        second[self.member_of[others]] = others
        tail, head = rows.tail[self.own[first]], rows.head[self.own[first]]
        near = self.counted[self.own[first]]
        far = np.where(second < 0, -NONE, -self.counted[self.own[second]])
        on_grid = grid.snapped[tail] & grid.snapped[head]
        low, high = self.between[tail, head], -self.between[head, tail]
        found: list[tuple[Ints, Floats, Floats]] = []
        top = np.minimum(self.counted_to, (far - near) // 2)
        for kink in (near + top, np.where(second < 0, near + top, far - top)):
            below = kink // module * module
            use = on_grid & (below != kink) & (below + module > low) & (below < high)
            value = [
                np.minimum(np.minimum(d - near, far - d), self.counted_to)
                for d in (below, below + module)
            ]
            slope = (value[1] - value[0]) / module
            level = value[0] / self.unit - slope * below / self.unit
            found.append((first[use], slope[use], level[use]))
        return (
            np.concatenate([chord[0] for chord in found]),
            np.concatenate([chord[1] for chord in found]),
            np.concatenate([chord[2] for chord in found]),
        )
