"""Brace patterns: which diagonals a face of a bay carries.

A face has indices (u, v) along its two in-plane axes, in the order x, y, z. Its two diagonals
are the rising one, (u, v)-(u+1, v+1), and the falling one, (u+1, v)-(u, v+1).
"""

import numpy as np
from numpy.typing import NDArray

PATTERNS = ("none", "single", "alternating", "lean-in", "lean-out", "crossed")

#: Where two beams claim one face the stronger pattern stands; among equals the first beam's.
STRENGTH = {
    "none": 0, "single": 1, "alternating": 1, "lean-in": 1, "lean-out": 1, "crossed": 2,
}  # fmt: skip

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]


def diagonals(
    pattern: str, u: Ints, v: Ints, *, bays_along_u: int, vertical: bool
) -> tuple[Bools, Bools]:
    """Which of the two diagonals each face carries: (rising, falling), shape of `u`.

    single: rising everywhere. alternating: rising where u + v is even. lean-in: on vertical
    faces the diagonal rises toward the middle of the section, so that it is pressed when the
    section stands; on horizontal faces as alternating. lean-out is its mirror image.
    crossed: both.

    Args:
        u, v: face indices, integers of one shape.
        bays_along_u: number of bays of the section along the first in-plane axis.
        vertical: the second in-plane axis is z.

    Source: names and rules are common practice, no source.
    """
    rising = np.ones(u.shape, dtype=bool)
    if pattern == "none":
        return ~rising, ~rising
    if pattern == "crossed":
        return rising, rising.copy()
    if pattern in ("lean-in", "lean-out") and vertical:
        rising = (u < (bays_along_u - 1) / 2) == (pattern == "lean-in")
    elif pattern != "single":
        rising = (u + v) % 2 == 0
    return rising, ~rising


def braced_station(station: int, bays: int, every: int) -> bool:
    """Whether the inner station (1 .. bays - 1) of a section carries a diaphragm.

    Stations 1, 1 + every, 1 + 2 every ... and bays - 1; none where every is 0.
    """
    return every > 0 and ((station - 1) % every == 0 or station == bays - 1)
