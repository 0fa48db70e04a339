"""Which requirements set the end of a window: the tight chain below it, with all its ties."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from .difference_constraints import OPEN, Grid, Ints, Rows, round_up


@dataclass(frozen=True)
class Chain:
    """The tight rows that lead from the hall floor to a node.

    `rows`: every row on any such way, in the order of their heads. `one_way`: one of the ways, in
    order. `ways`: how many there are. `lost_nm`: what rounding adds at the end of each of `rows`.
    """

    rows: tuple[int, ...]
    one_way: tuple[int, ...]
    ways: int
    lost_nm: tuple[int, ...]


def chain_to(node: int, rows: Rows, grid: Grid, low_nm: Ints) -> Chain | None:
    """All tight rows under the lower end of a node; None where it is open.

    A row is tight where the lower end of its tail and what it asks, rounded up at a snapped head,
    give just the lower end of its head. Levels held together both ways (equalities) count as one
    rigid piece, gone through by the shortest way.

    Args:
        node: whose lower end is asked for. low_nm: lower ends of all counts, shape (nodes,).

    Source: critical path method; activities without float are those on some longest path
    (Heizer and Render, Operations Management, project management chapter, from memory).
    """
    if low_nm[node] < -OPEN:
        return None
    reached = low_nm[rows.tail] + grid.counted(rows)
    landed = np.where(grid.snapped[rows.head], round_up(reached, grid.module_nm), reached)
    tight = np.flatnonzero((landed == low_nm[rows.head]) & (low_nm[rows.tail] > -OPEN))
    forward = _forward(tight, rows, grid.count)
    on_way = _between(forward, rows, grid.count, node)
    order = _heights_first(on_way, rows, grid.count)
    ways = [0] * grid.count
    ways[0] = 1
    for row in order:
        ways[rows.head[row]] += ways[rows.tail[row]]
    lost = tuple(int(landed[row] - reached[row]) for row in order)
    return Chain(tuple(order), _one_way(order, rows, node), ways[node], lost)


def _forward(tight: Ints, rows: Rows, count: int) -> list[int]:
    """Tight rows that lead on: between rigid pieces, and inside one by the shortest way."""
    tail, head = rows.tail[tight], rows.head[tight]
    graph = csr_array((np.ones(len(tight)), (tail, head)), shape=(count, count))
    piece = connected_components(graph, connection="strong")[1]
    across = piece[tail] != piece[head]
    depth = np.full(count, count)
    depth[[0, *head[across]]] = 0
    inside = ~across
    for _ in range(count):
        nearer = np.minimum(depth[tail[inside]] + 1, count)
        before = depth.copy()
        np.minimum.at(depth, head[inside], nearer)
        if (before == depth).all():
            break
    leads_on = across | (depth[head] == depth[tail] + 1)
    return [int(row) for row in tight[leads_on]]


def _between(forward: Sequence[int], rows: Rows, count: int, node: int) -> list[int]:
    """Those rows that lie between the hall floor and the node."""
    chosen = np.array(forward, dtype=np.int64)
    tail, head = rows.tail[chosen], rows.head[chosen]
    above, below = np.zeros(count, bool), np.zeros(count, bool)
    above[0], below[node] = True, True
    for _ in range(count):
        before = above.sum() + below.sum()
        above[head[above[tail]]] = True
        below[tail[below[head]]] = True
        if above.sum() + below.sum() == before:
            break
    return [int(row) for row in chosen[above[tail] & below[head]]]


def _heights_first(on_way: Sequence[int], rows: Rows, count: int) -> list[int]:
    """Rows so that each comes after all rows that lead to its tail."""
    waiting = np.zeros(count, dtype=np.int64)
    leaving: dict[int, list[int]] = {}
    for row in on_way:
        waiting[rows.head[row]] += 1
        leaving.setdefault(int(rows.tail[row]), []).append(row)
    ready, order = [0], []
    while ready:
        for row in leaving.get(ready.pop(0), ()):
            order.append(row)
            head = int(rows.head[row])
            waiting[head] -= 1
            if not waiting[head]:
                ready.append(head)
    return order


def _one_way(order: Sequence[int], rows: Rows, node: int) -> tuple[int, ...]:
    into = {int(rows.head[row]): row for row in reversed(order)}
    way: list[int] = []
    at = node
    while at in into and at != 0:
        way.append(into[at])
        at = int(rows.tail[into[at]])
    return tuple(reversed(way))
