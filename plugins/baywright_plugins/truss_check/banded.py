"""Stiffness of long frames as a band: assembled, factorised and solved by LAPACK.

A frame that is long and thin has nodes whose neighbours are never far in number, once they are
numbered along it. Its stiffness matrix is then a narrow band, and Cholesky's method on the band
beats any general sparse factorisation.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dpbtrf, dpbtrs
from scipy.sparse import csc_array
from scipy.sparse.csgraph import reverse_cuthill_mckee

from .ordering import Bools, Floats, Ints


class NotPositive(ArithmeticError):
    """The matrix is not positive definite to working precision."""


@dataclass(frozen=True)
class BandFactors:
    """Cholesky factors of a symmetric band matrix."""

    lower: Floats

    @property
    def shape(self) -> tuple[int, int]:
        return self.lower.shape[1], self.lower.shape[1]

    def solve(self, right: Floats) -> Floats:
        """The inverse times columns (rows, c), which are overwritten if in Fortran order."""
        solved, _ = dpbtrs(self.lower, right, lower=1, overwrite_b=1)
        return np.asarray(solved)


@dataclass(frozen=True)
class TurnedFactors:
    """The same of a matrix whose row order[r] is row r of the band."""

    band: BandFactors
    order: Ints

    @property
    def shape(self) -> tuple[int, int]:
        return self.band.shape

    def solve(self, right: Floats) -> Floats:
        """Columns (rows, c) of the inverse times `right`."""
        solved = np.empty(right.shape)
        solved[self.order] = self.band.solve(np.asfortranarray(right[self.order]))
        return solved


def factorise_by_band(matrix: csc_array, *, most: int) -> TurnedFactors | None:
    """Cholesky factors of a symmetric matrix, numbered by reverse Cuthill-McKee; None where the
    band would hold more than `most` numbers. Raises NotPositive."""
    order = reverse_cuthill_mckee(matrix, symmetric_mode=True).astype(np.int64)
    size = len(order)
    place = np.empty(size, dtype=np.int64)
    place[order] = np.arange(size)
    row = place[matrix.indices]
    column = np.repeat(place, np.diff(matrix.indptr))
    below = row >= column
    row, column = row[below], column[below]
    width = int((row - column).max(initial=0))
    if size * (width + 1) > most:
        return None
    band = np.zeros(size * (width + 1))
    band[width * column + row] = matrix.data[below]
    lower = band.reshape(size, width + 1).T
    return TurnedFactors(_factorised(lower), order)


def _factorised(lower: Floats) -> BandFactors:
    factors, failed = dpbtrf(lower, lower=1, overwrite_ab=1)
    if failed:
        raise NotPositive(f"pivot {failed} is not positive")
    return BandFactors(factors)


@dataclass(frozen=True)
class ScaledBand:
    """S K S with ones on the diagonal: S diag (free,), and its lower band by columns, Fortran
    order (width + 1, free). Row r stands for direction dof[r] of the flattened (n, 3)."""

    dof: Ints
    scale: Floats
    lower: Floats

    def factorise(self) -> BandFactors:
        """Raises NotPositive. The band is overwritten."""
        return _factorised(self.lower)


def scaled_band(
    node_place: Ints,
    node_width: int,
    start: Ints,
    end: Ints,
    direction: Floats,
    stiffness_n_per_mm: Floats,
    fixed: Bools,
    spring_n_per_mm: Floats,
) -> ScaledBand:
    """The stiffness matrix of bars (m,) and springs (n, 3) on the free directions, as a band.

    Axes come first and bars last throughout, so that numpy's loops are long. Raises NotPositive
    where a free direction has no stiffness at all.
    """
    root = np.ascontiguousarray(direction.T) * np.sqrt(stiffness_n_per_mm)
    diagonal = _sums(root * root, start, end, len(fixed)) + spring_n_per_mm.T
    free = np.ascontiguousarray(~fixed.T)
    held = diagonal[free]
    if not ((held > 0) & (held < np.inf)).all():
        raise NotPositive("a free direction has no stiffness")
    scale = np.zeros(free.shape)
    scale[free] = 1.0 / np.sqrt(held)
    row, dof = _rows(free, node_place)
    size = len(held)
    width = min(3 * node_width + 2, max(size - 1, 0))

    turned = node_place[start] > node_place[end]
    high, low = np.where(turned, start, end), np.where(turned, end, start)
    twins = _any_twins(node_place[low], node_place[high], node_width)
    nowhere = size * (width + 1)
    band = np.zeros(nowhere + 1)
    one, other = scale.take(high, axis=1), scale.take(low, axis=1)
    one *= root
    other *= -root
    below = np.where(free, row, nowhere).take(high, axis=1)
    beside = np.where(free, width * row, nowhere).take(low, axis=1)
    place, value = np.empty_like(high), np.empty(len(start))
    for high_axis in range(3):
        for low_axis in range(3):
            np.add(below[high_axis], beside[low_axis], out=place)
            np.minimum(place, nowhere, out=place)
            np.multiply(one[high_axis], other[low_axis], out=value)
            if twins or width < 3:
                np.add.at(band, place, value)
            else:
                band[place] = value
    for high_axis, low_axis in ((1, 0), (2, 0), (2, 1)):
        both = free[high_axis] & free[low_axis]
        crossed = _sums(root[high_axis][None] * root[low_axis], start, end, len(fixed))[0]
        crossed *= scale[high_axis] * scale[low_axis]
        band[(row[high_axis] + width * row[low_axis])[both]] += crossed[both]
    lower = band[:nowhere].reshape(size, width + 1).T
    lower[0] = 1.0
    return ScaledBand(dof, scale.T.ravel()[dof], lower)


def _sums(of_bars: Floats, start: Ints, end: Ints, nodes: int) -> Floats:
    """Sums (k, n) over the bars that meet at each node of values (k, m)."""
    return np.array(
        [np.bincount(start, row, nodes) + np.bincount(end, row, nodes) for row in of_bars]
    )


def _any_twins(low: Ints, high: Ints, node_width: int) -> bool:
    """Whether two bars join the same two nodes, given by their places."""
    between = low * node_width + high
    bars = np.arange(len(low))
    owner = np.zeros(int(between.max(initial=0)) + 1, dtype=np.int64)
    owner[between] = bars
    return bool((owner[between] != bars).any())


def _rows(free: Bools, node_place: Ints) -> tuple[Ints, Ints]:
    """Row of each free direction (3, n) in the band, and the direction of each row, as a place
    in the flattened (n, 3)."""
    by_place = np.empty_like(node_place)
    by_place[node_place] = np.arange(len(node_place))
    turned = free.T[by_place].ravel()
    numbers = np.cumsum(turned) - 1
    dof = (3 * by_place[:, None] + np.arange(3)).ravel()[turned]
    return np.ascontiguousarray(numbers.reshape(-1, 3)[node_place].T), dof
