"""A frame in memory: columns of nodes, members and faces."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

#: What a member is; `Frame.role` holds places in this tuple.
ROLES = ("axis", "side-diagonal", "cross-diagonal", "second-diagonal", "joint", "other")

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Face:
    """One square or oblong of four nodes; `side` belongs to one bay, `cross` is shared by two.

    `normal` is 0, 1, 2 for x, y, z; `station` counts along it; `place` are the indices of the
    lower corner along the two in-plane axes in the order x, y, z. `corners` are node numbers in
    the order (0,0), (1,0), (0,1), (1,1). `diagonals` is how many rods cross it.
    """

    section: int
    kind: str
    normal: int
    station: int
    place: tuple[int, int]
    corners: tuple[int, int, int, int]
    diagonals: int


@dataclass(frozen=True)
class Section:
    """What is carried in one piece. `bays` and `grid_mm` are empty where no grid is known."""

    id: str
    title: str
    bays: tuple[int, int, int] | None
    #: node planes along x, y and z from the section's corner
    grid_mm: tuple[tuple[float, ...], ...] | None
    at_mm: tuple[float, float, float]
    fittings: tuple[tuple[str, float, tuple[int, ...]], ...] = ()


@dataclass(frozen=True)
class Frame:
    """Nodes and members as columns.

    nodes_mm (n, 3); lattice (n, 3) indices within the section, -1 where there is no grid;
    node_section (n,); start, end (m,) node numbers; rod (m,) places in the kit; section (m,)
    with -1 for joints between sections; role (m,) places in ROLES.
    """

    nodes_mm: Floats
    lattice: Ints
    node_section: Ints
    start: Ints
    end: Ints
    rod: Ints
    section: Ints
    role: Ints
    sections: tuple[Section, ...]
    faces: tuple[Face, ...] = field(default=())

    @property
    def has_grid(self) -> bool:
        return bool(len(self.lattice)) and bool((self.lattice >= 0).all())

    @cached_property
    def length_mm(self) -> Floats:
        """Distance between the two nodes of each member, shape (m,)."""
        away = self.nodes_mm[self.end] - self.nodes_mm[self.start]
        return np.asarray(np.sqrt((away**2).sum(axis=1)))

    def part(self, section: int) -> "Frame":
        """The frame of one section alone, nodes renumbered in their order; joints left out."""
        nodes = np.flatnonzero(self.node_section == section)
        number = np.full(len(self.nodes_mm), -1, dtype=np.int64)
        number[nodes] = np.arange(len(nodes))
        mine = np.flatnonzero(self.section == section)
        faces = tuple(
            Face(
                0, f.kind, f.normal, f.station, f.place,
                tuple(int(number[c]) for c in f.corners), f.diagonals,  # type: ignore[arg-type]
            )
            for f in self.faces
            if f.section == section
        )  # fmt: skip
        zeros = np.zeros(len(nodes), dtype=np.int64)
        return Frame(
            self.nodes_mm[nodes],
            self.lattice[nodes],
            zeros,
            number[self.start[mine]],
            number[self.end[mine]],
            self.rod[mine],
            np.zeros(len(mine), dtype=np.int64),
            self.role[mine],
            (self.sections[section],),
            faces,
        )

    def node_at(self, section: int, place: tuple[int, int, int]) -> int | None:
        """The node at a lattice place of a section, None where there is none."""
        return self._numbers.get((section, *place))

    @cached_property
    def _numbers(self) -> dict[tuple[int, ...], int]:
        keys = np.column_stack([self.node_section, self.lattice]).tolist()
        return {tuple(key): number for number, key in enumerate(keys)}
