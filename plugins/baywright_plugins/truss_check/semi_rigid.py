"""Frames whose hubs turn stiffly: straight round rods with a rotational spring at each end.

Six unknowns a node: three displacements, then three rotations. A hub that turns freely (spring 0)
gives the pin-jointed truss, one that does not turn (spring infinite) the rigid frame.
"""

from dataclasses import dataclass

import numpy as np
import scipy.linalg
import scipy.sparse as sp
import scipy.sparse.linalg as spla
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

#: A scaled frame that answers a random load of 1 by more than this counts as a mechanism.
WORST_CONDITION = 1e11


@dataclass(frozen=True)
class Rods:
    """Members as columns, all of shape (m,) but `direction` (m, 3), a unit vector start to end.

    axial_n_per_mm: EA/L with whatever sits in series; bending_n_mm2: E I of a round section;
    torsion_n_mm: G J / L with the seats in series, 0 where rods spin in their seats;
    spring_n_mm_per_rad: (m, 2) rotational spring at start and end, numpy.inf for rigid.
    """

    start: Ints
    end: Ints
    direction: Floats
    length_mm: Floats
    axial_n_per_mm: Floats
    bending_n_mm2: Floats
    torsion_n_mm: Floats
    spring_n_mm_per_rad: Floats


@dataclass(frozen=True)
class FrameState:
    """displacement_mm and rotation_rad (n, 3, cases); axial_n (m, cases), tension positive;
    end_moment_n_mm (m, 2, cases), the size of the bending moment at start and end."""

    displacement_mm: Floats
    rotation_rad: Floats
    axial_n: Floats
    end_moment_n_mm: Floats


def fixity(spring_n_mm_per_rad: Floats, bending_n_mm2: Floats, length_mm: Floats) -> Floats:
    """Fixity factor of a rod end: 0 for a pin, 1 for a rigid joint.

        p = 1 / (1 + 3 E I / (k_theta L))

    Source: G. R. Monforton, T. S. Wu, Matrix analysis of semi-rigidly connected frames,
    J. Struct. Div. ASCE 89 (1963), from memory; the limits are tested.
    """
    flexibility = np.divide(
        3.0 * bending_n_mm2 / length_mm,
        spring_n_mm_per_rad,
        out=np.full(np.broadcast(bending_n_mm2, spring_n_mm_per_rad).shape, np.inf),
        where=spring_n_mm_per_rad > 0,
    )
    return np.asarray(1.0 / (1.0 + flexibility))


@dataclass(frozen=True)
class _Bending:
    """Stiffness of one bending plane for (v1, slope1, v2, slope2), each of shape (m,)."""

    vv: Floats
    v1: Floats
    v2: Floats
    s11: Floats
    s22: Floats
    s12: Floats


def _bending(rods: Rods) -> _Bending:
    length = rods.length_mm
    p = fixity(rods.spring_n_mm_per_rad[:, 0], rods.bending_n_mm2, length)
    q = fixity(rods.spring_n_mm_per_rad[:, 1], rods.bending_n_mm2, length)
    base = rods.bending_n_mm2 / (4.0 - p * q)
    return _Bending(
        vv=12.0 * base * (p + q + p * q) / length**3,
        v1=6.0 * base * p * (2.0 + q) / length**2,
        v2=6.0 * base * q * (2.0 + p) / length**2,
        s11=12.0 * base * p / length,
        s22=12.0 * base * q / length,
        s12=6.0 * base * p * q / length,
    )


def frame_stiffness(nodes: int, rods: Rods) -> sp.csc_array:
    """Stiffness matrix, shape (6 n, 6 n): row 6 i + k is direction k at node i, k = 3.. rotations.

    For a round rod both bending planes are alike, so the matrix is written with the unit vector
    e of the rod, P = I - e e^T and the slope s = theta x e, without local axes.
    """
    e = rods.direction
    bend = _bending(rods)
    along = e[:, :, None] * e[:, None, :]
    across = np.eye(3) - along
    slope = np.zeros_like(along)
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        slope[:, i, j], slope[:, j, i] = e[:, k], -e[:, k]

    def times(coefficient: Floats, block: Floats) -> Floats:
        return np.asarray(coefficient[:, None, None] * block)

    push = times(rods.axial_n_per_mm, along) + times(bend.vv, across)
    twist = times(_torsion(rods), along)
    v1, v2 = times(bend.v1, slope), times(bend.v2, slope)
    v1t, v2t = v1.transpose(0, 2, 1), v2.transpose(0, 2, 1)
    s11, s22 = times(bend.s11, across) + twist, times(bend.s22, across) + twist
    s12 = times(bend.s12, across) - twist
    blocks = np.block(
        [
            [push, v1, -push, v2],
            [v1t, s11, -v1t, s12],
            [-push, -v1, push, -v2],
            [v2t, s12, -v2t, s22],
        ]
    )
    unknowns = np.concatenate(
        [6 * rods.start[:, None] + np.arange(6), 6 * rods.end[:, None] + np.arange(6)], axis=1
    )
    rows = np.repeat(unknowns, 12, axis=1).ravel()
    columns = np.tile(unknowns, (1, 12)).ravel()
    shape = (6 * nodes, 6 * nodes)
    return sp.csc_array(sp.coo_array((blocks.ravel(), (rows, columns)), shape=shape))


