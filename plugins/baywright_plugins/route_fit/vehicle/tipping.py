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


def stack_ratio(parts: Sequence[tuple[float, float, float]], base_mm: tuple[float, float]) -> float:
    """Distance of a stack's centre of mass from the nearer edge of its base, over its height.

    Args:
        parts: mass (or volume, where masses are not known), place of the centre across the
            vehicle, and its height above the base, of each thing in the stack.
        base_mm: the two edges of the lowest thing across the vehicle.

    Returns:
        b/h as for one thing: the stack held together tips as one. 0 where the centre lies beyond
        an edge; infinite where everything is at the height of the base.

    Source: as `tipping_ratios`; centre of mass of several bodies.

    >>> round(stack_ratio([(2.0, 300.0, 200.0), (1.0, 300.0, 700.0)], (0.0, 600.0)), 3)
    0.818
    """
    total = sum(mass for mass, _, _ in parts)
    across = sum(mass * place for mass, place, _ in parts) / total
    height = sum(mass * up for mass, _, up in parts) / total
    reach = max(0.0, min(across - base_mm[0], base_mm[1] - across))
    return reach / height if height > 0 else float("inf")
