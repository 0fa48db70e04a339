"""A box carried up a flight of stairs under its headroom, and turned on the landings."""

import math

import numpy as np


def level_need(length_mm: float, height_mm: float, slope: float) -> float:
    """Headroom (plumb) that a box kept level takes up on a flight.

        h + L tan a

    Its lower edge clears the step edges at the upper end, its upper edge the ceiling at the lower.

    Source: plane trigonometry; held against a search over positions in the tests.

    >>> level_need(1000.0, 500.0, math.atan2(180.0, 270.0))
    1166.6666666666665
    """
    return height_mm + length_mm * math.tan(slope)


def along_need(height_mm: float, slope: float) -> float:
    """Headroom (plumb) that a box takes up whose base lies along the stairs: h / cos a.

    Source: plane trigonometry; headroom is measured plumb, from the line through the step edges.

    >>> round(along_need(500.0, math.radians(33.69)), 1)
    600.9
    """
    return height_mm / math.cos(slope)


def bend_room(
    length_mm: float, height_mm: float, slope: float, landing_mm: float, flight_mm: float
) -> float:
    """Room left where a box passes from the level to the slope, or at the top the other way.

        min over t of H1 cos t - sin t (x + L sin(a - t) / sin a) - h,   0 <= t <= a,
        x = (H1 - H) / tan a

    with both ends of its base on floor and steps, as a ladder in a bent corridor; the edge of the
    ceiling over the foot of the flight is the inner corner. At the top the two change places: the
    ceiling bends, the top step is the inner corner.

    Args:
        length_mm, height_mm: L, h of the box in the plane of the flight.
        slope: a in radians, > 0.
        landing_mm: H1, headroom over the landing, what is kept free taken off.
        flight_mm: H, headroom over the flight (plumb), likewise.

    Returns:
        mm, measured across the box; below 0 it sticks.

    Leaves out: bending with the box off the floor at one end, a ceiling that is not plain.
    Source: the corner of two corridors (Stewart, Calculus) for another angle, derived here; held
    against a search over positions in the tests.
    """
    turn = np.linspace(0.0, slope, 201)
    offset = (landing_mm - flight_mm) / math.tan(slope)
    s, c = np.sin(turn), np.cos(turn)
    rooms = landing_mm * c - s * (offset + length_mm * np.sin(slope - turn) / math.sin(slope))
    # between two angles the curve dips by at most its curvature times step^2 / 8
    curvature = abs(landing_mm) + abs(offset) + 4 * length_mm / math.sin(slope)
    return float(rooms.min()) - height_mm - curvature * (slope / 200) ** 2 / 8


def landing_need(
    length_mm: float, width_mm: float, height_mm: float, slope: float, sides_mm: tuple[float, float]
) -> float:
    """Headroom (plumb) that suffices for turning a box level on a landing.

        h + tan a x (greatest reach beyond the landing, over both flights together)

    Where the box stands out over the flight below, the ceiling comes down; over the flight above,
    the steps come up. The reach is bounded by sqrt(L^2 + B^2) less a side, and sqrt 2 (L + B) less
    both.

    Source: derived here, an upper bound: it may fit with less.
    """
    one, two = sides_mm
    reach = max(
        math.hypot(length_mm, width_mm) - min(one, two),
        math.sqrt(2) * (length_mm + width_mm) - one - two,
        0.0,
    )
    return height_mm + math.tan(slope) * reach
