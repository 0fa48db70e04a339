"""Does a section hold its own corners square: its outer planes, and its cross-sections."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from ..frame import Frame
from ..frame.model import Floats, Ints
from ..truss_check.equilibrium import free_body
from ..truss_check.stability import stability

SIDES = ("x-minus", "x-plus", "y-minus", "y-plus", "z-minus", "z-plus")


@dataclass(frozen=True)
class Plane:
    """An outer plane of a section: faces in it, those with a diagonal, and the ways it racks
    within itself."""

    side: str
    faces_count: int
    braced_count: int
    racks_count: int


@dataclass(frozen=True)
class Stations:
    """Planes across one axis that hold a braced face, counted from 0; mm from each end to the
    nearest of them, None where there is none."""

    axis: int
    braced: tuple[int, ...]
    from_start_mm: float | None
    from_end_mm: float | None
    near_both_ends: bool


def outer_planes(part: Frame) -> list[Plane]:
    """The six outer planes of a section on a grid, in the order of SIDES. Raises RankUndecided."""
    planes = []
    for axis in range(3):
        last = int(part.lattice[:, axis].max())
        for plus, station in ((False, 0), (True, last)):
            faces = [f for f in part.faces if f.normal == axis and f.station == station]
            nodes = np.flatnonzero(part.lattice[:, axis] == station)
            number = np.full(len(part.nodes_mm), -1, dtype=np.int64)
            number[nodes] = np.arange(len(nodes))
            start, end = number[part.start], number[part.end]
            within = (start >= 0) & (end >= 0)
            racks = plane_racks(part.nodes_mm[nodes], start[within], end[within], axis)
            braced = sum(f.diagonals > 0 for f in faces)
            planes.append(Plane(SIDES[2 * axis + plus], len(faces), braced, racks))
    return planes


def plane_racks(nodes_mm: Floats, start: Ints, end: Ints, normal: int) -> int:
    """Mechanisms within a plane of nodes joined by bars, the rigid motions of each connected part
    not counted.

        sum over parts of (2 n - 3 - rank), a single node having 2 rigid motions

    Args:
        nodes_mm: (n, 3), all in one plane; start, end: (m,).
        normal: 0, 1, 2: the axis across the plane.

    Leaves out: what holds the plane from outside.
    Raises RankUndecided.
    Source: as stability.stability, in two dimensions; for a full grid of squares Bolker and Crapo,
    Bracing rectangular frameworks, SIAM J. Appl. Math. 36 (1979) say the same of a graph.
    """
    if not len(start):
        return 0
    loose = free_body(nodes_mm, start, end, np.ones(len(start)))
    fixed = np.zeros(nodes_mm.shape, dtype=bool)
    fixed[:, normal] = True
    free = stability(loose.held(fixed, np.zeros(nodes_mm.shape))).mechanisms
    ones = np.ones(len(start), dtype=np.int8)
    joined = csr_array((ones, (start, end)), shape=(len(nodes_mm), len(nodes_mm)))
    _, part = connected_components(joined, directed=False)
    sizes = np.bincount(part)
    return int(free - 3 * (sizes > 1).sum() - 2 * (sizes == 1).sum())


def braced_stations(part: Frame) -> list[Stations]:
    """For each axis, the planes across it with a braced face.

    A box beam needs two of them, one near each end, or its cross-section lozenges.
    Source of that rule: common practice, no source; that closed ends are enough is Alexandrov's
    theorem in Whiteley, Infinitesimally rigid polyhedra I, Trans. AMS 285 (1984).
    """
    grid = part.sections[0].grid_mm
    found = []
    for axis in range(3):
        planes = (0.0,) if grid is None else grid[axis]
        braced = sorted({f.station for f in part.faces if f.normal == axis and f.diagonals > 0})
        if not braced:
            found.append(Stations(axis, (), None, None, False))
            continue
        first, last = braced[0], braced[-1]
        near = len(braced) > 1 and first <= 1 and last >= len(planes) - 2
        found.append(Stations(axis, tuple(braced), planes[first], planes[-1] - planes[last], near))
    return found
