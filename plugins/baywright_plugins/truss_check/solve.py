"""Member forces, displacements and reactions: one factorisation for all load cases."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

from .equilibrium import Floats, Truss

#: Refinement stops when forces at nodes balance to this share of the largest force.
BALANCE = 1e-12
#: Above this share the answer is not trusted.
WORST_BALANCE = 1e-8


class NotSolvable(ArithmeticError):
    """The stiffness matrix cannot be factorised, or forces do not balance after refinement."""


@dataclass(frozen=True)
class LinearState:
    """Answer to c load cases: member_force_n (c, m), tension positive; displacement_mm (c, n, 3);
    reaction_n (c, n, 3), what supports and springs push on the nodes; `imbalance` is the largest
    force left over at a node as a share of the largest force."""

    member_force_n: Floats
    displacement_mm: Floats
    reaction_n: Floats
    imbalance: float


def factorise(matrix: csc_array) -> Any:
    """Sparse LU of a symmetric positive definite matrix, without pivoting.

    Minimum degree ordering of A + A^T: as fast as banded Cholesky with its ordering and assembly
    on long box beams, faster on wide frames. Small panels suit the little fill of frames. Raises
    NotSolvable where the matrix is singular to the last digit.
    """
    try:
        return splu(
            matrix,
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            relax=4,
            panel_size=4,
            options={"SymmetricMode": True},
        )
    except RuntimeError as error:
        raise NotSolvable(str(error)) from error


def scaled_to_unit_diagonal(matrix: csc_array) -> tuple[csc_array, Floats]:
    """S K S with ones on the diagonal, and the diagonal of S; that of K must be positive."""
    if not matrix.has_sorted_indices:
        matrix = matrix.sorted_indices()
    scale = 1.0 / np.sqrt(matrix.diagonal())
    data = matrix.data * scale[matrix.indices] * np.repeat(scale, np.diff(matrix.indptr))
    return csc_array((data, matrix.indices, matrix.indptr), shape=matrix.shape), scale


class Solver:
    """A truss with its stiffness factorised once; solves any number of load cases.

    The truss must be stable (see `stability`): that is not found out here.

    Leaves out: joint rotation, bending of bars, play in the seats, change of geometry.
    Source: direct stiffness method, any text on structural analysis; refinement that adds up
    forces apart from displacements keeps their digits at stiffness ratios of 1e12.
    """

    def __init__(self, truss: Truss) -> None:
        self.truss = truss
        matrix = truss.free_stiffness
        if not (matrix.diagonal() > 0).all():
            raise NotSolvable("a node has no stiffness")
        scaled, self._scale = scaled_to_unit_diagonal(matrix)
        if len(self._scale):
            self._factors = factorise(scaled)

    def certainly_regular(self, test: Callable[[Any, Callable[[Floats], Floats]], bool]) -> bool:
        """What `test` says of the factors of S K S and of v -> sqrt(k) B^T S v, shape
        (m + springs, c)."""
        truss = self.truss
        if not len(self._scale):
            return True
        bars = np.sqrt(truss.stiffness_n_per_mm)[:, None]
        springs = np.sqrt(truss.spring_n_per_mm.ravel()[truss.sprung])[:, None]

        def stretch(block: Floats) -> Floats:
            moved = np.zeros((truss.fixed.size, block.shape[1]))
            moved[truss.free] = block * self._scale[:, None]
            pulled = bars * np.asarray(truss.equilibrium.T @ moved)
            return np.concatenate([pulled, springs * moved[truss.sprung]])

        return test(self._factors, stretch)

    def displacements(self, right: Floats) -> Floats:
        """K^-1 of columns on the free degrees of freedom, shape (free, c); not refined."""
        if not len(self._scale) or not right.shape[1]:
            return np.zeros_like(right)
        solved = self._factors.solve(right * self._scale[:, None])
        return np.asarray(solved * self._scale[:, None])

    def solve(self, forces_n: Floats) -> LinearState:
        """All load cases at once; forces_n has shape (c, n, 3). Raises NotSolvable."""
        truss = self.truss
        cases, nodes = forces_n.shape[:2]
        loads = np.ascontiguousarray(forces_n.reshape(cases, 3 * nodes).T)
        free = truss.free
        spring = truss.spring_n_per_mm.ravel()[free][:, None]
        stiffness = truss.stiffness_n_per_mm[:, None]
        force = np.zeros((len(truss.start), cases))
        held = np.zeros((len(free), cases))
        moved = np.zeros((3 * nodes, cases))
        pulled = np.zeros_like(loads)
        free_loads = loads[free]
        left = free_loads
        size = max(float(np.abs(loads).max(initial=0.0)), np.finfo(float).tiny)
        imbalance = np.inf
        for _ in range(6):
            step = np.zeros_like(moved)
            step[free] = self.displacements(left)
            moved += step
            force += stiffness * truss.stretch_by_node_mm(step.reshape(nodes, 3, cases))
            held += spring * step[free]
            pulled = np.asarray(truss.equilibrium @ force)
            left = free_loads - pulled[free] - held
            before, imbalance = imbalance, float(np.abs(left).max(initial=0.0)) / size
            if imbalance <= BALANCE or imbalance > 0.5 * before:
                break
        if not imbalance <= WORST_BALANCE:
            raise NotSolvable(f"forces balance only to {imbalance:.1e} of the largest load")
        reaction = np.where(truss.fixed.reshape(-1, 1), pulled - loads, 0.0)
        reaction[free] -= held
        return LinearState(
            np.ascontiguousarray(force.T),
            np.ascontiguousarray(moved.T).reshape(cases, nodes, 3),
            np.ascontiguousarray(reaction.T).reshape(cases, nodes, 3),
            imbalance if np.isfinite(imbalance) else 0.0,
        )
