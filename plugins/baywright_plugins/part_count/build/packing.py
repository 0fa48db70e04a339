"""Lots into the fewest bags of one size: bin packing, exact where it is small."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, lcm

#: Places tried before the search settles for what it has.
MOST_TRIES = 5_000


@dataclass(frozen=True)
class Packing:
    """`bags` holds places of lots, in the order of the first lot in each; no packing has fewer
    than `fewest` bags."""

    bags: tuple[tuple[int, ...], ...]
    fewest: int

    @property
    def proven(self) -> bool:
        return len(self.bags) == self.fewest


def pack(sizes: Sequence[Fraction | int], capacity: Fraction | int) -> Packing:
    """The fewest bags that hold every lot whole.

    Best fit of the largest first gives a packing, the sum and the large lots a bound; where they
    differ, branch and bound closes the gap within MOST_TRIES places, and the bound is what is
    left proven.

    Args:
        sizes: of each lot, each in (0, capacity], exact.

    Raises ValueError: a lot that no bag holds.
    Source: Martello and Toth, Knapsack Problems, 1990, chapter 8 (bound L2, best-fit decreasing;
    from memory).

    >>> pack([6, 5, 4, 3, 2], 10).bags
    ((0, 2), (1, 3, 4))
    """
    if any(not 0 < size <= capacity for size in sizes):
        raise ValueError("every lot must be larger than nothing and fit into a bag")
    whole, room = _in_whole_numbers(sizes, capacity)
    order = sorted(range(len(whole)), key=lambda lot: (-whole[lot], lot))
    best = _best_fit(order, whole, room)
    fewest = fewest_bags(whole, room)
    if len(best) > fewest:
        search = _Search(order, whole, room, best, fewest)
        search.place(0, [], [])
        best = search.best
        fewest = fewest if search.cut_short else len(best)
    bags = sorted(tuple(sorted(bag)) for bag in best)
    return Packing(tuple(bags), fewest)


def _in_whole_numbers(
    sizes: Sequence[Fraction | int], capacity: Fraction | int
) -> tuple[list[int], int]:
    """The same in units so small that all are whole."""
    unit = lcm(*(Fraction(size).denominator for size in (*sizes, capacity)))
    return [int(size * unit) for size in sizes], int(capacity * unit)


def fewest_bags(sizes: Sequence[Fraction | int], capacity: Fraction | int) -> int:
    """A number of bags that no packing goes below: L2 of Martello and Toth.

    For each threshold t up to half a bag: lots above capacity - t need a bag each, alone; lots
    above half a bag need one each; what is left of t and above must fit beside the latter.

    >>> fewest_bags([6, 6, 6, 6], 10)
    4
    """
    half = Fraction(capacity) / 2
    best = ceil(Fraction(sum(sizes)) / capacity) if sizes else 0
    for least in sorted({size for size in sizes if size <= half} | {0}):
        alone = [size for size in sizes if size > capacity - least]
        big = [size for size in sizes if half < size <= capacity - least]
        small = sum(size for size in sizes if least <= size <= half)
        over = Fraction(small) - (len(big) * capacity - sum(big))
        best = max(best, len(alone) + len(big) + max(0, ceil(over / capacity)))
    return best


def _best_fit(order: Sequence[int], sizes: Sequence[int], capacity: int) -> list[list[int]]:
    bags: list[list[int]] = []
    room: list[int] = []
    for lot in order:
        fitting = [k for k, left in enumerate(room) if left >= sizes[lot]]
        if fitting:
            tightest = min(fitting, key=lambda k: room[k])
            bags[tightest].append(lot)
            room[tightest] -= sizes[lot]
        else:
            bags.append([lot])
            room.append(capacity - sizes[lot])
    return bags


class _Search:
    """Depth first over lots in falling size; bags with equal room are tried once."""

    def __init__(
        self,
        order: Sequence[int],
        sizes: Sequence[int],
        capacity: int,
        best: list[list[int]],
        fewest: int,
    ) -> None:
        self._order, self._sizes, self._capacity = order, sizes, capacity
        self._fewest = fewest
        self._tries = 0
        self.best = best
        self.cut_short = False

    def place(self, depth: int, bags: list[list[int]], room: list[int]) -> None:
        if len(bags) >= len(self.best) or len(self.best) == self._fewest:
            return
        if depth == len(self._order):
            self.best = [list(bag) for bag in bags]
            return
        self._tries += 1
        if self._tries > MOST_TRIES:
            self.cut_short = True
            return
        lot = self._order[depth]
        size = self._sizes[lot]
        tried = set()
        for k in range(len(bags)):
            if room[k] >= size and room[k] not in tried:
                tried.add(room[k])
                bags[k].append(lot)
                room[k] -= size
                self.place(depth + 1, bags, room)
                bags[k].pop()
                room[k] += size
        bags.append([lot])
        room.append(self._capacity - size)
        self.place(depth + 1, bags, room)
        bags.pop()
        room.pop()
