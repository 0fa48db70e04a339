"""Heights that stacks of given pieces reach on a module grid. Whole numbers of one unit."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]


@dataclass(frozen=True)
class PieceKind:
    """A spacer, shim or shelf of one height; at most `most` of it in one stack."""

    item: str
    height: int
    most: int


@dataclass(frozen=True)
class Stacks:
    """Every height that some stack of pieces reaches, ascending, each with the fewest pieces.

    heights (n,); counts (n, kinds) of each kind.
    """

    heights: Ints
    counts: Ints


def stacks_of(kinds: Sequence[PieceKind], most_pieces: int) -> Stacks:
    """All sums of up to `most_pieces` pieces; of equal heights the stack of fewest pieces, then
    that with more of the kinds named first.

    Source: enumeration.
    """
    rows = np.zeros((1, len(kinds)), dtype=np.int64)
    for place, kind in enumerate(kinds):
        grown = [rows]
        for count in range(1, min(kind.most, most_pieces) + 1):
            more = rows[rows.sum(axis=1) + count <= most_pieces].copy()
            more[:, place] = count
            grown.append(more)
        rows = np.concatenate(grown)
    heights = rows @ np.array([kind.height for kind in kinds], dtype=np.int64)
    keys = [*(-rows[:, k] for k in reversed(range(len(kinds)))), rows.sum(axis=1), heights]
    ranked = np.lexsort(keys)
    heights, rows = heights[ranked], rows[ranked]
    first = np.append(True, heights[1:] != heights[:-1])
    return Stacks(heights[first], rows[first])


@dataclass(frozen=True)
class Support:
    """What stands under one point: `modules` whole module steps and a stack (its place), reaching
    `height`; `error` is height less the one wanted."""

    modules: int
    stack: int
    height: int
    error: int


def nearest_support(wanted: int, base: int, module: int, stacks: Stacks) -> Support:
    """base + n module + stack nearest to `wanted`, n not negative; of two equally near the one
    with fewer pieces, then the lower. `module` 0: no module grid, n is 0.
    """
    over = wanted - base - stacks.heights
    if module:
        floor = np.maximum(over // module, 0)
        steps = np.stack([floor, floor + 1])
    else:
        steps = np.zeros((1, len(over)), dtype=np.int64)
    errors = steps * module - over
    pieces = np.broadcast_to(stacks.counts.sum(axis=1), errors.shape)
    keys = (errors.ravel(), pieces.ravel(), np.abs(errors).ravel())
    best = int(np.lexsort(keys)[0])
    stack = best % len(over)
    count, error = int(steps.ravel()[best]), int(errors.ravel()[best])
    return Support(count, stack, wanted + error, error)
