"""Beams of trusses as columns: laced built-up members that shear as well as bend."""

import math
from dataclasses import dataclass


def lacing_shear_stiffness_n(
    system: str,
    *,
    planes: int,
    diagonal_rigidity_n: float,
    panel_mm: float,
    chord_distance_mm: float,
    post_rigidity_n: float = math.inf,
) -> float:
    """Shear stiffness S_v of the lacing of a built-up column.

    With a the panel (length along the chord that one diagonal spans), h the distance of the
    chords and d = sqrt(a^2 + h^2) the length of a diagonal:

        single   n E A_d a h^2 / d^3                     zigzag without posts, or stiff posts
        posts    the same / (1 + A_d h^3 / (A_v d^3))    one diagonal and a post in each panel
        crossed  2 n E A_d a h^2 / d^3                   two diagonals in each panel

    Args:
        system: single, posts or crossed.
        planes: n, parallel planes of lacing.
        diagonal_rigidity_n: E A_d of one diagonal.
        panel_mm: a.
        chord_distance_mm: h.
        post_rigidity_n: E A_v of one post; used by `posts` only.

    Raises:
        KeyError: no such system.

    Leaves out: slip in the joints, which is why rigidities should hold the seats in series.
    Source: EN 1993-1-1:2005, 6.4.2 and Figure 6.9, whose a is the chord length between two
    lacing points of the same chord: twice the panel here for the zigzag and the crossed lacing.
    """
    diagonal = math.hypot(panel_mm, chord_distance_mm)
    one = planes * diagonal_rigidity_n * panel_mm * chord_distance_mm**2 / diagonal**3
    posts = 1.0 + (diagonal_rigidity_n / post_rigidity_n) * (chord_distance_mm / diagonal) ** 3
    return {"single": one, "posts": one / posts, "crossed": 2.0 * one}[system]


@dataclass(frozen=True)
class BuiltUp:
    """Critical loads of a built-up column in N; `governs` is whole-column or chord."""

    euler_n: float
    engesser_n: float
    chord_n: float

    @property
    def critical_n(self) -> float:
        return min(self.engesser_n, self.chord_n)

    @property
    def governs(self) -> str:
        return "whole-column" if self.engesser_n <= self.chord_n else "chord"


def built_up_column(
    *,
    length_mm: float,
    chord_distance_mm: float,
    chord_rigidity_n: float,
    chord_bending_n_mm2: float,
    chord_panel_mm: float,
    shear_stiffness_n: float,
    chords: int = 2,
    length_factor: float = 1.0,
) -> BuiltUp:
    """Critical load of a laced column, and of its chords between lacing points.

        1 / N_cr = 1 / N_E + 1 / S_v,   N_E = pi^2 E I_eff / (K L)^2,   I_eff = m h^2 A_ch / 4
        chords buckle together at m pi^2 E I_ch / a^2

    Args:
        length_mm: L.
        chord_distance_mm: h, between chord axes in the plane of buckling.
        chord_rigidity_n: E A of one chord.
        chord_bending_n_mm2: E I of one chord.
        chord_panel_mm: a, free length of a chord between lacing points.
        shear_stiffness_n: S_v, all planes together.
        chords: m, all chords (2 in a plane column, 4 in a box beam).
        length_factor: K; 1 pinned, 2 for a cantilever.

    Leaves out: bending of the chords as part of the whole, joint slip, crookedness.
    Source: F. Engesser 1891; EN 1993-1-1:2005, 6.4.1.
    """
    bending = chords * chord_distance_mm**2 * chord_rigidity_n / 4.0
    euler = math.pi**2 * bending / (length_factor * length_mm) ** 2
    engesser = 1.0 / (1.0 / euler + 1.0 / shear_stiffness_n)
    chord = chords * math.pi**2 * chord_bending_n_mm2 / chord_panel_mm**2
    return BuiltUp(euler, engesser, chord)


def second_order_moment_n_mm(
    axial_n: float, length_mm: float, euler_n: float, shear_stiffness_n: float
) -> float:
    """Moment at the middle of a built-up column with a bow of L / 500.

        M = N e0 / (1 - N / N_E - N / S_v),   e0 = L / 500

    Raises:
        ValueError: the load reaches what the column can carry.

    Source: EN 1993-1-1:2005, 6.4.1(6), without a first-order moment.

    >>> round(second_order_moment_n_mm(200.0, 1500.0, 2500.0, 8000.0), 2)
    670.39
    """
    left = 1.0 - axial_n / euler_n - axial_n / shear_stiffness_n
    if left <= 0.0:
        raise ValueError("the load reaches what the column can carry")
    return axial_n * (length_mm / 500.0) / left
