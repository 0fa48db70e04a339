"""Why things cannot all fit, without looking for places: shares of room that must add up.

A dual feasible function turns sizes along one axis into shares of one so that things that fit
side by side still have shares of one at most. With one such function an axis, the products over
all things add up to one at most in any packing. Where they add up to more, there is none.

Source: S. P. Fekete, J. Schepers, A general framework for bounds for higher-dimensional orthogonal
packing problems, Mathematical Methods of Operations Research 60 (2004); its functions u(k), U(e)
and phi(e).
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

#: Sums of a few dozen shares are off by far less than this; a refutation needs more.
ROUNDING = 1e-9
_MOST_STEPS = 8


@lru_cache(maxsize=512)
def shares(sizes: tuple[int, ...], room: int) -> Floats:
    """Shares of `room` by each function: shape (functions, sizes), each between 0 and 1.

    Args:
        sizes: whole numbers between 1 and `room`.
        room: what they lie side by side in, >= 1.

    >>> bool((shares((6, 4), 10).sum(axis=1) <= 1).all())  # they fit side by side
    True
    >>> float(shares((6,), 10).max())  # two of them do not
    1.0
    """
    values = np.asarray(sizes, dtype=np.int64)
    plain = values / room
    rows = [plain]
    for step in _steps(sizes, room):
        outside = np.where(values > room - step, 1.0, plain)
        rows.append(np.where(values < step, 0.0, outside))
        parts = room // step
        large = 1.0 - ((room - values) // step) / parts
        middle = np.where(2 * values > room, large, 1 / parts)
        rows.append(np.where(values < step, 0.0, middle))
    for k in (1, 2, 3, 4):
        scaled = (k + 1) * values
        rows.append(np.where(scaled % room == 0, plain, (scaled // room) / k))
    return np.unique(np.array(rows), axis=0)


def _steps(sizes: Sequence[int], room: int) -> list[int]:
    """Where the functions change: at sizes up to half, and just past what is left of large ones."""
    found = {size for size in sizes if 2 * size <= room}
    found |= {room - size + 1 for size in sizes if 2 * (room - size + 1) <= room}
    steps = sorted(found)
    if len(steps) <= _MOST_STEPS:
        return steps
    return [steps[k * (len(steps) - 1) // (_MOST_STEPS - 1)] for k in range(_MOST_STEPS)]


def products(choices: Sequence[Sequence[tuple[int, ...]]], room: tuple[int, ...]) -> list[Floats]:
    """For each thing, the shares of the whole room it takes up in each of its attitudes.

    Args:
        choices: for each thing the sizes it may have along each axis; each within `room`.
        room: size of the room along each axis.

    Returns:
        One array a thing, shape (attitudes, combinations of functions).
    """
    tables = []
    for axis, extent in enumerate(room):
        sizes = tuple(sorted({attitude[axis] for thing in choices for attitude in thing}))
        tables.append((shares(sizes, extent), {size: k for k, size in enumerate(sizes)}))
    found = []
    for thing in choices:
        rows = []
        for attitude in thing:
            product = np.ones(1)
            for (table, column), size in zip(tables, attitude, strict=True):
                product = np.outer(product, table[:, column[size]]).ravel()
            rows.append(product)
        found.append(np.array(rows))
    return found


def refuted(choices: Sequence[Sequence[tuple[int, ...]]], room: tuple[int, ...]) -> bool:
    """True only where things cannot all be packed; False says nothing.

    >>> refuted([[(6, 6)], [(6, 6)]], (10, 10))
    True
    >>> refuted([[(6, 6)], [(4, 10)]], (10, 10))
    False
    """
    if any(size < 1 for size in room):
        return bool(choices)
    within = [
        [attitude for attitude in thing if all(a <= b for a, b in zip(attitude, room, strict=True))]
        for thing in choices
    ]
    if not all(within):
        return True
    if not within:
        return False
    total = sum(rows.min(axis=0) for rows in products(within, room))
    return bool(np.max(total) > 1 + ROUNDING)
