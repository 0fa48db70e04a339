"""Past what stands into an opening from its sides."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..grid_fit.route import Clearances
from .allowed import room
from .carried import Carried, Floats
from .passage import Doorway


@dataclass(frozen=True)
class Past:
    """Room left past hardware, what decides (width or height), whether it lies the other face
    down than its lower one."""

    room_mm: float
    tight: str
    flipped: bool


def past_hardware(
    carried: Carried, doorway: Doorway, clearances: Clearances, across: str, up: str
) -> Past:
    """Room left past handles and the like, moved sideways and lifted as is best.

    The greatest square of free shifts: between the heights where something changes, the room to
    the sides is constant; over a run of them the lesser of least side room and height of the run.

    Source: derived here; held against a search over shifts in the tests.
    """
    best = Past(-np.inf, "height", False)
    profile = carried.rectangles(across, up)
    width, height = carried.along(across), carried.along(up)
    for number, shape in enumerate(_turned_about(profile, width, height, both=up != "z")):
        found = _shift_room(shape, height, doorway, clearances)
        if found[0] > best.room_mm:
            best = Past(*found, flipped=number > 1)
    return best


def _turned_about(profile: Floats, width: float, height: float, *, both: bool) -> list[Floats]:
    """The profile led by either end, then where allowed the same on its other face."""
    mirrored = np.column_stack(
        [width - profile[:, 1], width - profile[:, 0], profile[:, 2], profile[:, 3]]
    )
    shapes = [profile, mirrored]
    if both and len(profile) > 1:
        shapes += [
            np.column_stack([p[:, 0], p[:, 1], height - p[:, 3], height - p[:, 2]]) for p in shapes
        ]
    return shapes if len(profile) > 1 else shapes[:1]


def _shift_room(
    profile: Floats, height: float, doorway: Doorway, clearances: Clearances
) -> tuple[float, str]:
    lowest = max(clearances.lifted_mm, doorway.threshold_mm)
    allowed_width, allowed_height = room(doorway, clearances)
    highest = lowest + allowed_height - height
    if highest < lowest:
        return highest - lowest, "height"
    side, above = clearances.each_side_mm, clearances.above_mm
    bottoms = np.array([h.from_mm - above for h in doorway.hardware])
    tops = np.array([h.to_mm + above for h in doorway.hardware])
    reach = np.array([h.projects_mm for h in doorway.hardware])
    left = np.array([h.side == "left" for h in doorway.hardware])
    changes = np.concatenate(
        [
            (bottoms[None, :] - profile[:, 3:4]).ravel(),
            (tops[None, :] - profile[:, 2:3]).ravel(),
        ]
    )
    inner = changes[(changes > lowest) & (changes < highest)]
    edges = np.unique(np.concatenate([[lowest], inner, [highest]]))
    shifts = (edges[:-1] + edges[1:]) / 2 if len(edges) > 1 else edges
    hit = (profile[None, :, None, 2] + shifts[:, None, None] < tops) & (
        profile[None, :, None, 3] + shifts[:, None, None] > bottoms
    )
    from_left = side + np.where(hit & left, reach, 0.0).max(axis=2)
    from_right = side + np.where(hit & ~left, reach, 0.0).max(axis=2)
    rooms = (doorway.width_mm - from_right - profile[:, 1]).min(axis=1) - (
        from_left - profile[:, 0]
    ).max(axis=1)
    return _best_run(rooms, edges if len(edges) > 1 else np.array([lowest, lowest]))


def _best_run(rooms: NDArray[np.float64], edges: NDArray[np.float64]) -> tuple[float, str]:
    """The run of neighbouring stretches with the greatest min(least room, length)."""
    best, tight = -np.inf, "width"
    for first in range(len(rooms)):
        least = np.inf
        for last in range(first, len(rooms)):
            least = min(least, float(rooms[last]))
            if least <= best:
                break
            length = float(edges[last + 1] - edges[first])
            if min(least, length) > best:
                best, tight = min(least, length), "width" if least <= length else "height"
    return float(best), tight


@lru_cache(maxsize=1024)
def clear_rectangles(doorway: Doorway, clearances: Clearances) -> Sequence[tuple[float, float]]:
    """Width and height of the clear rectangles between the hardware, for leaning in one of them.

    Leaves out: leaning across two of them, so that what fits may be missed.
    """
    lowest = max(clearances.lifted_mm, doorway.threshold_mm)
    top = doorway.height_mm - clearances.above_mm
    if not doorway.hardware:
        return [room(doorway, clearances)]
    edges = sorted(
        {lowest, top}
        | {
            min(max(z, lowest), top)
            for h in doorway.hardware
            for z in (h.from_mm - clearances.above_mm, h.to_mm + clearances.above_mm)
        }
    )
    found = []
    for k, low in enumerate(edges):
        for high in edges[k + 1 :]:
            taken = {"left": 0.0, "right": 0.0}
            for h in doorway.hardware:
                if h.from_mm - clearances.above_mm < high and h.to_mm + clearances.above_mm > low:
                    taken[h.side] = max(taken[h.side], h.projects_mm)
            free = doorway.width_mm - 2 * clearances.each_side_mm - sum(taken.values())
            found.append((free, high - low))
    return [
        one
        for one in dict.fromkeys(found)
        if not any(w >= one[0] and h >= one[1] and (w, h) != one for w, h in found)
    ]
