"""Which half of each two-part hub should move, so that the diagonals that are there lock most."""

import numpy as np

from ..frame import Frame
from ..frame.two_part_hubs import TwoPartHubs, diagonals, normals
from .equilibrium import Ints


def locking_planes(part: Frame, hubs: TwoPartHubs) -> Ints:
    """A plane for the moving half of each hub, shape (n,): normal 0, 1, 2, and -1 for one piece.

    A diagonal between two moving halves locks both at once where u . (a_i s_i - a_j s_j) = 0 has
    no answer with slides above 0: then both hubs are paired in its plane. Hubs with the fewest
    such diagonals choose first; what is left follows a neighbour that is locked already.

    A greedy choice: another may lock more. Whether it locks is for the slide analysis to say.
    Source: first-order kinematics of rigid rods; derived here.
    """
    which = diagonals(part)
    start, end = part.start[which], part.end[which]
    normal = normals(part, which)
    unit = part.nodes_mm[end] - part.nodes_mm[start]
    exits = hubs.exit_direction
    push = (unit * exits[start]).sum(axis=1)
    pull = -(unit * exits[end]).sum(axis=1)
    fits = hubs.two_part[start] & hubs.two_part[end]
    fits &= (hubs.axis[start] != normal) & (hubs.axis[end] != normal)
    good = np.flatnonzero(fits & (push * pull > 0))
    beside: dict[int, list[tuple[int, int]]] = {}
    for k in good.tolist():
        i, j, n = int(start[k]), int(end[k]), int(normal[k])
        beside.setdefault(i, []).append((j, n))
        beside.setdefault(j, []).append((i, n))
    plane = np.full(len(hubs.axis), -1, dtype=np.int64)
    waiting = sorted(beside, key=lambda node: (len(beside[node]), node))
    for node in waiting:
        if plane[node] >= 0:
            continue
        free = [(j, n) for j, n in beside[node] if plane[j] in (-1, n)]
        if free:
            j, n = min(free, key=lambda one: (plane[one[0]] < 0, len(beside[one[0]]), one))
            plane[node] = plane[j] = n
    left = hubs.two_part & (plane < 0)
    plane[left] = hubs.moving[left]
    return plane
