"""Member forces, displacements and reactions: one factorisation for all load cases."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

from .banded import NotPositive, factorise_by_band, scaled_band
from .equilibrium import Floats, Ints, Truss

#: Refinement stops when forces at nodes balance to this share of the largest force.
BALANCE = 1e-11
#: Above this share the answer is not trusted.
WORST_BALANCE = 1e-8
#: A band of more numbers (400 MB) is left to sparse LU. Below, Cholesky on the band is quicker:
#: twice for box beams and flat frames, ten times for dense lattices.
LARGEST_BAND = 50_000_000
#: Members times load cases that are worked on at a time.
AT_ONCE = 20_000
#: Below this load in N (or mm) doubles begin to lose digits on the way.
MINUTE = 1e-200


class NotSolvable(ArithmeticError):
    """The stiffness matrix cannot be factorised, or forces do not balance after refinement."""


@dataclass(frozen=True)
class LinearState:
    """Answer to c load cases: member_force_n (c, m), tension positive; displacement_mm (c, n, 3);
    reaction_n (c, n, 3), what supports and springs push on the nodes; residual_ratio (c,), the
    largest force left over at a node as a share of the largest load of the case."""

    member_force_n: Floats
    displacement_mm: Floats
    reaction_n: Floats
    residual_ratio: Floats


def factorise(matrix: csc_array) -> Any:
    """Factors of a symmetric positive definite matrix: Cholesky on the band, or where that is too
    wide or gives up, sparse LU without pivoting, minimum degree ordering of A + A^T.

    Raises NotSolvable where the matrix is singular to the last digit.
    """
    with suppress(NotPositive):
        factors = factorise_by_band(matrix, most=LARGEST_BAND)
        if factors is not None:
            return factors
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
        self._system = _by_band(truss) or _by_sparse_lu(truss)

    def certainly_regular(self, test: Callable[[Any, Callable[[Floats], Floats]], bool]) -> bool:
        """What `test` says of the factors of S K S and of v -> sqrt(k) B^T S v, shape
        (m + springs, c)."""
        truss, system = self.truss, self._system
        if not len(system.dof):
            return True
        bars = np.sqrt(truss.stiffness_n_per_mm)
        springs = np.sqrt(truss.spring_n_per_mm.ravel()[truss.sprung])

        def stretch(block: Floats) -> Floats:
            moved = np.zeros((block.shape[1], truss.fixed.size))
            moved[:, system.dof] = (block * system.scale[:, None]).T
            pulled = bars * truss.stretch_mm(moved.reshape(-1, *truss.fixed.shape))
            return np.concatenate([pulled, springs * moved[:, truss.sprung]], axis=1).T

        return test(system.factors, stretch)

    def displacements(self, right: Floats) -> Floats:
        """K^-1 of columns on the free degrees of freedom, shape (free, c); not refined."""
        system = self._system
        if not len(system.dof) or not right.shape[1]:
            return np.zeros_like(right)
        whole = np.zeros((right.shape[1], self.truss.fixed.size))
        whole[:, self.truss.free] = right.T
        whole[:, system.dof] = system.solve(whole[:, system.dof])
        return np.asarray(whole[:, self.truss.free].T)

    def solve(self, forces_n: Floats) -> LinearState:
        """All load cases at once; forces_n has shape (c, n, 3). Raises NotSolvable."""
        truss, dof = self.truss, self._system.dof
        cases, nodes = forces_n.shape[:2]
        loads = np.ascontiguousarray(forces_n).reshape(cases, 3 * nodes)
        size = np.maximum(loads.max(axis=1, initial=0.0), -loads.min(axis=1, initial=0.0))
        unit = _unit(size)
        if (unit != 1.0).any():
            loads, size = loads / unit[:, None], size / unit
        size[size == 0.0] = 1.0
        sums = _Sums(truss, dof, loads)
        left = loads.take(dof, axis=1)
        open_cases = np.arange(cases)
        residual = np.full(cases, np.inf)
        for _ in range(6):
            left = sums.add(open_cases, self._system.solve(left))
            before = residual[open_cases]
            residual[open_cases] = np.abs(left).max(axis=1, initial=0.0) / size[open_cases]
            now = residual[open_cases]
            going = (now > BALANCE) & (now <= 0.5 * before)
            if not going.any():
                break
            open_cases, left = open_cases[going], left[going]
        if not (residual <= WORST_BALANCE).all():
            worst = float(residual.max())
            raise NotSolvable(f"forces balance only to {worst:.1e} of the largest load")
        return LinearState(
            _times(sums.force_n, unit),
            _times(sums.moved_mm, unit).reshape(cases, nodes, 3),
            _times(sums.reaction_n(), unit).reshape(cases, nodes, 3),
            residual,
        )


def _unit(size: Floats) -> Floats:
    """For each load case a power of two that brings minute loads to a size at which products
    keep their digits; 1 for all others."""
    minute = (size > 0.0) & (size < MINUTE)
    _, exponent = np.frexp(size)
    return np.asarray(np.where(minute, np.ldexp(1.0, exponent), 1.0))


def _times(of_cases: Floats, unit: Floats) -> Floats:
    return of_cases * unit[:, None] if (unit != 1.0).any() else of_cases


class _Sums:
    """Displacements (c, 3 n) and member forces (c, m) that grow with every step of refinement.

    Few load cases are worked on at a time, so that the arrays between stay in the cache.
    """

    def __init__(self, truss: Truss, dof: Ints, loads: Floats) -> None:
        cases, bars = len(loads), len(truss.start)
        self._truss, self._dof, self._loads = truss, dof, loads
        self._at_once = max(1, AT_ONCE // bars)
        self._spring = truss.spring_n_per_mm.ravel()[dof]
        self._sprung = len(truss.sprung) > 0
        self.force_n = np.zeros((cases, bars))
        self.moved_mm = np.zeros(loads.shape)
        self._pulled = np.empty(loads.shape)

    def add(self, cases: Ints, solved: Floats) -> Floats:
        """Forces left over in directions `dof` (k, rows) after a step (k, rows) of k cases."""
        left = np.empty(solved.shape)
        for first in range(0, len(cases), self._at_once):
            part = slice(first, first + self._at_once)
            left[part] = self._add(cases[part], solved[part])
        return left

    def _add(self, cases: Ints, solved: Floats) -> Floats:
        truss, dof = self._truss, self._dof
        step = np.zeros((len(cases), truss.fixed.size))
        step[:, dof] = solved
        self.moved_mm[cases] += step
        stretch = truss.stretch_mm(step.reshape(-1, *truss.fixed.shape))
        stretch *= truss.stiffness_n_per_mm
        stretch += self.force_n[cases]
        self.force_n[cases] = stretch
        pulled = np.asarray(truss.equilibrium @ stretch.T).T
        self._pulled[cases] = pulled
        left: Floats = self._loads[cases].take(dof, axis=1) - pulled.take(dof, axis=1)
        if self._sprung:
            left -= self._spring * self.moved_mm[cases].take(dof, axis=1)
        return left

    def reaction_n(self) -> Floats:
        """What supports and springs push on the nodes (c, 3 n)."""
        truss = self._truss
        fixed, spring = np.flatnonzero(truss.fixed.ravel()), truss.spring_n_per_mm.ravel()
        reaction = np.zeros(self._loads.shape)
        reaction[:, fixed] = self._pulled[:, fixed] - self._loads[:, fixed]
        reaction[:, truss.sprung] = -spring[truss.sprung] * self.moved_mm[:, truss.sprung]
        return reaction


@dataclass(frozen=True)
class _System:
    """Factors of S K S; row r is direction dof[r] of the flattened (n, 3)."""

    dof: Ints
    scale: Floats
    factors: Any

    def solve(self, right: Floats) -> Floats:
        """K^-1 of load cases (c, rows)."""
        if not right.size:
            return right
        solved = np.asarray(self.factors.solve((right * self.scale).T)).T
        solved *= self.scale
        return solved


def worth_a_band(truss: Truss) -> bool:
    """Whether the band of its stiffness is small enough to be preferred to sparse LU."""
    return 0 < len(truss.free) * 3 * (truss.node_order[1] + 1) <= LARGEST_BAND


def _by_band(truss: Truss) -> _System | None:
    """Cholesky on the band; None where the frame is too wide for it, or so ill-conditioned that
    Cholesky gives up."""
    if not worth_a_band(truss):
        return None
    place, width = truss.node_order
    try:
        band = scaled_band(
            place, width, truss.start, truss.end, truss.direction, truss.stiffness_n_per_mm,
            truss.fixed, truss.spring_n_per_mm,
        )  # fmt: skip
        return _System(band.dof, band.scale, band.factorise())
    except NotPositive:
        return None


def _by_sparse_lu(truss: Truss) -> _System:
    matrix = truss.free_stiffness
    if not (matrix.diagonal() > 0).all():
        raise NotSolvable("a node has no stiffness")
    scaled, scale = scaled_to_unit_diagonal(matrix)
    return _System(truss.free, scale, factorise(scaled) if len(scale) else None)
