"""Which bag holds what for which step."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .packing import pack

Parts = Mapping[str, int]


@dataclass(frozen=True)
class Lot:
    """Parts of one step, numbered from 0."""

    step: int
    parts: Parts


@dataclass(frozen=True)
class Bag:
    """Lots of one or several steps, in their order; `full` is the share of the bag they take."""

    lots: tuple[Lot, ...]
    full: Fraction

    @property
    def steps(self) -> tuple[int, ...]:
        return tuple(lot.step for lot in self.lots)

    @property
    def parts(self) -> dict[str, int]:
        """All parts in it, in the order of the lots."""
        counted: Counter[str] = Counter()
        for lot in self.lots:
            counted.update(lot.parts)
        return dict(counted)


@dataclass(frozen=True)
class Bagged:
    """`fewest`: no bags of this size that keep each step's last pieces together are fewer."""

    bags: tuple[Bag, ...]
    fewest: int


def bag_lots(lots: Sequence[Lot], pieces_per_bag: Mapping[str, int]) -> Bagged:
    """The fewest bags for the lots of one section.

    A lot too large for one bag fills bags of its own first; what is left of each lot stays
    together, and these are packed into the fewest bags, neighbours together where that takes no
    more. A piece takes 1 / pieces_per_bag of its kind.

    Args:
        pieces_per_bag: for every part of the lots, pieces of it that fill a bag.

    Leaves out: mixed pieces that nest or jam; the weight of a bag.
    Source: bin packing as packing.pack.

    >>> found = bag_lots([Lot(0, {"R120": 130}), Lot(1, {"R120": 60})], {"R120": 100})
    >>> [(bag.steps, bag.parts) for bag in found.bags]
    [((0,), {'R120': 100}), ((0, 1), {'R120': 90})]
    """
    full: list[Bag] = []
    rest: list[Lot] = []
    for lot in lots:
        own, left = _fill(lot, pieces_per_bag)
        full += own
        if left.parts:
            rest.append(left)
    sizes = [_size(lot.parts, pieces_per_bag) for lot in rest]
    packing = pack(sizes, 1)
    neighbours = _in_order(sizes)
    groups = neighbours if len(neighbours) <= len(packing.bags) else packing.bags
    mixed = [
        Bag(tuple(rest[k] for k in group), sum((sizes[k] for k in group), Fraction(0)))
        for group in groups
    ]
    bags = sorted([*full, *mixed], key=lambda bag: bag.steps)
    return Bagged(tuple(bags), len(full) + packing.fewest)


def _in_order(sizes: Sequence[Fraction]) -> list[tuple[int, ...]]:
    """Lots into bags one after another, none put back."""
    bags: list[tuple[int, ...]] = []
    room = Fraction(0)
    for lot, size in enumerate(sizes):
        if size <= room:
            bags[-1] = (*bags[-1], lot)
        else:
            bags.append((lot,))
            room = Fraction(1)
        room -= size
    return bags


def _size(parts: Parts, pieces_per_bag: Mapping[str, int]) -> Fraction:
    return sum((Fraction(n, pieces_per_bag[item]) for item, n in parts.items()), Fraction(0))


def _fill(lot: Lot, pieces_per_bag: Mapping[str, int]) -> tuple[list[Bag], Lot]:
    """Bags filled with this lot alone, part by part, until what is left fits into one."""
    left = dict(lot.parts)
    bags: list[Bag] = []
    while _size(left, pieces_per_bag) > 1:
        room = Fraction(1)
        taken: dict[str, int] = {}
        for item, count in left.items():
            fits = min(count, int(room * pieces_per_bag[item]))
            if fits:
                taken[item] = fits
                room -= Fraction(fits, pieces_per_bag[item])
        left = {item: n - taken.get(item, 0) for item, n in left.items() if n > taken.get(item, 0)}
        bags.append(Bag((Lot(lot.step, taken),), 1 - room))
    return bags, Lot(lot.step, left)
