"""One ball's way as columns, and how close balls may follow one another. SI units."""

import bisect
import math
from collections.abc import Sequence
from dataclasses import dataclass

from .corners import Corner
from .pieces import Drop, Vertical
from .walk import Place


@dataclass(frozen=True)
class Point:
    """Path, level distance, height of the track, speed squared, seconds since the start."""

    along_m: float
    run_m: float
    height_m: float
    squared: float
    time_s: float


@dataclass(frozen=True)
class Stand:
    """Where a segment begins: path, level distance, height of the track."""

    along_m: float
    run_m: float
    height_m: float


def stands(ramp: Sequence[Place], touch_m: Sequence[float], end_height_m: float) -> list[Stand]:
    """Where each segment begins, and after the last one where the ramp ends.

    Args:
        touch_m: how far ahead of its end a drop lands; 0 for all else.
    """
    along = run = 0.0
    flat = [(along, run)]
    for place, touch in zip(ramp, touch_m, strict=True):
        along += place.laid.length_m
        run += place.laid.run_m + touch
        flat.append((along, run))
    heights = [end_height_m]
    for place in reversed(ramp):
        heights.append(heights[-1] + place.laid.fall_m)
    pairs = zip(flat, reversed(heights), strict=True)
    return [Stand(along, run, height) for (along, run), height in pairs]


def on_track(place: Place, stand: Stand, along_m: float) -> tuple[float, float]:
    """Level distance and height of the track under a ball `along_m` into a segment."""
    laid, shape = place.laid, place.piece.shape
    share = along_m / laid.length_m if laid.length_m else 0.0
    if isinstance(shape, Vertical):
        slope = laid.before_rad + shape.bends * shape.turn_rad * share
        across = shape.bends * shape.radius_m
        run = across * (math.sin(slope) - math.sin(laid.before_rad))
        fall = across * (math.cos(laid.before_rad) - math.cos(slope))
        return stand.run_m + run, stand.height_m - fall
    return stand.run_m + share * laid.run_m, stand.height_m - share * laid.fall_m


def outline(place: Place, start: Stand, end: Stand) -> list[tuple[float, float]]:
    """Shape of a segment from the side: both ends, a bend in between."""
    if not isinstance(place.piece.shape, Vertical):
        return [(start.run_m, start.height_m), (end.run_m, end.height_m)]
    parts = 48 if place.piece.shape.full_loop else 16
    return [on_track(place, start, place.laid.length_m * k / parts) for k in range(parts + 1)]


def trace(corner: Corner, ramp: Sequence[Place], where: Sequence[Stand]) -> list[Point]:
    """Every point of one ball's way; a fall is its two ends, at one place of the path."""
    points: list[Point] = []
    for k, done in enumerate(corner.passed):
        for along, squared, time in zip(done.along_m, done.squared, done.time_s, strict=True):
            run, height = on_track(ramp[k], where[k], along)
            points.append(Point(where[k].along_m + along, run, height, squared, time))
        if isinstance(ramp[k].piece.shape, Drop) and not done.ends:
            after, end = where[k + 1], done.end
            points.append(
                Point(after.along_m, after.run_m, after.height_m, end.speed_m_s**2, end.time_s)
            )
    return points


def closest(points: Sequence[Point], falls_s: Sequence[float], ball_m: float) -> float:
    """Longest time a ball takes over its own diameter, in s: balls that follow sooner touch it.

    Falls are left out: the way is cut at them.

    Args:
        points: in order, of one ball.
        falls_s: when it let go of each free end.

    Source: `time_at`, constant acceleration from point to point.
    """
    longest = 0.0
    for part in _parts(points, falls_s):
        first, last = part[0].along_m, part[-1].along_m
        for point in part:
            for start in (point.along_m, point.along_m - ball_m):
                if first <= start and start + ball_m <= last:
                    taken = time_at(part, start + ball_m) - time_at(part, start)
                    longest = max(longest, taken)
    return longest


def _parts(points: Sequence[Point], falls_s: Sequence[float]) -> list[list[Point]]:
    parts: list[list[Point]] = [[]]
    for point in points:
        if len(parts) <= len(falls_s) and point.time_s > falls_s[len(parts) - 1]:
            parts.append([])
        parts[-1].append(point)
    return [part for part in parts if len(part) > 1]


def time_at(points: Sequence[Point], along_m: float) -> float:
    """When the ball was at a place of its path: constant acceleration between two points."""
    k = bisect.bisect_left(points, along_m, lo=1, hi=len(points) - 1, key=lambda p: p.along_m)
    before, after = points[k - 1], points[k]
    length = after.along_m - before.along_m
    if length <= 0:
        return after.time_s
    share = min(1.0, max(0.0, (along_m - before.along_m) / length))
    squared = before.squared + share * (after.squared - before.squared)
    mean = (math.sqrt(before.squared) + math.sqrt(max(0.0, squared))) / 2
    whole = (math.sqrt(before.squared) + math.sqrt(after.squared)) / 2
    if mean <= 0 or whole <= 0:
        return before.time_s
    # Scaled to the true time, so that the ends meet where acceleration was not constant.
    return before.time_s + (after.time_s - before.time_s) * share * whole / mean
