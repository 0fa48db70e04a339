"""A section on castors: what each wheel bears, and what a step asks of the push."""

from collections.abc import Sequence

import numpy as np

#: Proof load over the normal load of the castor that bears most.
PROOF_FACTOR = 4.0


def corner_loads(
    base_mm: tuple[float, float], centre_mm: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Shares of four castors at the corners of a base, order left front, right front, left back,
    right back; `centre_mm` from the left front one.

    A stiff body on four equal springs; negative where a castor would be lifted.
    Source: statics of a rigid plate on four equal springs.
    """
    u = centre_mm[0] / base_mm[0] - 0.5
    v = centre_mm[1] / base_mm[1] - 0.5
    left_front, right_front, left_back, right_back = (
        0.25 + sx * u / 2 + sy * v / 2 for sy in (-1, 1) for sx in (-1, 1)
    )
    return left_front, right_front, left_back, right_back


def design_load_kg(mass_kg: float) -> float:
    """Each of four castors bears a third of all, since one may hang free.

    Source: castor trade rule, common practice (from memory).
    """
    return mass_kg / 3.0


def proof_load_n(loads_n: Sequence[float]) -> float:
    """Four times the load of the castor that bears most. Source: IEC 61010-1, 7.4 d)."""
    return PROOF_FACTOR * float(np.max(loads_n))


def stands_on_three(base_mm: tuple[float, float], centre_mm: tuple[float, float]) -> bool:
    """Whether it stays up whichever of the four castors is away: only where the centre of mass
    lies on both diagonals of the base, and then only just.

    Source: IEC 61010-1, 7.4 e); geometry of the triangles of three feet.
    """
    u, v = (centre_mm[k] / base_mm[k] for k in (0, 1))
    return abs(u - 0.5) < 1e-9 and abs(v - 0.5) < 1e-9
