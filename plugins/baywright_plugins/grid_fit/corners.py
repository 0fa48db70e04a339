"""A box carried level round the right-angle corner of two corridors."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Corner:
    """How a box fares in a corner. `spare_mm` is the better of the two ways to take it.

    `turning_spare_mm`: room left at the inner corner in one sweep, at `angle_deg` from the first
    corridor. `sliding_spare_mm`: room left where the box is slid sideways without turning.
    """

    turning_spare_mm: float
    angle_deg: float
    sliding_spare_mm: float

    @property
    def spare_mm(self) -> float:
        return max(self.turning_spare_mm, self.sliding_spare_mm)

    @property
    def way(self) -> str:
        return "turning" if self.turning_spare_mm >= self.sliding_spare_mm else "sliding"


def round_corner(length_mm: float, width_mm: float, corridors_mm: tuple[float, float]) -> Corner:
    """A box of plan L x B in a corner of corridors a and b.

        turning: min over t of (a sin t + b cos t - L sin t cos t) - B,   0 <= t <= 90 deg
        sliding: max(min(a - B, b - L), min(a - L, b - B))

    The derivative is a quartic in tan(t/2), so the least value is found, not searched for.

    Args:
        length_mm: L, carriers at both ends included, >= 0.
        width_mm: B, >= 0.
        corridors_mm: a and b, > 0.

    Leaves out: mixing turning and sliding, a door in the corner, handrails, tilting the box.
    Source: a textbook problem (ladder round a corner; Stewart, Calculus, section on optimisation);
    the form with a width is from memory and is checked against a search in the tests.

    >>> round(round_corner(1814.0, 754.0, (1200.0, 1200.0)).turning_spare_mm, 1)
    36.1
    """
    a, b = corridors_mm
    turns = _stationary(length_mm, a, b)
    s, c = np.sin(turns), np.cos(turns)
    room = a * s + b * c - length_mm * s * c
    least = int(np.argmin(room))
    sliding = max(min(a - width_mm, b - length_mm), min(a - length_mm, b - width_mm))
    return Corner(float(room[least]) - width_mm, math.degrees(float(turns[least])), sliding)


def longest_round_corner(width_mm: float, corridors_mm: tuple[float, float]) -> float:
    """Greatest length of a box of plan width B that turns round the corner in one sweep.

        L = min over t of (a sin t + b cos t - B) / (sin t cos t);   B = 0: (a^2/3 + b^2/3)^3/2

    Returns:
        mm; 0 where even the width does not fit (B > a or B > b).

    Leaves out: as `round_corner`.
    Source: as `round_corner`.

    >>> round(longest_round_corner(0.0, (1200.0, 1200.0)))
    3394
    """
    a, b = corridors_mm
    if width_mm > min(a, b):
        return 0.0
    length = float((a ** (2 / 3) + b ** (2 / 3)) ** 1.5)
    for _ in range(50):  # Dinkelbach's iteration for the least ratio; it falls to the answer
        corner = round_corner(length, width_mm, corridors_mm)
        if corner.turning_spare_mm >= -1e-9 * length:
            break
        turn = math.radians(corner.angle_deg)
        s, c = math.sin(turn), math.cos(turn)
        length = (a * s + b * c - width_mm) / (s * c)
    return length


def _stationary(length_mm: float, a: float, b: float) -> NDArray[np.float64]:
    """Angles in [0, 90 deg] where the room may be least: both ends and each stationary point.

    a cos t - b sin t - L cos 2t = 0 with u = tan(t/2):
    -(a + L) u^4 - 2 b u^3 + 6 L u^2 - 2 b u + (a - L) = 0.
    """
    roots = np.roots([-(a + length_mm), -2 * b, 6 * length_mm, -2 * b, a - length_mm])
    real = roots.real[np.abs(roots.imag) < 1e-3]  # one angle too many does no harm
    inside = real[(real > 0) & (real < 1)]
    return np.concatenate(([0.0, math.pi / 2], 2 * np.arctan(np.sort(inside))))
