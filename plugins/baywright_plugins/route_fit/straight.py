"""Straight through an opening: upright or on a face, past hardware, weaving, into a lift car."""

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..grid_fit.passages import AXES
from ..grid_fit.route import Clearances
from .carried import UP, Carried, Floats, ways_to_lead
from .passage import Doorway, Inside
from .way import Way


def straight_ways(
    carried: Carried, doorway: Doorway, inside: Inside | None, clearances: Clearances
) -> Iterator[Way]:
    """The best way straight through in each attitude, upright first."""
    for attitude in carried.attitudes:
        ways = [
            _led(carried, doorway, inside, clearances, attitude, travel, across)
            for travel, across in ways_to_lead(carried, attitude)
        ]
        if ways:
            yield max(ways, key=lambda way: round(way.spare_mm, 9))


def room(doorway: Doorway, clearances: Clearances) -> tuple[float, float]:
    """Width and height that hands and lifting leave of an opening.

        width - 2 x each side,  height - above - the greater of lifted and threshold

    Source: common practice, no source; as in grid-fit.
    """
    lifted = max(clearances.lifted_mm, doorway.threshold_mm)
    return (
        doorway.width_mm - 2 * clearances.each_side_mm,
        doorway.height_mm - clearances.above_mm - lifted,
    )


def _led(
    carried: Carried,
    doorway: Doorway,
    inside: Inside | None,
    clearances: Clearances,
    attitude: str,
    travel: str,
    across: str,
) -> Way:
    up = UP[attitude]
    width, height, length = (carried.along(axis) for axis in (across, up, travel))
    allowed_width, allowed_height = room(doorway, clearances)
    sides = [
        ("width", across, width, allowed_width),
        ("height", up, height, allowed_height),
        *inside_limits(inside, clearances, (across, width), (up, height), (travel, length)),
    ]
    how, exactness = "straight", "exact"
    if doorway.hardware:
        spare, tight = past_hardware(carried, doorway, clearances, across, up)
        size, axis = (width, across) if tight == "width" else (height, up)
        sides = [(tight, axis, size, size + spare), *sides[2:]]
        exactness = "exact" if carried.is_box else "conservative"
    elif doorway.reveal_mm is not None and not carried.is_box:
        woven = [weaving_size(carried, doorway.reveal_mm, travel, axis) for axis in (across, up)]
        plain = min(allowed_width - width, allowed_height - height)
        if plain < 0 and min(allowed_width - woven[0], allowed_height - woven[1]) > plain:
            how = "weaving"
            sides[0] = ("width", across, woven[0], allowed_width)
            sides[1] = ("height", up, woven[1], allowed_height)
    tight, axis, needed, allowed = min(sides, key=lambda side: side[3] - side[2])
    return Way(
        "opening", attitude, how, travel, allowed - needed, tight, needed, allowed,
        width, height, length, tight_axis=axis, exactness=exactness,
    )  # fmt: skip


def inside_limits(
    inside: Inside | None,
    clearances: Clearances,
    width: tuple[str, float],
    height: tuple[str, float],
    length: tuple[str, float],
) -> list[tuple[str, str, float, float]]:
    """(what, axis, needed, allowed) of each size of a lift car or bay that is known.

    Hands at the sides and ends, room above; it stands on the floor inside.
    """
    if inside is None:
        return []
    hands = 2 * clearances.each_side_mm
    rows = []
    if inside.depth_mm is not None:
        rows.append(("depth", length[0], length[1], inside.depth_mm - hands))
    if inside.width_mm is not None:
        rows.append(("inside width", width[0], width[1], inside.width_mm - hands))
    if inside.height_mm is not None:
        rows.append(("inside height", height[0], height[1], inside.height_mm - clearances.above_mm))
    return rows


def weaving_size(carried: Carried, reveal_mm: float, travel: str, across: str) -> float:
    """Width that counts where the thing is shifted sideways while it is led through.

    Only what stands in the depth of the wall at one time must fit at one time: the greatest
    extent over all stretches of that length along the way.

    Source: derived here; held against a search over positions in the tests.
    """
    t, a = AXES.index(travel), AXES.index(across)
    low = np.array([block.low_mm for block in carried.blocks()])
    high = np.array([block.high_mm for block in carried.blocks()])
    together = (low[:, None, t] >= low[None, :, t]) & (
        high[None, :, t] >= low[:, None, t] - reveal_mm
    )
    first = np.where(together, low[None, :, a], np.inf).min(axis=1)
    last = np.where(together, high[None, :, a], -np.inf).max(axis=1)
    return float((last - first).max())


def past_hardware(
    carried: Carried, doorway: Doorway, clearances: Clearances, across: str, up: str
) -> tuple[float, str]:
    """Room left past handles and the like, moved sideways and lifted as is best; what decides.

    The greatest square of free shifts: between the heights where something changes, the room to
    the sides is constant; over a run of them the lesser of least side room and height of the run.

    Source: derived here; held against a search over shifts in the tests.
    """
    best: tuple[float, str] = (-np.inf, "height")
    profile = carried.rectangles(across, up)
    width, height = carried.along(across), carried.along(up)
    for flipped in _turned_about(profile, width, height, both=up != "z"):
        found = _shift_room(flipped, height, doorway, clearances)
        if found[0] > best[0]:
            best = found
    return best


def _turned_about(profile: Floats, width: float, height: float, *, both: bool) -> list[Floats]:
    """The profile led by either end, and where allowed on either of two faces; each only once."""
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
