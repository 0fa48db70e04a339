"""Packing by trying every place on a grid of whole numbers: slow, and nothing to get wrong.

Boxes are put down from the bottom up, each at every place of the grid and every way round. Places
off the grid need not be tried where all sizes are whole: what follows from differences of whole
numbers alone has a whole answer where it has one. Sets of cells are whole numbers, a bit a cell.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from math import prod
from operator import or_

Size = tuple[int, int, int]


@dataclass(frozen=True)
class Cuboid:
    """Sizes (along, across, up) it may have, its mass, and what may stand on it."""

    sizes: tuple[Size, ...]
    mass: float = 1.0
    carries: float = float("inf")


@dataclass(frozen=True)
class Fixed:
    """Fixed to the floor: corner, size, and whether things may stand on it."""

    corner: tuple[int, int]
    size: Size
    bears: bool


@dataclass(frozen=True)
class Put:
    """A box in its place: the cells it fills, and those it rests on."""

    cuboid: int
    z: int
    cells: int
    beneath: int


class Grid:
    """A room of whole cells."""

    def __init__(self, cuboids: Sequence[Cuboid], room: Size, fixed: Sequence[Fixed]) -> None:
        self.cuboids, self.room = cuboids, room
        self.blocks = [(self.cells((*f.corner, 0), f.size), f.bears) for f in fixed]
        taken = reduce(or_, (block for block, _ in self.blocks), 0)
        self.places = [
            [put for put in self._places(k) if not put.cells & taken] for k in range(len(cuboids))
        ]

    def cells(self, corner: Sequence[int], size: Sequence[int]) -> int:
        """The cells of a box, cut off at the walls."""
        along, across, up = self.room
        found = 0
        for x in range(corner[0], min(along, corner[0] + size[0])):
            for y in range(corner[1], min(across, corner[1] + size[1])):
                for z in range(corner[2], min(up, corner[2] + size[2])):
                    found |= 1 << ((z * across + y) * along + x)
        return found

    def _places(self, k: int) -> Iterator[Put]:
        for size in self.cuboids[k].sizes:
            spans = [range(r - s + 1) for r, s in zip(self.room, size, strict=True)]
            for x in spans[0]:
                for y in spans[1]:
                    for z in spans[2]:
                        below = self.cells((x, y, z - 1), (size[0], size[1], 1)) if z else 0
                        yield Put(k, z, self.cells((x, y, z), size), below)

    def fill(self, put: list[Put], left: frozenset[int], taken: int, bearing: int) -> bool:
        """Can the boxes left be put down, the lowest first?"""
        if not left:
            return self._loads_allowed(put)
        lowest = (put[-1].z, put[-1].cuboid) if put else (0, -1)
        for k in sorted(left):
            for new in self.places[k]:
                if (new.z, k) > lowest and not new.cells & taken and self._held(new, bearing):
                    tops = new.cells if self.cuboids[k].carries > 0 else 0
                    if self.fill([*put, new], left - {k}, taken | new.cells, bearing | tops):
                        return True
        return False

    def _held(self, new: Put, bearing: int) -> bool:
        """On the floor, wholly on boxes that bear, or wholly on one block that bears."""
        return not new.beneath & ~bearing or any(
            bears and not new.beneath & ~block for block, bears in self.blocks
        )

    def _loads_allowed(self, put: Sequence[Put]) -> bool:
        """Each box counts in full on all that it touches below, with all that stands on it."""
        load = dict.fromkeys(range(len(self.cuboids)), 0.0)
        for upper in sorted(put, key=lambda p: -p.z):
            for lower in put:
                if upper.beneath & lower.cells:
                    load[lower.cuboid] += self.cuboids[upper.cuboid].mass + load[upper.cuboid]
        return all(load[k] <= cuboid.carries for k, cuboid in enumerate(self.cuboids))


def shortest(cuboids: Sequence[Cuboid], room: Size, fixed: Sequence[Fixed] = ()) -> int | None:
    """The least length that holds all of them; None where the whole room does not."""
    volume = sum(prod(cuboid.sizes[0]) for cuboid in cuboids)
    for length in range(1, room[0] + 1):
        if volume <= length * room[1] * room[2]:
            grid = Grid(cuboids, (length, room[1], room[2]), fixed)
            if grid.fill([], frozenset(range(len(cuboids))), 0, 0):
                return length
    return None
