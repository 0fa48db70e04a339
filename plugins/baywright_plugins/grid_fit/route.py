"""Sections and boxes on the route: every opening, every corner."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .corners import Corner, round_corner
from .passages import ATTITUDES, AXES, Opening, Passing, through_opening


@dataclass(frozen=True)
class Clearances:
    """Room kept free in mm: hands at each side, above, lifted off the floor, carriers."""

    each_side_mm: float = 8.0
    above_mm: float = 15.0
    lifted_mm: float = 30.0
    carrier_each_end_mm: float = 350.0
    little_spare_mm: float = 15.0


@dataclass(frozen=True)
class Passage:
    """A stop on the route. `opening` holds what hands and lifting leave; None for a mere corner."""

    id: str
    title: str
    clear_mm: tuple[float, float] | None
    opening: Opening | None
    corner_mm: tuple[float, float] | None
    lifted_mm: float = 0.0


@dataclass(frozen=True)
class CornerWay:
    """One way to take a box round a corner."""

    attitude: str
    carried: str
    length_mm: float
    width_mm: float
    corner: Corner
    carriers_mm: float = 0.0

    @property
    def passes(self) -> bool:
        return self.corner.spare_mm >= -1e-9


@dataclass(frozen=True)
class Stop:
    """How one box fares at one passage."""

    passing: Passing | None
    corners: tuple[CornerWay, ...]

    @property
    def corner(self) -> CornerWay | None:
        """The way to take: by hand before on a skid, upright before lying."""
        if not self.corners:
            return None
        first = next((way for way in self.corners if way.passes), None)
        return first or max(self.corners, key=lambda way: way.corner.spare_mm)

    @property
    def passes(self) -> bool:
        corner = self.corner
        through = self.passing is None or self.passing.passes
        return through and (corner is None or corner.passes)

    @property
    def spare_mm(self) -> float:
        """The lesser of what opening and corner leave."""
        corner = self.corner
        spare = [] if self.passing is None else [self.passing.best.spare_mm]
        return min(spare + ([] if corner is None else [corner.corner.spare_mm]))


def passage_of(
    *,
    id: str,
    title: str,
    width_mm: float | None,
    height_mm: float | None,
    depth_mm: float | None,
    threshold_mm: float,
    corner_mm: tuple[float, float] | None,
    clearances: Clearances,
) -> Passage:
    """A passage with the room left for a section.

        width - 2 x each side,  height - above - the greater of lifted and threshold

    Source: common practice, no source.
    """
    opening, clear = None, None
    lifted = max(clearances.lifted_mm, threshold_mm)
    if width_mm is not None and height_mm is not None:
        clear = (width_mm, height_mm)
        opening = Opening(
            width_mm - 2 * clearances.each_side_mm,
            height_mm - clearances.above_mm - lifted,
            None if depth_mm is None else depth_mm - 2 * clearances.each_side_mm,
        )
    return Passage(id, title or id, clear, opening, corner_mm, lifted)


def at_stop(
    outside_mm: Mapping[str, float],
    passage: Passage,
    clearances: Clearances,
    *,
    led_along: str | None = None,
) -> Stop:
    """A box of outside sizes x, y, z at one passage; `led_along` as in `through_opening`."""
    passing = None
    if passage.opening is not None:
        passing = through_opening(outside_mm, passage.opening, led_along=led_along)
    ways = corner_ways(outside_mm, passage.corner_mm, clearances) if passage.corner_mm else ()
    return Stop(passing, tuple(ways))


def corner_ways(
    outside_mm: Mapping[str, float], corridors_mm: tuple[float, float], clearances: Clearances
) -> Sequence[CornerWay]:
    """Round the corner by hand (a carrier at each end of the longer side) and on a skid."""
    ways = []
    for carried, carriers in (("by-hand", 2 * clearances.carrier_each_end_mm), ("on-skid", 0.0)):
        for attitude, (up, _) in ATTITUDES.items():
            plan = [outside_mm[axis] for axis in AXES if axis != up]
            length, width = max(plan) + carriers, min(plan)
            corner = round_corner(length, width, corridors_mm)
            ways.append(CornerWay(attitude, carried, length, width, corner, carriers))
    return ways
