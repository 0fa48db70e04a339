"""One ball over one piece of the ramp; a function a kind of piece. SI units."""

import math

from . import bends, flight, slip
from .contact import wall_angle
from .edges import Joint, Swallowed, cross
from .pieces import Drop, Laid, Piece, Straight, Turn, Vertical, path_radius
from .ribs import Grade, over_ribs, ribs
from .state import Passed, State, World, halted
from .stretch import STEPS, stepped, uniform

_POINTS = 24  # shown on a straight; each is exact


def slides(world: World, piece: Piece, slope_rad: float) -> bool:
    """Whether a straight is too steep for the ball to roll without slipping."""
    if not isinstance(piece.shape, Straight) or piece.shape.row_m is not None:
        return False
    angle = piece.surface.contact.angle_rad
    return abs(slope_rad) > slip.slip_slope(world.losses.friction, world.inertia(piece), angle)


def grade(world: World, piece: Piece, slope_rad: float) -> Grade:
    """What drives and brakes a rolling ball on a straight."""
    pull = math.sin(slope_rad) - world.losses.resistance * math.cos(slope_rad)
    double = 2 / (1 + world.inertia(piece))
    return Grade(slope_rad, double * world.gravity_m_s2 * pull, double * world.losses.drag_per_m)


def straight(world: World, piece: Piece, laid: Laid, state: State) -> Passed:
    """Rolling, or sliding where it is steep."""
    contact, losses = piece.surface.contact, world.losses
    slope = laid.before_rad + losses.tilt_rad
    sliding = None
    if slides(world, piece, slope):
        sliding = slip.slipping(
            slope,
            losses.friction,
            losses.resistance,
            world.ball,
            contact.effective_radius_m,
            contact.angle_rad,
            world.gravity_m_s2,
        )
        drive, brake = sliding.drive, 2 * losses.drag_per_m
    else:
        on = grade(world, piece, slope)
        drive, brake = on.drive, on.brake
    start, stops = state.speed_m_s**2, False
    along, squared, clock = [0.0], [start], [state.time_s]
    for k in range(1, _POINTS + 1):
        share = k / _POINTS if start else (k / _POINTS) ** 2  # closer where it gathers speed
        end = uniform(start, drive, brake, laid.length_m * share)
        along.append(end.reached_m)
        squared.append(end.squared)
        clock.append(state.time_s + end.time_s)
        if end.stops:
            stops = True
            break
    last = _rolling(world, piece, squared[-1], clock[-1])
    if sliding:
        spin = state.spin_m_s + sliding.spin_up * (clock[-1] - state.time_s)
        spin = min(spin, last.spin_m_s) if slope > 0 else max(spin, last.spin_m_s)
        last = State(last.speed_m_s, spin, last.time_s)
    why = "stalls" if stops else ""
    return Passed(state, last, along, squared, clock, why, sliding is not None)


def ribbed(
    world: World, piece: Piece, laid: Laid, state: State, row_m: tuple[float, float, float | None]
) -> Passed:
    """Over ribs, panels or rail joints at a pitch."""
    ball = world.roller(piece)
    pitch, gap, height = row_m
    try:
        row = ribs(ball, pitch, gap, height)
    except Swallowed:
        return halted(state, "falls-through")
    count = int(laid.length_m / pitch + 1e-9)
    tail = max(0.0, laid.length_m - count * pitch)
    on = grade(world, piece, laid.before_rad + world.losses.tilt_rad)
    course = over_ribs(ball, row, on, state.speed_m_s**2, count, tail)
    why = ("stuck" if course.stuck_in_joint else "stalls") if course.stops else ""
    clock = [state.time_s + t for t in course.time_s]
    last = _rolling(world, piece, course.squared[-1], clock[-1])
    return Passed(state, last, course.along_m, course.squared, clock, why)


def _rolling(world: World, piece: Piece, squared: float, time_s: float) -> State:
    speed = math.sqrt(squared)
    return State(speed, world.spin(piece, speed), time_s)


def _roll(world: World, piece: Piece) -> bends.Roll:
    losses = world.losses
    return bends.Roll(
        world.inertia(piece),
        losses.resistance,
        losses.friction,
        losses.drag_per_m,
        world.gravity_m_s2,
    )


