"""Turning out of a passage into a door in its side wall."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

#: angles tried, the same for every box, so that a smaller box never needs more
_STEP = math.pi / 2 / 2000
_TURN: NDArray[np.float64] = _STEP * np.arange(2000, dtype=np.float64)
_SIN, _COS = np.sin(_TURN), np.cos(_TURN)


@dataclass(frozen=True)
class Turn:
    """Least passage that a turn needs, and the angle from the passage where it is tightest."""

    need_mm: float
    angle_deg: float


@lru_cache(maxsize=65536)
def passage_needed(length_mm: float, width_mm: float, door_mm: float, reveal_mm: float) -> Turn:
    """Least width of a passage from which a box of plan L x B turns into a door in its side wall.

    The passage goes on past the door; where it ends there, the door is one side of a corner.

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
        The need in mm, and the angle.

    Raises:
        ValueError: the box does not pass the door lengthwise (B > w).

    Leaves out: the open door leaf, furniture, more than one sweep.
    Source: derived here; held against clipped outlines at many angles in the tests. With a deep
    wall it asks for no more than the corner of two corridors does (Stewart, Calculus).

    >>> round(passage_needed(1114.0, 634.0, 745.0, 150.0).need_mm)
    948
    """
    if width_mm > door_mm:
        raise ValueError("the box is wider than the door")
    last = _straight_on(width_mm, door_mm, reveal_mm)
    shallow = door_mm * _SIN <= width_mm
    reach = np.where(shallow, door_mm * _SIN * _COS, (door_mm - width_mm * _SIN) * _SIN / _COS)
    need = length_mm * _SIN + width_mm * _COS - np.maximum(reach, 0.0)
    # where it is greatest between two angles, its curvature is 3 L + B + 2 w at most
    between = (3 * length_mm + width_mm + 2 * door_mm) * _STEP**2 / 8
    needs = np.where(last > _TURN, need + between, 0.0)
    tight = int(np.argmax(needs))
    pushed = length_mm * math.sin(last) - reveal_mm  # where it begins to be pushed straight on
    if pushed > needs[tight]:
        return Turn(pushed, math.degrees(last))
    return Turn(float(max(needs[tight], width_mm)), math.degrees(float(_TURN[tight])))


def passages_both_sides(
    length_mm: float,
    width_mm: float,
    door_mm: float,
    reveal_mm: float,
    before_mm: float | None,
    behind_mm: float | None,
) -> tuple[float, str, float]:
    """Room left where a box turns into a door from a passage, and behind it into another.

    In passage width; below 0 it sticks. With passages on both sides the box must, at every angle
    up to the one where it is pushed straight on, find room across wall and both passages: enough,
    but not always needed.

    Returns:
        (room left, "before" or "behind": which passage decides, angle where it is tightest).

    Raises:
        ValueError: as `passage_needed`.

    Source: `passage_needed`.
    """
    turned = passage_needed(length_mm, width_mm, door_mm, reveal_mm)
    rooms = [
        (width - turned.need_mm, name, turned.angle_deg)
        for width, name in ((before_mm, "before"), (behind_mm, "behind"))
        if width is not None
    ]
    if before_mm is not None and behind_mm is not None:
        turn = _straight_on(width_mm, door_mm, reveal_mm)
        widest = min(turn, math.atan2(length_mm, width_mm))
        across = length_mm * math.sin(widest) + width_mm * math.cos(widest)
        room = before_mm + behind_mm + reveal_mm - across
        name = "behind" if behind_mm <= before_mm else "before"
        rooms.append((room, name, math.degrees(widest)))
    return min(rooms)


def _straight_on(width_mm: float, door_mm: float, reveal_mm: float) -> float:
    """Least angle from which w sin t - d cos t >= B; 90 degrees at most."""
    reach = math.hypot(door_mm, reveal_mm)
    turn = math.asin(min(width_mm / reach, 1.0)) + math.atan2(reveal_mm, door_mm)
    return min(turn, math.pi / 2)
