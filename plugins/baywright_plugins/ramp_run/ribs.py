"""Many equal joints: ribs across the track, gaps between panels, rail joints. Metres, seconds."""

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from .edges import Joint, Roller, Swallowed, cross, passage, squared_needed
from .stretch import End, uniform

_UNMOVED = 1e-13  # change of speed squared, as a share, below which every pitch is like the last
_TOO_FAST = 1e4  # m2/s2; a ball that would settle above 100 m/s does not settle


@dataclass(frozen=True)
class Ribs:
    """What repeats: pitch, the gaps and steps in it, and the flats between them.

    `moves` are joints in the order met, each after the flat of the same place in `flats_m`.
    """

    pitch_m: float
    moves: tuple[Joint, ...]
    flats_m: tuple[float, ...]
    on_ground: bool


def ribs(roller: Roller, pitch_m: float, gap_m: float, height_m: float | None) -> Ribs:
    """Ribs `gap_m` apart; of some height over a ground, or over nothing.

    Where the ball would sink into the gap as deep as the ribs are high, it runs on the ground and
    climbs each rib; else it rolls over their tops.

    Raises:
        Swallowed: the gap is as wide as the ball's contacts allow, or ribs stand as high as its
            axis.

    Source: geometry.
    """
    if height_m is None or _sinks(roller, gap_m) < height_m:
        if gap_m >= 2 * roller.radius_m:
            if height_m is None or height_m >= roller.radius_m:
                raise Swallowed
        else:
            joint = Joint(gap_m)
            passage(roller, joint)
            return Ribs(pitch_m, (joint,), (pitch_m - gap_m,), False)
    up, down = Joint(0.0, height_m), Joint(0.0, -height_m)
    reach = roller.radius_m * math.sin(passage(roller, up).climb_rad)
    ground = max(0.0, gap_m - 2 * reach)
    return Ribs(pitch_m, (up, down), (ground, pitch_m - gap_m), True)


def _sinks(roller: Roller, gap_m: float) -> float:
    if gap_m >= 2 * roller.radius_m:
        return roller.radius_m
    return roller.radius_m - math.sqrt(roller.radius_m**2 - gap_m**2 / 4)


@dataclass(frozen=True)
class Grade:
    """Slope and what drives and brakes on the flats: du/ds = `drive` - `brake` u."""

    slope_rad: float
    drive: float
    brake: float


@dataclass(frozen=True)
class Course:
    """A run over ribs: speed squared and time at some of the pitches, and where it stuck."""

    along_m: list[float]
    squared: list[float]
    time_s: list[float]
    stops: bool
    stuck_in_joint: bool


def one_pitch(roller: Roller, row: Ribs, grade: Grade, squared: float) -> tuple[End, bool]:
    """One pitch on: flats and joints in turn; and whether the ball stuck in a joint.

    Time over a joint is its length over the mean speed.

    Source: `stretch.uniform` and `edges.cross`.
    """
    time = reached = 0.0
    for flat, joint in zip(row.flats_m, row.moves, strict=True):
        end = uniform(squared, grade.drive, grade.brake, flat)
        time, reached = time + end.time_s, reached + end.reached_m
        if end.stops:
            return End(0.0, time, reached, True), False
        after = cross(roller, joint, grade.slope_rad, end.squared)
        if after is None:
            return End(0.0, time, reached, True), True
        wide = (row.pitch_m - sum(row.flats_m)) / len(row.moves)
        mean = (math.sqrt(end.squared) + math.sqrt(after)) / 2
        time += wide / mean if mean > 0 else 0.0
        reached += wide
        squared = after
    return End(squared, time, reached, False), False


