"""What a seated rod is worth: stiffness with both seats, buckling, compression."""

import math


def seated_stiffness_n_per_mm(
    pitch_mm: float, axial_rigidity_n: float, seat_stiffness_n_per_mm: float
) -> float:
    """Axial stiffness of a rod with a seat at each end.

        k = 1 / (L / (E A) + 2 / k_s)

    Args:
        pitch_mm: L, node centre to node centre, > 0.
        axial_rigidity_n: E A, > 0.
        seat_stiffness_n_per_mm: k_s of one seat, > 0.

    Leaves out: play (no force within it) and any loss of stiffness with use.
    Source: springs in series; any text on the mechanics of materials.

    >>> round(seated_stiffness_n_per_mm(120.0, 12000 * 50.2655, 250.0), 1)
    122.0
    """
    return 1.0 / (pitch_mm / axial_rigidity_n + 2.0 / seat_stiffness_n_per_mm)


def euler_load_n(
    length_mm: float, bending_rigidity_n_mm2: float, *, length_factor: float = 1.0
) -> float:
    """Elastic buckling load of a straight rod.

        N_E = pi^2 E I / (K c)^2

    Args:
        length_mm: c, free length between seats, > 0.
        bending_rigidity_n_mm2: E I, > 0.
        length_factor: K; 1 for pinned ends, which is the safe side for a seated rod.

    Leaves out: bow, off-centre load, creep.
    Source: Euler 1744; effective length factors as in AISC 360, Commentary Table C-A-7.1.

    >>> round(euler_load_n(1400.0, 36.89015173477815e6), 3)
    185.761
    """
    return math.pi**2 * bending_rigidity_n_mm2 / (length_factor * length_mm) ** 2


def compression_capacity_n(
    free_length_mm: float,
    bending_rigidity_n_mm2: float,
    bearing_n: float,
    *,
    buckling_margin: float = 1.5,
) -> float:
    """What a seated rod takes in compression: the smaller of bearing and Euler load / margin.

    Args:
        free_length_mm: between the rod's seats. Where it is not above 0 bearing decides.
        bending_rigidity_n_mm2: E I.
        bearing_n: what one seat takes in compression.
        buckling_margin: divides the Euler load for crookedness and off-centre seats.

    Source: Euler; the margin of 1.5 is common practice, no source.
    """
    if free_length_mm <= 0:
        return bearing_n
    return min(bearing_n, euler_load_n(free_length_mm, bending_rigidity_n_mm2) / buckling_margin)
