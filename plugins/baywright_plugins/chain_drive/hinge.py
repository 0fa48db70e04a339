"""A lift cage that swings on two hinges: how far play moves a hook, and what a stop must hold."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Cage:
    """Lengths in mm. The hinge axis is upright; `spread` is the distance between its two hinges.

    `above` is the height of the tongue over the middle of the hinges, `reach` its distance from
    the axis, `latch_reach` that of the latch. `play` is plus-minus across the axis in each hinge,
    `latch_play` plus-minus at the latch.
    """

    spread: float
    above: float
    reach: float
    play: float
    latch_reach: float
    latch_play: float


@dataclass(frozen=True)
class Moved:
    """Most that a hook moves against the tongue, plus-minus, mm.

    `sideways` is across the ribs, `depth` towards or away from the tongue, `droop` up and down.
    """

    sideways: float
    depth: float
    droop: float


def lever(cage: Cage) -> float:
    """Plus-minus at the hook for one mm of play in each hinge: max(1, 2 |above| / spread).

    The cage is rigid and its axis a straight line through two points, each anywhere within its
    play; a line's shift at height z is ((1/2 + z/b) u1 + (1/2 - z/b) u2).
    Source: statics of rigid bodies.
    """
    return max(1.0, 2.0 * abs(cage.above) / cage.spread)


def displacement(cage: Cage) -> Moved:
    """How far a closed cage may stand from where it stood before.

    Sideways (along the closed cage) only the hinges hold it; in depth the latch takes the turn
    about the axis: hinge play fades towards the latch, latch play grows with reach.
    """
    moved = lever(cage) * cage.play
    share = cage.reach / cage.latch_reach
    return Moved(
        sideways=moved,
        depth=abs(1.0 - share) * moved + share * cage.latch_play,
        droop=2.0 * cage.play / cage.spread * cage.reach,
    )


def most_play(cage: Cage, room: float) -> float:
    """Play in each hinge at which the hook moves sideways by `room`; 0 where there is none."""
    return max(0.0, room) / lever(cage)
