"""The pieces a ramp is made of, in SI units, and where they lie. One class a kind."""

import math
from dataclasses import dataclass

from .contact import Contact
from .edges import Joint


@dataclass(frozen=True)
class Straight:
    """Straight ahead at one slope (radians, falling positive); `row_m`: pitch, gap and height of
    ribs across it, where there are any (no height: nothing between them)."""

    length_m: float
    slope_rad: float
    row_m: tuple[float, float, float | None] | None = None


@dataclass(frozen=True)
class Turn:
    """A curve seen from above; `guard_m` high walls at its sides, above the line of rolling."""

    radius_m: float
    turn_rad: float
    slope_rad: float
    bank_rad: float
    guard_m: float


@dataclass(frozen=True)
class Vertical:
    """A crest (`bends` 1), dip or loop (-1) of the track's own radius."""

    radius_m: float
    turn_rad: float
    bends: int
    full_loop: bool = False


@dataclass(frozen=True)
class Drop:
    """A free end over a landing `fall_m` lower; `caught`: a basket stops the ball there."""

    fall_m: float
    caught: bool


Shape = Straight | Turn | Vertical | Joint | Drop


@dataclass(frozen=True)
class Surface:
    """What a piece rolls on: the contact and its own range of coefficients, low and high."""

    contact: Contact
    resistance: tuple[float, float]
    friction: tuple[float, float]
    measured_here: bool
    bears: bool = True  # else the ball falls through, and `contact` only serves to lay the track

    def resistance_on_it(self, value: float) -> float:
        """Over the load across the track: two contacts share it at an angle, so each is pressed
        harder, unless the value was measured on this very track."""
        return value if self.measured_here else value / math.cos(self.contact.angle_rad)


@dataclass(frozen=True)
class Piece:
    """A shape on a surface."""

    shape: Shape
    surface: Surface


@dataclass(frozen=True)
class Laid:
    """A piece in its place: level run and fall of the track, slope before and after, path of the
    ball's centre, all as drawn."""

    run_m: float
    fall_m: float
    before_rad: float
    after_rad: float
    length_m: float


def slopes(shape: Shape, before_rad: float) -> tuple[float, float]:
    """Slope of the track at the start and the end of a piece that follows one ending at `before`.

    Source: geometry.
    """
    match shape:
        case Straight(slope_rad=slope) | Turn(slope_rad=slope):
            return slope, slope
        case Vertical(full_loop=True):
            return before_rad, before_rad
        case Vertical(turn_rad=turn, bends=bends):
            return before_rad, before_rad + bends * turn
        case _:
            return before_rad, before_rad


class TooTight(Exception):
    """The ball does not fit into a dip or loop of this radius."""


def path_radius(shape: Vertical, contact: Contact) -> float:
    """Radius of the ball's centre: outside a crest, inside a dip.

    Raises:
        TooTight: inside a dip no room is left.

    Source: geometry.
    """
    radius = shape.radius_m + shape.bends * contact.effective_radius_m
    if radius <= 0.05 * contact.effective_radius_m:
        raise TooTight
    return radius


def lay(piece: Piece, before_rad: float) -> Laid:
    """Where a piece goes.

    Raises:
        TooTight: as `path_radius`.

    Source: geometry.
    """
    shape = piece.shape
    start, end = slopes(shape, before_rad)
    match shape:
        case Straight(length_m=length):
            run, fall = length * math.cos(start), length * math.sin(start)
        case Turn():
            length = shape.radius_m * shape.turn_rad / math.cos(start)
            run, fall = length * math.cos(start), length * math.sin(start)
        case Vertical():
            length = path_radius(shape, piece.surface.contact) * shape.turn_rad
            across = shape.bends * shape.radius_m
            run = across * (math.sin(end) - math.sin(start))
            fall = across * (math.cos(start) - math.cos(end))
        case Joint():
            length, run, fall = shape.gap_m, shape.gap_m, -shape.step_m
        case Drop():
            length, run, fall = 0.0, 0.0, shape.fall_m
    return Laid(run, fall, start, end, length)
