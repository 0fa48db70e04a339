"""Leaning in an opening: rolled about the axis it is led along."""

from collections.abc import Iterator
from functools import lru_cache

import numpy as np

from ..grid_fit.passages import AXES
from ..grid_fit.rectangle_in_rectangle import best_tilt, turned_size
from ..grid_fit.route import Clearances
from .carried import Carried, Floats
from .hardware import clear_rectangles
from .passage import Doorway, Inside
from .straight import inside_limits, straight_ways
from .way import Way

_STEP_DEG = 0.5


def opening_ways(
    carried: Carried, doorway: Doorway, inside: Inside | None, clearances: Clearances
) -> Iterator[Way]:
    """Straight through in each attitude, upright first; then leaning, where that can help."""
    yield from straight_ways(carried, doorway, inside, clearances)
    way = rolled_way(carried, doorway, inside, clearances)
    if way is not None:
        yield way


def rolled_way(
    carried: Carried, doorway: Doorway, inside: Inside | None, clearances: Clearances
) -> Way | None:
    """The best lean, over the axes it may be led along; None where leaning helps nowhere.

    Exact for boxes (Carver's condition). For outlines the convex hull is turned in steps of half
    a degree: each angle tried is a real position, a better one may lie between two.
    """
    if carried.keep_upright:
        return None
    leads = AXES if carried.led_along is None else (carried.led_along,)
    ways = [
        way
        for travel in leads
        for opening in clear_rectangles(doorway, clearances)
        if min(opening) > 0
        and (way := _rolled(carried, opening, inside, clearances, travel)) is not None
    ]
    return max(ways, key=lambda way: round(way.spare_mm, 9)) if ways else None


def _rolled(
    carried: Carried,
    opening: tuple[float, float],
    inside: Inside | None,
    clearances: Clearances,
    travel: str,
) -> Way | None:
    one, two = (axis for axis in AXES if axis != travel)
    sides = (carried.along(one), carried.along(two))
    found = (
        _box_lean(sides, opening)
        if carried.is_box
        else hull_lean(carried.silhouette(one, two), opening)
    )
    if found is None:
        return None
    angle, width, height, spare = found
    tight, needed, allowed = "width", width, width + spare
    length = carried.along(travel)
    limits = inside_limits(inside, clearances, ("", width), ("", height), (travel, length))
    for name, _, size, limit in limits:
        if limit - size < spare:
            tight, needed, allowed, spare = name, size, limit, limit - size
    return Way(
        "opening", "tilted", "rolled", travel, spare, tight, needed, allowed, width, height, length,
        angle_deg=angle, exactness="exact" if carried.is_box else "conservative",
    )  # fmt: skip


def _box_lean(
    sides: tuple[float, float], opening: tuple[float, float]
) -> tuple[float, float, float, float] | None:
    tilt = best_tilt(sides, opening)
    if tilt is None:
        return None
    along, across = turned_size(max(sides), min(sides), tilt.angle_deg)
    width, height = (along, across) if opening[0] >= opening[1] else (across, along)
    return tilt.angle_deg, width, height, tilt.spare_mm


def hull_lean(
    corners: Floats, opening: tuple[float, float]
) -> tuple[float, float, float, float] | None:
    """(angle, width, height, spare) of the lean of a convex outline that leaves most room.

    Args:
        corners: shape (k, 2), the outline as it stands.
        opening: width and height.

    Returns:
        None where it does no better than standing straight. Angles from 0 to 180 degrees.
    """
    width, height = _extents(corners.tobytes())
    spare = np.minimum(opening[0] - width, opening[1] - height)
    best = int(np.argmax(spare))
    if spare[best] <= max(spare[0], spare[round(90 / _STEP_DEG)]) + 1e-9:
        return None
    return best * _STEP_DEG, float(width[best]), float(height[best]), float(spare[best])


@lru_cache(maxsize=512)
def _extents(corners: bytes) -> tuple[Floats, Floats]:
    points = np.frombuffer(corners).reshape(-1, 2)
    turn = np.radians(np.arange(0.0, 180.0, _STEP_DEG))
    c, s = np.cos(turn)[:, None], np.sin(turn)[:, None]
    return (
        np.ptp(c * points[:, 0] - s * points[:, 1], axis=1),
        np.ptp(s * points[:, 0] + c * points[:, 1], axis=1),
    )
