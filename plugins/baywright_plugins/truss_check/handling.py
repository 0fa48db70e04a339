"""How a section stands and is carried: supports, direction of gravity and factors of each case.

Sides are named as seen from the front: x runs from the left end to the right end, y from the
front to the back, z up.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ..frame import Frame
from .equilibrium import Bools, Floats, Ints

PLANNED, ACCIDENTAL = "planned", "accidental"
DROP, THRESHOLD, LEANING = "drop", "threshold", "leaning"
CASE_IDS = (
    "stand",
    "carry-upright",
    "carry-upside-down",
    "carry-on-back",
    "carry-on-front",
    "carry-on-right-end",
    "carry-on-left-end",
    "grip-let-go-upright",
    "grip-let-go-upside-down",
    "foot-touches-first",
)
#: Cases in which the section lies on a side.
LYING = CASE_IDS[3:7]
CORNERS = ("left front", "left back", "right front", "right back")


@dataclass(frozen=True)
class Handling:
    """Factors and springs; springs act on each gripped hub and on each foot."""

    dynamic_factor: float = 1.5
    standing_factor: float = 1.0
    grip_spring_n_per_mm: float = 50.0
    cross_spring_n_per_mm: float = 0.001
    required_planned_ratio: float = 1.65
    required_accidental_ratio: float = 1.25
    every_corner: bool = False
    cases: tuple[str, ...] = CASE_IDS

    def required(self, kind: str) -> float:
        """The first-slip factor wanted of planned cases, or of mishaps."""
        planned = kind == PLANNED
        return self.required_planned_ratio if planned else self.required_accidental_ratio


@dataclass(frozen=True)
class Case:
    """One way to hold a section of n nodes.

    down: unit vector of gravity; load_factor multiplies self weight; spring_n_per_mm and fixed
    (n, 3); force_n (n, 3) beside self weight; bears: the held directions that count at collapse,
    as places in the flattened (n, 3). topic: what it tells of, where that is not holding it.
    """

    id: str
    title: str
    kind: str
    down: tuple[float, float, float]
    load_factor: float
    spring_n_per_mm: Floats
    fixed: Bools
    bears: Ints
    force_n: Floats | None = None
    topic: str = ""

    def loads_n(self, weight_n: Floats) -> Floats:
        """Forces at nodes (n, 3) for weights (n,)."""
        loads = weight_n[:, None] * (self.load_factor * np.array(self.down))
        return loads if self.force_n is None else loads + self.force_n

    @property
    def support_key(self) -> tuple[bytes, bytes]:
        """Equal for cases that share one factorisation."""
        return self.spring_n_per_mm.tobytes(), self.fixed.tobytes()


@dataclass(frozen=True)
class Cases:
    """The cases of a section, and for each that does not apply its id and why."""

    cases: tuple[Case, ...]
    left_out: tuple[tuple[str, str], ...] = field(default=())


class NoHub(LookupError):
    """A hub that a case holds is not there; the reason is in words."""


def grip_level(levels: int) -> int:
    """Level of the grips of a section with `levels` bays in height: seven twelfths up."""
    return 7 * levels // 12


def lying_levels(levels: int) -> tuple[int, int]:
    """Levels of the grips of a lying section: two bays in from its ends, or the ends themselves
    where it has fewer than six bays in height."""
    return (2, levels - 3) if levels >= 6 else (0, levels)


def grip_rings(part: Frame) -> list[list[int]]:
    """The ring of four hubs of each corner column at the grip level, order of `CORNERS`.

    Raises LookupError where a hub is not there.
    """
    nx, ny, nz = bays_of(part)
    level = grip_level(nz)
    return [
        [hub_at(part, (i + di, j + dj, level)) for di in (0, 1) for dj in (0, 1)]
        for i in (0, nx - 1)
        for j in (0, ny - 1)
    ]


def handling_cases(
    part: Frame, handling: Handling, grips: Sequence[Sequence[int]] | None = None
) -> Cases:
    """The cases of one section (a frame of one section on a grid), in the order of `CASE_IDS`.

    Standing: a spring under each of the four corner hubs at the bottom. Carried: four grips, each
    the ring of four hubs of a corner column, or the hubs of each of `grips`. On a side: four
    two-hub grips on the underside of the corner columns. Each gripped hub has a strong spring
    along gravity and a faint one across, which keeps the body in place and bears nothing.

    Leaves out: swinging, ropes at a slant, uneven pull of the carriers but for one grip let go.
    Source: common practice, no source; a grip is a ring of sprung hubs because a single rigid
    hub overstates the peak.
    """
    made: list[Case] = []
    left_out: list[tuple[str, str]] = []
    for name in CASE_IDS:
        if name not in handling.cases:
            continue
        try:
            made += _make(part, handling, name, grips)
        except NoHub as missing:
            left_out.append((name, str(missing)))
    return Cases(tuple(made), tuple(left_out))


def _make(
    part: Frame, handling: Handling, name: str, grips: Sequence[Sequence[int]] | None
) -> list[Case]:
    if name == "stand":
        return [_stand(part, handling)]
    if name in LYING:
        return [_lying(part, handling, name)]
    if name == "foot-touches-first":
        return _foot_first(part, handling, grips)
    up = name.endswith("upright")
    down = (0.0, 0.0, -1.0 if up else 1.0)
    way = "upright" if up else "upside down"
    rings = grip_rings(part) if grips is None else grips
    if name.startswith("carry"):
        return [held_case(part, handling, name, f"carry {way}", PLANNED, down, rings)]
    if grips is None:
        _four_grips(rings)
    which = CORNERS if grips is None else [f"grip {k + 1}" for k in range(len(grips))]
    return [
        held_case(
            part, handling, _numbered(name, loose, handling),
            f"one grip let go {way} ({which[loose]})", ACCIDENTAL, down,
            [ring for k, ring in enumerate(rings) if k != loose],
        )
        for loose in (range(len(rings)) if handling.every_corner else (len(rings) - 1,))
    ]  # fmt: skip


def _stand(part: Frame, handling: Handling) -> Case:
    feet = [[foot] for foot in _feet(part)]
    case = held_case(part, handling, "stand", "stand on 4 feet", PLANNED, (0.0, 0.0, -1.0), feet)
    return replace(case, load_factor=handling.standing_factor)


def _foot_first(
    part: Frame, handling: Handling, grips: Sequence[Sequence[int]] | None
) -> list[Case]:
    """The corner foot bears with the grips beside it; those nearest and farthest are slack."""
    rings = grip_rings(part) if grips is None else grips
    if grips is None:
        _four_grips(rings)
    elif len(grips) < 4:
        raise NoHub("fewer than four grips are stated, so no two are left beside the foot")
    feet = _feet(part)
    cases = []
    for corner in range(4) if handling.every_corner else (0,):
        slack = (corner, 3 - corner) if grips is None else _slack(part, feet[corner], rings)
        beside = [ring for k, ring in enumerate(rings) if k not in slack]
        title = f"one foot touches first ({CORNERS[corner]})"
        name = _numbered("foot-touches-first", corner, handling)
        held = [*beside, [feet[corner]]]
        cases.append(held_case(part, handling, name, title, ACCIDENTAL, (0.0, 0.0, -1.0), held))
    return cases


def _slack(part: Frame, foot: int, rings: Sequence[Sequence[int]]) -> tuple[int, int]:
    away = [
        float(np.hypot(*(part.nodes_mm[list(ring)].mean(axis=0) - part.nodes_mm[foot])[:2]))
        for ring in rings
    ]
    return int(np.argmin(away)), int(np.argmax(away))


def _lying(part: Frame, handling: Handling, name: str) -> Case:
    bays = bays_of(part)
    axis = 1 if name in LYING[:2] else 0
    far = name in ("carry-on-back", "carry-on-right-end")
    other = 1 - axis
    grips = []
    for first in (0, bays[other] - 1):
        for level in lying_levels(bays[2]):
            place = [0, 0, level]
            place[axis] = bays[axis] if far else 0
            grip = []
            for step in (0, 1):
                place[other] = first + step
                grip.append(hub_at(part, (place[0], place[1], place[2])))
            grips.append(grip)
    down = [0.0, 0.0, 0.0]
    down[axis] = 1.0 if far else -1.0
    title = name.replace("-", " ")
    return held_case(part, handling, name, title, PLANNED, (down[0], down[1], down[2]), grips)


def held_case(
    part: Frame,
    handling: Handling,
    name: str,
    title: str,
    kind: str,
    down: tuple[float, float, float],
    grips: Sequence[Sequence[int]],
) -> Case:
    """A section held at the hubs of some grips by a strong spring along gravity, an axis of the
    grid, and a faint one across; weight times the dynamic factor."""
    nodes = len(part.nodes_mm)
    axis = int(np.abs(down).argmax())
    hubs = np.unique([hub for grip in grips for hub in grip])
    spring = np.zeros((nodes, 3))
    spring[hubs] = handling.cross_spring_n_per_mm
    spring[hubs, axis] = handling.grip_spring_n_per_mm
    fixed = np.zeros((nodes, 3), dtype=bool)
    return Case(name, title, kind, down, handling.dynamic_factor, spring, fixed, 3 * hubs + axis)


def held_all_ways(part: Frame, handling: Handling) -> Floats | None:
    """Springs (n, 3) of the carrying grips, equally strong along x, y and z, for turning a
    section any way while its grips are held; None where a hub of a grip is not there."""
    try:
        hubs = np.unique(grip_rings(part))
    except NoHub:
        return None
    spring = np.zeros(part.nodes_mm.shape)
    spring[hubs] = handling.grip_spring_n_per_mm
    return spring


def _feet(part: Frame) -> list[int]:
    nx, ny, _ = bays_of(part)
    return [hub_at(part, (i, j, 0)) for i in (0, nx) for j in (0, ny)]


def feet(part: Frame) -> list[int] | None:
    """The four corner hubs at the bottom, order of `CORNERS`; None where one is not there."""
    try:
        return _feet(part)
    except NoHub:
        return None


def bays_of(part: Frame) -> tuple[int, int, int]:
    """Bays along x, y and z. Raises NoHub where there is no grid."""
    bays = part.sections[0].bays
    if bays is None:
        raise NoHub("the section has no grid")
    return bays


def hub_at(part: Frame, place: tuple[int, int, int]) -> int:
    """The hub at a grid place. Raises NoHub."""
    node = part.node_at(0, place)
    if node is None:
        raise NoHub(f"there is no hub at {list(place)} to hold it by")
    return node


def _four_grips(rings: Sequence[Sequence[int]]) -> None:
    if len({tuple(ring) for ring in rings}) < 4:
        raise NoHub("the section is too slim for four grips")


def _numbered(name: str, corner: int, handling: Handling) -> str:
    return f"{name}.{corner + 1}" if handling.every_corner else name
