"""Does a thing that stands in a vehicle tip before it slides?"""

from collections.abc import Sequence

from .cargo import Attitude, Handling, Triple

#: Least half base to height of centre: sideways for what may tip, and forwards.
#: EN 12195-1, acceleration coefficients for road transport.
BEND_RATIO = 0.6
BRAKING_RATIO = 0.8


def centre_mm(size_mm: Triple, handling: Handling) -> Triple:
    """Centre of mass from the lower corner of the box as it stands; mid-height if not known."""
    x, y, z = size_mm
    height = z / 2 if handling.centre_height_mm is None else min(handling.centre_height_mm, z)
    return x / 2, y / 2, height


def tipping_ratios(size_mm: Triple, handling: Handling, attitude: Attitude) -> tuple[float, float]:
    """Half base over height of the centre of mass: along the vehicle, and across it.

    A thing stands against an acceleration of c g where b/h >= c: moments about the edge of its
    base. The base is the box's side, or the feet's where it stands upright on feet; the shorter
    way from the centre to an edge counts.

    Leaves out: springs and sway of the vehicle, give of a frame, walls and neighbours that hold.
    Source: EN 12195-1, section 5 (stability of an unlashed load); statics.

    >>> feet = Handling(centre_height_mm=750.0, base_mm=(600.0, 600.0))
    >>> tipping_ratios((634.0, 634.0, 1903.0), feet, Attitude(0, 1, 2))
    (0.4, 0.4)
    """
    centre = centre_mm(size_mm, handling)
    height = centre[attitude.up]
    if attitude.up == 2 and handling.base_mm is not None:
        half: Sequence[float] = [side / 2 for side in handling.base_mm]
    else:
        half = [min(c, side - c) for c, side in zip(centre, size_mm, strict=True)]
    if height <= 0:
        return float("inf"), float("inf")
    return half[attitude.along] / height, half[attitude.across] / height
