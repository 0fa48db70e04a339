"""How far things laid side by side can reach at all: the sums of their sizes.

Push everything in a packing towards one corner: each thing then ends at a sum of sizes, its own and
those of things before it. So room beyond the largest such sum is of no use, and may be left out.

Source: J. C. Herz, Recursive computational procedure for two-dimensional stock cutting, IBM Journal
of Research and Development 16 (1972); N. Christofides, C. Whitlock, An algorithm for
two-dimensional cutting problems, Operations Research 25 (1977), "normal patterns"; from memory.
"""

from collections.abc import Sequence

_MOST_SUMS = 5_000


def useful_extent(sizes: Sequence[Sequence[int]], room: int) -> int:
    """The largest sum, at most `room`, of one size each of some of the things.

    Args:
        sizes: for each thing the sizes it may have along one axis.
        room: what there is along it.

    Returns:
        That sum; `room` itself where there are too many sums to look at.

    >>> useful_extent([[800, 1200]] * 12, 5867), useful_extent([[800, 1200]] * 12, 2330)
    (5600, 2000)
    """
    sums = {0}
    for thing in sizes:
        sums |= {total + size for total in sums for size in thing if total + size <= room}
        if len(sums) > _MOST_SUMS:
            return room
    return max(sums)
