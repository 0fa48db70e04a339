"""How many ways a section can move without stretching a rod."""

import numpy as np

from ..frame import Frame


def mechanisms_count(frame: Frame) -> int:
    """Independent mechanisms of a frame in space, its rigid motions not counted.

        3 n - 6 - rank(B),   B the directions of the rods at their nodes

    Leaves out: whether a frame without mechanisms is stiff or strong enough.
    Source: C. R. Calladine, Buckminster Fuller's "Tensegrity" structures and Clerk Maxwell's rules,
    International Journal of Solids and Structures 14 (1978), from memory.
    """
    nodes, members = len(frame.nodes_mm), len(frame.start)
    along = (frame.nodes_mm[frame.end] - frame.nodes_mm[frame.start]) / frame.length_mm[:, None]
    directions = np.zeros((3 * nodes, members))
    column = np.arange(members)
    for k in range(3):
        directions[3 * frame.start + k, column] = -along[:, k]
        directions[3 * frame.end + k, column] = along[:, k]
    squares = np.linalg.eigvalsh(directions @ directions.T)
    return int((squares < 1e-9 * squares[-1]).sum()) - 6
