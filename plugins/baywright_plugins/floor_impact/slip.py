"""What a hit above the first slip does to a seat. Newtons, millimetres, N mm, radians."""


def left_over_n_mm(force_n: float, slips_at_n: float, stiffness_n_mm: float) -> float:
    """Energy of a hit that the panel cannot hold by springing: (F^2 - F_1^2)/(2 k); 0 below F_1.

    Source: energy of a spring that yields at a steady force.
    """
    return max(force_n**2 - slips_at_n**2, 0.0) / (2 * stiffness_n_mm)


def slip_per_hit(energy_n_mm: float, holds: float) -> float:
    """How far a seat that keeps its force slides (mm, pull-out in N) or turns (rad, moment in
    N mm) until it has eaten the energy.

    Leaves out: neighbours that slip too and share it; seats that let go instead of sliding.
    Source: work.
    """
    return energy_n_mm / holds
