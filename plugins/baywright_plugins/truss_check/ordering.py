"""Numbering of nodes along a frame, so that neighbours are never far apart in number."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import reverse_cuthill_mckee

from ..frame.shared_work import Shared, key_of, unchangeable

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

#: So few nodes between neighbours that no other numbering is tried.
NARROW = 8

_orders: Shared[tuple[Ints, int]] = Shared(limit_mib=4)


def node_order(nodes_mm: Floats, start: Ints, end: Ints) -> tuple[Ints, int]:
    """Place of each node (n,) in a numbering that keeps bars short, and the longest bar in it.

    The best of: as given, along the longest side of the structure, reverse Cuthill-McKee.
    Frames of the same bars share one numbering. Source: Cuthill and McKee 1969 (from memory), as
    scipy has it.
    """
    return _orders.of(
        key_of(nodes_mm, start, end),
        lambda: _found_order(nodes_mm, start, end),
        lambda order: unchangeable(order[0]),
    )


def _found_order(nodes_mm: Floats, start: Ints, end: Ints) -> tuple[Ints, int]:
    count = len(nodes_mm)
    best, width = np.arange(count), int(np.abs(start - end).max(initial=0))
    if width <= NARROW:
        return best, width
    for order in (_along, _reverse_cuthill_mckee):
        place = np.empty(count, dtype=np.int64)
        place[order(nodes_mm, start, end)] = np.arange(count)
        found = int(np.abs(place[start] - place[end]).max(initial=0))
        if found < width:
            best, width = place, found
        if width <= NARROW:
            break
    return best, width


def _along(nodes_mm: Floats, start: Ints, end: Ints) -> Ints:
    """Nodes from end to end of the longest side, then of the second longest."""
    return np.lexsort(nodes_mm.T[np.argsort(np.ptp(nodes_mm, axis=0))])


def _reverse_cuthill_mckee(nodes_mm: Floats, start: Ints, end: Ints) -> Ints:
    count, ones = len(nodes_mm), np.ones(len(start), dtype=np.int8)
    joined = csr_array((ones, (start, end)), shape=(count, count))
    return np.asarray(reverse_cuthill_mckee(joined), dtype=np.int64)
