"""The worst that self weight can do to a member, whichever way the frame is turned."""

from dataclasses import dataclass

import numpy as np

from .equilibrium import Floats
from .solve import Solver


@dataclass(frozen=True)
class WorstOrientation:
    """worst_member_force_n (m,) largest size over all directions of gravity; direction (m, 3) the
    unit vector of gravity that pulls the member hardest (its opposite presses it as hard), zero
    where the member never carries; by_axis_n (3, m) forces under gravity along x, y, z."""

    worst_member_force_n: Floats
    direction: Floats
    by_axis_n: Floats


def worst_orientation(
    solver: Solver, node_mass_kg: Floats, gravity_m_s2: float
) -> WorstOrientation:
    """Worst member forces over all directions of gravity, node masses (n,).

        N(g) = N_x g_x + N_y g_y + N_z g_z    so    max over |g| = 1 of |N| = |(N_x, N_y, N_z)|

    Leaves out: supports that act one way only, and grips that move to other places as the frame
    is turned.
    Source: linearity and the Cauchy-Schwarz inequality.
    """
    weight = node_mass_kg * gravity_m_s2
    forces = np.zeros((3, len(weight), 3))
    for axis in range(3):
        forces[axis, :, axis] = weight
    return worst_of(solver.solve(forces).member_force_n)


def worst_of(by_axis_n: Floats) -> WorstOrientation:
    """The same from forces (3, m) under gravity along +x, +y and +z.

    >>> worst_of(np.array([[3.0], [0.0], [4.0]])).worst_member_force_n.tolist()
    [5.0]
    """
    size = np.sqrt((by_axis_n**2).sum(axis=0))
    noise = 1e-12 * float(size.max(initial=0.0))
    loaded = size > noise
    direction = np.zeros((by_axis_n.shape[1], 3))
    direction[loaded] = (by_axis_n[:, loaded] / size[loaded]).T
    return WorstOrientation(np.where(loaded, size, 0.0), direction, by_axis_n)
