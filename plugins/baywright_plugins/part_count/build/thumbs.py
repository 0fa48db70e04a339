"""What thousands of snaps ask of a thumb: how hard, how often, how long without a pause."""

import math
from dataclasses import dataclass

#: Push above which a tool should do the pushing. Common practice, no source.
HARD_PUSH_N = 45.0
#: Like movements a minute up to which repetition is low, then moderate, then high.
LOW_PER_MIN, MODERATE_PER_MIN = 10.0, 20.0
#: A pause counts from here on; with one in less than an hour breaks are no risk of their own.
LEAST_PAUSE_MIN = 5.0
LONGEST_STRETCH_MIN = 60.0
#: Of 1 - mu tan a, below which rounding would set the force.
_LEAST_LEFT = 1e-9


class NeverSeats(ArithmeticError):
    """The lead is so steep or so rough that pushing only wedges it."""


def push_n(deflection_n: float, friction: float, angle_deg: float) -> float:
    """Force W along a snap that bends its seat aside with the force P across.

        W = P (mu + tan a) / (1 - mu tan a)

    Args:
        deflection_n: P >= 0. friction: mu >= 0. angle_deg: a in [0, 90), the lead on the way in,
            the return angle on the way out.

    Raises NeverSeats: mu tan a is 1 or more, or so near that rounding decides; no push is enough.
    Leaves out: wear, dirt, a rod held askew, how fast it is pushed.
    Source: Snap-Fit Joints for Plastics, a design guide, page 14 (mating force).

    >>> round(push_n(32.5, 0.6, 30.0), 1)
    58.5
    """
    slope = math.tan(math.radians(angle_deg))
    left = 1 - friction * slope
    if angle_deg >= 90 or left < _LEAST_LEFT:
        raise NeverSeats
    return deflection_n * (friction + slope) / left


@dataclass(frozen=True)
class Repetition:
    """The class of like movements a minute, and the points it adds."""

    level: str
    points: int


def repetition(per_min: float) -> Repetition:
    """How repetitive the work of one arm is; seating a rod end counts as one movement.

    Source: HSE INDG438, Assessment of repetitive tasks of the upper limbs (the ART tool), A2:
    17 a minute is amber, over 20 red (its walk-through); amber from 11, points 0, 3, 6 (from
    memory).

    >>> repetition(7.5)
    Repetition(level='low', points=0)
    """
    if per_min <= LOW_PER_MIN:
        return Repetition("low", 0)
    return Repetition("moderate", 3) if per_min <= MODERATE_PER_MIN else Repetition("high", 6)


def pause_points(stretch_min: float) -> int:
    """Points for the longest work without a pause of 5 to 10 minutes.

    Source: HSE INDG438 (the ART tool), D1: a break is 5 to 10 minutes at least; breaks of 10 s
    every few minutes the whole time score green too. Under 1 h 0, under 2 h 2, under 3 h 4, under
    4 h 6, else 8 points (from memory).

    >>> pause_points(55.0), pause_points(60.0)
    (0, 2)
    """
    return min(2 * math.floor(stretch_min / LONGEST_STRETCH_MIN), 8)
