"""What is carried from piece to piece, and what one ball did on one piece."""

import math
from dataclasses import dataclass, field

from .ball import Ball, Losses, inertia_about
from .edges import Roller
from .flight import Landing
from .pieces import Piece


@dataclass(frozen=True)
class State:
    """A ball between two pieces: speed, R times its turning rate (both m/s), seconds since the
    start; after a fall, the speed downward with which it came down."""

    speed_m_s: float
    spin_m_s: float
    time_s: float
    down_m_s: float = 0.0


@dataclass
class Passed:
    """What one ball did on one piece.

    `along_m`, `squared` and `time_s` run from the start of the piece: path, speed squared, time
    since the ramp's start. `ends` says why the ball goes no further: "stalls", "stuck",
    "falls-through", "thrown-back"; empty where it goes on.
    """

    start: State
    end: State
    along_m: list[float]
    squared: list[float]
    time_s: list[float]
    ends: str = ""
    slips: bool = False
    hop_m: float = 0.0
    lean_rad: list[float] = field(default_factory=list)
    least_load: float = math.inf
    leaves_at_m: float | None = None
    landing: Landing | None = None


@dataclass(frozen=True)
class World:
    """What acts on one ball: the ball, one choice of coefficients, gravity; `flies` as in
    `edges.Roller`."""

    ball: Ball
    losses: Losses
    gravity_m_s2: float
    flies: bool = True

    def inertia(self, piece: Piece) -> float:
        """I/(m r^2) on the contacts of a piece."""
        return inertia_about(self.ball, piece.surface.contact.effective_radius_m)

    def roller(self, piece: Piece) -> Roller:
        """The ball as edges of this piece see it."""
        radius = piece.surface.contact.effective_radius_m
        return Roller(radius, self.inertia(piece), self.gravity_m_s2, self.flies)

    def spin(self, piece: Piece, speed_m_s: float) -> float:
        """R times the turning rate of a ball that rolls on the contacts of a piece."""
        return speed_m_s * self.ball.radius_m / piece.surface.contact.effective_radius_m


def halted(state: State, why: str) -> Passed:
    """The ball goes no further than the start of this piece."""
    end = State(0.0, 0.0, state.time_s)
    return Passed(state, end, [0.0], [0.0], [state.time_s], ends=why)
