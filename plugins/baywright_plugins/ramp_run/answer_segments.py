"""What is said about each segment: speeds, times, limits."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from . import bends, edges, ribs
from .answer_landing import landing_result
from .answer_supports import percent
from .ball import Ball
from .corners import Corner, Unknowns, world
from .edges import Joint, Swallowed
from .passes import curve_of, grade
from .pieces import Drop, Straight, Turn, Vertical, path_radius
from .state import Passed, World
from .walk import Place

_UPRIGHT_PERCENT = 1e5


@dataclass(frozen=True)
class Ramp:
    """All that a segment's result is made from."""

    ball: Ball
    unknowns: Unknowns
    ramp: Sequence[Place]
    corners: Sequence[Corner]
    segments: Sequence[Mapping[str, Any]]

    def passed(self, k: int) -> list[tuple[Corner, Passed]]:
        """What each corner's ball did on segment k; only those that got there."""
        return [(c, c.passed[k]) for c in self.corners if len(c.passed) > k]

    def slow_world(self, k: int) -> World:
        """The slow corner with the most resistance and friction of segment k."""
        return self._world(k, slow=True)

    def _world(self, k: int, *, slow: bool) -> World:
        surface = self.ramp[k].piece.surface
        base = world(self.ball, self.unknowns, slow=slow)
        losses = base.losses
        own = type(losses)(
            surface.resistance_on_it(surface.resistance[slow]),
            surface.friction[slow],
            losses.drag_per_m,
            losses.restitution,
            losses.tilt_rad,
        )
        return World(base.ball, own, base.gravity_m_s2, base.flies)

    def fast_world(self, k: int) -> World:
        """The fast corner with the least resistance and friction of segment k."""
        return self._world(k, slow=False)


def segment_result(about: Ramp, k: int, name: str, support: str) -> dict[str, Any]:
    """The fields of SegmentOut without those of its place."""
    place, segment = about.ramp[k], about.segments[k]
    there = about.passed(k)
    found: dict[str, Any] = {
        "name": name,
        "kind": segment["kind"],
        "support": support,
        "length_mm": place.laid.length_m * 1000,
        "reached": share(len(there), len(about.corners)),
        "passed": share(sum(not done.ends for _, done in there), len(about.corners)),
        "slips": share(sum(done.slips for _, done in there), len(there)),
        "hop_mm": 1000 * max((done.hop_m for _, done in there), default=0.0),
    }
    found |= _slopes(place)
    if there:
        found |= _speeds([done for _, done in there])
    if place.piece.surface.bears:
        found |= _least(about, k)
        found |= _limits(about, k, there)
    return found


def share(part: int, whole: int) -> str:
    """In words, how many of the corners."""
    if whole == 0 or part == 0:
        return "never"
    return "always" if part == whole else "sometimes"


def _slopes(place: Place) -> dict[str, float]:
    found = {}
    for key, slope in (("start", place.laid.before_rad), ("end", place.laid.after_rad)):
        value = percent(slope)
        if abs(value) < _UPRIGHT_PERCENT:
            found[f"slope_{key}_percent"] = value
    return found


def _speeds(there: Sequence[Passed]) -> dict[str, Any]:
    found: dict[str, Any] = {
        "speed_in_low_m_per_s": min(done.start.speed_m_s for done in there),
        "speed_in_high_m_per_s": max(done.start.speed_m_s for done in there),
        "speed_most_m_per_s": max(math.sqrt(max(done.squared)) for done in there),
    }
    through = [done for done in there if not done.ends]
    if through:
        speeds = [done.end.speed_m_s for done in through]
        times = [done.end.time_s - done.start.time_s for done in through]
        found |= {
            "speed_out_low_m_per_s": min(speeds),
            "speed_out_high_m_per_s": max(speeds),
            "time_low_s": min(times),
            "time_high_s": max(times),
        }
    stopped = [done for done in there if done.ends]
    if stopped:
        found["ends"] = stopped[0].ends
        found["stops_at_mm"] = stopped[0].along_m[-1] * 1000
    return found


def _least(about: Ramp, k: int) -> dict[str, float]:
    """Slope and fall that keep the slowest ball going on a straight, a curve or ribs."""
    place = about.ramp[k]
    shape, slow = place.piece.shape, about.slow_world(k)
    resistance = slow.losses.resistance
    match shape:
        case Straight(row_m=None):
            slope = math.atan(resistance)
        case Straight(row_m=row):
            assert row is not None
            roller = slow.roller(place.piece)
            try:
                slope = ribs.least_slope(roller, ribs.ribs(roller, *row), resistance)
            except Swallowed:
                return {}
        case Turn():
            slope = _curve_slope(about, k, shape)
        case _:
            return {}
    least = percent(slope + about.unknowns.tilt_rad)
    return {"slope_min_percent": least, "fall_min_mm": place.laid.run_m * 10 * least}


def _curve_slope(about: Ramp, k: int, shape: Turn) -> float:
    """What a level curve of the same kind takes off the slowest ball that enters it, as a slope."""
    slow, there = about.slow_world(k), about.passed(k)
    squared = min((done.start.speed_m_s for _, done in there), default=0.0) ** 2
    curve = curve_of(about.ball.diameter_m, about.ramp[k].piece, shape, 0.0)
    losses = slow.losses
    roll = bends.Roll(
        slow.inertia(about.ramp[k].piece),
        losses.resistance,
        losses.friction,
        0.0,
        slow.gravity_m_s2,
    )
    lost = -bends.curve_push(curve, roll)(0.0, squared) / roll.double
    return math.atan(lost / slow.gravity_m_s2)


