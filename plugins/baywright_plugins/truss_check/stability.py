"""Mechanisms and states of self-stress: the rank of the geometry decides, never an answer's size.

Bars count by direction alone (unit stiffness), so that a soft bar is as good as a stiff one and
the load plays no part.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import scipy.linalg
from scipy.sparse import csc_array, eye_array, hstack

from ..frame.shared_work import Shared, key_of, unchangeable
from .equilibrium import Floats, Ints, Truss, free_body
from .solve import NotSolvable, Solver, factorise, scaled_to_unit_diagonal

#: Below this share of the largest singular value a direction is free to move.
FREE = 1e-11
#: Above this share it is held. Between the two nobody can say.
HELD = 2e-9
#: Up to this many degrees of freedom the whole matrix is taken apart.
DENSE = 200
MOST_MODES = 700

_inner_modes: Shared[Floats] = Shared(limit_mib=16)


class RankUndecided(ArithmeticError):
    """A direction is neither clearly held nor clearly free, or too many are free."""


@dataclass(frozen=True)
class Stability:
    """How a truss stands by itself.

    `modes` are orthonormal mechanisms, shape (mechanisms, n, 3), no load stretches any bar.
    """

    truss: Truss
    modes: Floats

    @property
    def degrees_of_freedom(self) -> int:
        return len(self.truss.free)

    @property
    def members(self) -> int:
        return len(self.truss.start)

    @property
    def mechanisms(self) -> int:
        return len(self.modes)

    @property
    def self_stress_states(self) -> int:
        """m - s = degrees of freedom - bars (and springs): Maxwell's rule, Calladine 1978."""
        columns = self.members + len(self.truss.sprung)
        return columns - self.degrees_of_freedom + self.mechanisms

    @cached_property
    def node_mobility(self) -> Floats:
        """Diagonal of the projector on the mechanisms, summed over x, y, z of each node (n,).

        Adds up to the number of mechanisms and does not depend on the basis chosen.
        """
        if not len(self.modes):
            return np.zeros(len(self.truss.nodes_mm))
        mobility: Floats = (self.modes**2).sum(axis=(0, 2))
        return mobility

    @cached_property
    def member_redundancy(self) -> Floats:
        """Diagonal of the projector on the states of self-stress (m,): 0 where the bar cannot be
        missed, 1 where it does nothing that others do not. Dense: for small trusses."""
        columns = self.truss.free_equilibrium
        if not columns.shape[0]:
            return np.ones(self.members)
        if columns.shape[0] <= DENSE:
            _, size, right = scipy.linalg.svd(columns.toarray(), full_matrices=False)
            kept = right[size > FREE * 10 * size.max(initial=1.0)]
            needed: Floats = (kept**2).sum(axis=0)
        else:
            needed = self._needed(columns)
        return np.asarray(np.clip(1.0 - needed[: self.members], 0.0, 1.0))

    def _needed(self, columns: csc_array) -> Floats:
        """diag(B^T (B B^T)^+ B); the pseudo-inverse by a shift that mechanisms do not feel."""
        shift = 1e-11
        gram = csc_array(columns @ columns.T)
        factors = factorise(csc_array(gram + shift * eye_array(gram.shape[0])))
        dense = columns.toarray()
        solved = factors.solve(dense)
        for _ in range(3):
            solved += factors.solve(dense - gram @ solved)
        needed: Floats = np.einsum("ij,ij->j", dense, solved)
        return needed


def stability(truss: Truss) -> Stability:
    """The mechanisms of a truss as it is held.

    Raises RankUndecided where a direction is nearly free: singular value of the geometry between
    1e-11 and 2e-9 of the largest, e.g. a chain that is almost in line.

    Leaves out: whether an infinitesimal mechanism stiffens when it moves, or under pre-stress.
    Source: Pellegrino and Calladine 1986, International Journal of Solids and Structures 22(4),
    409-428 (from memory): rank of the equilibrium matrix.
    """
    basis = null_space(truss.free_equilibrium)
    modes = np.zeros((basis.shape[1], truss.fixed.size))
    modes[:, truss.free] = basis.T
    return Stability(truss, modes.reshape(-1, *truss.fixed.shape))


