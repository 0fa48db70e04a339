"""What share of its strength each rod and seat uses under given forces."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .panel_frame import Carried
from .panel_parts import Bar
from .panel_spec import Seat

Floats = NDArray[np.float64]

#: What may give, in the order of the rows of `Strength.usage`.
CHECKS = ("seat pulled", "seat bent", "seat pressed", "rod bows", "rod bent", "rod sheared")
_SEAT_CHECKS = 3


@dataclass(frozen=True)
class Strength:
    """Strengths of the bars (b,): axial ones, moments, and whether each end is in a seat (b, 2).

    `reserve` divides what seats may take: 1 for the first slip, more where hits come again and
    again."""

    bars: Sequence[Bar]
    seat: Seat
    reserve: float
    held: NDArray[np.bool_]
    compression_n: Floats
    length_mm: Floats
    area_mm2: Floats
    section_mm3: Floats
    bending_n_mm2: Floats
    shear_n_mm2: Floats

    @classmethod
    def of(cls, bars: Sequence[Bar], seat: Seat, reserve: float = 1.0) -> "Strength":
        """Strengths of a panel's rods."""
        columns = np.array(
            [
                (
                    bar.rod.compression_n,
                    bar.rod.pitch_mm / (1 if all(bar.held) else 2),
                    bar.rod.area_mm2,
                    bar.rod.section_mm3,
                    bar.rod.bending_strength_n_mm2,
                    bar.rod.shear_strength_n_mm2,
                )
                for bar in bars
                if bar.rod is not None
            ]
        ).T
        held = np.array([bar.held for bar in bars])
        return cls(bars, seat, reserve, held, *columns)

    def usage(self, carried: Carried) -> Floats:
        """Share of strength used, (6 checks, b, c).

            seat:  N/R + M/M_seat   (pulled where the first part leads, bent where the second)
            rod:   (|N|/A + |M|/W)/f_b,   (4/3) V/(A f_v),   -N/(Euler load/1.5)

            Leaves out: force across the seat, twist, deck.
        Source: stresses as in any text on mechanics of materials; adding pull and bending of a
        seat is common practice, no source.
        """
        axial, shape = carried.axial_n, (-1, 1)
        moment = carried.moment_n_mm
        size = np.sqrt((moment**2).sum(axis=2))
        in_seat = np.where(self.held[:, :, None], size, 0.0).max(axis=1)
        bent = in_seat * (self.reserve / self.seat.moment_n_mm)
        pulled = np.maximum(axial, 0.0) * (self.reserve / self.seat.pull_out_n)
        pressed = np.maximum(-axial, 0.0) * (self.reserve / self.seat.bearing_n)
        pull = pulled + bent
        leads = pulled >= bent
        stress = np.abs(axial) / self.area_mm2.reshape(shape)
        stress = stress + size.max(axis=1) / self.section_mm3.reshape(shape)
        shear = np.sqrt((moment.sum(axis=1) ** 2).sum(axis=1)) / self.length_mm.reshape(shape)
        return np.stack(
            [
                np.where(leads, pull, 0.0),
                np.where(leads, 0.0, pull),
                pressed + np.where(axial < 0, bent, 0.0),
                np.maximum(-axial, 0.0) / self.compression_n.reshape(shape),
                stress / self.bending_n_mm2.reshape(shape),
                shear / (0.75 * self.area_mm2 * self.shear_n_mm2).reshape(shape),
            ]
        )

    def worst(
        self, carried: Carried, *, seats_only: bool = False
    ) -> tuple[Floats, NDArray[np.int64], NDArray[np.int64]]:
        """Per case: largest share, which check, which bar; each (c,)."""
        used = self.usage(carried)[: _SEAT_CHECKS if seats_only else None]
        cases = used.shape[2]
        flat = used.reshape(-1, cases)
        # Mirror images are equal but for the last digits: the first of them is named.
        leader = np.argmax(flat >= flat.max(axis=0) * (1 - 1e-9), axis=0)
        check, bar = np.unravel_index(leader, used.shape[:2])
        return flat.max(axis=0), check.astype(np.int64), bar.astype(np.int64)


def force_at(
    strength: Strength, carried: Carried, still: Carried, *, seats_only: bool = False
) -> Floats:
    """Force of the hit at which some seat (or rod) is used up, own weight included, (c,).

    Usage is convex in the force: bracketed, then halved. 0 where the own weight is too much; a
    force of 2^40 N stands for never.

    Source: bisection.
    """
    cases = carried.axial_n.shape[1]
    low, high = np.zeros(cases), np.ones(cases)

    def over(force: Floats) -> NDArray[np.bool_]:
        used = strength.worst(carried.swung(force, still), seats_only=seats_only)[0]
        return np.asarray(used >= 1)

    for _ in range(40):
        short = ~over(high)
        if not short.any():
            break
        low, high = np.where(short, high, low), np.where(short, 2 * high, high)
    for _ in range(30):
        middle = (low + high) / 2
        much = over(middle)
        low, high = np.where(much, low, middle), np.where(much, middle, high)
    return low
