"""Member forces, displacements and reactions: one factorisation for all load cases."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import csc_array, dia_array
from scipy.sparse.linalg import splu

from .equilibrium import Floats, Truss

#: Refinement stops when forces at nodes balance to this share of the largest force.
BALANCE = 1e-13
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

    Minimum degree ordering of A + A^T; it was as fast as banded Cholesky on long box beams and
    faster on wide frames. Raises NotSolvable where the matrix is singular to the last digit.
    """
    try:
        return splu(
            matrix,
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError as error:
        raise NotSolvable(str(error)) from error


def stiffness_matrix(columns: csc_array, stiffness_n_per_mm: Floats) -> csc_array:
    """K = B diag(k) B^T on the free degrees of freedom."""
    scaled = columns.copy()
    scaled.data = columns.data * np.repeat(stiffness_n_per_mm, np.diff(columns.indptr))
    return csc_array(scaled @ columns.T)


class Solver:
    """A truss with its stiffness factorised once; solves any number of load cases.

    The truss must be stable (see `stability`): that is not found out here.

    Leaves out: joint rotation, bending of bars, play in the seats, change of geometry.
    Source: direct stiffness method, any text on structural analysis; refinement that adds up
    forces apart from displacements keeps their digits at stiffness ratios of 1e12.
    """

    def __init__(self, truss: Truss) -> None:
        self.truss = truss
        self._columns = truss.free_equilibrium
        matrix = stiffness_matrix(self._columns, truss.free_stiffness_n_per_mm)
        diagonal = matrix.diagonal()
        if len(diagonal) and not (diagonal > 0).all():
            raise NotSolvable("a node has no stiffness")
        self._scale = 1.0 / np.sqrt(diagonal)
        if len(diagonal):
            by = dia_array((self._scale[None, :], [0]), shape=matrix.shape)
            self._factors = factorise(csc_array(by @ matrix @ by))

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
        loads = forces_n.reshape(cases, -1)
        bars = len(truss.start)
        force = np.zeros((cases, bars + len(truss.sprung)))
        moved = np.zeros((cases, 3 * nodes))
        left = loads[:, truss.free].copy()
        size = max(float(np.abs(loads).max(initial=0.0)), np.finfo(float).tiny)
        imbalance = np.inf
        for _ in range(6):
            step = np.zeros_like(moved)
            step[:, truss.free] = self.displacements(np.ascontiguousarray(left.T)).T
            moved += step
            force[:, :bars] += truss.stiffness_n_per_mm * truss.stretch_mm(
                step.reshape(cases, nodes, 3)
            )
            force[:, bars:] += truss.free_stiffness_n_per_mm[bars:] * step[:, truss.sprung]
            left = loads[:, truss.free] - np.asarray(self._columns @ force.T).T
            before, imbalance = imbalance, float(np.abs(left).max(initial=0.0)) / size
            if imbalance <= BALANCE or imbalance > 0.5 * before:
                break
        if not imbalance <= WORST_BALANCE:
            raise NotSolvable(f"forces balance only to {imbalance:.1e} of the largest load")
        pulled = np.asarray(truss.equilibrium @ force[:, :bars].T).T
        reaction = np.where(truss.fixed.ravel(), pulled - loads, 0.0)
        reaction[:, truss.sprung] = -force[:, bars:]
        return LinearState(
            force[:, :bars],
            moved.reshape(cases, nodes, 3),
            reaction.reshape(cases, nodes, 3),
            imbalance if np.isfinite(imbalance) else 0.0,
        )
