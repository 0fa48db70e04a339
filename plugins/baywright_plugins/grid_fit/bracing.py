"""Can a bay be braced: is there a rod, or two in line, of the length of its diagonal?"""

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Diagonal:
    """What spans the diagonal of a bay: one rod, or two equal rods in line on a mid-hub.

    `rod` is the place of its kind; `share` the part of the play that the misfit takes up (None
    where there is no play).
    """

    rod: int
    in_line_count: int
    misfit_mm: float
    play_mm: float

    @property
    def share(self) -> float | None:
        if self.play_mm == 0:
            return 0.0 if self.misfit_mm == 0 else None
        return abs(self.misfit_mm) / self.play_mm

    @property
    def closes(self) -> bool:
        return abs(self.misfit_mm) <= self.play_mm


@dataclass(frozen=True)
class Bracing:
    """Of a bay: the diagonal it needs, the nearest single rod and, where there are mid-hubs, the
    nearest pair in line."""

    needed_mm: float
    single: Diagonal
    pair: Diagonal | None

    @property
    def best(self) -> Diagonal | None:
        """The diagonal that closes: one rod before two; None where neither does."""
        closing = [d for d in (self.single, self.pair) if d is not None and d.closes]
        return closing[0] if closing else None


def brace(
    bay_mm: tuple[float, float], pitches_mm: Sequence[float], *, play_mm: float, mid_hubs: bool
) -> Bracing:
    """What braces a bay of two pitches.

        needed = sqrt(a^2 + b^2);  one rod closes where |p - needed| <= 2 e,
        two in line where |2 p - needed| <= 4 e

    Args:
        bay_mm: a and b, > 0.
        pitches_mm: of the kit, at least one.
        play_mm: 2 e, of one rod with its two seats.
        mid_hubs: whether two rods can be joined in line.

    Leaves out: whether a pair in line stays straight when it is pressed.
    Source: Pythagoras; the closing rule is common practice, no source.

    >>> round(brace((120.0, 120.0), [169.6], play_mm=0.3, mid_hubs=False).single.misfit_mm, 2)
    -0.11
    """
    needed = math.hypot(*bay_mm)
    pair = _nearest(needed, pitches_mm, 2, play_mm) if mid_hubs else None
    return Bracing(needed, _nearest(needed, pitches_mm, 1, play_mm), pair)


def sway_mm(play_mm: float) -> float:
    """How far a singly braced square bay sways each way before its diagonal resists.

        2 e sqrt(2)

    Args:
        play_mm: 2 e, of one rod with its two seats.

    Source: geometry of a square of rigid sides; derived here.

    >>> round(sway_mm(0.3), 3)
    0.424
    """
    return play_mm * math.sqrt(2)


def _nearest(needed: float, pitches_mm: Sequence[float], count: int, play_mm: float) -> Diagonal:
    rod = min(range(len(pitches_mm)), key=lambda k: abs(count * pitches_mm[k] - needed))
    return Diagonal(rod, count, count * pitches_mm[rod] - needed, count * play_mm)
