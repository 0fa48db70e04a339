"""Laid down on the floor: on its head, its back, its front or an end."""

from dataclasses import replace

import numpy as np

from ..frame import Frame
from .handling import PLANNED, Case, Handling, bays_of, held_case, hub_at

#: Axis of gravity and its sign, for each way to lie.
_WAYS = {
    "rest-on-head": (2, 1),
    "rest-on-back": (1, 1),
    "rest-on-front": (1, -1),
    "rest-on-right-end": (0, 1),
    "rest-on-left-end": (0, -1),
}
RESTING_IDS = tuple(_WAYS)


def resting_case(part: Frame, handling: Handling, name: str) -> Case:
    """The section on the four corner hubs of one side, weight times the standing factor.

    Raises NoHub: no grid, a corner hub missing.

    Leaves out: floors that bear more hubs than the corners, which helps; letting it fall over.
    Source: common practice, no source.
    """
    axis, sign = _WAYS[name]
    bays = bays_of(part)
    across = [k for k in range(3) if k != axis]
    corners = []
    for one in (0, bays[across[0]]):
        for other in (0, bays[across[1]]):
            place = np.zeros(3, dtype=int)
            place[axis] = bays[axis] if sign > 0 else 0
            place[across] = one, other
            corners.append([hub_at(part, (int(place[0]), int(place[1]), int(place[2])))])
    down = [0.0, 0.0, 0.0]
    down[axis] = float(sign)
    title = name.replace("-", " ")
    way = (down[0], down[1], down[2])
    case = held_case(part, handling, name, title, PLANNED, way, corners)
    return replace(case, load_factor=handling.standing_factor)
