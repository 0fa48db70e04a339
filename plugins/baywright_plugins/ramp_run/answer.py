"""The whole result: totals, supports, segments, two traces."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from .answer_segments import Ramp, segment_result, share
from .answer_supports import resistance_result, support_result
from .corners import Corner, words
from .edges import Joint
from .pieces import Drop, Surface, Vertical
from .reading import names, read_resistance, support_ids
from .trace import Point, Stand, closest, outline, stands, trace
from .walk import Place


def result(
    about: Ramp, surfaces: Mapping[str, Surface], inputs: Mapping[str, Any]
) -> dict[str, Any]:
    """The fields of RampResult."""
    named = zip(names(inputs), support_ids(inputs), strict=True)
    segments = [segment_result(about, k, name, on) for k, (name, on) in enumerate(named)]
    where = stands(about.ramp, _touches(segments), inputs["end_height_mm"] / 1000)
    for k, segment in enumerate(segments):
        segment |= _place(about.ramp[k], where[k], where[k + 1])
    traces = [trace(corner, about.ramp, where) for corner in about.corners[:2]]
    tilt = about.unknowns.tilt_rad
    return {
        **_totals(about, segments, where),
        **_arrival(about, inputs, traces[0]),
        "corners_count": len(about.corners),
        "rolling_resistance": resistance_result(read_resistance(inputs["rolling_resistance"])),
        "supports": [
            support_result(about.ball, support, surfaces[support["id"]], tilt)
            for support in inputs["supports"]
        ],
        "segments": segments,
        "slow": _trace_result(about.corners, 0, traces[0]),
        "fast": _trace_result(about.corners, 1, traces[1]),
    }


def _touches(segments: Sequence[Mapping[str, Any]]) -> list[float]:
    """How far ahead a drop lands, midway between its bounds, in m."""
    return [
        (segment["landing"]["touch_low_mm"] + segment["landing"]["touch_high_mm"]) / 2000
        if "landing" in segment
        else 0.0
        for segment in segments
    ]


def _place(place: Place, start: Stand, end: Stand) -> dict[str, Any]:
    return {
        "outline_mm": [[x * 1000, y * 1000] for x, y in outline(place, start, end)],
        "start_mm": start.along_m * 1000,
        "run_mm": (end.run_m - start.run_m) * 1000,
        "fall_mm": place.laid.fall_m * 1000,
        "height_start_mm": start.height_m * 1000,
        "height_end_mm": end.height_m * 1000,
    }


def _totals(
    about: Ramp, segments: Sequence[Mapping[str, Any]], where: Sequence[Stand]
) -> dict[str, Any]:
    fixed = [
        place.laid.fall_m
        for place in about.ramp
        if isinstance(place.piece.shape, Drop | Joint | Vertical)
    ]
    rolling = [segment for segment in segments if "slope_min_percent" in segment]
    found = {
        "run_mm": where[-1].run_m * 1000,
        "length_mm": where[-1].along_m * 1000,
        "fall_mm": (where[0].height_m - where[-1].height_m) * 1000,
        "fall_fixed_mm": sum(fixed) * 1000,
        "rolling_run_mm": sum(segment["run_mm"] for segment in rolling),
        "fall_min_mm": sum(segment["fall_min_mm"] for segment in rolling),
    }
    if rolling:
        found["slope_min_percent"] = max(segment["slope_min_percent"] for segment in rolling)
    return found


def _arrival(about: Ramp, inputs: Mapping[str, Any], slow: Sequence[Point]) -> dict[str, Any]:
    through = [corner for corner in about.corners if corner.arrives]
    squares = [max(done.squared) for corner in about.corners for done in corner.passed]
    found: dict[str, Any] = {
        "arrives": share(len(through), len(about.corners)),
        "speed_most_m_per_s": math.sqrt(max(squares)),
    }
    if not through:
        return found
    ends = [corner.passed[-1].end.speed_m_s for corner in through]
    found |= {
        "transit_low_s": min(corner.time_s for corner in through),
        "end_speed_low_m_per_s": min(ends),
        "end_speed_high_m_per_s": max(ends),
    }
    if len(through) == len(about.corners):
        found["transit_high_s"] = max(corner.time_s for corner in through)
        gap = closest(slow, _falls(about, about.corners[0]), about.ball.diameter_m)
        if gap > 0:
            found["capacity_per_min"] = 60 / gap
    rate = inputs.get("balls_per_min")
    if rate is not None:
        for end in ("low", "high"):
            if f"transit_{end}_s" in found:
                found[f"balls_{end}_count"] = rate * found[f"transit_{end}_s"] / 60
    return found


def _falls(about: Ramp, corner: Corner) -> list[float]:
    return [
        done.start.time_s
        for place, done in zip(about.ramp, corner.passed, strict=False)
        if isinstance(place.piece.shape, Drop)
    ]


def _trace_result(corners: Sequence[Corner], k: int, points: Sequence[Point]) -> dict[str, Any]:
    return {
        "choice": words(corners, corners[k]),
        "distance_mm": [point.along_m * 1000 for point in points],
        "run_mm": [point.run_m * 1000 for point in points],
        "height_mm": [point.height_m * 1000 for point in points],
        "speed_m_per_s": [math.sqrt(point.squared) for point in points],
        "time_s": [point.time_s for point in points],
    }
