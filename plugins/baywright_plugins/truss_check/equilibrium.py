"""A pin-jointed truss as columns, and its equilibrium matrix."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from scipy.sparse import csc_array, dia_array

from .ordering import Bools as Bools
from .ordering import Floats as Floats
from .ordering import Ints as Ints
from .ordering import node_order

#: What a truss keeps when it is held otherwise.
_OF_BARS = (
    "away_mm", "length_mm", "direction", "node_order", "equilibrium", "bar_stiffness",
)  # fmt: skip


@dataclass(frozen=True)
class Truss:
    """Bars between ball joints, and what holds them.

    nodes_mm (n, 3); start, end (m,) node numbers, never equal; stiffness_n_per_mm (m,) force per
    stretch of each bar; fixed (n, 3) true where a node cannot move; spring_n_per_mm (n, 3) spring
    to ground, 0 for none. A spring on a fixed direction has nothing to do.
    """

    nodes_mm: Floats
    start: Ints
    end: Ints
    stiffness_n_per_mm: Floats
    fixed: Bools
    spring_n_per_mm: Floats

    @cached_property
    def away_mm(self) -> Floats:
        """From start to end of each bar, shape (m, 3)."""
        return np.asarray(self.nodes_mm[self.end] - self.nodes_mm[self.start])

    @cached_property
    def length_mm(self) -> Floats:
        """Shape (m,)."""
        return np.asarray(np.sqrt(np.einsum("ij,ij->i", self.away_mm, self.away_mm)))

    @cached_property
    def direction(self) -> Floats:
        """Unit vector from start to end of each bar, shape (m, 3)."""
        return np.asarray(self.away_mm / self.length_mm[:, None])

    @cached_property
    def node_order(self) -> tuple[Ints, int]:
        """Place of each node (n,) in a numbering along the frame, and its longest bar."""
        return node_order(self.nodes_mm, self.start, self.end)

    @cached_property
    def free(self) -> Ints:
        """Degrees of freedom that can move, as places in the flattened (n, 3)."""
        return np.flatnonzero(~self.fixed.ravel())

    @cached_property
    def sprung(self) -> Ints:
        """Degrees of freedom with a spring, as places in the flattened (n, 3)."""
        return np.flatnonzero((self.spring_n_per_mm.ravel() > 0) & ~self.fixed.ravel())

    @cached_property
    def equilibrium(self) -> csc_array:
        """B, shape (3 n, m): column k is -u at the start of bar k and +u at its end.

        B N is what nodes must be loaded with for bars to carry N (tension positive), and B^T x
        is the stretch of the bars under displacements x.

        Source: any text on matrix analysis of trusses, e.g. Pellegrino and Calladine 1986,
        International Journal of Solids and Structures 22(4), section 2 (from memory).
        """
        return equilibrium_matrix(self.start, self.end, self.direction, len(self.nodes_mm))

    @cached_property
    def bar_stiffness(self) -> csc_array:
        """K = B diag(k) B^T of the bars alone, shape (3 n, 3 n), every diagonal entry stored."""
        scaled = self.equilibrium.copy()
        scaled.data = scaled.data * np.repeat(self.stiffness_n_per_mm, 6)
        product: csc_array = scaled @ self.equilibrium.T
        product.sort_indices()
        return product

    def held(self, fixed: Bools, spring_n_per_mm: Floats) -> "Truss":
        """The same bars held otherwise; what is known of the bars is kept."""
        other = replace(self, fixed=fixed, spring_n_per_mm=spring_n_per_mm)
        for name in _OF_BARS:
            if name in self.__dict__:
                other.__dict__[name] = self.__dict__[name]
        return other

    @cached_property
    def free_equilibrium(self) -> csc_array:
        """B on the free degrees of freedom, with one unit column for each spring behind the bars:
        shape (free, m + springs)."""
        rows = self.equilibrium.tocsr()[self.free].tocsc()
        place = np.full(self.fixed.size, -1, dtype=np.int64)
        place[self.free] = np.arange(len(self.free))
        bars, springs = rows.shape[1], len(self.sprung)
        if springs == 0:
            return rows
        return csc_array(
            (
                np.concatenate([rows.data, np.ones(springs)]),
                np.concatenate([rows.indices, place[self.sprung]]),
                np.concatenate([rows.indptr, rows.indptr[-1] + 1 + np.arange(springs)]),
            ),
            shape=(rows.shape[0], bars + springs),
        )

    @cached_property
    def free_stiffness(self) -> csc_array:
        """K of bars and springs on the free degrees of freedom."""
        matrix = self.bar_stiffness
        if len(self.free) < self.fixed.size:
            matrix = matrix[:, self.free][self.free]
        if len(self.sprung):
            springs = self.spring_n_per_mm.ravel()[self.free]
            size = len(self.free)
            diagonal: Any = dia_array((springs[None, :], [0]), shape=(size, size))
            matrix = (matrix + diagonal).tocsc()
        return matrix

    def stretch_mm(self, displacement_mm: Floats) -> Floats:
        """How much longer each bar gets, shape (c, m), under displacements of shape (c, n, 3).

        Ends are subtracted before they meet the unit vector, so that nearly equal displacements
        lose no digits.
        """
        apart = displacement_mm.take(self.end, axis=1)
        apart -= displacement_mm.take(self.start, axis=1)
        stretch: Floats = np.einsum("cma,ma->cm", apart, self.direction)
        return stretch


def equilibrium_matrix(start: Ints, end: Ints, direction: Floats, node_count: int) -> csc_array:
    """B of bars from `start` to `end` (m,) with unit vectors `direction` (m, 3): (3 nodes, m)."""
    count = len(start)
    rows = np.empty((count, 6), dtype=np.int32)
    values = np.empty((count, 6))
    axes = np.arange(3, dtype=np.int32)
    rows[:, :3] = 3 * start[:, None] + axes
    rows[:, 3:] = 3 * end[:, None] + axes
    values[:, :3] = -direction
    values[:, 3:] = direction
    pointers = np.arange(0, 6 * count + 1, 6, dtype=np.int32)
    return csc_array((values.ravel(), rows.ravel(), pointers), shape=(3 * node_count, count))


def free_body(nodes_mm: Floats, start: Ints, end: Ints, stiffness_n_per_mm: Floats) -> Truss:
    """The truss held by nothing."""
    nothing = np.zeros(nodes_mm.shape)
    return Truss(nodes_mm, start, end, stiffness_n_per_mm, nothing.astype(bool), nothing)
