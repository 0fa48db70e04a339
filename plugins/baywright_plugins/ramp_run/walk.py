"""One ball down the whole ramp, for one choice of coefficients: piece after piece."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from . import passes, slip
from .edges import Joint, kink
from .pieces import Drop, Laid, Piece, Straight, TooTight, Turn, lay
from .state import Passed, State, World, halted

LEAST_KINK = math.radians(0.05)


@dataclass(frozen=True)
class Place:
    """A piece, where it lies, and the slope of the piece before it (None: it starts afresh)."""

    piece: Piece
    laid: Laid
    before_rad: float | None


_STEEPEST = math.radians(89)
_MOST_JOINTS = 5_000
_MOST_TURN = math.radians(18_000)


class UnfitSegment(Exception):
    """A segment for which no honest number exists: which one, which field, and why."""

    def __init__(self, segment: int, field: str, why: str) -> None:
        super().__init__(segment, field, why)
        self.segment, self.field, self.why = segment, field, why


def places(pieces: Sequence[Piece]) -> list[Place]:
    """Every piece in its place. What follows a fall starts afresh, level if it has no slope.

    Raises:
        UnfitSegment: a bend past upright, a dip too tight for the ball, too many joints or
            turns.
    """
    found: list[Place] = []
    slope: float | None = None
    joints = turned = 0.0
    for k, piece in enumerate(pieces):
        try:
            laid = lay(piece, slope or 0.0)
        except TooTight as error:
            why = "The ball does not fit into so tight a bend."
            raise UnfitSegment(k, "radius_mm", why) from error
        if abs(laid.after_rad) > _STEEPEST:
            why = "It would bend past upright: end it sooner, with a drop after it."
            raise UnfitSegment(k, "turn_deg", why)
        if isinstance(piece.shape, Straight) and piece.shape.row_m:
            joints += piece.shape.length_m / piece.shape.row_m[0]
            if joints > _MOST_JOINTS:
                why = f"More than {_MOST_JOINTS} ribs or joints on one ramp: give a part of it."
                raise UnfitSegment(k, "pitch_mm", why)
        if isinstance(piece.shape, Turn):
            turned += piece.shape.turn_rad
            if turned > _MOST_TURN:
                raise UnfitSegment(k, "turn_deg", "More than 50 turns: give a part of the ramp.")
        found.append(Place(piece, laid, slope))
        slope = None if isinstance(piece.shape, Drop) else laid.after_rad
    return found


def run(
    world: World, ramp: Sequence[Place], speed_m_s: float, pick: Sequence[tuple[float, float]]
) -> list[Passed]:
    """Down all pieces, or as far as the ball gets.

    Args:
        speed_m_s: at the start, rolling.
        pick: rolling resistance and sliding friction of each piece.

    Returns:
        One entry a piece, fewer if the ball stops.

    Leaves out: that a ball takes some centimetres to take up rolling after it slid.
    Source: the parts it calls; tests hold a ramp of several pieces to scipy's solve_ivp.
    """
    state = State(speed_m_s, world.spin(ramp[0].piece, speed_m_s), 0.0)
    passed: list[Passed] = []
    for place, (resistance, friction) in zip(ramp, pick, strict=True):
        own = replace(
            world.losses,
            resistance=place.piece.surface.resistance_on_it(resistance),
            friction=friction,
        )
        done = _one(replace(world, losses=own), place, state)
        passed.append(done)
        if done.ends:
            break
        state = done.end
    return passed


def _one(world: World, place: Place, state: State) -> Passed:
    piece, laid = place.piece, place.laid
    if not piece.surface.bears:
        return halted(state, "falls-through")
    if isinstance(piece.shape, Drop):
        slope = laid.before_rad + world.losses.tilt_rad
        return passes.fall(world, piece, slope, state, piece.shape)
    entered = _enter(world, place, state)
    if entered.ends:
        return entered
    now = entered.end
    match piece.shape:
        case Straight(row_m=None):
            done = passes.straight(world, piece, laid, now)
        case Straight(row_m=row):
            assert row is not None
            done = passes.ribbed(world, piece, laid, now, row)
        case Turn():
            done = passes.curve(world, piece, laid, now, piece.shape)
        case Joint():
            done = passes.joint(world, piece, laid, now, piece.shape)
        case _:
            done = passes.arc(world, piece, laid, now, piece.shape)
    done.hop_m = entered.hop_m
    return done


def _enter(world: World, place: Place, state: State) -> Passed:
    """What was left after a fall, take to the new contacts, over the change of slope."""
    tilt, laid, piece = world.losses.tilt_rad, place.laid, place.piece
    slope = laid.before_rad + tilt
    speed, spin = state.speed_m_s, state.spin_m_s
    if state.down_m_s:
        speed = speed * math.cos(slope) + state.down_m_s * math.sin(slope)
    still_slides = passes.slides(world, piece, slope) and spin < 0.999 * world.spin(piece, speed)
    rolls = abs(spin - world.spin(piece, speed)) <= 1e-12 * abs(spin)
    if not still_slides and not rolls:
        radius = piece.surface.contact.effective_radius_m
        speed = slip.gripped_speed(speed, spin, world.ball, radius)
        spin = world.spin(piece, speed)
    if speed < 0:
        return halted(state, "thrown-back")
    hop = 0.0
    if place.before_rad is not None and abs(laid.before_rad - place.before_rad) > LEAST_KINK:
        over = kink(world.roller(piece), speed**2, place.before_rad + tilt, slope)
        if over is None:
            return halted(state, "thrown-back")
        faster = math.sqrt(over.squared)
        spin = spin * faster / speed if speed > 0 else world.spin(piece, faster)
        hop, speed = over.hop_m, faster
    end = State(speed, spin, state.time_s)
    return Passed(state, end, [0.0], [speed**2], [state.time_s], hop_m=hop)
