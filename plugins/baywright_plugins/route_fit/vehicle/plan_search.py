"""Can rectangles lie side by side in a rectangle? An exact answer by search over "who is where".

Any two rectangles that do not overlap are apart along the bay or across it, one way or the other:
four cases a pair. Each case is one difference constraint, so a choice of cases is feasible exactly
where its constraints are, and the least solution is a packing. Nothing is assumed about positions,
so nothing is missed, as it may be by trying the corners of placed things alone (J. den Boef and
others, Erratum to "The three-dimensional bin packing problem", Operations Research 53 (2005), from
memory).

Sizes are whole micrometres; room between things has been added to them beforehand.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .difference_bounds import Bounds, wall, with_bound, with_variable
from .dual_bounds import ROUNDING, Floats, products
from .nodes import Nodes
from .reach import useful_extent

Size = tuple[int, int]

#: From this many rectangles on, adding up shares saves more than it takes.
_MANY = 6


@dataclass(frozen=True)
class Spot:
    """Where a rectangle lies: lower corner, and its size along and across as laid."""

    x: int
    y: int
    along: int
    across: int


@dataclass(frozen=True)
class Ground:
    """What rectangles are laid on: its size, and what already lies there."""

    along: int
    across: int
    taken: tuple[Spot, ...] = ()


def lay(choices: Sequence[Sequence[Size]], ground: Ground, nodes: Nodes) -> list[Spot] | None:
    """Places for all rectangles on the ground, or None: then there are none.

    Args:
        choices: for each rectangle, the sizes (along, across) it may have as laid: one, or two
            where it may be turned. Fastest where the large come first. Equal entries are taken
            for things that may change places.

    Raises:
        OutOfNodes: the search was ended before it had an answer.

    >>> lay([[(3, 2), (2, 3)], [(2, 3)]], Ground(4, 3), Nodes(100))
    [Spot(x=0, y=0, along=2, across=3), Spot(x=2, y=0, along=2, across=3)]
    >>> lay([[(3, 2)], [(2, 3)]], Ground(4, 3), Nodes(100)) is None
    True
    """
    many = len(choices) >= _MANY
    useful = _useful(choices, ground) if many and not ground.taken else ground
    room = (useful.along, useful.across)
    within = [[s for s in sizes if s[0] <= room[0] and s[1] <= room[1]] for sizes in choices]
    if not all(within):
        return None
    spots = (_BoundedSearch if many else PlanSearch)(within, useful, nodes).answer()
    return None if spots is None else pushed_home(spots, ground)


def _useful(choices: Sequence[Sequence[Size]], ground: Ground) -> Ground:
    """The ground without what no packing reaches."""
    return Ground(
        useful_extent([[size[0] for size in sizes] for sizes in choices], ground.along),
        useful_extent([[size[1] for size in sizes] for sizes in choices], ground.across),
    )


def pushed_home(spots: Sequence[Spot], ground: Ground) -> list[Spot]:
    """The same order of things, each as far to the front, then to the side, as it will go."""
    moved = list(spots)
    for axis in (0, 1):
        order = sorted(range(len(moved)), key=lambda k: (_corner(moved[k])[axis], k))
        for place, k in enumerate(order):
            ahead = [*ground.taken, *(moved[j] for j in order[:place])]
            least = max(
                (
                    _corner(other)[axis] + _size(other)[axis]
                    for other in ahead
                    if _overlap(moved[k], other, 1 - axis)
                    and _corner(other)[axis] + _size(other)[axis] <= _corner(moved[k])[axis]
                ),
                default=0,
            )
            spot = moved[k]
            moved[k] = (
                Spot(least, spot.y, spot.along, spot.across)
                if axis == 0
                else Spot(spot.x, least, spot.along, spot.across)
            )
    return moved


def _corner(spot: Spot) -> Size:
    return spot.x, spot.y


def _size(spot: Spot) -> Size:
    return spot.along, spot.across


def _overlap(a: Spot, b: Spot, axis: int) -> bool:
    start, other = _corner(a)[axis], _corner(b)[axis]
    return start < other + _size(b)[axis] and other < start + _size(a)[axis]


class PlanSearch:
    """Rectangles are added one by one; each is told apart from all before it."""

    def __init__(self, choices: Sequence[Sequence[Size]], ground: Ground, nodes: Nodes) -> None:
        self.choices, self.ground, self.nodes = choices, ground, nodes
        self.first = 1 + len(ground.taken)
        self.sizes: list[Size] = [(0, 0)] + [(s.along, s.across) for s in ground.taken]
        self.chosen: list[int] = []
        self.mirrored = not ground.taken  # the mirror image of a packing is one too
        self.may_swap = True

    def answer(self) -> list[Spot] | None:
        """The first packing found, or None."""
        along, across = wall(), wall()
        for spot in self.ground.taken:
            along = with_variable(along, spot.x, spot.x)
            across = with_variable(across, spot.y, spot.y)
        return self._add(along, across)

    def within_bounds(self) -> bool:
        """May the rectangles still fit, with those added so far turned as they are?"""
        return True

    def settle(self, me: int, along: Bounds, across: Bounds) -> list[Spot] | None:
        """All answers where the newest rectangle lies as it may, beside the others."""
        return self.tell_apart(me, range(1, me), along, across)

    def accept(self, spots: list[Spot]) -> bool:
        """A last word about a whole packing."""
        return True

    def _add(self, along: Bounds, across: Bounds) -> list[Spot] | None:
        """Add the next rectangle, each way round."""
        k, first = len(self.chosen), self.first
        if k == len(self.choices):
            spots = [
                Spot(along[0][first + j], across[0][first + j], *self.sizes[first + j])
                for j in range(k)
            ]
            return spots if self.accept(spots) else None
        twin = self.may_swap and k > 0 and self.choices[k] == self.choices[k - 1]
        for turn, size in enumerate(self.choices[k]):
            if twin and turn < self.chosen[-1]:
                continue  # things that may change places: in the order of their turns
            room = (self.ground.along - size[0], self.ground.across - size[1])
            if min(room) < 0:
                continue
            self.nodes.spend()
            if k == 0 and self.mirrored:
                room = (room[0] // 2, room[1] // 2)
            me = first + k
            new: Bounds | None = with_variable(along, 0, room[0])
            if twin and self.chosen[-1] == turn:
                new = with_bound(with_variable(along, 0, room[0]), me - 1, me, 0)
            self.sizes.append(size)
            self.chosen.append(turn)
            if new is not None and self.within_bounds():
                found = self.settle(me, new, with_variable(across, 0, room[1]))
                if found is not None:
                    return found
            self.sizes.pop()
            self.chosen.pop()
        return None

    def tell_apart(
        self, me: int, others: Sequence[int], along: Bounds, across: Bounds
    ) -> list[Spot] | None:
        """Keep `me` from overlapping `others`: the pair with the fewest ways left goes first."""
        rest: list[int] = []
        fewest: list[tuple[int, int, int, int]] = []
        pick = 0
        my_length, my_width = self.sizes[me]
        mine_along, mine_across = along[me], across[me]
        for other in others:
            length, width = self.sizes[other]
            after, before = along[other][me], mine_along[other]
            above, below = across[other][me], mine_across[other]
            if after >= length or before >= my_length or above >= width or below >= my_width:
                continue
            ways = []
            if before + length <= 0:
                ways.append((0, other, me, length))
            if below + width <= 0:
                ways.append((1, other, me, width))
            if after + my_length <= 0:
                ways.append((0, me, other, my_length))
            if above + my_width <= 0:
                ways.append((1, me, other, my_width))
            if not ways:
                return None
            rest.append(other)
            if not fewest or len(ways) < len(fewest):
                fewest, pick = ways, other
        if not rest:
            return self._add(along, across)
        rest.remove(pick)
        for axis, i, j, least in fewest:
            self.nodes.spend()
            tried = with_bound(across if axis else along, i, j, least)
            if tried is not None:
                pair = (along, tried) if axis else (tried, across)
                found = self.tell_apart(me, rest, *pair)
                if found is not None:
                    return found
            # every answer with this way is refuted: rule it out for the ways that follow
            without = with_bound(across if axis else along, j, i, 1 - least)
            if without is None:
                return None
            along, across = (along, without) if axis else (without, across)
        return None


class _BoundedSearch(PlanSearch):
    """The same, ended early where shares of the ground no longer add up."""

    def __init__(self, choices: Sequence[Sequence[Size]], ground: Ground, nodes: Nodes) -> None:
        super().__init__(choices, ground, nodes)
        self.shares: list[Floats] = products(choices, (ground.along, ground.across))
        self.still: list[Floats] = [np.zeros_like(self.shares[0][0])]
        for rows in reversed(self.shares):
            self.still.append(self.still[-1] + rows.min(axis=0))

    def answer(self) -> list[Spot] | None:
        return super().answer() if self.within_bounds() else None

    def within_bounds(self) -> bool:
        added = len(self.chosen)
        total = self.still[len(self.choices) - added].copy()
        for rows, turn in zip(self.shares, self.chosen, strict=False):
            total += rows[turn]
        return bool(total.max() <= 1 + ROUNDING)
