"""Leaned on: a person, or a row of people, against one face of a standing section."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..frame import Frame
from .equilibrium import Floats, Ints
from .handling import ACCIDENTAL, LEANING, Case, Handling, feet
from .section import CaseState

#: Faces that can be leaned on, by their outward normal: axis and sign.
FACES = {"x-": (0, -1), "x+": (0, 1), "y-": (1, -1), "y+": (1, 1)}

#: No barrier load is applied higher than this (EN 1991-1-1, 6.4).
HIGHEST_MM = 1200.0

#: What one adult leaning at 1.2 m may press with, in N: from leaning on it to falling against it.
PERSON_N = (300.0, 1000.0)


@dataclass(frozen=True)
class BarrierLoad:
    """A horizontal line load on barriers: recommended or usual value and the range allowed, in
    N/mm (which is kN/m)."""

    id: str
    set: str
    title: str
    line_load_n_per_mm: float
    range_n_per_mm: tuple[float, float]


_EN = "EN 1991-1-1:2002, Table 6.12 (values from memory; national annexes may differ)"
_CROWD = "crowd classes of barriers, as in BS 6180 (from memory)"

BARRIER_LOADS = (
    BarrierLoad("en-a", _EN, "A, dwellings", 0.5, (0.2, 1.0)),
    BarrierLoad("en-b", _EN, "B and C1, offices and tables", 0.5, (0.2, 1.0)),
    BarrierLoad("en-c2-c4", _EN, "C2 to C4 and D, halls, museums, shops", 1.0, (0.8, 1.0)),
    BarrierLoad("en-c5", _EN, "C5, crowds", 3.0, (3.0, 5.0)),
    BarrierLoad("en-e", _EN, "E, storage", 2.0, (0.8, 2.0)),
    BarrierLoad("crowd-light", _CROWD, "few people, no crowding", 0.36, (0.36, 0.36)),
    BarrierLoad("crowd-some", _CROWD, "people about, no crush", 0.74, (0.74, 0.74)),
    BarrierLoad("crowd-dense", _CROWD, "crowds", 1.5, (1.5, 1.5)),
)


class NotLeanedOn(ValueError):
    """The section has no such face; the reason is in words."""


@dataclass(frozen=True)
class Leaning:
    """Forces on hubs (n, 3) in N; where they act: levels of the grid and the height above the
    lowest hubs, lower than asked for where the section ends below it."""

    force_n: Floats
    levels: tuple[int, ...]
    height_mm: float
    total_n: float


def line_load(
    part: Frame, face: str, line_load_n_per_mm: float, height_mm: float = HIGHEST_MM
) -> Leaning:
    """A row of people against a face: a line load inward over its whole width.

    A rail or panel is taken to bring the load to the hubs of the face: to the level below and the
    level above by the lever, and at each level to the hubs there by half the gap on either side.

    Args:
        face: one of FACES. line_load_n_per_mm: >= 0, see BARRIER_LOADS.
        height_mm: above the lowest hubs; at most the top of the section counts.

    Raises NotLeanedOn: no grid, no such face.

    Leaves out: rods bent by people between hubs; tipping of the whole (check it apart).
    Source: EN 1991-1-1:2002, 6.4 (line load at the height of the barrier, not above 1.20 m).
    """
    width = float(np.ptp(_across(part, _face_hubs(part, face), face)))
    return _spread(part, face, line_load_n_per_mm * width, height_mm, None)


def person(
    part: Frame,
    face: str,
    force_n: float,
    height_mm: float = HIGHEST_MM,
    *,
    along_mm: float | None = None,
) -> Leaning:
    """One person against a face, inward, at a place along it.

    Args:
        face: one of FACES. force_n: >= 0, see PERSON_N. height_mm: as in `line_load`.
        along_mm: from the face's hub with the lowest x or y; left out, the middle.

    The nearest hubs on either side take the force by the lever; beyond the ends the last one.

    Raises NotLeanedOn. Leaves out and source: as `line_load`; 300 to 1000 N is common practice.
    """
    width = float(np.ptp(_across(part, _face_hubs(part, face), face)))
    return _spread(part, face, force_n, height_mm, width / 2 if along_mm is None else along_mm)


def leaning_case(part: Frame, handling: Handling, leaning: Leaning, name: str, title: str) -> Case:
    """The standing section, leaned on: a mishap, with its feet held by springs in all directions.

    Springs also pull: where `lifted_feet` names a foot the section tips or must be tied.

    Raises NotLeanedOn: no feet.
    """
    under = feet(part) if part.has_grid else None
    if under is None:
        raise NotLeanedOn("there are no four corner feet to stand on")
    spring = np.zeros(part.nodes_mm.shape)
    spring[under] = handling.grip_spring_n_per_mm
    bears = np.sort([3 * foot + axis for foot in under for axis in range(3)]).astype(np.int64)
    fixed = np.zeros(spring.shape, dtype=bool)
    return Case(
        name, title, ACCIDENTAL, (0.0, 0.0, -1.0), handling.standing_factor, spring, fixed, bears,
        leaning.force_n, LEANING,
    )  # fmt: skip


def lifted_feet(part: Frame, state: CaseState) -> list[int]:
    """Feet that the floor would have to pull down: where there are any, the section tips."""
    under = feet(part) or []
    size = float(np.abs(state.reaction_n).max(initial=0.0))
    return [foot for foot in under if state.reaction_n[foot, 2] < -1e-9 * size]


def _spread(
    part: Frame, face: str, total_n: float, height_mm: float, along_mm: float | None
) -> Leaning:
    hubs = _face_hubs(part, face)
    axis, sign = FACES[face]
    up = part.nodes_mm[hubs, 2] - part.nodes_mm[:, 2].min()
    levels = part.lattice[hubs, 2]
    known = np.unique(levels)
    heights = np.array([float(up[levels == level].mean()) for level in known])
    at = float(np.clip(height_mm, heights[0], heights[-1]))
    force = np.zeros(part.nodes_mm.shape)
    used = []
    for place, share in _lever(heights, at):
        mine = hubs[levels == known[place]]
        across = _across(part, mine, face)
        order = np.argsort(across, kind="stable")
        if along_mm is None:
            parts = _by_gaps(across[order])
        else:
            start = float(_across(part, hubs, face).min())
            parts = np.zeros(len(mine))
            for hub, part_of in _lever(across[order], start + along_mm):
                parts[hub] = part_of
        force[mine[order], axis] -= sign * total_n * share * parts
        used.append(int(known[place]))
    return Leaning(force, tuple(used), at, total_n)


def _face_hubs(part: Frame, face: str) -> Ints:
    bays = part.sections[0].bays
    if bays is None or not part.has_grid:
        raise NotLeanedOn("the section has no grid")
    if face not in FACES:
        raise NotLeanedOn(f"there is no face {face}; there are {', '.join(FACES)}")
    axis, sign = FACES[face]
    hubs = np.flatnonzero(part.lattice[:, axis] == (0 if sign < 0 else bays[axis]))
    if not len(hubs):
        raise NotLeanedOn(f"there are no hubs on face {face}")
    return hubs


def _across(part: Frame, hubs: Ints, face: str) -> Floats:
    return np.asarray(part.nodes_mm[hubs, 1 - FACES[face][0]])


def _by_gaps(places: Floats) -> Floats:
    """Shares (k,) of an even load over ascending places: half the gap on either side of each."""
    if len(places) == 1 or places[-1] == places[0]:
        return np.full(len(places), 1.0 / len(places))
    half = np.diff(places) / 2
    shares: Floats = np.append(half, 0.0) + np.insert(half, 0, 0.0)
    return shares / float(places[-1] - places[0])


def _lever(places: Sequence[float] | Floats, at: float) -> list[tuple[int, float]]:
    """The two ascending places beside `at` with their shares; one where it falls on or beyond."""
    if at <= places[0]:
        return [(0, 1.0)]
    if at >= places[-1]:
        return [(len(places) - 1, 1.0)]
    above = int(np.searchsorted(places, at))
    share = float((at - places[above - 1]) / (places[above] - places[above - 1]))
    return [(k, s) for k, s in ((above - 1, 1.0 - share), (above, share)) if s > 0]
