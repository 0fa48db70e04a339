"""Things that stand across several tops of one height: all places at once.

The search over "who is where" with one more demand: a thing's underside lies within the tops it
stands on. Whoever covers its lower corner is chosen first; what that top leaves uncovered is a
strip behind and a strip beside, and each is covered in the same way. Every choice is a difference
constraint, so again nothing is missed.
"""

from collections.abc import Callable, Sequence

from .difference_bounds import Bounds, with_bound
from .model import FLOOR, Room
from .nodes import Nodes
from .plan_search import PlanSearch, Spot
from .standing import Stood

#: A coordinate: the number of a variable, and what is added to it.
Edge = tuple[int, int]
#: Still to be covered: from and to along, from and to across.
Region = tuple[Edge, Edge, Edge, Edge]

Spread = tuple[list[Spot], list[tuple[int, ...]]]
LastWord = Callable[[Sequence[Spot], Sequence[tuple[int, ...]]], bool]


def spread(
    room: Room,
    stack: Sequence[Stood],
    nodes: Nodes,
    accept: LastWord,
) -> Spread | None:
    """Places for a stack and what each thing in it really stands on; None where there are none.

    `accept` has a last word about each answer; those it refuses are passed over.
    """
    search = _SpreadSearch(room, stack, nodes, accept)
    spots = search.answer()
    return None if spots is None else (spots, search.stands_on)


class _SpreadSearch(PlanSearch):
    def __init__(
        self,
        room: Room,
        stack: Sequence[Stood],
        nodes: Nodes,
        accept: LastWord,
    ) -> None:
        super().__init__([stood.way.sizes for stood in stack], room.ground, nodes)
        self.stack, self.blocks = stack, room.blocks
        self.last_word = accept
        self.may_swap = False
        self.stands_on: list[tuple[int, ...]] = []

    def accept(self, spots: list[Spot]) -> bool:
        return self.last_word(spots, self.stands_on)

    def settle(self, me: int, along: Bounds, across: Bounds) -> list[Spot] | None:
        """Cover the underside first, then keep clear of what is beside."""
        stood = self.stack[me - self.first]
        if stood.under == FLOOR:
            return self._beside(me, (), along, across)
        length, width = self.sizes[me]
        under = tuple(self._variable(k) for k in stood.under)
        region = ((me, 0), (me, length), (me, 0), (me, width))
        return self._cover(me, [region], under, (), along, across)

    def _variable(self, place: int) -> int:
        return self.first + place if place >= 0 else -place

    def _cover(
        self,
        me: int,
        regions: list[Region],
        tops: Sequence[int],
        used: tuple[int, ...],
        along: Bounds,
        across: Bounds,
    ) -> list[Spot] | None:
        """Cover all regions with tops, in every way there is."""
        if not regions:
            return self._beside(me, used, along, across)
        (x0, x1, y0, y1), rest = regions[0], regions[1:]
        for top in tops:
            length, width = self.sizes[top]
            held = _starts_within(along, top, length, x0), _starts_within(across, top, width, y0)
            if held[0] is None or held[1] is None:
                continue
            now = (*used, top) if top not in used else used
            for ends, (long, strip) in enumerate(_ends(held[0], top, length, x1)):
                for sides, (wide, band) in enumerate(_ends(held[1], top, width, y1)):
                    self.nodes.spend()
                    if long is None or wide is None:
                        continue
                    more: list[Region] = []
                    if ends:
                        more.append((strip, x1, y0, y1))
                    if sides:
                        more.append((x0, strip if ends else x1, band, y1))
                    found = self._cover(me, [*more, *rest], tops, now, long, wide)
                    if found is not None:
                        return found
        return None

    def _beside(
        self, me: int, used: tuple[int, ...], along: Bounds, across: Bounds
    ) -> list[Spot] | None:
        stood = self.stack[me - self.first]
        others = [1 + b for b, block in enumerate(self.blocks) if block.height > stood.z]
        others += [
            self.first + k
            for k in range(me - self.first)
            if self.stack[k].z < stood.top and self.stack[k].top > stood.z
        ]
        self.stands_on.append(
            tuple(sorted(v - self.first if v >= self.first else -v for v in used))
        )
        found = self.tell_apart(me, others, along, across)
        if found is None:
            self.stands_on.pop()
        return found


def _starts_within(bounds: Bounds, top: int, extent: int, edge: Edge) -> Bounds | None:
    """The top begins at or before the edge and ends after it."""
    variable, shift = edge
    begun = with_bound(bounds, top, variable, -shift)
    return None if begun is None else with_bound(begun, variable, top, shift - extent + 1)


def _ends(
    bounds: Bounds, top: int, extent: int, edge: Edge
) -> tuple[tuple[Bounds | None, Edge], tuple[Bounds | None, Edge]]:
    """The top reaches the edge; or it ends before, and where what is left begins."""
    variable, shift = edge
    reaches = with_bound(bounds, variable, top, shift - extent)
    short = with_bound(bounds, top, variable, extent + 1 - shift)
    return (reaches, edge), (short, (top, extent))
