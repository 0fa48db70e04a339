"""A packing found quickly: things one by one, each as far forward as it will go.

It is a packing, not the best one; several orders are tried. Where it fails, that proves nothing.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np
from numpy.typing import NDArray

from .exact import anyhow, loads_allowed
from .model import FLOOR, Packing, Placed, Room, Thing, used_along
from .plan_search import Size, Spot

Key = Callable[[Thing], tuple[float, ...]]

_ORDERS: tuple[Key, ...] = (
    lambda t: (-float(t.carries_kg > 0), -t.volume),
    lambda t: (-t.volume,),
    lambda t: (-float(t.carries_kg > 0), -t.least_area),
    lambda t: (-max(max(size) for way in t.ways for size in way.sizes), -t.volume),
    lambda t: (-float(t.carries_kg > 0), -max(way.height for way in t.ways), -t.volume),
)
#: Above this many things fewer orders are tried.
MANY = 12
_TRIES = 240


def quick_packing(
    things: Sequence[Thing],
    room: Room,
    in_order: Callable[[Packing], bool] = anyhow,
    *,
    thorough: bool = True,
) -> Packing | None:
    """The shortest packing among those tried; None where none of them came out.

    After some fixed orders, more where it is to be `thorough`: the thing that found no place, or
    reaches furthest back, comes earlier, at a place drawn by lot from a fixed seed.
    """
    few = len(things) <= MANY
    keys = _ORDERS if few else _ORDERS[: 2 if thorough else 1]
    best = _Try((), (), False, room.along + 1)
    for order in dict.fromkeys(tuple(_order(things, key)) for key in keys):
        for favour in (_short, _low):
            best = min(best, _attempt(things, room, order, favour, in_order), key=_Try.badness)
    lot = Random(len(things))
    for _ in range(_TRIES // max(1, len(things)) if thorough else 4 * few):
        late = best.order.index(best.culprit)
        if late == 0:
            break
        others = [k for k in best.order if k != best.culprit]
        others.insert(lot.randrange(late), best.culprit)
        tried = _attempt(things, room, others, lot.choice((_short, _low)), in_order)
        best = min(tried, best, key=_Try.badness)
    return best.packing if best.whole else None


@dataclass(frozen=True)
class _Try:
    """What came of an order: a packing of all, or of those before one found no place."""

    order: tuple[int, ...]
    packing: Packing
    whole: bool
    reach: int

    def badness(self) -> tuple[int, int]:
        """The fewer left out the better; then the shorter."""
        return len(self.order) - len(self.packing) if self.order else 1 << 30, self.reach

    @property
    def culprit(self) -> int:
        """The thing that found no place, or reaches furthest back."""
        if len(self.packing) < len(self.order):
            return self.order[len(self.packing)]
        return max(self.packing, key=lambda p: (p.spot.x + p.spot.along, p.thing)).thing


def _attempt(
    things: Sequence[Thing],
    room: Room,
    order: Sequence[int],
    favour: Callable[[Placed], tuple[int, ...]],
    in_order: Callable[[Packing], bool],
) -> _Try:
    packing = _one_by_one(things, room, order, favour)
    whole = len(packing) == len(things) and in_order(packing)
    return _Try(tuple(order), packing, whole, used_along(packing) if whole else room.along + 1)


def _order(things: Sequence[Thing], key: Key) -> list[int]:
    return sorted(range(len(things)), key=lambda k: (key(things[k]), k))


def _short(placed: Placed) -> tuple[int, ...]:
    spot = placed.spot
    return (spot.x + spot.along, placed.z, spot.x, spot.y, -spot.across)


def _low(placed: Placed) -> tuple[int, ...]:
    spot = placed.spot
    return (spot.x, spot.x + spot.along, placed.z, spot.y, -spot.across)


def _one_by_one(
    things: Sequence[Thing],
    room: Room,
    order: Sequence[int],
    favour: Callable[[Placed], tuple[int, ...]],
) -> Packing:
    """Things in their places, up to the first that finds none."""
    packing: list[Placed] = []
    for thing in order:
        best = min(_places(things, room, packing, thing), key=favour, default=None)
        if best is None:
            break
        packing.append(best)
    return tuple(packing)


def _places(
    things: Sequence[Thing], room: Room, packing: Sequence[Placed], thing: int
) -> Iterator[Placed]:
    """For each way to lie and each level: the place furthest to the front."""
    levels = {0} | {placed.top for placed in packing if things[placed.thing].carries_kg > 0}
    levels |= {block.height for block in room.blocks if block.bears}
    for z in sorted(levels):
        for way in things[thing].ways:
            if z + way.height <= room.height:
                layer = _Layer(things, room, packing, z, way.height)
                for size in way.sizes:
                    for spot in layer.spots(size):
                        under = layer.under(spot)
                        placed = Placed(thing, spot, z, way.height, under)
                        if not under or loads_allowed([*packing, placed], things):
                            yield placed
                            break


class _Layer:
    """One level: what is in the way of a thing there, and what bears it."""

    def __init__(
        self,
        things: Sequence[Thing],
        room: Room,
        packing: Sequence[Placed],
        z: int,
        height: int,
    ) -> None:
        self.room, self.z = room, z
        blocks = list(enumerate(room.blocks))
        self.taken = [p.spot for p in packing if p.z < z + height and p.top > z]
        self.taken += [block.spot for _, block in blocks if block.height > z]
        self.tops = [
            (p.thing, p.spot) for p in packing if p.top == z and things[p.thing].carries_kg > 0
        ]
        self.blocks = [(-1 - k, b.spot) for k, b in blocks if b.bears and b.height == z]
        self._walls = np.array([(s.x, s.x + s.along, s.y, s.y + s.across) for s in self.taken])

    def spots(self, size: Size) -> Iterator[Spot]:
        """Free places that are borne, from the front; the lower side first."""
        along, across = size
        tops = [spot for _, spot in (*self.tops, *self.blocks)] if self.z else []
        starts = {spot.x for spot in tops} if self.z else {0}
        sides = {spot.y for spot in tops} if self.z else {0, self.room.across - across}
        sides |= {spot.y + spot.across - across for spot in tops}
        starts |= {spot.x + spot.along for spot in self.taken}
        sides |= {spot.y + spot.across for spot in self.taken}
        sides |= {spot.y - across for spot in self.taken}
        ys = np.array(sorted(y for y in sides if 0 <= y <= self.room.across - across))
        for x in sorted(starts):
            if x + along > self.room.along:
                return
            for y in ys[self._free(x, along, ys, across)]:
                spot = Spot(x, int(y), along, across)
                if self.z == 0 or self.under(spot):
                    yield spot

    def _free(self, x: int, along: int, ys: NDArray[np.int64], across: int) -> NDArray[np.bool_]:
        """Which sides are clear of all that is in the way at x."""
        if not len(self._walls):
            return np.ones(len(ys), dtype=bool)
        w = self._walls[(self._walls[:, 0] < x + along) & (self._walls[:, 1] > x)]
        hit = (w[:, 2] < ys[:, None] + across) & (w[:, 3] > ys[:, None])
        return np.logical_not(hit.any(axis=1))

    def under(self, spot: Spot) -> tuple[int, ...]:
        """What bears the whole of it; empty on the floor, and where nothing does."""
        need = spot.along * spot.across
        if self.z == 0:
            return FLOOR
        for name, top in self.blocks:
            if _common_area(spot, top) == need:
                return (name,)
        shared = [(name, _common_area(spot, top)) for name, top in self.tops]
        if sum(area for _, area in shared) < need:
            return FLOOR
        return tuple(sorted(name for name, area in shared if area))


def _common_area(a: Spot, b: Spot) -> int:
    along = min(a.x + a.along, b.x + b.along) - max(a.x, b.x)
    across = min(a.y + a.across, b.y + b.across) - max(a.y, b.y)
    return along * across if along > 0 and across > 0 else 0
