"""A packing found quickly: things one by one, each as far forward as it will go.

It is a packing, not the best one; several orders are tried. Where it fails, that proves nothing.
"""

from collections.abc import Callable, Iterator, Sequence
from itertools import product

from .exact import anyhow, loads_allowed
from .model import FLOOR, Packing, Placed, Room, Thing, used_along
from .plan_search import Spot

Key = Callable[[Thing], tuple[float, ...]]

_ORDERS: tuple[Key, ...] = (
    lambda t: (-t.volume,),
    lambda t: (-float(t.carries_kg > 0), -t.volume),
    lambda t: (-float(t.carries_kg > 0), -t.least_area),
    lambda t: (-max(max(size) for way in t.ways for size in way.sizes), -t.volume),
    lambda t: (-float(t.carries_kg > 0), -max(way.height for way in t.ways), -t.volume),
)


def quick_packing(
    things: Sequence[Thing], room: Room, in_order: Callable[[Packing], bool] = anyhow
) -> Packing | None:
    """The shortest packing among those of several orders; None where none of them came out."""
    found: list[Packing] = []
    orders = {tuple(_order(things, key)) for key in _ORDERS}
    for order in sorted(orders):
        for favour in (_short, _low):
            packing = _one_by_one(things, room, order, favour)
            if packing is not None and in_order(packing):
                found.append(packing)
    return min(found, key=used_along, default=None)


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
) -> Packing | None:
    packing: list[Placed] = []
    for thing in order:
        best = min(_places(things, room, packing, thing), key=favour, default=None)
        if best is None:
            return None
        packing.append(best)
    return tuple(packing)


def _places(
    things: Sequence[Thing], room: Room, packing: Sequence[Placed], thing: int
) -> Iterator[Placed]:
    """Where a thing may go beside, behind or on top of what is there."""
    spots = [placed.spot for placed in packing] + [block.spot for block in room.blocks]
    levels = {placed.top for placed in packing if things[placed.thing].carries_kg > 0}
    levels |= {block.height for block in room.blocks if block.bears}
    fronts = sorted({0} | {s.x for s in spots} | {s.x + s.along for s in spots})
    for way in things[thing].ways:
        for along, across in way.sizes:
            sides = {0, room.across - across} | {s.y for s in spots}
            sides |= {s.y + s.across for s in spots} | {s.y - across for s in spots}
            reached = room.along
            for x, z in product(fronts, sorted({0} | levels)):
                if x + along > reached or z + way.height > room.height:
                    continue
                for y in sorted(sides):
                    spot = Spot(x, y, along, across)
                    placed = _standing(things, room, packing, Placed(thing, spot, z, way.height))
                    if placed is not None:
                        yield placed
                        break


def _standing(
    things: Sequence[Thing], room: Room, packing: Sequence[Placed], new: Placed
) -> Placed | None:
    """The thing in that place with what it stands on; None where it may not be there."""
    spot = new.spot
    if spot.y < 0 or spot.y + spot.across > room.across:
        return None
    covered, under = 0, []
    for other in packing:
        common = _common_area(spot, other.spot)
        if not common:
            continue
        if new.z < other.top and other.z < new.top:
            return None
        if other.top == new.z and things[other.thing].carries_kg > 0:
            covered += common
            under.append(other.thing)
    for k, block in enumerate(room.blocks):
        common = _common_area(spot, block.spot)
        if common and block.height > new.z:
            return None
        if common == spot.along * spot.across and block.bears and block.height == new.z:
            return Placed(new.thing, spot, new.z, new.height, (-1 - k,))
    if new.z == 0:
        return Placed(new.thing, spot, 0, new.height, FLOOR)
    if covered < spot.along * spot.across:
        return None
    placed = Placed(new.thing, spot, new.z, new.height, tuple(under))
    return placed if loads_allowed([*packing, placed], things) else None


def _common_area(a: Spot, b: Spot) -> int:
    along = min(a.x + a.along, b.x + b.along) - max(a.x, b.x)
    across = min(a.y + a.across, b.y + b.across) - max(a.y, b.y)
    return along * across if along > 0 and across > 0 else 0
