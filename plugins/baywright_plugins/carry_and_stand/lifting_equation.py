"""The revised NIOSH lifting equation: what most healthy people may lift, given how they lift it."""

from dataclasses import dataclass

import numpy as np

#: Load constant, kg.
LOAD_CONSTANT_KG = 23.0
#: From this height of the hands on, grips and pace count milder.
HIGH_CM = 75.0

DURATIONS = ("up-to-1-h", "up-to-2-h", "up-to-8-h")
COUPLINGS = ("good", "fair", "poor")

_PER_MIN = (0.2, 0.5, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15)
#: Frequency multipliers: hands below 75 cm, and from 75 cm on.
_FM: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "up-to-1-h": (
        (1, 0.97, 0.94, 0.91, 0.88, 0.84, 0.8, 0.75, 0.7, 0.6, 0.52, 0.45, 0.41, 0.37, 0, 0, 0),
        (
            *(1, 0.97, 0.94, 0.91, 0.88, 0.84, 0.8, 0.75, 0.7, 0.6, 0.52, 0.45, 0.41, 0.37),
            *(0.34, 0.31, 0.28),
        ),
    ),
    "up-to-2-h": (
        (0.95, 0.92, 0.88, 0.84, 0.79, 0.72, 0.6, 0.5, 0.42, 0.35, 0.3, 0.26, 0, 0, 0, 0, 0),
        (0.95, 0.92, 0.88, 0.84, 0.79, 0.72, 0.6, 0.5, 0.42, 0.35, 0.3, 0.26, 0.23, 0.21, 0, 0, 0),
    ),
    "up-to-8-h": (
        (0.85, 0.81, 0.75, 0.65, 0.55, 0.45, 0.35, 0.27, 0.22, 0.18, 0, 0, 0, 0, 0, 0, 0),
        (0.85, 0.81, 0.75, 0.65, 0.55, 0.45, 0.35, 0.27, 0.22, 0.18, 0.15, 0.13, 0, 0, 0, 0, 0),
    ),
}
_CM = {"good": (1.0, 1.0), "fair": (0.95, 1.0), "poor": (0.9, 0.9)}


@dataclass(frozen=True)
class Hands:
    """Where the hands are at one end of a lift: ahead of the ankles, above the floor, turned."""

    reach_cm: float
    height_cm: float
    twist_deg: float = 0.0


@dataclass(frozen=True)
class Limit:
    """Recommended weight limit (kg) and the six multipliers in the order H V D A F C."""

    limit_kg: float
    multipliers: tuple[float, float, float, float, float, float]


def horizontal(reach_cm: float) -> float:
    """HM = 25/H; 1 up to 25 cm, 0 beyond 63 cm. Source: NIOSH 94-110, 1.3.1 and Table 1."""
    return 0.0 if reach_cm > 63.0 else 25.0 / max(reach_cm, 25.0)


def vertical(height_cm: float) -> float:
    """VM = 1 - 0.003 |V - 75|; 0 above 175 cm. Source: NIOSH 94-110, 1.3.2 and Table 2."""
    return 0.0 if not 0.0 <= height_cm <= 175.0 else 1.0 - 0.003 * abs(height_cm - 75.0)


def distance(lift_cm: float) -> float:
    """DM = 0.82 + 4.5/D; 1 up to 25 cm, 0 above 175 cm. Source: NIOSH 94-110, 1.3.3, Table 3."""
    return 0.0 if lift_cm > 175.0 else 0.82 + 4.5 / max(lift_cm, 25.0)


def asymmetry(twist_deg: float) -> float:
    """AM = 1 - 0.0032 A; 0 above 135 degrees. Source: NIOSH 94-110, 1.3.4 and Table 4."""
    return 0.0 if twist_deg > 135.0 else 1.0 - 0.0032 * twist_deg


def frequency(per_min: float, duration: str, height_cm: float) -> float:
    """FM, straight lines between the entries of the table; 0 beyond 15 per minute.

    Source: NIOSH 94-110, Table 5 (columns for 2 h and 8 h from memory).
    """
    if per_min > _PER_MIN[-1]:
        return 0.0
    return float(np.interp(per_min, _PER_MIN, _FM[duration][height_cm >= HIGH_CM]))


def coupling(grip: str, height_cm: float) -> float:
    """CM. Source: NIOSH 94-110, Table 7."""
    return _CM[grip][height_cm >= HIGH_CM]


def adjusted_per_min(rate_per_min: float, lifting_min: float) -> float:
    """Lifts per minute over a sample of 15 minutes of which `lifting_min` are spent lifting.

    Source: NIOSH 94-110, 1.3.5.5.

    >>> round(adjusted_per_min(10, 8), 4)
    5.3333
    """
    return rate_per_min * min(lifting_min, 15.0) / 15.0


def recommended(
    constant: float, multipliers: tuple[float, float, float, float, float, float]
) -> float:
    """RWL: the load constant times HM, VM, DM, AM, FM, CM, in the unit of the constant."""
    return constant * float(np.prod(multipliers))


def recommended_limit(
    hands: Hands, lift_cm: float, *, per_min: float, duration: str, grip: str
) -> Limit:
    """The recommended weight limit at one end of a lift.

    Leaves out, as the equation does: carrying, one hand, slippery floors, heat, people together.
    Source: NIOSH Publication 94-110 (revised 9/2021), section 1.
    """
    each = (
        horizontal(hands.reach_cm),
        vertical(hands.height_cm),
        distance(lift_cm),
        asymmetry(hands.twist_deg),
        frequency(per_min, duration, hands.height_cm),
        coupling(grip, hands.height_cm),
    )
    return Limit(recommended(LOAD_CONSTANT_KG, each), each)
