"""Scales and paper: which standard scale a sheet fits at."""

from collections.abc import Callable

#: ISO 5455:1979, 5: recommended reductions and full size, extended by powers of ten (5, note), as
#: the number behind "1:".
SCALES: tuple[int, ...] = tuple(step * int(10**power) for power in range(5) for step in (1, 2, 5))

#: Room for a drawing on a page of the service's sheets, mm: (wide, high) lying and standing;
#: edges, title block, legend and words are taken off.
FIELDS = {"a4": ((266.0, 116.0), (179.0, 203.0)), "a3": ((387.0, 203.0), (264.0, 326.0))}

#: ISO 3098-1 nominal size 1.8 (height of capitals, mm), the least on any sheet.
LEAST_CAPITAL_MM = 1.8
#: Size of the font whose capitals are as high, and a little more.
TEXT_MM = 2.6


def scale_for(size_at: Callable[[int], tuple[float, float]], paper: str) -> int:
    """The largest standard scale at which a drawing fits the paper, as the number behind "1:".

    Args:
        size_at: width and height on paper, mm, at a scale.

    Beyond 1:50 000 the last scale stays.
    """
    for scale in SCALES:
        wide, high = size_at(scale)
        if any(wide <= room[0] and high <= room[1] for room in FIELDS[paper]):
            return scale
    return SCALES[-1]
