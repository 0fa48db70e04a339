"""One way to take a thing past one obstacle, and how it fares at a whole passage."""

from dataclasses import dataclass

TINY_MM = 1e-6


@dataclass(frozen=True)
class Way:
    """How a thing is taken past one obstacle, and the room left.

    `obstacle`: opening, inside, turn-before, turn-behind, corner-1 .., flight, landing-1 ..
    `how`: straight, weaving, rolled, turning, sliding, on-end, level, along-the-stairs.
    `spare_mm`: least room left, below 0 where it sticks; `tight` is what decides (width, height,
    depth, length, corner, passage, headroom, turn, ceiling), `needed_mm` against `allowed_mm`.
    `tight_axis`: the thing's own axis that lies along it, None where it leans or turns.
    `face_down`: the side it lies on where that matters, empty else.
    `width_mm`, `height_mm`, `length_mm`: the thing as it is taken, carriers included in length.
    `exactness`: exact, or conservative (it may go where this says it sticks, never the reverse).
    """

    obstacle: str
    attitude: str
    how: str
    travel: str
    spare_mm: float
    tight: str
    needed_mm: float
    allowed_mm: float
    width_mm: float
    height_mm: float
    length_mm: float
    tight_axis: str | None = None
    carried: str = "by-hand"
    angle_deg: float = 0.0
    exactness: str = "exact"
    face_down: str = ""

    @property
    def passes(self) -> bool:
        return self.spare_mm >= -TINY_MM


@dataclass(frozen=True)
class Crossing:
    """How a thing fares at one passage: the way to take it past each obstacle of it.

    `attitude` is one for all obstacles where one serves for all, else that of the tightest.
    `ways` holds one for each obstacle, `tried` for each obstacle all that were looked at;
    `governs` is the tightest of `ways`.
    """

    passage: str
    passes: bool
    spare_mm: float
    attitude: str
    how: str
    exactness: str
    governs: Way
    ways: tuple[Way, ...]
    tried: tuple[tuple[Way, ...], ...] = ()

    @property
    def others(self) -> tuple[Way, ...]:
        """All ways looked at, past any obstacle."""
        return tuple(way for ways in self.tried for way in ways)


def first_that_serves(ways: list[Way]) -> Way:
    """The first of ways (in order of preference) that passes, else the one that misses by least."""
    return next((w for w in ways if w.passes), None) or max(
        ways, key=lambda w: round(w.spare_mm, 9)
    )