def curve_of(ball_diameter_m: float, piece: Piece, shape: Turn, slope_rad: float) -> bends.Curve:
    """The curve with what holds the ball in it: contacts, channel or guard, the best of them."""
    contact = piece.surface.contact
    guard = 0.0
    if shape.guard_m > 0:
        guard = wall_angle(ball_diameter_m, shape.guard_m, contact.effective_radius_m)
    holds = max(contact.holds_rad, contact.angle_rad, guard)
    return bends.Curve(shape.radius_m, shape.bank_rad, slope_rad, contact, holds)


def curve(world: World, piece: Piece, laid: Laid, state: State, shape: Turn) -> Passed:
    """Round a curve seen from above."""
    slope = laid.before_rad + world.losses.tilt_rad
    bend = curve_of(world.ball.diameter_m, piece, shape, slope)
    push = bends.curve_push(bend, _roll(world, piece))
    steps = max(STEPS, int(math.degrees(shape.turn_rad) / 6))
    walked = stepped(state.speed_m_s**2, laid.length_m, push, steps)
    clock = [state.time_s + t for t in walked.time_s]
    last = _rolling(world, piece, walked.squared[-1], clock[-1])
    why = "stalls" if walked.stops else ""
    done = Passed(state, last, walked.along_m, walked.squared, clock, why)
    done.lean_rad = [bends.lean(bend, u, world.gravity_m_s2) for u in walked.squared]
    return done


def arc(world: World, piece: Piece, laid: Laid, state: State, shape: Vertical) -> Passed:
    """Over a crest, through a dip or a loop."""
    radius = path_radius(shape, piece.surface.contact)
    bend = bends.Arc(radius, laid.before_rad + world.losses.tilt_rad, shape.bends)
    push = bends.arc_push(bend, _roll(world, piece))
    walked = stepped(state.speed_m_s**2, laid.length_m, push)
    clock = [state.time_s + t for t in walked.time_s]
    last = _rolling(world, piece, walked.squared[-1], clock[-1])
    why = "stalls" if walked.stops else ""
    done = Passed(state, last, walked.along_m, walked.squared, clock, why)
    pairs = list(zip(walked.along_m, walked.squared, strict=True))
    loads = [bend.load(s, u, world.gravity_m_s2) for s, u in pairs]
    done.least_load = min(loads)
    off = [s for (s, _), load in zip(pairs, loads, strict=True) if load < -1e-9]
    done.leaves_at_m = off[0] if off else None
    return done


def joint(world: World, piece: Piece, laid: Laid, state: State, shape: Joint) -> Passed:
    """Over one joint."""
    slope = laid.before_rad + world.losses.tilt_rad
    start = state.speed_m_s**2
    try:
        after = cross(world.roller(piece), shape, slope, start)
    except Swallowed:
        return halted(state, "falls-through")
    if after is None:
        return halted(state, "stuck")
    mean = (state.speed_m_s + math.sqrt(after)) / 2
    time = state.time_s + (laid.length_m / mean if mean > 0 else 0.0)
    last = _rolling(world, piece, after, time)
    return Passed(state, last, [0.0, laid.length_m], [start, after], [state.time_s, time])


def fall(world: World, piece: Piece, slope_rad: float, state: State, shape: Drop) -> Passed:
    """Off a free end, down, and bouncing until that ends."""
    ball, gravity, edge = world.ball, world.gravity_m_s2, world.roller(piece)
    let_go = flight.release(edge, state.speed_m_s**2, slope_rad)
    if let_go is None:
        return halted(state, "stalls")
    # A ball that slid keeps its spin; one that rolled speeds up with the tipping.
    slid = state.spin_m_s < 0.999 * world.spin(piece, state.speed_m_s)
    spin = state.spin_m_s if slid else world.spin(piece, let_go.speed_m_s)
    landing = flight.land(let_go, shape.fall_m, ball.radius_m, ball.inertia, spin, gravity)
    down = landing.flight.down_m_s
    bouncing = flight.bouncing_time(down, world.losses.restitution, gravity)
    time = state.time_s + landing.flight.time_s + bouncing
    last = State(0.0, 0.0, time)
    if not shape.caught:
        last = State(landing.flight.ahead_m_s, spin, time, down)
    done = Passed(state, last, [0.0], [state.speed_m_s**2], [state.time_s])
    done.landing = landing
    return done
