"""Do the faces of two coupled sections stay flush when their rows are edited?"""

from collections.abc import Mapping, Sequence
from itertools import accumulate

from .rows import Row, RowEdit

Planes = tuple[int, ...]


def planes_um(row: Row, pitch_um: Mapping[str, int], start_um: int = 0) -> Planes:
    """Node planes of a row of bays in whole micrometres."""
    return tuple(accumulate((pitch_um[rod] for rod in row), initial=start_um))


def cut_alike(first: RowEdit, second: RowEdit) -> bool:
    """Both whole, or both cut in two: a whole face cannot be coupled to two pieces."""
    return len(first.segments) == len(second.segments)


def stay_flush(
    before: tuple[Row, Row],
    after: tuple[RowEdit, RowEdit],
    offset_um: int,
    pitch_um: Mapping[str, int],
) -> bool:
    """Whether two rows across a joint stay flush as they were.

    Ends that were flush must be flush, with the bay behind them alike, so that the corner hubs of
    both find partners; an end that lay within the longer row must still lie on its planes; the
    two faces of a cut must be flush.

    Args:
        before: the rods of both rows as they are; after: as edited.
        offset_um: where the second row starts, from the start of the first.

    Leaves out: whether the hubs at both ends of a coupling rod have a free port.
    Source: follows from the rule that a coupling rod runs straight across the gap, between hubs
    of the outermost two rows and columns; common practice, no source.
    """
    a, b = after
    if a.segments == (before[0],) and b.segments == (before[1],):
        return True
    if not cut_alike(a, b):
        return False
    was = planes_um(before[0], pitch_um), planes_um(before[1], pitch_um, offset_um)
    last = len(a.segments) - 1
    for k in range(last + 1):
        start = offset_um if k == 0 else 0
        one = planes_um(a.segments[k], pitch_um)
        two = planes_um(b.segments[k], pitch_um, start)
        low = k > 0 or was[0][0] == was[1][0]
        high = k < last or was[0][-1] == was[1][-1]
        if not (_end_fits(one, two, flush=low) and _end_fits(_back(one), _back(two), flush=high)):
            return False
    return True


def _end_fits(one: Sequence[int], two: Sequence[int], *, flush: bool) -> bool:
    """The first two planes of both: alike, or those of the later one among the other's."""
    if flush or one[0] == two[0]:
        return one[:2] == two[:2]
    later, other = (one, two) if one[0] > two[0] else (two, one)
    return set(later[:2]) <= set(other)


def _back(planes: Planes) -> Planes:
    """The same planes seen from the other end."""
    return tuple(-plane for plane in reversed(planes))
