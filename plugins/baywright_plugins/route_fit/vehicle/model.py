"""The packing problem in whole micrometres: things, the ways they may lie, and the room for them.

Room between things is part of their sizes along and across, and once of the room's, so that things
may touch in the model where they keep their distance in the vehicle. Heights are as they are.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import gcd

from .plan_search import Ground, Size, Spot

FLOOR: tuple[int, ...] = ()


@dataclass(frozen=True)
class Way:
    """One height a thing may have, with its sizes as laid: two where it may be turned."""

    height: int
    sizes: tuple[Size, ...]

    @property
    def area(self) -> int:
        """Floor it takes, the same each way round."""
        return self.sizes[0][0] * self.sizes[0][1]


@dataclass(frozen=True)
class Thing:
    """A box to be packed; equal things may change places.

    `carries_kg` may stand on it (0: nothing may); a mass that is not known is infinite.
    """

    ways: tuple[Way, ...]
    mass_kg: float
    carries_kg: float

    @property
    def least_area(self) -> int:
        """The least floor it can take."""
        return min(way.area for way in self.ways)

    @property
    def volume(self) -> int:
        """Of the box with its share of the room between things."""
        return self.ways[0].height * self.ways[0].area


@dataclass(frozen=True)
class Block:
    """What is fixed to the floor (a wheel arch): nothing else may be there; some bear loads."""

    spot: Spot
    height: int
    bears: bool


@dataclass(frozen=True)
class Room:
    """Length (along), width (across) and height to be filled."""

    along: int
    across: int
    height: int
    blocks: tuple[Block, ...] = ()

    @property
    def ground(self) -> Ground:
        """The floor, with what is fixed to it."""
        return Ground(self.along, self.across, tuple(block.spot for block in self.blocks))

    def shortened(self, along: int) -> "Room":
        """The same room up to `along`; of what is fixed further back, nothing is left."""
        blocks = []
        for block in self.blocks:
            x = min(block.spot.x, along)
            spot = Spot(x, block.spot.y, min(block.spot.along, along - x), block.spot.across)
            blocks.append(replace(block, spot=spot))
        return replace(self, along=along, blocks=tuple(blocks))


@dataclass(frozen=True)
class Placed:
    """A thing in its place: `under` names what it stands on, things by number from 0, what is
    fixed to the floor from -1 down; empty for the floor."""

    thing: int
    spot: Spot
    z: int
    height: int
    under: tuple[int, ...] = FLOOR

    @property
    def top(self) -> int:
        return self.z + self.height


Packing = tuple[Placed, ...]


def used_along(packing: Sequence[Placed]) -> int:
    """How far back the packing reaches, the room behind the last thing included."""
    return max((placed.spot.x + placed.spot.along for placed in packing), default=0)


def common_step(things: Sequence[Thing], room: Room) -> int:
    """The largest length of which all sizes of things and of what is fixed are multiples.

    Where something fits, it also fits in steps of that: the least answer to differences that are
    all multiples is one itself. Fewer steps to tell apart make a shorter search.
    """
    lengths = [w.height for thing in things for w in thing.ways]
    lengths += [side for thing in things for w in thing.ways for size in w.sizes for side in size]
    for block in room.blocks:
        spot = block.spot
        lengths += [spot.x, spot.y, spot.along, spot.across, block.height]
    return gcd(*lengths) or 1


def in_steps(things: Sequence[Thing], room: Room, step: int) -> tuple[list[Thing], Room]:
    """The same problem with lengths counted in steps."""
    coarse = [
        replace(
            thing,
            ways=tuple(
                Way(w.height // step, tuple((a // step, b // step) for a, b in w.sizes))
                for w in thing.ways
            ),
        )
        for thing in things
    ]
    blocks = tuple(
        Block(_times(block.spot, 1, step), block.height // step, block.bears)
        for block in room.blocks
    )
    return coarse, Room(room.along // step, room.across // step, room.height // step, blocks)


def from_steps(packing: Packing, step: int) -> Packing:
    """A packing counted in steps, in the lengths it came from."""
    return tuple(
        replace(p, spot=_times(p.spot, step, 1), z=p.z * step, height=p.height * step)
        for p in packing
    )


def _times(spot: Spot, factor: int, step: int) -> Spot:
    x, y, along, across = (
        side * factor // step for side in (spot.x, spot.y, spot.along, spot.across)
    )
    return Spot(x, y, along, across)


def swapped(things: Sequence[Thing], room: Room) -> tuple[list[Thing], Room]:
    """The same problem with along and across exchanged."""
    turned = [
        replace(
            thing,
            ways=tuple(replace(w, sizes=tuple((b, a) for a, b in w.sizes)) for w in thing.ways),
        )
        for thing in things
    ]
    blocks = tuple(replace(block, spot=swapped_spot(block.spot)) for block in room.blocks)
    return turned, Room(room.across, room.along, room.height, blocks)


def swapped_packing(packing: Packing) -> Packing:
    """A packing with along and across exchanged."""
    return tuple(replace(placed, spot=swapped_spot(placed.spot)) for placed in packing)


def swapped_spot(spot: Spot) -> Spot:
    """A place with along and across exchanged."""
    return Spot(spot.y, spot.x, spot.across, spot.along)
