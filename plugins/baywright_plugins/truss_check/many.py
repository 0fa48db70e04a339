"""Many variants of one frame in one call: same bars between same nodes, other stiffnesses."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dpbtrf, dpbtrs
from scipy.sparse import coo_array, csr_array

from .equilibrium import Floats, Ints, Truss
from .solve import BALANCE, NotSolvable, worth_a_band

#: Above this share of the largest force the answer to a variant is not trusted.
WORST_BALANCE = 1e-8
#: Numbers of bands and forces that are worked on at a time, so that they stay in the cache.
AT_ONCE = 200_000


@dataclass(frozen=True)
class VariantStates:
    """Answers to c load cases of v variants: member_force_n (v, c, m), tension positive;
    displacement_mm (v, c, n, 3); residual_ratio (v,), the largest force left over at a node as a
    share of the largest force."""

    member_force_n: Floats
    displacement_mm: Floats
    residual_ratio: Floats


class VariantNotSolvable(NotSolvable):
    """One variant, by its number, cannot be solved to a residual that can be trusted."""

    def __init__(self, variant: int, reason: str) -> None:
        super().__init__(reason)
        self.variant = variant


def solve_variants(truss: Truss, stiffness_n_per_mm: Floats, forces_n: Floats) -> VariantStates:
    """All load cases (c, n, 3) of all variants, stiffnesses (v, m); those of `truss` are not used.

    The numbering and the places of all numbers in the band are worked out once. The truss must
    be stable (see `stability`), which depends on its geometry alone and so holds for all variants
    or for none.

    Raises VariantNotSolvable where forces balance only to worse than 1e-8 of the largest load,
    and NotSolvable where the frame is too wide for a band: solve such variants one by one.

    Leaves out: what `Solver` leaves out.
    Source: as `Solver`.
    """
    pattern = _pattern(truss)
    variants, cases, bars = len(stiffness_n_per_mm), len(forces_n), len(truss.start)
    loads = np.ascontiguousarray(forces_n).reshape(cases, -1)
    force = np.empty((bars, variants, cases))
    moved = np.zeros((truss.fixed.size, variants, cases))
    residual = np.zeros(variants)
    numbers = len(pattern.dof) * (pattern.width + 1) + cases * bars
    at_once = max(1, AT_ONCE // numbers)
    for first in range(0, variants, at_once):
        part = slice(first, first + at_once)
        block = _Block(pattern, stiffness_n_per_mm[part], loads[:, pattern.dof], first)
        residual[part] = block.refine()
        force[:, part] = block.force_n
        moved[pattern.dof, part] = block.moved_mm
    by_node = moved.reshape(*truss.fixed.shape, variants, cases)
    return VariantStates(force.transpose(1, 2, 0), by_node.transpose(2, 3, 0, 1), residual)


@dataclass(frozen=True)
class _Pattern:
    """What all variants share.

    Row r of the band is direction dof[r] of the flattened (n, 3). `share` (k, m) times the
    stiffnesses gives the numbers that stand at places `at` (k,) of the band, beside the springs
    (rows,) on its diagonal. `pull` (rows, m) is the equilibrium matrix on these rows.
    """

    dof: Ints
    width: int
    at: Ints
    share: csr_array
    spring: Floats
    pull: csr_array


class _Block:
    """A few variants, worked on together: force_n (m, v, c), moved_mm (rows, v, c)."""

    def __init__(self, pattern: _Pattern, stiffness: Floats, loads: Floats, first: int) -> None:
        self._pattern, self._first = pattern, first
        self._stiffness = np.ascontiguousarray(stiffness.T)
        self._factors = self._factorise()
        self._loads = np.ascontiguousarray(loads.T)[:, None]
        self._size = max(float(np.abs(loads).max(initial=0.0)), float(np.finfo(float).tiny))
        shape = (len(stiffness), len(loads))
        self.force_n = np.zeros((len(self._stiffness), *shape))
        self.moved_mm = np.zeros((len(pattern.dof), *shape))

    def refine(self) -> Floats:
        """Solve; the share of the largest force that is left over (v,). Raises
        VariantNotSolvable."""
        variants = self.force_n.shape[1]
        residual, going = np.full(variants, np.inf), np.arange(variants)
        left = np.broadcast_to(self._loads, self.moved_mm.shape)
        for _ in range(6):
            left = self._step(going, left)
            now = np.abs(left).max(axis=(0, 2), initial=0.0) / self._size
            more = (now > BALANCE) & (now <= 0.5 * residual[going])
            residual[going] = now
            if not more.any():
                break
            going, left = going[more], left[:, more]
        worst = int(residual.argmax())
        if not residual[worst] <= WORST_BALANCE:
            reason = f"forces balance only to {residual[worst]:.1e} of the largest load"
            raise VariantNotSolvable(self._first + worst, reason)
        return residual

    def _factorise(self) -> list[Floats]:
        pattern, variants = self._pattern, self._stiffness.shape[1]
        rows = len(pattern.dof)
        band = np.zeros((variants, rows * (pattern.width + 1)))
        band[:, pattern.at] = np.asarray(pattern.share @ self._stiffness).T
        band[:, :: pattern.width + 1] += pattern.spring
        factors = []
        for variant, row in enumerate(band):
            lower = row.reshape(rows, pattern.width + 1).T
            found, failed = dpbtrf(lower, lower=1, overwrite_ab=1)
            if failed:
                reason = "its stiffness is not positive definite"
                raise VariantNotSolvable(self._first + variant, reason)
            factors.append(found)
        return factors

    def _step(self, going: Ints, left: Floats) -> Floats:
        """Forces left over (rows, v, c) after one more step of the variants `going`."""
        pattern = self._pattern
        rows, variants, cases = left.shape
        solved = np.array(left.transpose(1, 2, 0), order="C")  # overwritten below
        for place, variant in enumerate(going):
            dpbtrs(self._factors[variant], solved[place].T, lower=1, overwrite_b=1)
        step = np.ascontiguousarray(solved.reshape(variants * cases, rows).T)
        stretch = np.asarray(pattern.pull.T @ step).reshape(-1, variants, cases)
        stretch *= self._stiffness[:, going, None]
        every = len(going) == self.force_n.shape[1]
        if every:
            self.force_n += stretch
            self.moved_mm += step.reshape(left.shape)
            force, moved = self.force_n, self.moved_mm
        else:
            self.force_n[:, going] += stretch
            self.moved_mm[:, going] += step.reshape(left.shape)
            force, moved = self.force_n[:, going], self.moved_mm[:, going]
        pulled = pattern.pull @ force.reshape(-1, variants * cases)
        leftover = self._loads - pulled.reshape(left.shape)
        if pattern.spring.any():
            leftover -= pattern.spring[:, None, None] * moved
        return np.asarray(leftover)


def _pattern(truss: Truss) -> _Pattern:
    if not worth_a_band(truss):
        raise NotSolvable("too wide for a band")
    node_place, node_width = truss.node_order
    by_place = np.empty_like(node_place)
    by_place[node_place] = np.arange(len(node_place))
    dof = (3 * by_place[:, None] + np.arange(3)).ravel()
    dof = dof[~truss.fixed.ravel()[dof]]
    row = np.full(truss.fixed.size, -1)
    row[dof] = np.arange(len(dof))
    width = min(3 * node_width + 2, max(len(dof) - 1, 0))
    ends = 3 * np.stack([truss.start, truss.end], axis=1)
    rows = row[(ends[:, :, None] + np.arange(3)).reshape(-1, 6)]
    pull = np.concatenate([-truss.direction, truss.direction], axis=1)
    high, low = np.broadcast_arrays(rows[:, :, None], rows[:, None, :])
    value = pull[:, :, None] * pull[:, None, :]
    kept = (low >= 0) & (high >= low)
    bar = np.broadcast_to(np.arange(len(ends))[:, None, None], kept.shape)[kept]
    at, number = np.unique((high + width * low)[kept], return_inverse=True)
    share = coo_array((value[kept], (number, bar)), shape=(len(at), len(ends)))
    return _Pattern(
        dof, width, at, share.tocsr(), truss.spring_n_per_mm.ravel()[dof],
        csr_array(truss.equilibrium.tocsr()[dof]),
    )  # fmt: skip
