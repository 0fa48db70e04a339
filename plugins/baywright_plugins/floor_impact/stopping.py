"""Slowing a ball: how far it must be allowed to sink in so that the force stays small.

Newtons, millimetres, N mm.
"""


def even_way_mm(energy_n_mm: float, weight_n: float, force_n: float) -> float | None:
    """Way at a steady force: s = E/(F - W); no way is shorter. None where the force is too small.

    Without the weight s = h/(deceleration in g). Source: work.
    """
    return energy_n_mm / (force_n - weight_n) if force_n > weight_n else None


def spring_way_mm(energy_n_mm: float, weight_n: float, force_n: float) -> float | None:
    """Way on a linear spring that reaches the force at its end: s = 2 E/(F - 2 W).

    None where even a ball laid down suddenly (twice its weight) is too much.
    Leaves out: losses, which shorten it; felt that stiffens, which lengthens it.
    Source: energy, E + W s = F s/2.
    """
    return 2 * energy_n_mm / (force_n - 2 * weight_n) if force_n > 2 * weight_n else None
