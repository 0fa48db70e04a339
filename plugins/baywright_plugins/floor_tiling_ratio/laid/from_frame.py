"""The run of sections that a frame holds: node planes, separation joints, planes with rods."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...frame.grid import Grid, grid_of, grown
from ...frame.joints import Corner, corners_mm, joints_of
from ...kit import Kit
from ..continued_fractions import exact
from ..made_of import Pitch
from .run import JointGiven, Run, StretchGiven, bays_between, run_of

Bools = NDArray[np.bool_]
Planes = tuple[tuple[int, ...], ...]


MOST_CELLS = 1_000_000


class NotARow(Exception):
    """The sections do not stand in a row along x; the reason in the builder's words."""


@dataclass(frozen=True)
class SectionOfFrame:
    """One section: its grid, and its corner node in the machine."""

    id: str
    grid: Grid
    corner_mm: Corner


@dataclass(frozen=True)
class FrameRuns:
    """Runs along x and across (y). `lacking`: rods by id that a bearer through the plane at that
    place along still needs; `full` those of a bearer that lies on no plane."""

    along: Run
    across: Run
    lacking: Mapping[Fraction, Mapping[str, int]]
    full: Mapping[str, int]


@dataclass(frozen=True)
class _Part:
    """One section at the level: its planes and corner in micrometres; rods along y that run in each
    plane along, shape (bays across, planes along), and rods along x the other way round; planes
    along, and across, at which hubs stand at both ends."""

    id: str
    planes: Planes
    corner: tuple[int, int, int]
    over: Bools
    along: Bools
    hubs_over: Sequence[bool]
    hubs_along: Sequence[bool]


def sections_of(layout: Mapping[str, Any], kit: Kit) -> list[SectionOfFrame]:
    """The sections of a layout that follows `LayoutSchema`, without their rods and diagonals.

    Raises:
        LayoutFault: an unknown rod or section, a beam outside its grid, joints in a circle.
        NotARow: more cells in all than are worth looking at.
    """
    grids, cells = [], 0
    for number, spec in enumerate(layout["sections"]):
        grids.append(grid_of(spec, kit, f"/layout/sections/{number}"))
        cells += grids[-1].cells.size
        if cells > MOST_CELLS:
            raise NotARow(f"Its sections have more than {MOST_CELLS} bays in all.")
    corners = corners_mm(layout, grids, joints_of(layout, kit), kit)
    ids = [spec["id"] for spec in layout["sections"]]
    return [SectionOfFrame(*row) for row in zip(ids, grids, corners, strict=True)]


def runs_of_frame(
    sections: Sequence[SectionOfFrame], kit: Kit, level: int | None, pitches: Sequence[Pitch]
) -> FrameRuns:
    """Runs over `sections`, ordered by where they stand along x.

    Node planes across are those that all sections share. With a `level` (along z, of each section)
    a plane carries only where rods of the frame run through it from edge to edge at that level,
    and is a plane at all only where hubs stand at both its ends; without, every plane carries.
    Bays as long as one of `pitches` are that pitch; others are named by their rod.

    Raises:
        NotARow: sections overlap along x, share fewer than two planes across, or have no such
            level.
    """
    parts = sorted((_part(one, level, kit) for one in sections), key=lambda part: part.corner[0])
    known = [*pitches, *_rods(kit)]
    stretches, joints = [], []
    for n, part in enumerate(parts):
        bare = frozenset(np.flatnonzero(~part.over.all(axis=0)).tolist())
        absent = frozenset(k for k, there in enumerate(part.hubs_over) if not there)
        stretches.append(StretchGiven(part.id, bays_between(part.planes[0], known), bare, absent))
        if n:
            joints.append(_joint(parts[n - 1], part, kit))
    across, bare_across, absent_across = _shared_planes(parts)
    if len(across) < 2:
        raise NotARow("These sections share fewer than two node planes across.")
    side = StretchGiven("width", bays_between(across, known), bare_across, absent_across)
    along = run_of(stretches, joints)
    lacking = {}
    for part, stretch in zip(parts, along.stretches, strict=True):
        names = [bay.id for bay in bays_between(part.planes[1], _rods(kit))]
        for place, x in enumerate(part.planes[0]):
            rods = Counter(
                n for n, there in zip(names, part.over[:, place], strict=True) if not there
            )
            lacking[stretch.start + Fraction(x, 1000)] = dict(rods)
    full = Counter(bay.id for bay in bays_between(parts[0].planes[1], _rods(kit)))
    return FrameRuns(along, run_of([side], []), lacking, dict(full))


def _rods(kit: Kit) -> list[Pitch]:
    play = 2 * exact(kit.frame_hub.seat.play_mm)
    return [
        Pitch(rod.id, Fraction(rod.pitch_um, 1000), play, {rod.id: Fraction(1)}, 1)
        for rod in kit.rods
    ]


def _part(section: SectionOfFrame, level: int | None, kit: Kit) -> _Part:
    grid = section.grid
    planes = tuple(tuple(round(x * 1000) for x in line) for line in grid.planes_mm(kit))
    x, y, z = (round(v * 1000) for v in section.corner_mm)
    nx, ny, top = grid.bays
    if level is None:
        ones = np.ones((ny, nx + 1), dtype=bool), np.ones((nx, ny + 1), dtype=bool)
        return _Part(section.id, planes, (x, y, z), *ones, [True] * (nx + 1), [True] * (ny + 1))
    if level > top:
        raise NotARow(f"{section.id} has levels 0 to {top} and no level {level}.")
    over = grown(grid.cells, (0, 2))[:, :, level].T
    along = grown(grid.cells, (1, 2))[:, :, level]
    hubs = grid.number_of[:, :, level] >= 0
    over_ends, along_ends = (hubs[:, 0] & hubs[:, -1]).tolist(), (hubs[0] & hubs[-1]).tolist()
    return _Part(section.id, planes, (x, y, z), over, along, over_ends, along_ends)


def _joint(before: _Part, after: _Part, kit: Kit) -> JointGiven:
    apart = after.corner[0] - before.corner[0] - before.planes[0][-1]
    if apart < 0:
        raise NotARow(
            f"{before.id} and {after.id} overlap along x: name sections that stand in a row."
        )
    reach = 2 * round(kit.frame_hub.overhang_mm * 1000)
    return JointGiven(Fraction(apart, 1000), Fraction(max(0, apart - reach), 1000))


def _shared_planes(
    parts: Sequence[_Part],
) -> tuple[list[int], frozenset[int], frozenset[int]]:
    """Planes across that all sections share; the places of those without rods throughout, and of
    those without hubs at both ends of every section."""
    rods: dict[int, bool] = {}
    hubs: dict[int, bool] = {}
    shared = set[int].intersection(
        *({part.corner[1] + y for y in part.planes[1]} for part in parts)
    )
    for part in parts:
        for j, plane in enumerate(part.planes[1]):
            y = part.corner[1] + plane
            rods[y] = rods.get(y, True) and bool(part.along[:, j].all())
            hubs[y] = hubs.get(y, True) and bool(part.hubs_along[j])
    places = sorted(shared)
    bare = frozenset(k for k, y in enumerate(places) if not rods[y])
    absent = frozenset(k for k, y in enumerate(places) if not hubs[y])
    return places, bare, absent
