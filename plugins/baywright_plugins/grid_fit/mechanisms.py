"""How many ways a section can move without stretching a rod."""

import numpy as np
from scipy.sparse import coo_array, csc_array, eye_array
from scipy.sparse.linalg import splu

from ..frame import Frame

#: Eigenvalues below this share of the largest are mechanisms'; others lie far above it
_SHIFT = 1e-8


def mechanisms_count(frame: Frame) -> int:
    """Independent mechanisms of a frame in space, its six rigid motions not counted.

        3 n - 6 - rank(B),   B the directions of the rods at their nodes

    Counted as the eigenvalues of B B^T below a small shift s, which are as many as the negative
    pivots of B B^T - s I.

    Leaves out: whether a frame without mechanisms is stiff or strong enough.
    Source: C. R. Calladine, Buckminster Fuller's "Tensegrity" structures and Clerk Maxwell's
    rules, International Journal of Solids and Structures 14 (1978), from memory; Sylvester's law
    of inertia.
    """
    nodes, members = len(frame.nodes_mm), len(frame.start)
    along = (frame.nodes_mm[frame.end] - frame.nodes_mm[frame.start]) / frame.length_mm[:, None]
    rows = np.concatenate([3 * ends + k for ends in (frame.start, frame.end) for k in range(3)])
    values = np.concatenate([sign * along[:, k] for sign in (-1.0, 1.0) for k in range(3)])
    columns = np.tile(np.arange(members), 6)
    directions = coo_array((values, (rows, columns)), shape=(3 * nodes, members)).tocsc()
    squares = (directions @ directions.T).tocsc()
    return _below(squares, _SHIFT * float(squares.diagonal().max())) - 6


def _below(matrix: csc_array, shift: float) -> int:
    """How many eigenvalues of a symmetric matrix lie below `shift`."""
    shifted = (matrix - shift * eye_array(matrix.shape[0], format="csc")).tocsc()
    factors = splu(
        shifted,
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    if not np.array_equal(factors.perm_r, factors.perm_c):  # pivoted: signs would not be inertia
        return int((np.linalg.eigvalsh(matrix.toarray()) < shift).sum())
    return int((factors.U.diagonal() < 0).sum())
