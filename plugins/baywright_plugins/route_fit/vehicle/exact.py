"""The shortest packing, by a search that misses nothing.

What stands on the floor decides how long the load is, since whatever stands on something lies
within it. So: choose who stands on the floor, and which way up; ask whether the rest can be
stacked on those; find the shortest layout of the floor for that. A floor whose rest can only stand
across several tops is kept for a second look, where all places are searched at once.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from .bounds import certainly_too_small
from .bridging import spread
from .meeting import Meeting
from .model import Packing, Placed, Room, Thing, Way, used_along
from .nodes import Nodes, OutOfNodes
from .plan_search import Spot, lay
from .raising import covers, raised
from .standing import Standing, Stood
from .towers import Choice, Layers, Towers

Floor = tuple[tuple[int, Way], ...]


def anyhow(packing: Packing) -> bool:
    """Every packing will do."""
    return True


class _Done(Exception):
    """No shorter packing is possible, or none is asked for, whatever is left to search."""


class ShortestPacking:
    """The search and its state: `best` so far, and whether it is `proven`."""

    def __init__(
        self,
        things: Sequence[Thing],
        room: Room,
        nodes: Nodes,
        *,
        enough: int = 0,
        first: Packing | None = None,
        in_order: Callable[[Packing], bool] = anyhow,
    ) -> None:
        """Args:
        enough: a packing this short will do.
        first: a packing known beforehand.
        in_order: can it be loaded? Asked where things stand across several tops.
        """
        self.things, self.room, self.nodes, self.enough = things, room, nodes, enough
        self.best, self.in_order = first, in_order
        self.limit = room.along if first is None else used_along(first) - 1
        self.proven = False
        self.layers = Layers(nodes)
        self.towers = Towers(things, room.height, self.layers)
        self.meeting = Meeting(things, room.height)
        self._refuted: dict[tuple[Choice, ...], int] = {}
        self._second_look: list[tuple[Floor, tuple[int, ...]]] = []
        self._missed = False
        self._order = sorted(
            range(len(things)),
            key=lambda k: (-things[k].volume, things.index(things[k]), k),
        )

        self._may_stand = [self._on_something(k) for k in range(len(things))]

    def _on_something(self, thing: int) -> bool:
        """Is there anything a thing might stand on?"""
        mass, low = self.things[thing].mass_kg, _lowest(self.things[thing])
        return any(block.bears for block in self.room.blocks) or any(
            k != thing
            and other.carries_kg > 0
            and other.carries_kg >= mass
            and low + _lowest(other) <= self.room.height
            for k, other in enumerate(self.things)
        )

    def run(self) -> None:
        """Search until all is decided, or the nodes run out."""
        try:
            if certainly_too_small(self.things, self._short_room()):
                raise _Done
            self._decide(0, [], [], 0)
            for floor, left in self._second_look:
                self._look_again(floor, left)
            self.proven = not self._missed
        except _Done:
            self.proven = True
        except OutOfNodes:
            self.proven = False

    def _decide(self, k: int, floor: list[tuple[int, Way]], left: list[int], area: int) -> None:
        """Decide for the k-th thing: on the floor, each way up, or on something."""
        if area > self.limit * self.room.across:
            return
        if k == len(self._order):
            self._consider(tuple(floor), tuple(left))
            return
        self.nodes.spend()
        thing = self._order[k]
        ways = self.things[thing].ways
        start = 0
        if k > 0 and self.things[self._order[k - 1]] == self.things[thing]:
            before = self._order[k - 1]
            on_floor = bool(floor) and floor[-1][0] == before
            start = ways.index(floor[-1][1]) if on_floor else len(ways)
        if self._may_stand[thing]:
            self._decide(k + 1, floor, [*left, thing], area)
        for way in ways[start:]:
            self._decide(k + 1, [*floor, (thing, way)], left, area + way.area)

    def _consider(self, floor: Floor, left: tuple[int, ...]) -> None:
        """The shortest layouts of this floor for which the rest can be stacked on single tops."""
        while self._shortened_with(floor, left):
            pass

    def _shortened_with(self, floor: Floor, left: tuple[int, ...]) -> bool:
        """True where a packing within the limit was found, and the limit lowered."""
        self.nodes.spend(3)
        blocks = self._short_room().blocks
        widest = tuple(way.sizes for _, way in floor)
        tried: set[tuple[Choice, ...]] = set()
        for upon in covers(self.towers, floor, blocks, sum(1 << k for k in left)):
            choices = tuple(
                self.towers.sizes(thing, way, 0, above)
                for (thing, way), above in zip(floor, upon, strict=False)
            )
            if choices in tried:
                continue
            tried.add(choices)
            spots = self._floor_plan(choices)
            if spots is not None:
                self._take(tuple(raised(self.towers, floor, spots, blocks, upon)))
                return True
            if choices == widest:
                return False  # no other stack leaves the floor more freedom
        tops = [way.height for thing, way in floor if self.things[thing].carries_kg > 0]
        if self.meeting.possible(tops, left):
            self._second_look.append((floor, left))
        return False

    def _floor_plan(self, choices: Sequence[Choice]) -> list[Spot] | None:
        """A layout of the floor within the limit."""
        order = sorted(range(len(choices)), key=lambda k: (-sum(choices[k][0]), choices[k]))
        ordered = tuple(choices[k] for k in order)
        if self.limit <= self._refuted.get(ordered, 0):
            return None
        ground = self._short_room().ground
        spots = lay(ordered, ground, self.nodes)
        if spots is None:
            self._refuted[ordered] = self.limit
            return None
        return [spots[order.index(k)] for k in range(len(choices))]

    def _look_again(self, floor: Floor, left: tuple[int, ...]) -> None:
        """Stacks in which something stands across several tops."""
        if sum(way.area for _, way in floor) > self.limit * self.room.across:
            return
        standing = Standing(self.things, self.room, floor, self.layers, self.meeting)
        for stack in standing.stacks(left):
            if self._floor_plan(tuple(way.sizes for _, way in floor)) is None:
                return
            found = spread(self._short_room(), stack, self.nodes, partial(self._sound, stack))
            while found is not None:
                self._take(tuple(_placed(stack, *found)))
                found = spread(self._short_room(), stack, self.nodes, partial(self._sound, stack))

    def _sound(
        self,
        stack: tuple[Stood, ...],
        spots: Sequence[Spot],
        stands_on: Sequence[tuple[int, ...]],
    ) -> bool:
        """Do the tops carry the loads, and is there an order of loading?"""
        packing = tuple(_placed(stack, spots, stands_on))
        if not loads_allowed(packing, self.things):
            return False
        in_order = self.in_order(packing)
        self._missed = self._missed or not in_order
        return in_order

    def _short_room(self) -> Room:
        return self.room.shortened(self.limit)

    def _take(self, packing: Packing) -> None:
        self.best = packing
        self.limit = used_along(packing) - 1
        short_enough = used_along(packing) <= self.enough
        if short_enough or certainly_too_small(self.things, self._short_room()):
            raise _Done


def _lowest(thing: Thing) -> int:
    return min(way.height for way in thing.ways)


def loads_allowed(packing: Sequence[Placed], things: Sequence[Thing]) -> bool:
    """Does every top carry what stands on it, each thing counted in full on all it stands on?"""
    loads: dict[int, float] = {}
    for placed in sorted(packing, key=lambda p: -p.z):
        mass = things[placed.thing].mass_kg + loads.get(placed.thing, 0.0)
        for under in placed.under:
            loads[under] = loads.get(under, 0.0) + mass
    return all(load <= things[k].carries_kg for k, load in loads.items() if k >= 0)


def _placed(
    stack: Sequence[Stood], spots: Sequence[Spot], stands_on: Sequence[tuple[int, ...]]
) -> Iterator[Placed]:
    for stood, spot, under in zip(stack, spots, stands_on, strict=True):
        names = tuple(stack[k].thing if k >= 0 else k for k in under)
        yield Placed(stood.thing, spot, stood.z, stood.way.height, names)