class SemiRigid:
    """A held frame, factorised once for loads, buckling and vibration.

    Args:
        nodes: how many.
        rods: the members.
        fixed: shape (n, 3); hubs at supports may still turn.
        spring_n_per_mm: supports that give, shape (n, 3).

    Raises:
        numpy.linalg.LinAlgError: the frame moves without resistance, to the precision of the
            factorisation, whether or not any load drives that motion.

    Leaves out: the size of the hubs, shear in the rods, seats that slip, second-order effects.
    Source: direct stiffness method; end springs as in `fixity`.
    """

    def __init__(
        self, nodes: int, rods: Rods, fixed: NDArray[np.bool_], spring_n_per_mm: Floats
    ) -> None:
        self.nodes, self.rods = nodes, rods
        springs = np.zeros((nodes, 6))
        springs[:, :3] = spring_n_per_mm
        whole = sp.csc_array(
            frame_stiffness(nodes, rods)
            + _idle_turns(nodes, rods)
            + sp.diags_array(springs.ravel())
        )
        free = np.ones((nodes, 6), dtype=bool)
        free[:, :3] = ~fixed
        self._kept = np.flatnonzero(free.ravel())
        matrix = sp.csc_array(whole[self._kept][:, self._kept])
        diagonal = matrix.diagonal()
        if (diagonal <= 0.0).any():
            raise np.linalg.LinAlgError("the frame is singular")
        self._scale = 1.0 / np.sqrt(diagonal)
        scaling = sp.diags_array(self._scale)
        self._matrix = sp.csc_array(scaling @ matrix @ scaling)
        try:
            self._factor = spla.splu(
                self._matrix, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True}
            )
        except RuntimeError as error:
            raise np.linalg.LinAlgError("the frame is singular") from error
        probe = np.random.default_rng(7).standard_normal((len(self._kept), 2))
        grown = np.abs(self._solved(probe)).max(initial=0.0)
        if grown > WORST_CONDITION:
            raise np.linalg.LinAlgError("the frame is singular")

    def _solved(self, right: Floats) -> Floats:
        """Answer of the scaled matrix, improved once. Raises numpy.linalg.LinAlgError."""
        answer = self._factor.solve(right)
        answer = answer + self._factor.solve(right - self._matrix @ answer)
        residual = np.abs(self._matrix @ answer - right).max(initial=0.0)
        if not np.isfinite(answer).all() or residual > 1e-6 * np.abs(right).max(initial=0.0):
            raise np.linalg.LinAlgError("the frame is singular")
        return np.asarray(answer)

    def solve(self, force_n: Floats) -> FrameState:
        """Displacements and rod forces under loads at the nodes, shape (n, 3, cases)."""
        cases = force_n.shape[2]
        load = np.zeros((self.nodes, 6, cases))
        load[:, :3] = force_n
        right = load.reshape(6 * self.nodes, cases)[self._kept] * self._scale[:, None]
        answer = np.zeros((6 * self.nodes, cases))
        answer[self._kept] = self._solved(right) * self._scale[:, None]
        state = answer.reshape(self.nodes, 6, cases)
        return _forces(self.rods, state[:, :3], state[:, 3:])

    def critical_factors(self, axial_n: Floats, *, count: int = 3) -> Floats:
        """Lowest load factors at which the frame buckles as a whole, for forces (m,).

        Leaves out: the bow of rods between hubs; the geometric stiffness is that of strings.
        Source: as `eigen.frame_buckling`.
        """
        e = self.rods.direction
        across = np.eye(3) - e[:, :, None] * e[:, None, :]
        block = (-axial_n / self.rods.length_mm)[:, None, None] * across
        blocks = np.block([[block, -block], [-block, block]])
        ends = [6 * end[:, None] + np.arange(3) for end in (self.rods.start, self.rods.end)]
        unknowns = np.concatenate(ends, axis=1)
        rows, columns = np.repeat(unknowns, 6, axis=1).ravel(), np.tile(unknowns, (1, 6)).ravel()
        size = 6 * self.nodes
        left = sp.coo_array((blocks.ravel(), (rows, columns)), shape=(size, size))
        inverse = self._largest(sp.csc_array(left), count)
        least = 1e-12 * max(float(np.abs(inverse).max(initial=0.0)), np.finfo(float).tiny)
        return np.asarray(1.0 / inverse[inverse > least])

    def frequencies_hz(self, node_mass_kg: Floats, *, count: int = 4) -> Floats:
        """Lowest natural frequencies, masses at nodes (n,), hubs without turning inertia.

        Source: as `eigen.natural_frequencies`.
        """
        mass = np.zeros((self.nodes, 6))
        mass[:, :3] = node_mass_kg[:, None] / 1000.0
        inverse = self._largest(sp.csc_array(sp.diags_array(mass.ravel())), count)
        return np.asarray(1.0 / (2.0 * np.pi * np.sqrt(inverse[inverse > 0])))

    def _largest(self, left: sp.csc_array, count: int) -> Floats:
        """Largest eigenvalues mu, descending, of A v = mu K v for A over all 6 n unknowns."""
        scaling = sp.diags_array(self._scale)
        scaled = sp.csc_array(scaling @ left[self._kept][:, self._kept] @ scaling)
        size = len(self._kept)
        if size <= 500:
            values = scipy.linalg.eigh(scaled.toarray(), self._matrix.toarray(), eigvals_only=True)
            return np.asarray(values[::-1][:count])
        inverse = spla.LinearOperator((size, size), matvec=self._factor.solve)
        wanted = min(count + 3, size - 1)
        start = np.random.default_rng(1).standard_normal(size)
        try:
            values = spla.eigsh(
                scaled, k=wanted, M=self._matrix, Minv=inverse, which="LA", v0=start,
                ncv=min(size, max(4 * wanted, 40)), return_eigenvectors=False,
            )  # fmt: skip
        except spla.ArpackError as error:
            raise ArithmeticError(f"eigenvalues did not converge: {error}") from error
        return np.asarray(np.sort(values)[::-1][:count])


