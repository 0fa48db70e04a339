"""What crosses a joint: is it long enough, does it bind, does it bear what the gap does?"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Piece:
    """A bridging piece as asked: how it crosses ("over", "in", "loose"), length, wanted bearing on
    each side, what it bears, and how much it may grow; all mm."""

    how: str
    length_mm: float
    bearing_mm: float
    tolerance_mm: float
    growth_mm: float


@dataclass(frozen=True)
class Crossing:
    """A piece at one gap; what does not apply is None. moves_mm: how much gap and piece change
    against each other from one end of the play to the other."""

    needed_mm: float
    most_mm: float | None
    moves_mm: float
    bearing_mm: float | None = None
    bearing_least_mm: float | None = None
    slit_mm: float | None = None
    slit_least_mm: float | None = None
    slit_most_mm: float | None = None
    slack_mm: float | None = None
    long_enough: bool = True
    short_enough: bool = True
    within_tolerance: bool = True

    @property
    def fits(self) -> bool:
        return self.long_enough and self.short_enough and self.within_tolerance


def crossing(piece: Piece, span_mm: float, change_mm: float) -> Crossing:
    """A piece over, in or across a gap of `span_mm` that opens and closes by `change_mm` each way.

        over   bearing (L - s)/2 on each side, (L - s - c)/2 with the gap open; needed L = s + c +
               2 b; it bears the joint where 2 c + g <= tolerance
        in     slit s - L; s - L - c - g at the least, s - L + c at the most; needed
               s + c - tolerance <= L <= s - c - g
        loose  slack L - s - c, at least the tolerance

    Args: span_mm: s; change_mm: c, >= 0.

    Leaves out: sag between the bearings, and a step in height between the two sections.
    Source: sums and differences of lengths; common practice, no source.

    >>> crossing(Piece("over", 80.0, 5.0, 1.0, 0.0), 60.0, 0.3).bearing_mm
    10.0
    """
    length, c = piece.length_mm, change_mm
    moves = 2 * c + piece.growth_mm
    if piece.how == "over":
        needed = span_mm + c + 2 * piece.bearing_mm
        return Crossing(
            needed_mm=needed,
            most_mm=None,
            moves_mm=moves,
            bearing_mm=(length - span_mm) / 2,
            bearing_least_mm=(length - span_mm - c) / 2,
            long_enough=not_less(length, needed),
            within_tolerance=not_less(piece.tolerance_mm, moves),
        )
    if piece.how == "in":
        slit = span_mm - length
        needed, most = span_mm + c - piece.tolerance_mm, span_mm - c - piece.growth_mm
        return Crossing(
            needed_mm=max(needed, 0.0),
            most_mm=most,
            moves_mm=moves,
            slit_mm=slit,
            slit_least_mm=slit - c - piece.growth_mm,
            slit_most_mm=slit + c,
            long_enough=not_less(length, needed),
            short_enough=not_less(most, length),
        )
    needed = span_mm + c + piece.tolerance_mm
    return Crossing(
        needed_mm=needed,
        most_mm=None,
        moves_mm=moves,
        slack_mm=length - span_mm - c,
        long_enough=not_less(length, needed),
    )


def not_less(a: float, b: float) -> bool:
    """a >= b, a nanometre aside."""
    return a >= b - 1e-6