def _limits(about: Ramp, k: int, there: Sequence[tuple[Corner, Passed]]) -> dict[str, Any]:
    shape = about.ramp[k].piece.shape
    match shape:
        case Turn():
            return {"curve": _curve(about, k, shape, [done for _, done in there])}
        case Vertical():
            return {"arc": _arc(about, k, shape, [done for _, done in there])}
        case Joint():
            return {"joint": _joint(about, k, shape)}
        case Straight(row_m=row) if row is not None:
            return {"joint": _row(about, k, row)}
        case Drop():
            fallen = [(c, done.landing) for c, done in there if done.landing is not None]
            if fallen:
                return {
                    "landing": landing_result(
                        about.ball, about.unknowns, shape, fallen, about.segments[k]
                    )
                }
    return {}


def _curve(about: Ramp, k: int, shape: Turn, there: Sequence[Passed]) -> dict[str, Any]:
    place, gravity = about.ramp[k], about.unknowns.gravity_m_s2
    curve = curve_of(about.ball.diameter_m, place.piece, shape, place.laid.before_rad)
    limit = bends.curve_limit(curve, gravity)
    found: dict[str, Any] = {"speed_least_m_per_s": bends.curve_least(curve, gravity)}
    if limit is not None:
        found["speed_limit_m_per_s"] = limit
    leans = [angle for done in there for angle in done.lean_rad]
    if not leans:
        return found
    speeds = [math.sqrt(u) for done in there for u in done.squared]
    found |= {
        "lean_low_deg": math.degrees(min(leans)),
        "lean_high_deg": math.degrees(max(leans)),
        "bank_low_deg": math.degrees(bends.ideal_bank(min(speeds), shape.radius_m, gravity)),
        "bank_high_deg": math.degrees(bends.ideal_bank(max(speeds), shape.radius_m, gravity)),
        "guard_needed_mm": 1000
        * bends.guard_for(
            max(abs(angle) for angle in leans),
            about.ball.radius_m,
            place.piece.surface.contact.effective_radius_m,
        ),
        "holds": all(abs(angle) <= curve.holds_rad + 1e-9 for angle in leans),
    }
    return found


def _arc(about: Ramp, k: int, shape: Vertical, there: Sequence[Passed]) -> dict[str, Any]:
    place, gravity = about.ramp[k], about.unknowns.gravity_m_s2
    radius = path_radius(shape, place.piece.surface.contact)
    found: dict[str, Any] = {"path_radius_mm": radius * 1000}
    if shape.bends > 0:
        steepest = max(abs(place.laid.before_rad), abs(place.laid.after_rad))
        found["speed_limit_m_per_s"] = math.sqrt(gravity * radius * max(0.0, math.cos(steepest)))
    if shape.full_loop:
        inertia = about.slow_world(k).inertia(place.piece)
        found["loop_start_min_mm"] = bends.loop_height(radius, inertia) * 1000
        found["loop_speed_min_m_per_s"] = bends.loop_bottom_speed(radius, inertia, gravity)
    loads = [done.least_load / gravity for done in there if math.isfinite(done.least_load)]
    if loads:
        found["load_least_ratio"] = min(loads)
        found["holds"] = all(done.leaves_at_m is None for done in there)
    return found


def _joint(about: Ramp, k: int, joint: Joint) -> dict[str, Any]:
    place = about.ramp[k]
    roller = about.slow_world(k).roller(place.piece)
    slope = place.laid.before_rad + about.slow_world(k).losses.tilt_rad
    try:
        moves = edges.passage(roller, joint)
    except Swallowed:
        return {"joints_count": 1}
    return {
        "joints_count": 1,
        "sink_mm": edges.joint_sink(roller, joint) * 1000,
        "speed_kept_ratio": roller.kept(moves.strike_rad),
        "speed_flies_m_per_s": math.sqrt(roller.lift_off_squared(slope)),
        "slope_to_leave_percent": min(_UPRIGHT_PERCENT, percent(moves.climb_rad)),
        **_needed(roller, joint, slope),
    }


def _needed(roller: edges.Roller, joint: Joint, slope_rad: float) -> dict[str, float]:
    squared = edges.squared_needed(roller, joint, slope_rad)
    return {"speed_needed_m_per_s": math.sqrt(squared)} if math.isfinite(squared) else {}


def _row(about: Ramp, k: int, row_m: tuple[float, float, float | None]) -> dict[str, Any]:
    place = about.ramp[k]
    slow, fast = about.slow_world(k), about.fast_world(k)
    roller = slow.roller(place.piece)
    count = int(place.laid.length_m / row_m[0] + 1e-9)
    try:
        row = ribs.ribs(roller, *row_m)
    except Swallowed:
        return {"joints_count": count}
    found = _joint(about, k, row.moves[0])
    found |= {"joints_count": count, "on_ground": row.on_ground}
    if row.on_ground:
        del found["sink_mm"]
    still = place.laid.before_rad
    found["slope_to_keep_rolling_percent"] = percent(ribs.least_slope(roller, row, 0.0))
    free = ribs.Grade(still, 2 * slow.gravity_m_s2 * math.sin(still) / (1 + roller.inertia), 0.0)
    settled = {
        "settled_low_m_per_s": (roller, grade(slow, place.piece, still + slow.losses.tilt_rad)),
        "settled_high_m_per_s": (
            fast.roller(place.piece),
            grade(fast, place.piece, still + fast.losses.tilt_rad),
        ),
        "settled_unbraked_m_per_s": (roller, free),
    }
    for key, (edge, on) in settled.items():
        speed = ribs.settled_speed(edge, row, on)
        if speed is not None:
            found[key] = speed.leaving_m_s
    return found
