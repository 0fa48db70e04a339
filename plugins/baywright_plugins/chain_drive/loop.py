"""The closed loop of a chain: exact length and centre distance, what the adjuster reaches."""

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from ..lift_redundancy.chain import pitch_diameter

Teeth = tuple[int, int]


def least_centre(teeth: Teeth) -> float:
    """Centre distance in pitches below which the smaller pitch circle lies inside the larger."""
    small, large = (pitch_diameter(1.0, z) for z in sorted(teeth))
    return (large - small) / 2.0


def exact_length(teeth: Teeth, centre: float) -> float:
    """Length of a taut chain around two sprockets, in pitches.

        sin a = (D2 - D1) / (2 C);   L = 2 C cos a + z1 (1/2 - a/pi) + z2 (1/2 + a/pi)

    Straight runs are tangents of the pitch circles; the arcs hold as many links as teeth.

    Args:
        teeth: of the two sprockets, in either order.
        centre: distance between the shafts in pitches, not below `least_centre`.

    Leaves out: sag, and that straight runs hold no whole number of links (under 0.05 link).
    Source: ISO 606, calculation of chain length and centre distance (from memory); plane geometry.

    >>> exact_length((15, 15), 132.5)
    280.0
    """
    z1, z2 = sorted(teeth)
    a = 0.0 if z1 == z2 else math.asin(min(1.0, least_centre(teeth) / centre))
    return 2.0 * centre * math.cos(a) + z1 * (0.5 - a / math.pi) + z2 * (0.5 + a / math.pi)


def exact_centre(teeth: Teeth, length: float) -> float:
    """Centre distance in pitches at which a chain of `length` pitches is taut.

    Raises:
        ValueError: the chain is too short to go around both sprockets.

    Source: `exact_length` solved by Brent's method to 1e-12 pitches.

    >>> exact_centre((15, 15), 280.0)
    132.5
    """
    if teeth[0] == teeth[1]:
        if length <= teeth[0]:
            raise ValueError("too short")
        return (length - teeth[0]) / 2.0
    low = least_centre(teeth)
    if exact_length(teeth, low) >= length:
        raise ValueError("too short")
    root = brentq(lambda c: exact_length(teeth, c) - length, low, length, xtol=1e-12)
    return float(root)


def sag_length(span: float, sag: float) -> float:
    """Chain that a slack run of `span` takes up beyond the straight when it sags by `sag`.

        8 sag^2 / (3 span)

    Source: flat parabola in place of the catenary, any handbook; within 1 % below a sag of 1/10.

    >>> round(sag_length(1000.0, 20.0), 3)
    1.067
    """
    return 8.0 * sag * sag / (3.0 * span)


@dataclass(frozen=True)
class TakeUp:
    """What an adjuster does for a chain, lengths in mm, wear as a share of the length.

    `tighten_mm` and `slacken_mm` are left from where the new chain is taut (negative: out of
    reach). `wear_reached` is the wear at which the adjuster ends; `two_out_wear` the wear from
    which a chain two links shorter goes on again (None where that chain is too short).
    """

    tighten_mm: float
    slacken_mm: float
    wear_reached: float
    wear_needs_mm: float
    two_out_wear: float | None


def take_up(
    pitch: float, teeth: Teeth, links: int, shortest_mm: float, longest_mm: float, wear: float
) -> TakeUp:
    """What an adjuster from `shortest_mm` to `longest_mm` leaves for a chain of `links`.

    Args:
        pitch: of the chain, mm.
        wear: share by which the chain is to grow before it is replaced.

    Raises:
        ValueError: the chain is too short to go around both sprockets.
    """
    taut = exact_centre(teeth, links) * pitch
    least = least_centre(teeth) * pitch
    reached = exact_length(teeth, max(longest_mm, least) / pitch) / links - 1.0
    two_out = None
    if links > 2 and shortest_mm >= least:
        two_out = exact_length(teeth, shortest_mm / pitch) / (links - 2) - 1.0
    return TakeUp(
        tighten_mm=longest_mm - taut,
        slacken_mm=taut - shortest_mm,
        wear_reached=reached,
        wear_needs_mm=exact_centre(teeth, links * (1.0 + wear)) * pitch - taut,
        two_out_wear=two_out,
    )


def even_links_between(pitch: float, teeth: Teeth, shortest_mm: float, longest_mm: float) -> range:
    """The even numbers of links that are taut between two centre distances in mm."""
    least = least_centre(teeth) * pitch
    if longest_mm < least:
        return range(0)
    low = exact_length(teeth, max(shortest_mm, least) / pitch)
    high = exact_length(teeth, longest_mm / pitch)
    return range(2 * math.ceil((low - 1e-9) / 2.0), 2 * math.floor((high + 1e-9) / 2.0) + 1, 2)