def over_ribs(
    roller: Roller, row: Ribs, grade: Grade, squared: float, count: int, tail_m: float
) -> Course:
    """Over `count` pitches and a flat of `tail_m` after them.

    Once a pitch changes nothing any more the rest is counted, not walked.

    Source: `one_pitch`, repeated.
    """
    points = [(0.0, squared, 0.0)]
    time, k, shown = 0.0, 0, max(1, count // 150)
    while k < count:
        end, in_joint = one_pitch(roller, row, grade, squared)
        if end.stops:
            points.append((k * row.pitch_m + end.reached_m, 0.0, time + end.time_s))
            return Course(*_columns(points), True, in_joint)
        like_last = abs(end.squared - squared) <= _UNMOVED * squared
        pitches = count - k if like_last else 1
        squared, time, k = end.squared, time + pitches * end.time_s, k + pitches
        if k % shown == 0 or k == count:
            points.append((k * row.pitch_m, squared, time))
    last = uniform(squared, grade.drive, grade.brake, tail_m)
    if tail_m > 0:
        points.append((count * row.pitch_m + last.reached_m, last.squared, time + last.time_s))
    return Course(*_columns(points), last.stops, False)


def _columns(
    points: list[tuple[float, float, float]],
) -> tuple[list[float], list[float], list[float]]:
    along, squared, time = (list(column) for column in zip(*points, strict=True))
    return along, squared, time


@dataclass(frozen=True)
class Settled:
    """Speeds (m/s) a ball settles to: on reaching a joint and on leaving it."""

    arriving_m_s: float
    leaving_m_s: float


def settled_speed(roller: Roller, row: Ribs, grade: Grade) -> Settled | None:
    """The speed at which each pitch costs what the slope gives; None where there is none: balls
    come to rest, or nothing holds them below 100 m/s.

    Leaves out: what `edges.cross` leaves out.
    Source: fixed point of the map from joint to joint; `floor_tiling_ratio.grooves` has it in
    closed form for a solid ball without rolling resistance.
    """
    low = _needed(roller, row, grade)

    def gain(u: float) -> float:
        after = _to_next(roller, row, grade, u)
        return (-1.0 if after is None else after) - u

    if low > _TOO_FAST or gain(low) < 0:
        return None
    high = max(2 * low, 1e-6)
    while gain(high) >= 0:
        high *= 2
        if high > _TOO_FAST:
            return None
    arriving = float(brentq(gain, low, high, xtol=1e-15, rtol=1e-13))
    leaving = cross(roller, row.moves[0], grade.slope_rad, max(low, arriving))
    return Settled(math.sqrt(arriving), math.sqrt(leaving or 0.0))


def _needed(roller: Roller, row: Ribs, grade: Grade) -> float:
    """Speed squared that just gets from the first joint to the next one of its kind; the rounding
    is on the safe side. Infinite where even the fastest ball does not."""
    low = squared_needed(roller, row.moves[0], grade.slope_rad) * (1 + 1e-9)
    if not math.isfinite(low) or _to_next(roller, row, grade, low) is not None:
        return low
    high = _TOO_FAST  # it passes the joint but not what comes after
    if _to_next(roller, row, grade, high) is None:
        return math.inf
    for _ in range(60):
        middle = (low + high) / 2
        passes = _to_next(roller, row, grade, middle) is not None
        low, high = (low, middle) if passes else (middle, high)
    return high


def _to_next(roller: Roller, row: Ribs, grade: Grade, squared: float) -> float | None:
    """From reaching the first joint of one pitch to reaching that of the next."""
    flats = (*row.flats_m[1:], row.flats_m[0])
    for joint, flat in zip(row.moves, flats, strict=True):
        after = cross(roller, joint, grade.slope_rad, squared)
        if after is None:
            return None
        end = uniform(after, grade.drive, grade.brake, flat)
        if end.stops:
            return None
        squared = end.squared
    return squared


def keeps_rolling(roller: Roller, row: Ribs, grade: Grade) -> bool:
    """Whether a ball that just passes one pitch passes the next too.

    Source: both maps are monotone, so a faster ball passes as well.
    """
    low = _needed(roller, row, grade)
    if not math.isfinite(low):
        return False
    after = _to_next(roller, row, grade, low)
    return after is not None and after >= low


def least_slope(roller: Roller, row: Ribs, resistance: float) -> float:
    """Least slope (radians) on which a rolling ball never stays on the ribs, by bisection.

    Args:
        resistance: c, rolling resistance over the load across the track.

    Leaves out: air, which slows only fast balls.
    Source: `keeps_rolling`; without resistance near (10/7)(r/P) p^4 for narrow gaps.
    """
    low = 0.0
    high = max(passage(roller, joint).climb_rad for joint in row.moves) + math.atan(resistance)
    for _ in range(60):
        middle = (low + high) / 2
        grade = Grade(middle, _drive(roller, middle, resistance), 0.0)
        low, high = (low, middle) if keeps_rolling(roller, row, grade) else (middle, high)
    return high


def _drive(roller: Roller, slope_rad: float, resistance: float) -> float:
    pull = math.sin(slope_rad) - resistance * math.cos(slope_rad)
    return 2 * roller.gravity_m_s2 * pull / (1 + roller.inertia)
