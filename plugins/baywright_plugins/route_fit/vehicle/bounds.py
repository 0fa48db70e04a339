"""What no packing can do better than, without searching."""

from collections.abc import Sequence
from dataclasses import replace

from .dual_bounds import refuted
from .model import Room, Thing
from .reach import useful_extent

_PARTS = 5000


def certainly_too_small(things: Sequence[Thing], room: Room) -> bool:
    """True only where no packing exists: by volume, or by floor.

    Things nothing may stand on are never one above the other, since what stands lies wholly on
    tops that bear: seen from above they do not overlap, and need that much floor between them.
    """
    boxes = [[(a, b, way.height) for way in thing.ways for a, b in way.sizes] for thing in things]
    bare = [
        list(dict.fromkeys(size for way in thing.ways for size in way.sizes))
        for thing in things
        if thing.carries_kg <= 0
    ]
    full = (room.along, room.across, room.height)
    return _refuted(boxes, full, room) or _refuted(bare, full[:2], room)


def _refuted(
    choices: Sequence[Sequence[tuple[int, ...]]], extents: tuple[int, ...], room: Room
) -> bool:
    """Refuted, and within no more of the room than things can reach (blocks may shift them)."""
    if not room.blocks:
        extents = tuple(
            useful_extent([[size[axis] for size in thing] for thing in choices], extent)
            for axis, extent in enumerate(extents)
        )
    return refuted(choices, extents)


def least_length(things: Sequence[Thing], room: Room) -> int:
    """No packing is shorter than this; it may be more than the room's length.

    The longest room of this width and height that is certainly too small, found by halving (to
    a small share of it), and one more. All things in a row are a packing, so it is at most the sum
    of their lengths.
    """
    low = 0
    high = max(room.along, sum(max(s[0] for w in t.ways for s in w.sizes) for t in things))
    while high - low > 1 + high // _PARTS:
        middle = (low + high) // 2
        if certainly_too_small(things, _stretched(room, middle)):
            low = middle
        else:
            high = middle
    return low + 1


def _stretched(room: Room, along: int) -> Room:
    return room.shortened(along) if along <= room.along else replace(room, along=along)
