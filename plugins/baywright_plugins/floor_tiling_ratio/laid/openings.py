"""What gets through a mesh. Millimetres."""

import math


def largest_ball_through(width_mm: float, height_mm: float, *, cord: bool) -> float:
    """Diameter of the largest ball that passes an opening of width by height.

    Rigid bars: the smaller side. Cord: the four sides bend to a circle of the same length, so
    2 (w + h)/pi; 4 a/pi for a square.

    Leaves out: bars that bend, cord that stretches, knots that slip.
    Source: geometry; tests hold it against the small-ball gauge of 16 CFR 1500.18(a)(17) and
    against meshes that are in use for tennis and hockey balls.
    """
    return 2 * (width_mm + height_mm) / math.pi if cord else min(width_mm, height_mm)


def is_held(ball_mm: float, width_mm: float, height_mm: float, *, cord: bool) -> bool:
    """Whether the mesh holds a ball: it is larger than what passes."""
    return ball_mm > largest_ball_through(width_mm, height_mm, cord=cord)
