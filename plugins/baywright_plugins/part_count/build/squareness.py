"""Whether a plane stands square: its two long diagonals, and how far play alone parts them."""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Square:
    """Both diagonals from hub centre to hub centre when square, and the difference that play in
    the seats explains."""

    diagonal_mm: float
    equal_within_mm: float


def square_check(
    width_mm: float, height_mm: float, bays_mm: list[tuple[float, float]], seat_play_mm: float
) -> Square:
    """The check of a plane of bays with one diagonal each.

        gamma = max over bays of 2 e d / (a b)        d^2 = a^2 + b^2
        |D1 - D2| <= 2 gamma W H / D                  D^2 = W^2 + H^2

    A diagonal with play e at both ends lets its bay a x b lean by the angle gamma; a plane that
    leans so makes one long diagonal longer and the other shorter.

    Args:
        width_mm, height_mm: W and H between hub centres. bays_mm: sides a, b of each kind of bay
            in the plane. seat_play_mm: e, each way, of one seat.

    Leaves out: play of the rods along the sides, tolerances of pitch, second diagonals, which
    leave less; a tape read to a millimetre.
    Source: derived; geometry of a leaning rectangle, to first order in gamma.

    >>> square_check(1080.0, 600.0, [(120.0, 120.0)], 0.15).equal_within_mm.__round__(2)
    3.71
    """
    lean = max(2 * seat_play_mm * math.hypot(a, b) / (a * b) for a, b in bays_mm)
    diagonal = math.hypot(width_mm, height_mm)
    return Square(diagonal, 2 * lean * width_mm * height_mm / diagonal)
