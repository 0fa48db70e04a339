"""Turning out of a passage into a door in its side wall."""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_ANGLES = 1001


@lru_cache(maxsize=65536)
def passage_needed(length_mm: float, width_mm: float, door_mm: float, reveal_mm: float) -> float:
    """Least width of a passage from which a box of plan L x B turns into a door in its side wall.

    At an angle t from the passage the box reaches e = L sin t + B cos t - passage beyond the near
    face of the wall. What then stands within the wall's depth d takes up

        e / (sin t cos t)        where e <= B cos t
        B sin t + e cot t        up to e = B cos t + d, and no more after

    of the door's width w, so that e may be at most w sin t cos t, then (w - B sin t) tan t, and
    anything once w sin t - d cos t >= B: from there it is pushed straight on.

    Args:
        length_mm, width_mm: L (carriers included) and B, > 0.
        door_mm: w, clear width of the door.
        reveal_mm: d, depth of wall and frame, >= 0.

    Returns:
        mm; infinite where the box does not pass the door lengthwise (B > w).

    Leaves out: the open door leaf, furniture, more than one sweep.
    Source: derived here; held against clipped outlines at many angles in the tests. With a deep
    wall it becomes the corner of two corridors (Stewart, Calculus).

    >>> round(passage_needed(1114.0, 634.0, 745.0, 150.0))
    915
    """
    if width_mm > door_mm:
        return math.inf
    straight_on = _straight_on(width_mm, door_mm, reveal_mm)
    turn = np.linspace(0.0, straight_on, _ANGLES)
    s, c = np.sin(turn), np.cos(turn)
    box = length_mm * s + width_mm * c
    shallow = door_mm * s <= width_mm
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = np.where(shallow, door_mm * s * c, (door_mm - width_mm * s) * s / c)
        reach = np.where(c < 1e-9, 0.0, reach)
    need = box - np.maximum(reach, 0.0)
    step = turn[1] - turn[0]
    # between two angles the curve rises by at most its curvature times step^2 / 8
    curvature = length_mm + width_mm + 2 * door_mm
    deep = np.where(c < 1e-9, 0.0, 2 * door_mm / np.maximum(c, 1e-9) ** 3)
    bound = (curvature + np.where(shallow, 0.0, deep)) * step**2 / 8
    return float(max((need + bound).max(), width_mm))


def passages_both_sides(
    length_mm: float,
    width_mm: float,
    door_mm: float,
    reveal_mm: float,
    before_mm: float | None,
    behind_mm: float | None,
) -> tuple[float, str]:
    """Room left where a box turns into a door from a passage, and behind it into another.

    In passage width; below 0 it sticks. With passages on both sides the box must, at every angle
    up to the one where it is pushed straight on, find room across wall and both passages: enough,
    but not always needed.

    Returns:
        (room left, "before" or "behind": which passage decides).

    Source: `passage_needed`.
    """
    rooms = [
        (width - passage_needed(length_mm, width_mm, door_mm, reveal_mm), name)
        for width, name in ((before_mm, "before"), (behind_mm, "behind"))
        if width is not None
    ]
    if before_mm is not None and behind_mm is not None:
        turn = _straight_on(min(width_mm, door_mm), door_mm, reveal_mm)
        widest = min(turn, math.atan2(length_mm, width_mm))
        across = length_mm * math.sin(widest) + width_mm * math.cos(widest)
        room = before_mm + behind_mm + reveal_mm - across
        rooms.append((room, "behind" if behind_mm <= before_mm else "before"))
    return min(rooms)


def _straight_on(width_mm: float, door_mm: float, reveal_mm: float) -> float:
    """Least angle from which w sin t - d cos t >= B; 90 degrees at most."""
    reach = math.hypot(door_mm, reveal_mm)
    turn = math.asin(min(width_mm / reach, 1.0)) + math.atan2(reveal_mm, door_mm)
    return min(turn, math.pi / 2)
