"""Elastic buckling of the whole frame, and its natural frequencies."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.linalg
from scipy.sparse import csc_array, dia_array
from scipy.sparse.linalg import ArpackError, LinearOperator, eigsh

from .equilibrium import Floats, Truss
from .solve import Solver

DENSE = 700


@dataclass(frozen=True)
class Modes:
    """value (k,) ascending: load factors or Hz; shape (k, n, 3), largest movement 1."""

    value: Floats
    shape: Floats


def geometric_stiffness(truss: Truss, member_force_n: Floats) -> csc_array:
    """Kg on the free degrees of freedom for forces (m,), tension positive.

        Kg of a bar = t/L [[P, -P], [-P, P]],  P = I - u u^T

    Source: any text on the stability of structures; string stiffness of a pin-jointed bar.
    """
    count = 3 * len(truss.nodes_mm)
    across = np.eye(3) - truss.direction[:, :, None] * truss.direction[:, None, :]
    block = (member_force_n / truss.length_mm)[:, None, None] * across
    rows, columns, values = [], [], []
    axes = np.arange(3)
    for one, other, sign in (
        (truss.start, truss.start, 1.0),
        (truss.end, truss.end, 1.0),
        (truss.start, truss.end, -1.0),
        (truss.end, truss.start, -1.0),
    ):
        row, column = np.broadcast_arrays(
            3 * one[:, None, None] + axes[:, None], 3 * other[:, None, None] + axes[None, :]
        )
        rows.append(row.ravel())
        columns.append(column.ravel())
        values.append((sign * block).ravel())
    full = csc_array(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
        shape=(count, count),
    )
    return csc_array(full[truss.free][:, truss.free])


def frame_buckling(
    truss: Truss, solver: Solver, member_force_n: Floats, *, count: int = 3
) -> Modes:
    """Lowest load factors f at which (K + f Kg) v = 0, at most `count`, for forces (m,).

    Empty where no growth of the load makes the frame buckle.

    Leaves out: buckling of single rods between hubs, crookedness, slip, shortening before
    buckling. An elastic factor is far above what seats allow.
    Source: linear buckling analysis, any text on the stability of structures.
    """
    geometric = geometric_stiffness(truss, member_force_n)
    inverse, vectors = _largest(csc_array(-geometric), truss.free_stiffness, solver, count)
    real = inverse > 1e-12 * max(float(np.abs(inverse).max(initial=0.0)), np.finfo(float).tiny)
    return _modes(truss, 1.0 / inverse[real], vectors[:, real])


def natural_frequencies(
    truss: Truss, solver: Solver, node_mass_kg: Floats, *, count: int = 4
) -> Modes:
    """Lowest natural frequencies in Hz, at most `count`, masses at nodes (n,).

        K v = w^2 M v,  f = w / (2 pi)

    Leaves out: damping, play (which lowers them), mass of anything not in `node_mass_kg`.
    Source: any text on structural dynamics, lumped masses.
    """
    mass = np.repeat(node_mass_kg, 3)[truss.free] / 1000.0  # N s2/mm
    diagonal: Any = dia_array((mass[None, :], [0]), shape=(len(mass), len(mass)))
    weights = csc_array(diagonal)
    inverse, vectors = _largest(weights, truss.free_stiffness, solver, count)
    real = inverse > 0
    return _modes(truss, 1.0 / (2 * np.pi * np.sqrt(inverse[real])), vectors[:, real])


def _largest(
    left: csc_array, stiffness: csc_array, solver: Solver, count: int
) -> tuple[Floats, Floats]:
    """Largest eigenvalues mu (descending) and vectors of A v = mu K v."""
    free = stiffness.shape[0]
    if free == 0:
        return np.zeros(0), np.zeros((0, 0))
    if free <= DENSE:
        values, vectors = scipy.linalg.eigh(left.toarray(), stiffness.toarray())
    else:
        inverse = LinearOperator(
            (free, free), matvec=lambda v: solver.displacements(v.reshape(-1, 1)).ravel()
        )
        start = np.random.default_rng(1).standard_normal(free)
        wanted = min(count + 3, free - 1)
        try:
            values, vectors = eigsh(
                left, k=wanted, M=stiffness, Minv=inverse, which="LA", v0=start,
                ncv=min(free, max(4 * wanted, 40)),
            )  # fmt: skip
        except ArpackError as error:
            raise ArithmeticError(f"eigenvalues did not converge: {error}") from error
    order = np.argsort(values)[::-1][:count]
    return values[order], vectors[:, order]


def _modes(truss: Truss, value: Floats, vectors: Floats) -> Modes:
    shape = np.zeros((len(value), truss.fixed.size))
    shape[:, truss.free] = vectors.T
    most = np.abs(shape).max(axis=1, keepdims=True, initial=np.finfo(float).tiny)
    shape = shape / most
    sign = np.sign(shape[np.arange(len(shape)), np.abs(shape).argmax(axis=1)]) if len(shape) else 1
    return Modes(value, (shape * np.reshape(sign, (-1, 1))).reshape(-1, *truss.fixed.shape))