def stability_and_solver(truss: Truss) -> tuple[Stability, Solver | None]:
    """The mechanisms of a truss, and its solver where there are none.

    A stiffness matrix that is clearly regular has a geometry of full rank, so its factors serve
    for both; where that is not clear the geometry alone decides. Raises RankUndecided, and
    NotSolvable where the geometry is sound but the stiffness cannot be factorised.
    """
    try:
        solver = Solver(truss)
        if _reached(truss) and solver.certainly_regular(_far_from_singular):
            return Stability(truss, np.zeros((0, *truss.fixed.shape))), solver
    except NotSolvable:
        pass
    found = stability(truss)
    return found, None if found.mechanisms else Solver(truss)


def internal_stability(nodes_mm: Floats, start: Ints, end: Ints) -> Stability:
    """The mechanisms a body has within itself, held by nothing: rigid motions are not counted.

    `self_stress_states` and `degrees_of_freedom` of the result are those of the body with its
    six rigid motions taken away, so that m - s = (3 n - 6) - bars.

    Args: nodes_mm (n, 3), start and end (m,). Nodes all in one line are refused.
    Raises RankUndecided as `stability` does, and where all nodes lie in one line.
    Source: as `stability`; six simple supports take away exactly the rigid motions.
    """
    truss = free_body(nodes_mm, start, end, np.ones(len(start)))
    modes = _inner_modes.of(
        key_of(nodes_mm, start, end), lambda: _modes_within(truss), unchangeable
    )
    return _Internal(truss, modes)


def _modes_within(truss: Truss) -> Floats:
    nodes_mm = truss.nodes_mm
    held = _six_supports(nodes_mm)
    columns = hstack([truss.equilibrium, held], format="csc")
    basis = null_space(csc_array(columns))
    rigid = rigid_motions(nodes_mm)
    basis = basis - rigid @ (rigid.T @ basis)
    if basis.shape[1]:
        basis, _ = np.linalg.qr(basis)
    return basis.T.reshape(-1, len(nodes_mm), 3)


class _Internal(Stability):
    @property
    def degrees_of_freedom(self) -> int:
        return len(self.truss.free) - 6


def rigid_motions(nodes_mm: Floats) -> Floats:
    """Orthonormal rigid motions of nodes (n, 3), not all in one line: shape (3 n, 6)."""
    away = nodes_mm - nodes_mm.mean(axis=0)
    away = away / max(float(np.abs(away).max()), np.finfo(float).tiny)
    motions = np.zeros((len(away), 3, 6))
    for axis in range(3):
        motions[:, axis, axis] = 1.0
        motions[:, :, 3 + axis] = np.cross(np.eye(3)[axis], away)
    basis, _ = np.linalg.qr(motions.reshape(-1, 6))
    return np.asarray(basis)


def _six_supports(nodes_mm: Floats) -> csc_array:
    """Six unit columns that hold a rigid body and stress nothing: three at the node farthest from
    the middle, two across the line to the next, one across their plane."""
    first = int(((nodes_mm - nodes_mm.mean(axis=0)) ** 2).sum(axis=1).argmax())
    away = nodes_mm - nodes_mm[first]
    second = int((away**2).sum(axis=1).argmax())
    length = float(np.linalg.norm(away[second]))
    along = away[second] / max(length, np.finfo(float).tiny)
    across = away - np.outer(away @ along, along)
    third = int((across**2).sum(axis=1).argmax())
    width = float(np.linalg.norm(across[third]))
    if not width > 1e-6 * length:
        raise RankUndecided("all nodes lie in one line")
    sideways = across[third] / width
    upward = np.cross(along, sideways)
    columns = np.zeros((len(nodes_mm), 3, 6))
    columns[first, :, :3] = np.eye(3)
    columns[second, :, 3], columns[second, :, 4] = sideways, upward
    columns[third, :, 5] = upward
    return csc_array(columns.reshape(-1, 6))


def null_space(columns: csc_array) -> Floats:
    """Orthonormal basis (rows, k) of what B^T does not see. Raises RankUndecided."""
    rows = columns.shape[0]
    if rows == 0:
        return np.zeros((0, 0))
    if rows > 30 and _certainly_held(columns):
        return np.zeros((rows, 0))
    if rows <= DENSE:
        return _dense_null_space(columns)
    return _sparse_null_space(columns)


def _free_count(singular: Floats, largest: float) -> int | None:
    """How many singular values are zero; None where one is in doubt."""
    share = singular / largest if largest > 0 else np.zeros_like(singular)
    if ((share > FREE) & (share < HELD)).any():
        return None
    return int((share <= FREE).sum())


