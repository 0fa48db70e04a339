"""A true outline round the right-angle corner of two corridors."""

import math
from functools import lru_cache

import numpy as np

from .carried import Floats

_TOLERANCE_MM = 0.25
_FIRST_ANGLES = 64


def outline_round_corner(
    corners: Floats, corridors_mm: tuple[float, float], at_least: float = -math.inf
) -> float:
    """Room left where a convex plan outline is swept round a corner, led by its better end.

    The lesser of a left and a right turn, since nobody said which it is. The outline starts with
    its first axis along the first corridor.

    Args:
        corners: shape (k, 2), counter-clockwise, in mm.
        corridors_mm: a and b.
        at_least: less room than this is of no interest: the search may end with that.

    Returns:
        mm at the inner corner, at most 0.25 below the true value and never above it; below 0 it
        sticks.

    Leaves out: sweeping with stops and pushes, tilting, starting broadside.
    Source: see `sweep_room`.
    """
    plan = corners[:, ::-1][::-1]  # the first axis along the corridor, which runs along y
    mirrored = (plan * [-1.0, 1.0])[::-1]
    least = math.inf
    for shape in (np.ascontiguousarray(plan), np.ascontiguousarray(mirrored)):
        best = -math.inf
        for start in (0.0, math.pi):
            room = sweep_room(shape.tobytes(), start, corridors_mm, max(at_least, best))
            best = max(best, room)
        least = min(least, best)
        if least <= at_least:
            break
    return least


@lru_cache(maxsize=4096)
def sweep_room(
    corners: bytes, start: float, corridors_mm: tuple[float, float], at_least: float = -math.inf
) -> float:
    """Least room over a quarter turn of a convex outline that keeps touching both outer walls.

    Outer walls x = 0 and y = 0, inner corner Q = (a, b). Pushed against both outer walls, the
    outline misses the quadrant beyond Q exactly where some direction n >= 0 has n.Q >= h(n), h
    its support function; the greatest n.Q - h(n) over its edges and the two axes is the room. A
    turn by d changes it by at most (1 + sqrt 2) r d, r the outline's radius, so that intervals of
    angles are halved until their bound is within 0.25 mm of the least room found, or that is no
    more than `at_least`.

    Source: derived here (separating line of a convex set and a quadrant); held against a sweep of
    angles and, for rectangles, against the corner of two corridors (Stewart, Calculus).
    """
    points = np.frombuffer(corners).reshape(-1, 2)
    points = points - (points.min(axis=0) + points.max(axis=0)) / 2
    slack = (1 + math.sqrt(2)) * float(np.sqrt((points**2).sum(axis=1)).max())
    half = math.pi / 4 / _FIRST_ANGLES
    angles: Floats = start + half * (2.0 * np.arange(_FIRST_ANGLES, dtype=np.float64) + 1.0)
    least = math.inf
    while True:
        rooms = _rooms(points, angles, corridors_mm)
        least = min(least, float(rooms.min()))
        if slack * half <= _TOLERANCE_MM or least <= at_least:
            return least - slack * half
        open_ = angles[rooms - slack * half < least]
        half /= 2
        angles = np.concatenate([open_ - half, open_ + half])


def _rooms(points: Floats, angles: Floats, corridors_mm: tuple[float, float]) -> Floats:
    a, b = corridors_mm
    c, s = np.cos(angles)[:, None], np.sin(angles)[:, None]
    x, y = c * points[:, 0] - s * points[:, 1], s * points[:, 0] + c * points[:, 1]
    low_x, low_y = x.min(axis=1, keepdims=True), y.min(axis=1, keepdims=True)
    edge = np.roll(points, -1, axis=0) - points
    edge = edge / np.maximum(np.sqrt((edge**2).sum(axis=1, keepdims=True)), 1e-300)
    normal_x = c * edge[:, 1] + s * edge[:, 0]
    normal_y = s * edge[:, 1] - c * edge[:, 0]
    away = normal_x * (a + low_x - x) + normal_y * (b + low_y - y)
    away = np.where((normal_x >= 0) & (normal_y >= 0), away, -np.inf)
    straight = np.maximum(a - np.ptp(x, axis=1), b - np.ptp(y, axis=1))
    return np.asarray(np.maximum(away.max(axis=1), straight))
