"""Openings that fingers reach through, gaps that crush, drives that must be covered."""

from bisect import bisect_left
from dataclasses import dataclass

from baywright_service.contract import Caution, Source

#: Shapes of openings; the size is the side of a square, the diameter of a round hole, the
#: smaller side of a slot.
OPENINGS = ("slot", "square", "round")
#: Who reaches: 14 years and above, or 3 years and above.
GROWN, CHILD = 14, 3

REACH_GROWN = Source(
    "ISO 13857:2019, Table 4, reaching through regular openings, 14 years and above",
    "rows as printed on a safety consultant's page",
)
REACH_CHILD = Source(
    "ISO 13857:2019, Table 5, reaching through regular openings, 3 years and above", "from memory"
)
CRUSHING = Source(
    "ISO 13854:2017, minimum gaps to avoid crushing", "finger 25 mm; rest from memory"
)
DRIVES = Source("29 CFR 1910.219, chains and sprockets within 7 ft of the floor", "from memory")

#: Largest opening of each row, and the distance each shape asks for.
_ROWS: dict[int, tuple[tuple[float, ...], dict[str, tuple[float, ...]]]] = {
    GROWN: (
        (4, 6, 8, 10, 12, 20, 30, 40, 120),
        {
            "slot": (2, 10, 20, 80, 100, 120, 850, 850, 850),
            "square": (2, 5, 15, 25, 80, 120, 120, 200, 850),
            "round": (2, 5, 5, 20, 80, 120, 120, 120, 850),
        },
    ),
    CHILD: (
        (4, 6, 8, 10, 12, 20, 30, 100),
        {
            "slot": (2, 20, 40, 80, 100, 900, 900, 1100),
            "square": (2, 10, 30, 60, 80, 120, 550, 1100),
            "round": (2, 10, 30, 60, 80, 120, 120, 1100),
        },
    ),
}
#: A slot no longer than this stops the hand at the thumb (Table 4, footnote).
_THUMB_SLOT_MM, _THUMB_DISTANCE_MM = 65.0, 200.0

_CRUSHING_MM = {"finger": 25.0, "toes": 50.0, "arm": 120.0, "head": 300.0, "body": 500.0}
#: Nothing of a hand gets into a gap this narrow. Common practice, no source.
_TOO_NARROW_MM = 4.0

GUARD_BELOW_MM = 7 * 304.8


def reach_through_mm(
    shape: str, opening_mm: float, *, slot_length_mm: float | None = None, from_age: int = CHILD
) -> float | None:
    """How far behind an opening a danger must lie; None where a whole body may follow the arm.

    Source: ISO 13857:2019, Table 4 (14 years and above) and Table 5 (3 years, from memory).
    """
    sizes, distances = _ROWS[from_age]
    row = bisect_left(sizes, opening_mm)
    if row == len(sizes):
        return None
    distance = float(distances[shape][row])
    thumb = shape == "slot" and slot_length_mm is not None and slot_length_mm <= _THUMB_SLOT_MM
    stops = thumb and from_age == GROWN and 20 < opening_mm <= 30
    return _THUMB_DISTANCE_MM if stops else distance


def crushing_gap_mm(part: str) -> float:
    """The gap that does not crush a part of the body. Source: ISO 13854:2017."""
    return _CRUSHING_MM[part]


def pinches(gap_mm: float, part: str = "finger") -> bool:
    """Whether a gap that closes is wide enough to enter and too narrow to be safe."""
    return _TOO_NARROW_MM < gap_mm < crushing_gap_mm(part)


@dataclass(frozen=True)
class DriveGuard:
    """A chain drive and what covers it: the opening in the guard, the danger this far behind."""

    height_mm: float
    shape: str | None = None
    opening_mm: float | None = None
    behind_mm: float | None = None
    slot_length_mm: float | None = None

    def needed_mm(self, from_age: int = CHILD) -> float | None:
        """The distance its opening asks for; None where it has none or is too wide for any."""
        if self.shape is None or self.opening_mm is None:
            return None
        return reach_through_mm(
            self.shape, self.opening_mm, slot_length_mm=self.slot_length_mm, from_age=from_age
        )


def drive_cautions(guard: DriveGuard) -> tuple[Caution, ...]:
    """What a chain drive at this height, with this guard, calls for."""
    found = [
        Caution(
            "Guard every pinch point of chain, sprocket and hook: a gap that closes must stay "
            f"below {_TOO_NARROW_MM:g} mm or keep {crushing_gap_mm('finger'):g} mm for a finger.",
            CRUSHING,
        )
    ]
    if guard.height_mm < GUARD_BELOW_MM:
        low = f"Cover chain and sprockets: this drive is below {GUARD_BELOW_MM:.0f} mm, in reach."
        found.append(Caution(low, DRIVES))
    if guard.opening_mm is not None and guard.shape is not None:
        found += [
            Caution(_reach_words(guard, CHILD), REACH_CHILD),
            Caution(_reach_words(guard, GROWN), REACH_GROWN),
        ]
    return tuple(found)


def _reach_words(guard: DriveGuard, from_age: int) -> str:
    what = f"a {guard.shape} opening of {guard.opening_mm:g} mm"
    needed = guard.needed_mm(from_age)
    if needed is None:
        return f"From {from_age} years on, {what} lets an arm and more through: close it."
    has = "" if guard.behind_mm is None else f"; here it lies {guard.behind_mm:g} mm behind"
    return f"From {from_age} years on, {what} asks for {needed:g} mm to the danger{has}."
