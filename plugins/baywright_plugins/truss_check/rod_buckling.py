"""What each rod of a section takes before it bows: straight and elastic, or crooked."""

from dataclasses import dataclass

import numpy as np

from ..frame import Frame
from ..kit import Kit, euler_load_n
from ..kit.buckling_curves import imperfect_load_n
from .columns import sprung_length_factor
from .equilibrium import Floats


@dataclass(frozen=True)
class RodLoads:
    """Per kind of rod, in the order of the kit: free_length_mm between its seats, length_factor,
    euler_n, and imperfect_n where a strength was given (else the same as euler_n)."""

    free_length_mm: Floats
    length_factor: Floats
    bending_n_mm2: Floats
    euler_n: Floats
    imperfect_n: Floats
    crooked: bool

    @property
    def critical_n(self) -> Floats:
        """The smaller of both, shape (rods,)."""
        return np.minimum(self.euler_n, self.imperfect_n)


def rod_loads(
    kit: Kit, *, strength_n_per_mm2: float | None, curve: str, end_spring_n_mm_per_rad: float = 0.0
) -> RodLoads:
    """Buckling loads of the rods of a kit, free between their seats.

    Args:
        strength_n_per_mm2: in compression along the rod; None leaves crookedness out.
        curve: as in `kit.buckling_curves.reduction`.
        end_spring_n_mm_per_rad: turning stiffness of the seats; 0 is the safe side.

    Leaves out: hubs that turn as a whole, off-centre seats. Rods shorter than their seats do not
    buckle: infinite.
    Source: Euler; EN 1993-1-1:2005, 6.3.1 for crooked rods, whose curves are for steel.
    """
    inset = kit.frame_hub.seat.inset_mm
    rows = []
    for rod in kit.rods:
        free, bending = rod.pitch_mm - 2.0 * inset, rod.bending_rigidity_n_mm2
        if free <= 0.0:
            rows.append((0.0, 1.0, bending, np.inf, np.inf))
            continue
        factor = sprung_length_factor(bending, free, end_spring_n_mm_per_rad)
        euler = euler_load_n(free, bending, length_factor=factor)
        crooked = euler
        if strength_n_per_mm2 is not None:
            squash = strength_n_per_mm2 * rod.axial_rigidity_n / rod.modulus_n_per_mm2
            crooked = imperfect_load_n(squash, euler, curve)
        rows.append((free, factor, bending, euler, crooked))
    free_length, factors, bendings, eulers, crookeds = np.array(rows).T
    return RodLoads(
        free_length, factors, bendings, eulers, crookeds, strength_n_per_mm2 is not None
    )


@dataclass(frozen=True)
class Worst:
    """Of all cases and rods the pair with the lowest factor; infinite where nothing is pressed."""

    factor: float
    case: int
    member: int


def weakest_rod(part: Frame, loads: RodLoads, member_force_n: Floats) -> Worst:
    """The rod nearest to buckling, forces (cases, m), tension positive."""
    if not member_force_n.size:
        return Worst(np.inf, -1, -1)
    critical = loads.critical_n[part.rod]
    used = -member_force_n / critical
    case, member = np.unravel_index(int(used.argmax()), used.shape)
    worst = float(used[case, member])
    if worst <= 0.0:
        return Worst(np.inf, -1, -1)
    return Worst(1.0 / worst, int(case), int(member))
