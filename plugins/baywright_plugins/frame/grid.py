"""The grid of one section: which bays belong to it, its hubs, and the rods along its axes."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..kit import Kit
from .faults import LayoutFault, unknown
from .model import Ints

AXES = ("x", "y", "z")

#: Cells of the largest grid that is worked out; a section of 400 x 50 x 50 bays is within it.
MOST_CELLS = 1_000_000

Cells = NDArray[np.bool_]


@dataclass(frozen=True)
class Grid:
    """`rods` are places in the kit, one for each bay along each axis; `cells` has shape (nx, ny,
    nz); `number_of` has shape (nx + 1, ny + 1, nz + 1) and holds -1 where there is no hub;
    `places` (n, 3) lists the hubs in the order of their numbers."""

    rods: tuple[tuple[int, ...], ...]
    cells: Cells
    number_of: Ints
    places: Ints

    @property
    def bays(self) -> tuple[int, int, int]:
        nx, ny, nz = self.cells.shape
        return nx, ny, nz

    def planes_mm(self, kit: Kit) -> tuple[tuple[float, ...], ...]:
        """Node planes along each axis, summed in whole micrometres."""
        return tuple(
            tuple(
                float(um) / 1000 for um in np.cumsum([0, *(kit.rods[rod].pitch_um for rod in run)])
            )
            for run in self.rods
        )


def grid_of(spec: Mapping[str, Any], kit: Kit, pointer: str) -> Grid:
    """The grid of a section that follows `SectionSchema`. Raises LayoutFault."""
    rods = tuple(
        tuple(bay_rods(spec["rods"][axis], kit, f"{pointer}/rods/{axis}")) for axis in AXES
    )
    bays = (len(rods[0]), len(rods[1]), len(rods[2]))
    if math.prod(bays) > MOST_CELLS:
        detail = f"A grid of {' x '.join(map(str, bays))} bays is over {MOST_CELLS} cells."
        raise LayoutFault(f"{pointer}/rods", "too-many", detail)
    cells = cells_of(spec, bays, pointer)
    here = grown(cells, (0, 1, 2))
    number_of = np.full(here.shape, -1, dtype=np.int64)
    number_of[here] = np.arange(here.sum())
    return Grid(rods, cells, number_of, np.argwhere(here).astype(np.int64))


def bay_rods(runs: Sequence[Mapping[str, Any]], kit: Kit, pointer: str) -> list[int]:
    """Place in the kit of the rod of each bay along one axis. Raises LayoutFault."""
    rods: list[int] = []
    for number, run in enumerate(runs):
        place = kit.rod_index.get(run["rod"])
        if place is None:
            raise unknown(f"{pointer}/{number}/rod", f"The kit has no rod {run['rod']}.")
        rods += [place] * run["count"]
    return rods


def cells_of(spec: Mapping[str, Any], bays: tuple[int, int, int], pointer: str) -> Cells:
    """Which bays of the grid belong to the section, shape `bays`.

    Without beams: those with at least two of their three indices first or last, so that a beam
    runs along every edge of the box.
    """
    cells = np.zeros(bays, dtype=bool)
    for number, beam in enumerate(spec.get("beams", ())):
        cells[beam_bays(beam, bays, f"{pointer}/beams/{number}")] = True
    if "beams" in spec:
        return cells
    outer = (
        np.isin(index, (0, count - 1)) for index, count in zip(np.indices(bays), bays, strict=True)
    )
    return np.asarray(sum(is_outer.astype(int) for is_outer in outer) >= 2)


def beam_bays(
    beam: Mapping[str, Any], bays: tuple[int, int, int], pointer: str
) -> tuple[slice, slice, slice]:
    """The bays of one beam as slices of the grid. Raises LayoutFault where it reaches beyond."""
    along = AXES.index(beam["axis"])
    spans = []
    for axis in range(3):
        first = int(beam["at"][axis])
        stop = first + (beam["bays"] if axis == along else 1)
        if stop > bays[axis]:
            detail = f"The beam reaches beyond the {bays[axis]} bays along {AXES[axis]}."
            raise LayoutFault(pointer, "out-of-range", detail)
        spans.append(slice(first, stop))
    return spans[0], spans[1], spans[2]


def grown(cells: Cells, axes: tuple[int, ...]) -> Cells:
    """One longer along each of `axes`: true where a bay on either side is."""
    for axis in axes:
        below, above = both_sides(cells, axis)
        cells = below | above
    return cells


def both_sides(cells: Cells, axis: int) -> tuple[Cells, Cells]:
    """For every plane across `axis`: whether the bay below it, and the bay above it, is there."""
    pad = [(1, 1) if k == axis else (0, 0) for k in range(3)]
    padded = np.moveaxis(np.pad(cells, pad), axis, 0)
    return np.moveaxis(padded[:-1], 0, axis), np.moveaxis(padded[1:], 0, axis)


def axis_rods(grid: Grid) -> Ints:
    """Rods along the edges of all bays, each once: rows (start, end, rod)."""
    rows = []
    for axis in range(3):
        edges = np.argwhere(grown(grid.cells, tuple(k for k in range(3) if k != axis)))
        step = np.eye(3, dtype=np.int64)[axis]
        rods = np.array(grid.rods[axis], dtype=np.int64)
        start, end = grid.number_of[tuple(edges.T)], grid.number_of[tuple((edges + step).T)]
        rows.append(np.column_stack([start, end, rods[edges[:, axis]]]))
    return np.concatenate(rows)
