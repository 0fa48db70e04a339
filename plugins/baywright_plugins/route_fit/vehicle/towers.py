"""What may stand on one thing, with nothing standing across several: remembered by sets.

Things on a thing lie wholly within its top, so each thing on the floor bears a tower of its own,
whatever its neighbours. Which sets of things can make up such a tower is asked once for each base.
A part of a set that fits also fits: what stood on a thing that is left out takes its place.

Sets of things are whole numbers: bit k is thing k.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from .model import Thing, Way
from .nodes import Nodes
from .plan_search import Ground, Size, lay

Choice = tuple[Size, ...]


@dataclass(frozen=True)
class Tower:
    """A thing that stands on a top, which way, and the set of things above it."""

    thing: int
    way: Way
    above: int


class Layers:
    """Can things lie side by side on one top? Remembers what it was asked."""

    def __init__(self, nodes: Nodes) -> None:
        self.nodes = nodes
        self._known: dict[tuple[Size, tuple[Choice, ...]], bool] = {}

    def fits(self, top: Size, choices: Sequence[Choice]) -> bool:
        """True where things of these sizes fit on a top of this size together."""
        key = (top, tuple(sorted(choices, key=lambda c: (-c[0][0] * c[0][1], c))))
        if key not in self._known:
            self._known[key] = lay(key[1], Ground(*top), self.nodes) is not None
        return self._known[key]


class Towers:
    """Answers for one set of things under one roof."""

    def __init__(self, things: Sequence[Thing], height: int, layers: Layers) -> None:
        self.things, self.height, self.layers = things, height, layers
        self._upon: dict[tuple[Size, int, int], tuple[Tower, ...] | None] = {}
        self._sets: dict[tuple[Choice, int, float, int], tuple[int, ...]] = {}
        self._lowest = [min(way.height for way in thing.ways) for thing in things]

    def sizes(self, thing: int, way: Way, z: int, above: int) -> Choice:
        """The ways round a thing may lie, at height z, so that the set `above` can stand on it."""
        if not above:
            return way.sizes
        if not self._may_carry(self.things[thing].carries_kg, above):
            return ()
        top = z + way.height
        return tuple(size for size in way.sizes if self.upon(size, top, above) is not None)

    def sets(self, tops: Choice, top: int, carries_kg: float, others: int) -> tuple[int, ...]:
        """Every set out of `others` that can stand on a top of one of these sizes, small first."""
        key = (tops, top, carries_kg, others)
        if key not in self._sets:
            self._sets[key] = tuple(self._grow(tops, top, carries_kg, others))
        return self._sets[key]

    def _grow(self, tops: Choice, top: int, carries_kg: float, others: int) -> Iterator[int]:
        """Sets of one, then of two whose parts fit, and so on."""
        smaller = {0}
        while smaller:
            larger: set[int] = set()
            for base in sorted(smaller):
                for k in bits(others & ~base):
                    grown = base | 1 << k
                    if grown in larger or 1 << k < base & -base:
                        continue
                    parts = (grown & ~(1 << j) for j in bits(grown))
                    if (
                        all(part in smaller for part in parts)
                        and self._may_carry(carries_kg, grown)
                        and any(self.upon(size, top, grown) is not None for size in tops)
                    ):
                        larger.add(grown)
            yield from sorted(larger)
            smaller = larger

    def _may_carry(self, carries_kg: float, above: int) -> bool:
        return 0 < carries_kg >= sum(self.things[k].mass_kg for k in bits(above))

    def upon(self, size: Size, top: int, above: int) -> tuple[Tower, ...] | None:
        """Towers side by side on a top of this size that make up the set; None without any."""
        key = (size, top, above)
        if key not in self._upon:
            room = self.height - top
            members = list(bits(above))
            volume = sum(self.things[k].volume for k in members)
            possible = volume <= size[0] * size[1] * room and all(
                self._lowest[k] <= room for k in members
            )
            found = self._split(size, top, above, (), 0) if possible else None
            self._upon[key] = found
        return self._upon[key]

    def _split(
        self, size: Size, top: int, left: int, towers: tuple[Tower, ...], area: int
    ) -> tuple[Tower, ...] | None:
        """Make towers of the set `left`, beside those there are."""
        if not left:
            choices = [self.sizes(t.thing, t.way, top, t.above) for t in towers]
            return towers if self.layers.fits(size, choices) else None
        first = left & -left
        rest = left & ~first
        part = rest
        while True:  # every part of the rest joins the first in one tower
            members = part | first
            for root in bits(members):
                for way in self.things[root].ways:
                    self.layers.nodes.spend()
                    fits = (
                        top + way.height <= self.height
                        and area + way.area <= size[0] * size[1]
                        and any(a <= size[0] and b <= size[1] for a, b in way.sizes)
                    )
                    if fits and self.sizes(root, way, top, members & ~(1 << root)):
                        tower = Tower(root, way, members & ~(1 << root))
                        found = self._split(
                            size, top, left & ~members, (*towers, tower), area + way.area
                        )
                        if found is not None:
                            return found
            if not part:
                return None
            part = (part - 1) & rest


def bits(members: int) -> Iterator[int]:
    """The things of a set.

    >>> list(bits(0b1011))
    [0, 1, 3]
    """
    while members:
        low = members & -members
        yield low.bit_length() - 1
        members ^= low
