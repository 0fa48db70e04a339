"""A ball over an edge, a joint, a kink: by energy while it tips, by angular momentum when it
strikes. The same few moves make up gaps between panels, rail joints, steps and ribs.

Metres, seconds, radians. r is the distance from the axis of turning to the contacts, j is
I/(m r^2); slopes fall forward where positive. Rigid, sharp edges; no slip.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Roller:
    """What a ball is to an edge: r, j and gravity; `flies`: a fast ball may leave the near edge of
    a joint (loses less), else it is taken to hug both edges (loses most)."""

    radius_m: float
    inertia: float
    gravity_m_s2: float
    flies: bool = True

    @property
    def scale(self) -> float:
        """2 g r/(1 + j): speed squared of a ball that has rolled down by r, in m2/s2."""
        return 2 * self.gravity_m_s2 * self.radius_m / (1 + self.inertia)

    def kept(self, angle_rad: float) -> float:
        """(j + cos a)/(1 + j): share of speed kept when the contact jumps by the angle a.

        Source: angular momentum about the new contact; (2 + 5 cos a)/7 for a solid ball.
        """
        return max(0.0, (self.inertia + math.cos(angle_rad)) / (1 + self.inertia))

    def lift_off_squared(self, slope_rad: float) -> float:
        """g r cos a: faster balls leave an edge at once and fly. Source: weight as centripetal
        force."""
        return self.gravity_m_s2 * self.radius_m * math.cos(slope_rad)


def tip(roller: Roller, squared: float, start_rad: float, end_rad: float) -> float | None:
    """Speed squared after turning about an edge from one angle off the vertical to another,
    forward; None where the ball does not get over.

        u' = u + K (cos start - cos end),   K = 2 g r/(1 + j)

    Source: energy; the ball has to pass its highest point.
    """
    top = math.cos(min(max(0.0, start_rad), max(end_rad, start_rad)))
    if squared + roller.scale * (math.cos(start_rad) - top) < 0:
        return None
    return max(0.0, squared + roller.scale * (math.cos(start_rad) - math.cos(end_rad)))


@dataclass(frozen=True)
class Joint:
    """A gap of `gap_m` along the track, after which it stands `step_m` higher (lower: negative)."""

    gap_m: float
    step_m: float = 0.0


class Swallowed(Exception):
    """The joint takes the ball in, or its step stands as high as the ball's axis."""


@dataclass(frozen=True)
class Passage:
    """The moves over one joint: tip forward over the near edge by `tip_rad` (absent: the far edge
    is struck first), strike by `strike_rad`, tip over the far edge from `climb_rad` behind."""

    tip_rad: float | None
    strike_rad: float
    climb_rad: float


def passage(roller: Roller, joint: Joint) -> Passage:
    """Which edges a slow ball touches, and at what angles.

    A gap alone: tip by p, strike 2 p, climb p, sin p = gap/(2 r). A step up: strike and climb by
    acos(1 - h/r). A step down onto the track below: tip and strike by the same angle.

    Raises:
        Swallowed: the chord between the edges is a diameter or more; the step is r or more.

    Source: geometry; `floor_tiling_ratio.grooves` has the gap alone for a solid ball.
    """
    gap, step, radius = joint.gap_m, joint.step_m, roller.radius_m
    if abs(step) >= radius:
        raise Swallowed
    if step < 0 and radius * _sine(1 + step / radius) >= gap:
        angle = math.acos(1 + step / radius)
        return Passage(angle, angle, 0.0)
    chord = math.hypot(gap, step)
    if chord >= 2 * radius:
        raise Swallowed
    half, rise = math.asin(chord / (2 * radius)), math.atan2(step, gap)
    if half <= rise:
        angle = math.acos(1 - step / radius)
        return Passage(None, angle, angle)
    return Passage(half - rise, 2 * half, half + rise)


def _sine(cosine: float) -> float:
    return math.sqrt(max(0.0, 1 - cosine**2))


def joint_sink(roller: Roller, joint: Joint) -> float:
    """How far a resting ball drops into a plain gap: r - sqrt(r^2 - gap^2/4), in m.

    Source: geometry.
    """
    return roller.radius_m - math.sqrt(max(0.0, roller.radius_m**2 - joint.gap_m**2 / 4))


def release_slope(roller: Roller, joint: Joint) -> float:
    """Slope (radians) on which a ball at rest in the joint rolls out by itself: its climb angle.

    Raises:
        Swallowed: as `passage`.

    Source: geometry; tan = gap/sqrt(d^2 - gap^2) for a gap alone.
    """
    return passage(roller, joint).climb_rad


def squared_needed(roller: Roller, joint: Joint, slope_rad: float) -> float:
    """Least speed squared with which a ball passes the joint without help; 0 where slope does it.

    Found backwards: what the climb needs, over the square of what the strike leaves, less what
    tipping in gives.

    Raises:
        Swallowed: as `passage`.

    Source: derived here from `tip` and `kept`.
    """
    moves = passage(roller, joint)
    needed = _barrier(roller, slope_rad - moves.climb_rad, slope_rad)
    kept = roller.kept(moves.strike_rad)
    if needed > 0:
        needed = needed / kept**2 if kept else math.inf
    if moves.tip_rad is None:
        return needed
    gain = roller.scale * (math.cos(slope_rad) - math.cos(slope_rad + moves.tip_rad))
    return max(0.0, needed - gain, _barrier(roller, slope_rad, slope_rad + moves.tip_rad))