def solve_frame(
    nodes: int, rods: Rods, fixed: NDArray[np.bool_], force_n: Floats, spring_n_per_mm: Floats
) -> FrameState:
    """Displacements and rod forces under loads (n, 3, cases); as `SemiRigid`."""
    return SemiRigid(nodes, rods, fixed, spring_n_per_mm).solve(force_n)


def _idle_turns(nodes: int, rods: Rods) -> sp.csc_array:
    """Stiffness for turns of single hubs that no rod resists, shape (6 n, 6 n).

    A turn with no stiffness at its own hub is coupled to nothing and carries no moment, so that
    any stiffness may be put there; without it the matrix would be singular.
    """
    bend, twist = _bending(rods), _torsion(rods)
    e = rods.direction
    along = e[:, :, None] * e[:, None, :]
    across = np.eye(3) - along
    block = np.zeros((nodes, 3, 3))
    for end, own in ((rods.start, bend.s11), (rods.end, bend.s22)):
        np.add.at(block, end, own[:, None, None] * across + twist[:, None, None] * along)
    value, vector = np.linalg.eigh(block)
    most = float(value.max(initial=0.0)) or 1.0
    idle = np.where(value <= 1e-10 * np.maximum(value[:, -1:], 1e-12 * most), most, 0.0)
    added = np.einsum("nik,nk,njk->nij", vector, idle, vector)
    unknowns = 6 * np.arange(nodes)[:, None] + np.arange(3, 6)
    rows, columns = np.repeat(unknowns, 3, axis=1).ravel(), np.tile(unknowns, (1, 3)).ravel()
    shape = (6 * nodes, 6 * nodes)
    return sp.csc_array(sp.coo_array((added.ravel(), (rows, columns)), shape=shape))


def _torsion(rods: Rods) -> Floats:
    """Stiffness against twisting, shape (m,): none where an end turns freely."""
    return np.where((rods.spring_n_mm_per_rad > 0).all(axis=1), rods.torsion_n_mm, 0.0)


def _forces(rods: Rods, displacement: Floats, rotation: Floats) -> FrameState:
    bend = _bending(rods)
    e = rods.direction[:, :, None]
    relative = displacement[rods.end] - displacement[rods.start]
    stretch = (e * relative).sum(axis=1)
    across = relative - e * stretch[:, None]
    slopes = [np.cross(rotation[end], e, axis=1) for end in (rods.start, rods.end)]
    moments = [
        -v[:, None, None] * across
        + own[:, None, None] * slopes[k]
        + bend.s12[:, None, None] * slopes[1 - k]
        for k, (v, own) in enumerate(((bend.v1, bend.s11), (bend.v2, bend.s22)))
    ]
    sizes = [np.linalg.norm(moment, axis=1) for moment in moments]
    axial = rods.axial_n_per_mm[:, None] * stretch
    return FrameState(displacement, rotation, axial, np.stack(sizes, axis=1))
