"""In which order things go in through the rear."""

from collections.abc import Sequence

from .model import Placed


def loading_order(packing: Sequence[Placed], *, rear_only: bool = True) -> list[int] | None:
    """Places in `packing` in the order of loading: front to rear, what bears before what it bears.

    A thing is pushed straight forward to its place: whatever lies ahead of it, at a height and a
    side it would pass, has to be in before; so has all that it stands on. None where no order does
    that, which takes things that stand across several others. Where things may also be let down
    from above (not `rear_only`), only what stands on what counts.

    Leaves out: shifting things sideways or lifting them behind the door, which is done in the part
    of the bay that is still empty.
    """
    before = _before if rear_only else _bears
    order: list[int] = []
    waiting = sorted(range(len(packing)), key=lambda k: _front_first(packing[k]))
    while waiting:
        ready = next(
            (
                k
                for k in waiting
                if not any(before(packing[j], packing[k]) for j in waiting if j != k)
            ),
            None,
        )
        if ready is None:
            return None
        waiting.remove(ready)
        order.append(ready)
    return order


def _front_first(placed: Placed) -> tuple[int, int, int, int]:
    return placed.spot.x, placed.z, placed.spot.y, placed.thing


def _before(first: Placed, second: Placed) -> bool:
    """Has `first` to be in before `second`?"""
    if _bears(first, second):
        return True
    a, b = first.spot, second.spot
    beside = a.y < b.y + b.across and b.y < a.y + a.across
    level = first.z < second.top and second.z < first.top
    return beside and level and a.x + a.along <= b.x


def _bears(first: Placed, second: Placed) -> bool:
    return first.thing in second.under
