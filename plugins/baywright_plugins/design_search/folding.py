"""Does a section fold? A quick answer, so that a search need not work out how."""

import numpy as np
from numpy.typing import NDArray

from ..frame import Frame
from ..truss_check.equilibrium import free_body
from ..truss_check.solve import NotSolvable, Solver

#: Least squared stretch of bars of unit stiffness, for a movement of unit size, of a frame that
#: is clearly held; a row of 40 bays has some 5e-6.
_HELD = 1e-10


def mechanisms_at_least(part: Frame) -> int:
    """Mechanisms that a section on a grid has at least; 0 where it is clearly held.

        3 n - 6 - m where that is above 0, else 1 where inverse iteration finds a movement that
        stretches no bar

    Args:
        part: a frame of one section, with a hub at each of its corners.

    Leaves out: how many there are beyond that, and where; the strength check tells.
    Source: Maxwell's rule, Calladine, Int. J. Solids Structures 14, 1978 (from memory); inverse
    iteration, any text on eigenvalues.
    """
    short = 3 * len(part.nodes_mm) - 6 - len(part.start)
    if short > 0:
        return short
    loose = free_body(part.nodes_mm, part.start, part.end, np.ones(len(part.start)))
    fixed = _three_corners(part)
    truss = loose.held(fixed, np.zeros(fixed.shape))
    try:
        solver = Solver(truss)
        moved = np.random.default_rng(1).standard_normal((len(truss.free), 1))
        for _ in range(2):
            moved = solver.displacements(moved)
            size = float(np.linalg.norm(moved))
            if not 0.0 < size < np.inf:
                return 1
            moved /= size
    except NotSolvable:
        return 1
    whole = np.zeros(fixed.size)
    whole[truss.free] = moved[:, 0]
    stretch = truss.stretch_mm(whole.reshape(1, *fixed.shape))
    return 0 if float((stretch**2).sum()) > _HELD else 1


def _three_corners(part: Frame) -> NDArray[np.bool_]:
    """Six directions at three corners that hold a rigid body and stress nothing, (n, 3)."""
    top = part.lattice.max(axis=0).tolist()
    held = np.zeros(part.nodes_mm.shape, dtype=bool)
    for place, axes in (((0, 0, 0), (0, 1, 2)), ((top[0], 0, 0), (1, 2)), ((0, top[1], 0), (2,))):
        node = part.node_at(0, place)
        assert node is not None
        held[node, list(axes)] = True
    return held
