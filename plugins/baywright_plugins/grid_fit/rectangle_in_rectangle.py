"""Does a rectangle go through a rectangle, turned in its plane if need be?"""

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Tilt:
    """The best lean of a section in an opening: angle, and the room then left on the tight side.

    `angle_deg` is how far the section's longer side leans from the opening's longer side.
    """

    angle_deg: float
    spare_mm: float


def turned_size(width: float, height: float, angle_deg: float) -> tuple[float, float]:
    """Width and height of the upright box round a rectangle turned by `angle_deg` (0 to 90).

        w cos t + h sin t,   w sin t + h cos t

    Source: plane trigonometry; any text.

    >>> [round(side, 3) for side in turned_size(700.0, 1900.0, 10.0)]
    [1019.297, 1992.688]
    """
    turn = math.radians(angle_deg)
    c, s = math.cos(turn), math.sin(turn)
    return width * c + height * s, width * s + height * c


def short_side_needed(section_mm: tuple[float, float], long_side_mm: float) -> float:
    """Least shorter side of an opening that lets a section through, turned in its plane if need be.

        b = (2 p q a + (p^2 - q^2) sqrt(p^2 + q^2 - a^2)) / (p^2 + q^2)    where p > a, else q

    Args:
        section_mm: the section's two sides; p the larger, q the smaller, p > 0.
        long_side_mm: a, the longer side of the clear opening.

    Returns:
        b in mm. It may come out above a: then no opening with that longer side will do.

    Raises:
        ValueError: q > a. No angle helps.

    Leaves out: what protrudes from the section; a section led through askew to the opening's plane.
    Source: W. B. Carver, problem E 1225, American Mathematical Monthly 64 (1957), and J. E. Wetzel,
    Rectangles in rectangles, Mathematics Magazine 73 (2000); both from memory. Checked against a
    sweep of angles in the tests.

    >>> round(short_side_needed((2100.0, 100.0), 2000.0), 1)
    835.2
    """
    p, q = max(section_mm), min(section_mm)
    a = long_side_mm
    if q > a:
        raise ValueError("the section's smaller side exceeds the opening's longer side")
    if p <= a:
        return q
    return (2 * p * q * a + (p * p - q * q) * math.sqrt(p * p + q * q - a * a)) / (p * p + q * q)


def best_tilt(section_mm: tuple[float, float], opening_mm: tuple[float, float]) -> Tilt | None:
    """The lean that leaves most room where a section cannot be led through straight.

    The room left to the sides and above are equal there:

        cos(t + 45 deg) = (a - b) / (sqrt(2) (p - q)),   spare = a - (p cos t + q sin t)

    The room on each side is a convex function of the angle, so the lesser of the two is greatest
    there or at a straight position. The section goes through leaning exactly where spare >= 0.

    Args:
        section_mm: its two sides, p >= q after sorting.
        opening_mm: clear opening, a >= b after sorting.

    Returns:
        None where no lean does better than a straight position can (p - q <= a - b).

    Leaves out: as `short_side_needed`.
    Source: derived here; agrees with Carver's condition and with a sweep of angles in the tests.

    >>> tilt = best_tilt((2050.0, 50.0), (2000.0, 900.0))
    >>> round(tilt.angle_deg, 2), round(tilt.spare_mm, 1)
    (22.11, 82.0)
    """
    p, q = max(section_mm), min(section_mm)
    a, b = max(opening_mm), min(opening_mm)
    if p - q <= a - b or p <= q:
        return None
    turn = math.acos((a - b) / (math.sqrt(2) * (p - q))) - math.pi / 4
    return Tilt(math.degrees(turn), a - (p * math.cos(turn) + q * math.sin(turn)))
