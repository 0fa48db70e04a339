"""How a load carried at two ends divides between them, level and tilted."""

import math


def low_end_share(from_low_mm: float, span_mm: float, above_mm: float, tilt_deg: float) -> float:
    """Share of the weight on the lower of two grips; below 0 or above 1 the other end must be
    pulled down.

        low / W = (L - c) / L + (h / L) tan t

    Args:
        from_low_mm: c, from the low grip to the centre of mass along the line of the grips.
        span_mm: L, between the grips, > 0. above_mm: h, centre of mass above that line (negative
        where it hangs below). tilt_deg: t, of the line, below 90.

    Leaves out: sideways forces of the carriers, swing, steps taken out of time.
    Source: moments about the upper grip; with c = L/2 it is W (1/2 + (h/L) tan t).

    >>> round(400 * low_end_share(1000, 2000, 300, 30), 3)
    234.641
    """
    return (span_mm - from_low_mm + above_mm * math.tan(math.radians(tilt_deg))) / span_mm


def rests(distance_m: float, between_m: float) -> int:
    """Rests on a way where one is due after every `between_m`; none at its end.

    Source: HSE L23, about 10 m without a rest.
    """
    return max(math.ceil(distance_m / between_m - 1e-9) - 1, 0)
