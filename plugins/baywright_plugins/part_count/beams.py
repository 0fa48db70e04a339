"""Bays and beams of a section on a grid, read off its frame."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..frame import Frame

_AXES = ("x", "y", "z")

Cell = tuple[int, int, int]


@dataclass(frozen=True)
class Beam:
    """A row of bays along `axis` (0, 1, 2 for x, y, z), from its first bay."""

    axis: int
    first: Cell
    bays: int

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Its bays, in order."""
        steps = range(self.bays)
        return tuple(
            (
                self.first[0] + step * (self.axis == 0),
                self.first[1] + step * (self.axis == 1),
                self.first[2] + step * (self.axis == 2),
            )
            for step in steps
        )


def bays_of(frame: Frame, section: int) -> list[Cell]:
    """The bays of a section, in grid order; none where the section has no grid.

    Walking up a column of the grid, each face that belongs to one bay only is a step in or out
    of the frame; a face that two bays share is none.
    """
    size = frame.sections[section].bays
    if size is None:
        return []
    steps: NDArray[np.int64] = np.zeros((size[0], size[1], size[2] + 1), dtype=np.int64)
    for face in frame.faces:
        if face.section == section and face.normal == 2 and face.kind == "side":
            steps[face.place[0], face.place[1], face.station] += 1
    inside = np.cumsum(steps, axis=2)[:, :, :-1] % 2 == 1
    return [(i, j, k) for i, j, k in np.argwhere(inside).tolist()]


def beams_of(spec: Mapping[str, Any], size: Cell) -> list[Beam]:
    """The beams of a section as its layout states them, or the twelve edges of its box.

    Args:
        spec: a section that follows `SectionSchema`.
        size: bays along x, y, z. Edges that fall together count once.
    """
    if "beams" in spec:
        return [
            Beam(_AXES.index(b["axis"]), (int(b["at"][0]), int(b["at"][1]), int(b["at"][2])),
                 int(b["bays"]))
            for b in spec["beams"]
        ]  # fmt: skip
    edges: dict[tuple[int, Cell], Beam] = {}
    for axis in range(3):
        ends = [(0,) if k == axis else (0, size[k] - 1) for k in range(3)]
        for i, j, k in product(*ends):
            edges[axis, (i, j, k)] = Beam(axis, (i, j, k), size[axis])
    return list(edges.values())
