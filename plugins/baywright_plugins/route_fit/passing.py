"""Does a thing get through the passages of a route, by which way, and with how much to spare?

Plain values only, so that a search may ask it thousands of times: `cross` remembers what it has
worked out, and what a box passes any box smaller in all three sizes passes too.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from .carried import PREFERENCE, Carried, Solid
from .corner_ways import CARRIED, corner_ways, turn_ways
from .passage import (
    Doorway,
    RouteClearances,
    RoutePassage,
    clearances_from_inputs,
    passage_from_inputs,
    passages_from_inputs,
)
from .rolled import opening_ways
from .stair_ways import stair_ways
from .way import Crossing, Way, first_that_serves


def cross(
    carried: Carried, passages: Sequence[RoutePassage], clearances: RouteClearances
) -> tuple[Crossing, ...]:
    """How a thing fares at each passage, in order.

    Args:
        carried: the thing, as a box or as blocks.
        passages: from `passages_from_inputs`.
        clearances: from `clearances_from_inputs`.

    Leaves out: leading a thing through at a slant to the opening's plane, turning it half-way
    through, and whatever each way past an obstacle leaves out.
    Source: the modules that this one ties together.

    >>> door = RoutePassage("door", "Door", doorway=Doorway(745.0, 1960.0, 20.0))
    >>> [c.spare_mm for c in cross(Carried("S1", (634, 754, 1903)), [door], RouteClearances())]
    [12.0]
    """
    return tuple(_cross(_anonymous(carried), passage, clearances) for passage in passages)


def passes(carried: Carried, passages: Iterable[RoutePassage], clearances: RouteClearances) -> bool:
    """Whether a thing gets through all passages; stops at the first that it sticks in."""
    thing = _anonymous(carried)
    return all(_gets_through(thing, passage, clearances) for passage in passages)


def stuck_at(
    carried: Carried, passages: Iterable[RoutePassage], clearances: RouteClearances
) -> list[str]:
    """Ids of the passages that a thing does not get through; as quick as `passes`."""
    thing = _anonymous(carried)
    return [p.id for p in passages if not _gets_through(thing, p, clearances)]


def _anonymous(carried: Carried) -> Carried:
    """Without its name, so that twins share what is remembered."""
    return Carried(
        "", carried.size_mm, carried.projections, carried.led_along, carried.keep_upright
    )


@lru_cache(maxsize=65536)
def _gets_through(carried: Carried, passage: RoutePassage, clearances: RouteClearances) -> bool:
    """A way past each obstacle that has any; looks no further than the first one found."""
    for ways in _obstacles(carried, passage, clearances):
        first = next(ways, None)
        if first is not None and not first.passes and not any(way.passes for way in ways):
            return False
    return True


@lru_cache(maxsize=8192)
def _cross(carried: Carried, passage: RoutePassage, clearances: RouteClearances) -> Crossing:
    tried = [list(ways) for ways in _obstacles(carried, passage, clearances)]
    obstacles = [ways for ways in tried if ways]
    chosen = _chosen(obstacles)
    governs = min(chosen, key=lambda way: way.spare_mm)
    conservative = any(way.exactness == "conservative" for way in chosen)
    return Crossing(
        passage=passage.id,
        passes=all(way.passes for way in chosen),
        spare_mm=governs.spare_mm,
        attitude=governs.attitude,
        how=governs.how,
        exactness="conservative" if conservative else "exact",
        governs=governs,
        ways=tuple(chosen),
        tried=tuple(tuple(ways) for ways in obstacles),
    )


def _obstacles(
    carried: Carried, passage: RoutePassage, clearances: RouteClearances
) -> Iterator[Iterator[Way]]:
    """The obstacles of a passage, each with its ways in order of preference, worked out as they
    are asked for."""
    if passage.doorway is not None:
        yield opening_ways(carried, passage.doorway, passage.inside, clearances)
        yield turn_ways(carried, passage, clearances)
    if passage.corridors_mm:
        yield corner_ways(carried, passage, clearances)
    for ways in stair_ways(carried, passage, clearances):
        yield iter(ways)


def _chosen(obstacles: list[list[Way]]) -> list[Way]:
    """One way past each obstacle: in one attitude if one serves for all, by hand before on a
    skid; else the first for each that serves."""
    for allowed in (CARRIED[:1], CARRIED):
        for attitude in PREFERENCE:
            ways = [
                next(
                    (
                        way
                        for way in ways
                        if way.passes and way.attitude == attitude and way.carried in allowed
                    ),
                    None,
                )
                for ways in obstacles
            ]
            served = [way for way in ways if way is not None]
            if len(served) == len(obstacles):
                return served
    return [first_that_serves(ways) for ways in obstacles]


__all__ = [
    "Carried",
    "Crossing",
    "Doorway",
    "RouteClearances",
    "RoutePassage",
    "Solid",
    "Way",
    "clearances_from_inputs",
    "cross",
    "passage_from_inputs",
    "passages_from_inputs",
    "passes",
    "stuck_at",
]
