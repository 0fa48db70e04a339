"""Do all things go in, and what is the best packing by one aim?"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from .bounds import certainly_too_small, least_length
from .exact import ShortestPacking
from .greedy import quick_packing
from .loading_order import loading_order
from .model import (
    Packing,
    Placed,
    Room,
    Thing,
    common_step,
    from_steps,
    in_steps,
    swapped,
    swapped_packing,
    used_along,
)
from .nodes import Nodes

#: Up to this many things the search is meant to run to its end.
EXACT_UP_TO = 8
_NODES = 300_000
_TRIAL_SHARE = 50  # of those steps, for a look at a change
_STEADYING_SHARE = 10  # of those steps, for laying things down afterwards


@dataclass(frozen=True)
class Answer:
    """`fits`: True, False, or None where it was not decided.

    `proven`: no packing is better by the aim. `least`: no packing of all things is shorter (or
    narrower, where that is the aim); where they do not fit, the least length they would need.
    """

    fits: bool | None
    decided_by: str
    packing: Packing
    least: int
    proven: bool
    nodes: Nodes


def most_nodes(count: int) -> int:
    """How far to search: less for many things, since each step takes longer.

    >>> most_nodes(8), most_nodes(16)
    (300000, 37500)
    """
    return int(_NODES * min(1.0, (EXACT_UP_TO / max(count, 1)) ** 3))


@dataclass(frozen=True)
class Task:
    """What is to be packed.

    `steady`: the same things with only the ways in which they do not tip over, where there are any;
    used in place of the first where the packing is no worse for it.
    """

    things: Sequence[Thing]
    steady: Sequence[Thing]
    room: Room
    rear_only: bool = True

    def in_steps(self, step: int) -> "Task":
        """The same with lengths counted in steps."""
        things, room = in_steps(self.things, self.room, step)
        return Task(things, in_steps(self.steady, self.room, step)[0], room, self.rear_only)

    def loads(self, packing: Packing) -> bool:
        """Is there an order to load it in?"""
        return loading_order(packing, rear_only=self.rear_only) is not None

    def loads_swapped(self, packing: Packing) -> bool:
        """The same for a packing with along and across exchanged."""
        return self.loads(swapped_packing(packing))


def best_packing(task: Task, *, narrowest: bool) -> Answer:
    """The shortest packing, or the narrowest and then the shortest of those.

    Each thing has at least one way to lie in the room.
    """
    step = common_step(task.things, task.room)
    answer = _best_packing(task.in_steps(step), narrowest=narrowest)
    return replace(answer, packing=from_steps(answer.packing, step), least=answer.least * step)


def _best_packing(task: Task, *, narrowest: bool) -> Answer:
    things, room = task.things, task.room
    nodes = Nodes(most_nodes(len(things)))
    if certainly_too_small(things, room):
        return Answer(False, "bound", (), least_length(things, room), False, nodes)
    first = quick_packing(things, room, task.loads)
    best, proven = (_narrowest if narrowest else _shortest)(task, nodes, first)
    if best is None:
        least = least_length(things, room)
        if proven:
            return Answer(False, "exact-search", (), least, False, nodes)
        return Answer(None, "nothing: the search gave up", (), least, False, nodes)
    aim = swapped(things, room) if narrowest else (things, room)
    reached = used_along(swapped_packing(best) if narrowest else best)
    least = reached if proven else least_length(*aim)
    how = "quick-search" if best == first else "exact-search"
    kept = room.shortened(used_along(best))
    best = _steadied(task, narrowed(kept, reached) if narrowest else kept, best)
    return Answer(True, how, best, least, proven, nodes)


def _shortest(task: Task, nodes: Nodes, first: Packing | None) -> tuple[Packing | None, bool]:
    search = ShortestPacking(task.things, task.room, nodes, first=first, in_order=task.loads)
    search.run()
    return search.best, search.proven


def _narrowest(task: Task, nodes: Nodes, first: Packing | None) -> tuple[Packing | None, bool]:
    """The narrowest, and the shortest found that is no wider; proven is the width."""
    search = ShortestPacking(
        *swapped(task.things, task.room),
        nodes,
        first=None if first is None else swapped_packing(first),
        in_order=task.loads_swapped,
    )
    search.run()
    if search.best is None:
        return None, search.proven
    room = narrowed(task.room, used_along(search.best))
    best = swapped_packing(search.best)
    return _shortest(replace(task, room=room), nodes, best)[0], search.proven


def fits_at_all(task: Task) -> Packing | None:
    """A packing found with little effort, or None; None proves nothing."""
    step = common_step(task.things, task.room)
    task = task.in_steps(step)
    if certainly_too_small(task.things, task.room):
        return None
    found = quick_packing(task.things, task.room, task.loads, thorough=False)
    if found is None:
        found = _any_packing(task, Nodes(most_nodes(len(task.things)) // _TRIAL_SHARE))
    return None if found is None else from_steps(found, step)


def _any_packing(task: Task, nodes: Nodes) -> Packing | None:
    search = ShortestPacking(
        task.things, task.room, nodes, enough=task.room.along, in_order=task.loads
    )
    search.run()
    return search.best


def narrowed(room: Room, across: int) -> Room:
    """The same room up to a width."""
    return swapped((), swapped((), room)[1].shortened(across))[1]


def _steadied(task: Task, room: Room, best: Packing) -> Packing:
    """A packing in the same room, with as many things as possible lying steadily, one by one."""
    nodes = Nodes(most_nodes(len(task.things)) // _STEADYING_SHARE)
    now = list(task.things)
    for k, steady in enumerate(task.steady):
        if steady == now[k]:
            continue
        tried = [*now[:k], steady, *now[k + 1 :]]
        here = next(placed for placed in best if placed.thing == k)
        if not _lies_in(here, steady):
            found = _any_packing(replace(task, things=tried, room=room), nodes)
            if found is None:
                continue
            best = found
        now = tried
    return best


def _lies_in(placed: Placed, thing: Thing) -> bool:
    size = (placed.spot.along, placed.spot.across)
    return any(way.height == placed.height and size in way.sizes for way in thing.ways)