def _barrier(roller: Roller, start_rad: float, end_rad: float) -> float:
    top = math.cos(min(max(0.0, start_rad), max(end_rad, start_rad)))
    return max(0.0, roller.scale * (top - math.cos(start_rad)))


def cross(roller: Roller, joint: Joint, slope_rad: float, squared: float) -> float | None:
    """Speed squared on the far side of a joint; None where the ball stays in it.

    A ball too fast to stay on the near edge flies over part of the gap, strikes the far edge
    higher up and loses less, if the roller `flies`.

    Raises:
        Swallowed: as `passage`.

    Leaves out: bounce off the far edge, slip.
    Source: derived here; tests integrate the motion in small steps.
    """
    moves = passage(roller, joint)
    fast = roller.flies and squared > roller.lift_off_squared(slope_rad)
    if moves.tip_rad is not None and fast:
        return _fly(roller, joint, slope_rad, squared)
    tipped: float | None = squared
    if moves.tip_rad is not None:
        tipped = tip(roller, squared, slope_rad, slope_rad + moves.tip_rad)
    if tipped is None:
        return None
    struck = tipped * roller.kept(moves.strike_rad) ** 2
    return tip(roller, struck, slope_rad - moves.climb_rad, slope_rad)


def _fly(roller: Roller, joint: Joint, slope_rad: float, squared: float) -> float | None:
    """From the near edge in free flight until the ball touches the far edge or the track beyond."""
    radius, speed = roller.radius_m, math.sqrt(squared)
    along = roller.gravity_m_s2 * math.sin(slope_rad)
    down = roller.gravity_m_s2 * math.cos(slope_rad)
    gap, step = joint.gap_m, joint.step_m

    def centre(t: float) -> tuple[float, float]:
        """Of the ball, seen from the far edge."""
        return speed * t + along * t * t / 2 - gap, radius - down * t * t / 2 - step

    late = _time_over(speed, along, gap)
    if centre(late)[1] >= radius:  # above the far track: it comes down beyond the edge
        late = math.sqrt(2 * max(0.0, -step) / down)
        angle, ahead = 0.0, speed + along * late
    else:
        early = 0.0
        for _ in range(32):
            middle = (early + late) / 2
            x, y = centre(middle)
            early, late = (middle, late) if x * x + y * y > radius**2 else (early, middle)
        x, y = centre(late)
        angle = math.atan2(-x, y)
        ahead = (speed + along * late) * math.cos(angle) - down * late * math.sin(angle)
    after = (roller.inertia * speed + ahead) / (1 + roller.inertia)
    return None if after < 0 else tip(roller, after**2, slope_rad - angle, slope_rad)


def _time_over(speed: float, along: float, gap: float) -> float:
    """Until the centre stands above the far edge; uphill it may never, then until it turns."""
    inside = speed**2 + 2 * along * gap
    if inside < 0:
        return speed / -along
    return 2 * gap / (speed + math.sqrt(inside))


@dataclass(frozen=True)
class Kink:
    """Speed squared after a bend without radius, and how far the ball flew (0: it stayed on)."""

    squared: float
    hop_m: float


def kink(roller: Roller, squared: float, before_rad: float, after_rad: float) -> Kink | None:
    """Over a sudden change of slope; None where the ball is thrown back or does not get over.

    Flatter: the new slope is struck. Steeper: a slow ball tips over the edge without loss, a
    fast one flies and strikes the new slope at the same angle. So a ball just fast enough to fly
    ends up slower than one just too slow; a roller that `flies` takes the upper bound there, the
    other one the lower, so that both maps rise with the speed.

        hop = v cos a t + g sin t'/2 t^2,  t = 2 v sin a/(g cos t'),  a the change of slope

    Source: derived here from energy, angular momentum and free flight.
    """
    turn = after_rad - before_rad
    kept = roller.kept(turn) ** 2
    if turn <= 0:
        after = squared * kept + _fall(roller, before_rad, after_rad)
        return Kink(after, 0.0) if after > 0 and kept > 0 else None
    if tip(roller, squared, before_rad, after_rad) is None:
        return None
    lift = roller.lift_off_squared(before_rad)
    if squared <= lift:
        left = squared if roller.flies else min(squared, kept * lift)
    else:
        left = max(lift, kept * squared) if roller.flies else kept * squared
    hop = _hop(roller, math.sqrt(squared), turn, after_rad) if squared > lift else 0.0
    return Kink(max(0.0, left + _fall(roller, before_rad, after_rad)), hop)


def _fall(roller: Roller, before_rad: float, after_rad: float) -> float:
    return roller.scale * (math.cos(before_rad) - math.cos(after_rad))


def _hop(roller: Roller, speed: float, turn_rad: float, after_rad: float) -> float:
    aloft = 2 * speed * math.sin(turn_rad) / (roller.gravity_m_s2 * math.cos(after_rad))
    along = roller.gravity_m_s2 * math.sin(after_rad)
    return speed * math.cos(turn_rad) * aloft + along / 2 * aloft**2
