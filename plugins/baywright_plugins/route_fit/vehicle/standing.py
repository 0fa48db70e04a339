"""Stacks in which something stands across several tops, for a given set of things on the floor.

Levels are filled from below. At each level (the height of some top that bears) every thing that is
left stands there or higher up, on one of the tops or across several of one height. Things on one
top must lie on it side by side, wholly within it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from .meeting import Meeting
from .model import FLOOR, Room, Thing, Way
from .towers import Choice, Layers


@dataclass(frozen=True)
class Stood:
    """A thing in a stack: its height above the floor, and what it stands on, by place in the
    stack from 0, fixed blocks from -1 down; `across` where it may use several of them."""

    thing: int
    way: Way
    z: int
    under: tuple[int, ...] = FLOOR
    across: bool = False

    @property
    def top(self) -> int:
        return self.z + self.way.height


class Standing:
    """All such stacks on one set of things on the floor."""

    def __init__(
        self,
        things: Sequence[Thing],
        room: Room,
        floor: Sequence[tuple[int, Way]],
        layers: Layers,
        meeting: Meeting,
    ) -> None:
        self.things, self.room, self.layers, self.meeting = things, room, layers, meeting
        self._across = 0  # how many stand across several tops so far
        self._stack = [Stood(thing, way, 0) for thing, way in floor]
        self._on: dict[int, list[int]] = {}
        self._load = [0.0] * len(things)

    def stacks(self, left: Sequence[int]) -> Iterator[tuple[Stood, ...]]:
        """The stacks of the things `left` on those on the floor; `left` has twins side by side."""
        return self._fill(tuple(left), 0)

    def turns(self, place: int) -> Choice:
        """The ways round a thing of the stack may lie, so that what stands on it fits."""
        mine = self._stack[place].way.sizes
        upon = self._on.get(place)
        if not upon:
            return mine
        choices = [self.turns(k) for k in upon]
        if not all(choices):
            return ()
        return tuple(size for size in mine if self.layers.fits(size, choices))

    def _fill(self, left: tuple[int, ...], below: int) -> Iterator[tuple[Stood, ...]]:
        """Stacks with the things left standing above `below`."""
        if not left:
            if self._across:
                yield tuple(self._stack)
            return
        bearing = [k for k, s in enumerate(self._stack) if self._bears(k) and s.top > below]
        blocks = [
            -1 - b
            for b, block in enumerate(self.room.blocks)
            if block.bears and block.height > below
        ]
        tops = {k: self._stack[k].top for k in bearing}
        tops |= {k: self.room.blocks[-1 - k].height for k in blocks}
        lowest = min(way.height for k in left for way in self.things[k].ways)
        capacity = sum(
            self._area(k) * (self.room.height - top)
            for k, top in tops.items()
            if top + lowest <= self.room.height
        )
        if not tops or capacity < sum(self.things[k].volume for k in left):
            return
        heights = [self._stack[k].top for k in bearing]
        if not self._across and not self.meeting.possible(heights, left):
            return
        level = min(tops.values())
        group = [k for k in (*bearing, *blocks) if tops[k] == level]
        yield from self._choose(level, group, left, (), 0)

    def _choose(
        self, level: int, group: list[int], left: tuple[int, ...], higher: tuple[int, ...], k: int
    ) -> Iterator[tuple[Stood, ...]]:
        """Decide for the k-th of the things left: at this level, or higher up."""
        if k == len(left):
            yield from self._fill(higher, level)
            return
        self.layers.nodes.spend()
        thing = left[k]
        twin = k > 0 and self.things[left[k - 1]] == self.things[thing]
        if not (twin and left[k - 1] in higher):
            yield from self._place(level, group, left, higher, k, twin)
        yield from self._choose(level, group, left, (*higher, thing), k + 1)

    def _place(
        self,
        level: int,
        group: list[int],
        left: tuple[int, ...],
        higher: tuple[int, ...],
        k: int,
        twin: bool,
    ) -> Iterator[tuple[Stood, ...]]:
        thing = left[k]
        several = tuple(g for g in group if g >= 0)
        for number, way in enumerate(self.things[thing].ways):
            if level + way.height > self.room.height:
                continue
            for under in self._supports(group, way):
                before = self._stack[-1]
                if twin and (self._number(before), before.under) > (number, (under,)):
                    continue  # twins may change places
                if self._put(Stood(thing, way, level, (under,))):
                    yield from self._choose(level, group, left, higher, k + 1)
                    self._take_off()
            if len(several) > 1:
                self._stack.append(Stood(thing, way, level, several, across=True))
                self._across += 1
                if self._covered(level, several):
                    yield from self._choose(level, group, left, higher, k + 1)
                self._across -= 1
                self._stack.pop()

    def _supports(self, group: Sequence[int], way: Way) -> Iterator[int]:
        """Tops large enough; of equal ones on the floor that are still free, only the first."""
        free: list[tuple[Thing, Way]] = []
        for k in group:
            if not any(a <= x and b <= y for a, b in way.sizes for x, y in self._tops(k)):
                continue
            self.layers.nodes.spend()
            if k >= 0 and self._stack[k].under == FLOOR and not self._on.get(k):
                same = (self.things[self._stack[k].thing], self._stack[k].way)
                if same in free:
                    continue
                free.append(same)
            yield k

    def _put(self, stood: Stood) -> bool:
        """Stand a thing on one top; False, and nothing done, where it may not."""
        under = stood.under[0]
        self._on.setdefault(under, []).append(len(self._stack))
        self._stack.append(stood)
        self._weigh(under)
        if self._within_limits(under) and self._fits(under):
            return True
        self._take_off()
        return False

    def _take_off(self) -> None:
        stood = self._stack.pop()
        self._on[stood.under[0]].pop()
        self._weigh(stood.under[0])

    def _below(self, place: int) -> Iterator[int]:
        """The thing at `place` and those it stands on, one on the other, down to the floor."""
        while place >= 0:
            yield place
            stood = self._stack[place]
            if stood.across or stood.under == FLOOR:
                return
            place = stood.under[0]
        yield place

    def _weigh(self, under: int) -> None:
        """Work out the load on each top below anew."""
        for place in self._below(under):
            if place >= 0:
                self._load[place] = sum(
                    self.things[self._stack[k].thing].mass_kg + self._load[k]
                    for k in self._on.get(place, ())
                )

    def _within_limits(self, under: int) -> bool:
        return all(
            self._load[place] <= self.things[self._stack[place].thing].carries_kg
            for place in self._below(under)
            if place >= 0
        )

    def _fits(self, under: int) -> bool:
        """Do the things on this top, and on those below it, still have room?"""
        for place in self._below(under):
            if place >= 0:
                if not self.turns(place):
                    return False
                continue
            spot = self.room.blocks[-1 - place].spot
            choices = [self.turns(k) for k in self._on[place]]
            if not (all(choices) and self.layers.fits((spot.along, spot.across), choices)):
                return False
        return True

    def _covered(self, level: int, several: Sequence[int]) -> bool:
        """Is there as much bearing top as stands on it?"""
        standing = [s for s in self._stack if s.z == level and s.under and s.under[0] in several]
        return sum(s.way.area for s in standing) <= sum(self._area(k) for k in several)

    def _bears(self, place: int) -> bool:
        return self.things[self._stack[place].thing].carries_kg > 0

    def _tops(self, place: int) -> Choice:
        """Sizes the top at `place` may have."""
        if place >= 0:
            return self._stack[place].way.sizes
        spot = self.room.blocks[-1 - place].spot
        return ((spot.along, spot.across),)

    def _area(self, place: int) -> int:
        along, across = self._tops(place)[0]
        return along * across

    def _number(self, stood: Stood) -> int:
        return self.things[stood.thing].ways.index(stood.way)
