"""Could something lie across two tops of one height? Asked before looking for it."""

from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import combinations

from .model import Thing

_MANY = 8

#: A set of things, one on the other, and the uppermost of them (as a set of one; 0 for none).
Chain = tuple[int, int]


class Meeting:
    """Answers by heights alone, remembered: False is certain, True says look (or too many left).

    Sets of things are whole numbers: bit k is thing k.
    """

    def __init__(self, things: Sequence[Thing], height: int) -> None:
        self.things, self.height = things, height
        self._left: dict[tuple[int, ...], _Left] = {}
        self._known: dict[tuple[tuple[int, ...], tuple[int, ...]], bool] = {}

    def possible(self, tops: Sequence[int], left: tuple[int, ...]) -> bool:
        """Can two tops come to one height with something left to lie across them?

        Args:
            tops: heights of the tops that bear so far.
            left: things still to be stood on them, by number.
        """
        if not tops or not left:
            return False
        if len(left) > _MANY:
            return True
        key = (tuple(sorted(tops)), left)
        if key not in self._known:
            if left not in self._left:
                self._left[left] = _Left(self.things, self.height, left)
            here = self._left[left]
            self._known[key] = key[0][0] + here.on_one_top <= self.height or any(
                here.meets(a, b) for a, b in combinations(key[0], 2)
            )
        return self._known[key]


class _Left:
    """What can be built of the things left, one on the other, on any top."""

    def __init__(self, things: Sequence[Thing], height: int, left: tuple[int, ...]) -> None:
        self.height = height
        self._lowest = {k: min(way.height for way in things[k].ways) for k in left}
        self._least = min(self._lowest.values())
        self._bearing = {
            k: {way.height for way in things[k].ways} for k in left if things[k].carries_kg > 0
        }
        self._sums: dict[int, list[Chain]] = {}
        for total, chain in self._chains(0, (0, 0)):
            self._sums.setdefault(total, []).append(chain)

    def _chains(self, total: int, chain: Chain) -> Iterator[tuple[int, Chain]]:
        yield total, chain
        for k, heights in self._bearing.items():
            if not chain[0] >> k & 1:
                for height in heights:
                    if total + height + self._least <= self.height:
                        yield from self._chains(total + height, (chain[0] | 1 << k, 1 << k))

    def meets(self, low: int, high: int) -> bool:
        """Can chains on tops of these two heights end alike, with something to go across?"""
        for total, chains in self._sums.items():
            level = low + total
            if level + self._least <= self.height:
                for other in self._sums.get(level - high, ()):
                    if any(level + self._across(c, other) <= self.height for c in chains):
                        return True
        return False

    @cached_property
    def on_one_top(self) -> int:
        """Least height above one top at which two chains on it have something across them."""
        return min(
            (
                total + self._across(a, b)
                for total, chains in self._sums.items()
                for a, b in combinations(chains, 2)
            ),
            default=self.height + 1,
        )

    def _across(self, a: Chain, b: Chain) -> int:
        """Height of the lowest thing that is in neither chain; too much where they do not meet."""
        apart = not (a[1] & b[0] or b[1] & a[0])
        rest = (low for k, low in self._lowest.items() if not (a[0] | b[0]) >> k & 1)
        return min(rest, default=self.height + 1) if apart else self.height + 1
