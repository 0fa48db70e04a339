"""Hook teeth that comb through a grid of ribs: clearances and how tolerances gather."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Comb:
    """Tongue and hook seen from above, lengths in mm across the lift; tolerances are plus-minus.

    Rib k stands at k x pitch, and its place is measured from rib to rib, starting at
    `datum_rib`: the tolerance of the pitch gathers from there. Tooth i of the hook passes between
    rib `first_gap + i` and the next; teeth are measured from the middle of the hook outwards.
    """

    ribs: int
    rib_pitch: float
    rib_width: float
    teeth: int
    tooth_pitch: float
    tooth_width: float
    first_gap: int
    datum_rib: int
    offset: float
    rib_pitch_tol: float
    rib_width_tol: float
    tooth_pitch_tol: float
    tooth_width_tol: float
    shared_tols: tuple[float, ...]


@dataclass(frozen=True)
class Clearances:
    """Left and right of each tooth: arrays of shape (teeth, 2), mm; negative: they touch.

    `ribs` holds the index of the rib on that side.
    """

    nominal: Floats
    worst: Floats
    likely: Floats
    ribs: NDArray[np.int64]

    def binding(self) -> tuple[int, int]:
        """Tooth and side (0 left, 1 right) with the least worst-case clearance."""
        tooth, side = divmod(int(np.argmin(self.worst)), 2)
        return tooth, side


def clearances(comb: Comb) -> Clearances:
    """Clearance of every tooth to the rib on each side: nominal, worst case, root-sum-square.

    A clearance is the difference of the rib's face and the tooth's face, and its tolerance the
    sum (worst case) or the root of the sum of squares of: one rib-pitch tolerance for each pitch
    from the datum, half the rib's width, one tooth-pitch tolerance for each pitch from the
    hook's middle, half the tooth's width, and what the whole hook does.

    Source: tolerance chains, worst case and root-sum-square, e.g. P. J. Drake, Dimensioning and
    Tolerancing Handbook, chapter 9 (from memory).
    """
    number = np.arange(comb.teeth)
    middle = (comb.teeth - 1) / 2.0
    centre_gap = comb.first_gap + middle
    tooth_at = (centre_gap + 0.5) * comb.rib_pitch + (number - middle) * comb.tooth_pitch
    tooth_at = tooth_at + comb.offset
    ribs = np.stack([number + comb.first_gap, number + comb.first_gap + 1], axis=1)
    faces = comb.rib_width / 2.0 + comb.tooth_width / 2.0
    nominal = np.stack(
        [
            tooth_at - ribs[:, 0] * comb.rib_pitch - faces,
            ribs[:, 1] * comb.rib_pitch - tooth_at - faces,
        ],
        axis=1,
    )
    rib_steps = np.abs(ribs - comb.datum_rib).astype(float)
    tooth_steps = np.abs(number - middle)[:, None]
    alone = [comb.rib_width_tol / 2.0, comb.tooth_width_tol / 2.0, *comb.shared_tols]
    worst = rib_steps * comb.rib_pitch_tol + tooth_steps * comb.tooth_pitch_tol + sum(alone)
    squares = (
        rib_steps * comb.rib_pitch_tol**2
        + tooth_steps * comb.tooth_pitch_tol**2
        + sum(tol * tol for tol in alone)
    )
    return Clearances(nominal, nominal - worst, nominal - np.sqrt(squares), ribs.astype(np.int64))


def widest_tooth(comb: Comb, least_clearance: float, wanted: float) -> float:
    """Tooth width at which the least clearance becomes `wanted`: both faces move by half."""
    return comb.tooth_width + 2.0 * (least_clearance - wanted)


def narrowest_gap(comb: Comb, least_clearance: float, wanted: float) -> float:
    """Gap between neighbouring ribs (same pitch, thicker ribs) at which `wanted` is left."""
    return comb.rib_pitch - comb.rib_width - 2.0 * (least_clearance - wanted)


def best_datum(comb: Comb) -> tuple[int, float]:
    """The rib to place all others from that leaves the most, and what is left, worst case."""
    least = [float(clearances(replace(comb, datum_rib=k)).worst.min()) for k in range(comb.ribs)]
    best = max(range(comb.ribs), key=lambda k: (round(least[k], 9), -k))
    return best, least[best]
