"""A box led straight through an opening: upright, laid on a face, or leaning in it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from .rectangle_in_rectangle import best_tilt, turned_size

AXES = ("x", "y", "z")

#: attitude -> (axis that points up, the two ways to lead it: (axis of travel, axis across))
ATTITUDES: Mapping[str, tuple[str, tuple[tuple[str, str], tuple[str, str]]]] = {
    "upright": ("z", (("x", "y"), ("y", "x"))),
    "on-back": ("y", (("x", "z"), ("z", "x"))),
    "on-end": ("x", (("y", "z"), ("z", "y"))),
}


@dataclass(frozen=True)
class Opening:
    """What is left of an opening once hands and lifting have had their share, in mm.

    `depth_mm`: longest box that may stand behind it (a lift car, a van); None for a door.
    """

    width_mm: float
    height_mm: float
    depth_mm: float | None = None


@dataclass(frozen=True)
class Position:
    """One way to lead a box through. `spare_mm` is the least room left, below 0 where it sticks.

    `tight` says what decides: width, height or depth. `tight_axis` is the box's own axis that
    lies along it (None where the box leans). `angle_deg` is how far the longer side of the
    cross-section leans from the longer side of the opening.
    """

    attitude: str
    travel: str
    angle_deg: float
    width_mm: float
    height_mm: float
    length_mm: float
    spare_mm: float
    tight: str
    tight_axis: str | None
    needed_mm: float
    allowed_mm: float

    @property
    def passes(self) -> bool:
        return self.spare_mm >= -1e-9


@dataclass(frozen=True)
class Passing:
    """How a box fares: the best position of each family, and the one to use or, where none
    works, the one that misses by least."""

    upright: Position | None
    turned: Position | None
    tilted: Position | None
    best: Position

    #: False where even the box's smallest size exceeds the opening's smaller side
    turning_helps: bool

    @property
    def passes(self) -> bool:
        return self.best.passes


def through_opening(
    outside_mm: Mapping[str, float], opening: Opening, *, led_along: str | None = None
) -> Passing:
    """The best ways to lead a box of outside sizes x, y, z through an opening.

    Upright is preferred to lying, lying to leaning. Leaning is looked at for each axis of travel
    with Carver's condition (`best_tilt`). `led_along` is the box's axis that must lead, any
    where it is None.

    Leaves out: leading the box through at a slant to the opening's plane, turning it half-way
    through, handles and closers that stand into the opening.
    Source: `rectangle_in_rectangle`; the preference is common practice, no source.

    >>> door = Opening(729.0, 1915.0)
    >>> through_opening({"x": 634.0, "y": 754.0, "z": 1903.0}, door).best.spare_mm
    12.0
    """
    leads = AXES if led_along is None else (led_along,)
    straight = [
        _straight(outside_mm, opening, name, way)
        for name, (_, ways) in ATTITUDES.items()
        for way in ways
        if way[0] in leads
    ]
    upright = _best_of(p for p in straight if p.attitude == "upright")
    turned = _best_of(p for p in straight if p.attitude != "upright")
    tilted = _best_of(p for p in (_tilted(outside_mm, opening, a) for a in leads) if p is not None)
    families = [p for p in (upright, turned, tilted) if p is not None]
    crossing = [v for axis, v in outside_mm.items() if axis != led_along]
    helps = min(crossing) <= min(opening.width_mm, opening.height_mm)
    nearest = _best(families if helps else [p for p in families if p.attitude != "tilted"])
    best = next((p for p in families if p.passes), nearest)
    return Passing(upright, turned, tilted, best, helps)


def _best_of(positions: Iterable[Position]) -> Position | None:
    found = list(positions)
    return _best(found) if found else None


def _best(positions: list[Position]) -> Position:
    return max(positions, key=lambda p: round(p.spare_mm, 9))


def _straight(
    outside_mm: Mapping[str, float], opening: Opening, attitude: str, way: tuple[str, str]
) -> Position:
    up = ATTITUDES[attitude][0]
    travel, across = way
    sides = [
        ("width", across, outside_mm[across], opening.width_mm),
        ("height", up, outside_mm[up], opening.height_mm),
    ]
    if opening.depth_mm is not None:
        sides.append(("depth", travel, outside_mm[travel], opening.depth_mm))
    tight, axis, needed, allowed = min(sides, key=lambda side: side[3] - side[2])
    return Position(
        attitude=attitude,
        travel=travel,
        angle_deg=0.0,
        width_mm=outside_mm[across],
        height_mm=outside_mm[up],
        length_mm=outside_mm[travel],
        spare_mm=allowed - needed,
        tight=tight,
        tight_axis=axis,
        needed_mm=needed,
        allowed_mm=allowed,
    )


def _tilted(outside_mm: Mapping[str, float], opening: Opening, travel: str) -> Position | None:
    sides = [outside_mm[axis] for axis in AXES if axis != travel]
    if opening.width_mm <= 0 or opening.height_mm <= 0:
        return None
    tilt = best_tilt((sides[0], sides[1]), (opening.width_mm, opening.height_mm))
    if tilt is None:
        return None
    wide = opening.width_mm >= opening.height_mm
    along, across = turned_size(max(sides), min(sides), tilt.angle_deg)
    width, height = (along, across) if wide else (across, along)
    tight, needed, allowed = "width", width, opening.width_mm
    spare, length = tilt.spare_mm, outside_mm[travel]
    if opening.depth_mm is not None and opening.depth_mm - length < spare:
        tight, needed, allowed = "depth", length, opening.depth_mm
        spare = allowed - needed
    return Position(
        attitude="tilted",
        travel=travel,
        angle_deg=tilt.angle_deg,
        width_mm=width,
        height_mm=height,
        length_mm=length,
        spare_mm=spare,
        tight=tight,
        tight_axis=travel if tight == "depth" else None,
        needed_mm=needed,
        allowed_mm=allowed,
    )