def _undecided(singular: Floats, largest: float) -> RankUndecided:
    share = singular / largest
    doubtful = share[(share > FREE) & (share < HELD)]
    return RankUndecided(
        "the geometry is so close to a mechanism that rounding decides: a singular value of "
        f"the equilibrium matrix is {float(doubtful.min()):.1e} of the largest"
    )


def _dense_null_space(columns: csc_array) -> Floats:
    left, singular, _ = scipy.linalg.svd(columns.toarray(), full_matrices=True)
    short = columns.shape[0] - len(singular)
    singular = np.concatenate([singular, np.zeros(max(short, 0))])
    largest = float(singular.max(initial=0.0))
    count = _free_count(singular, largest)
    if count is None:
        raise _undecided(singular, largest)
    return np.asarray(left[:, columns.shape[0] - count :])


def _certainly_held(columns: csc_array) -> bool:
    """True where inverse iteration on B B^T finds no direction that is even nearly free.

    A null vector outgrows every other in the first step, so two steps on two vectors miss
    none; what is not certain is left to `_sparse_null_space`.
    """
    gram = csc_array(columns @ columns.T)
    diagonal = gram.diagonal()
    if not (diagonal > 1e-9).all():
        return False
    scaled, scale = scaled_to_unit_diagonal(gram)
    try:
        factors = factorise(scaled)
    except NotSolvable:
        return False
    return _far_from_singular(factors, lambda block: columns.T @ (block * scale[:, None]))


def _reached(truss: Truss) -> bool:
    """Whether bars or springs reach every free direction by more than a trace; scaling to a unit
    diagonal would hide a direction that they hardly reach."""
    squares = np.ascontiguousarray(truss.direction.T) ** 2
    nodes = len(truss.nodes_mm)
    reach = np.array(
        [
            np.bincount(truss.start, row, nodes) + np.bincount(truss.end, row, nodes)
            for row in squares
        ]
    ).T.ravel()
    reach[truss.sprung] += 1.0
    return bool((reach[truss.free] > 1e-9).all())


def _far_from_singular(factors: Any, stretch: Callable[[Floats], Floats]) -> bool:
    """Whether the smallest singular value that inverse iteration finds lies clear of zero.

    One vector is enough: after two steps a direction 1e5 times softer than any other outweighs
    it 1e20 times, so chance would have to leave it out to ten digits.
    """
    vector = np.random.default_rng(1).standard_normal((factors.shape[0], 1))
    for _ in range(2):
        vector = factors.solve(vector)
        size = float(np.linalg.norm(vector))
        if not 0.0 < size < np.inf:
            return False
        vector /= size
    pulled = stretch(vector)
    return float(np.vdot(pulled, pulled)) > 1e-11


def _sparse_null_space(columns: csc_array) -> Floats:
    """Null vectors by inverse iteration, block after block, until a fresh block finds none.

    Each block keeps clear of the vectors found before. Singular values are read from B^T times
    the block, not from B B^T, so that they keep all their digits near zero.
    """
    rows = columns.shape[0]
    gram = csc_array(columns @ columns.T)
    largest = float(np.sqrt(abs(gram).sum(axis=0).max()))
    factors = factorise(csc_array(gram + 1e-13 * largest**2 * eye_array(rows)))
    draw = np.random.default_rng(1)
    found = np.zeros((rows, 0))
    width = 12
    while found.shape[1] < rows:
        width = min(width, rows - found.shape[1])
        block, count = _block(columns, factors, found, draw.standard_normal((rows, width)), largest)
        found = np.concatenate([found, block[:, :count]], axis=1)
        if count == 0:
            break
        width = min(2 * width, 256) if count == width else width
        if found.shape[1] > MOST_MODES:
            raise RankUndecided(f"more than {MOST_MODES} independent mechanisms")
    return found


def _block(
    columns: csc_array, factors: Any, found: Floats, block: Floats, largest: float
) -> tuple[Floats, int]:
    """The block turned so that singular values ascend, and how many of them are zero."""
    singular = np.zeros(0)
    for step in range(30):
        for _ in range(2):
            block = block - found @ (found.T @ block)
            block, _ = np.linalg.qr(block)
        if step >= 3:
            stretch = columns.T @ block
            short = max(block.shape[1] - stretch.shape[0], 0)
            _, singular, turn = np.linalg.svd(stretch, full_matrices=short > 0)
            singular = np.concatenate([singular, np.zeros(short)])[::-1]
            block = block @ turn[::-1].T
            count = _free_count(singular, largest)
            if count is not None:
                return block, count
        block = factors.solve(block)
    raise _undecided(singular, largest)
