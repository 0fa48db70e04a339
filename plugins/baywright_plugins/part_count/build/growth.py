"""A frame as it grows: whether what stands already holds its shape."""

from collections.abc import Iterable

import numpy as np

from ...frame import Frame
from ...frame.model import Ints
from ...truss_check.equilibrium import equilibrium_matrix
from ...truss_check.stability import RankUndecided, internal_stability, null_space

#: Hubs outside the steady part whose ways to move are still counted.
MOST_COUNTED = 60
#: The same, looked at only to tell whether there are any; and for a section that is finished.
MOST_LOOKED_AT = 200
MOST_FINISHED = 800


class Growth:
    """The part of a section that stands, and within it the `body`: the hubs that hold one shape.

    Hubs join the body as soon as everything outside it is held by it; that is exact, since a
    steady body moves as one piece.
    """

    def __init__(self, part: Frame) -> None:
        self._part = part
        self._standing = np.zeros(len(part.nodes_mm), dtype=bool)
        self._built = np.zeros(len(part.start), dtype=bool)
        self._body = np.zeros(len(part.nodes_mm), dtype=bool)

    def add(self, nodes: Iterable[int], members: Iterable[int]) -> tuple[list[int], list[int]]:
        """Put up hubs, and those of the members both of whose hubs stand; what was new of both."""
        new_nodes = [node for node in nodes if not self._standing[node]]
        self._standing[new_nodes] = True
        start, end = self._part.start, self._part.end
        new_members = [
            m
            for m in members
            if not self._built[m] and self._standing[start[m]] and self._standing[end[m]]
        ]
        self._built[new_members] = True
        return new_nodes, new_members

    def is_steady(self, *, most: int = MOST_COUNTED) -> bool | None:
        """Whether what stands can no longer change its shape; it is then the body.

        Fewer members than ways to move settle it at once; otherwise the rank does. None where
        more than `most` hubs stand outside the body, or where rounding would decide.
        """
        loose = self._loose
        if not len(loose):
            return True
        fixed = 0 if self._body.any() else 6
        if len(self._bars(loose)) < 3 * len(loose) - fixed:
            return False
        if len(loose) > most:
            return None
        ways = self._ways(loose)
        if ways == 0:
            self._body |= self._standing
        return None if ways is None else ways == 0

    def loose_ways(self) -> int | None:
        """In how many ways what stands can change its shape, hubs taken as ball joints.

        None where more hubs than MOST_COUNTED stand outside the body, or where rounding would
        decide.

        Leaves out: the floor, and hands; both hold what this calls loose.
        Source: rank of the equilibrium matrix, as truss_check.stability.
        """
        loose = self._loose
        if not len(loose):
            return 0
        return None if len(loose) > MOST_COUNTED else self._ways(loose)

    @property
    def _loose(self) -> Ints:
        return np.flatnonzero(self._standing & ~self._body)

    def _bars(self, nodes: Ints) -> Ints:
        """Built members with an end among the nodes."""
        among = np.zeros(len(self._standing), dtype=bool)
        among[nodes] = True
        return np.flatnonzero(self._built & (among[self._part.start] | among[self._part.end]))

    def _ways(self, loose: Ints) -> int | None:
        try:
            return self._against_body(loose) if self._body.any() else self._alone(loose)
        except RankUndecided:
            return None

    def _alone(self, nodes: Ints) -> int | None:
        if len(nodes) < 3:
            return None
        number = np.full(len(self._standing), -1, dtype=np.int64)
        number[nodes] = np.arange(len(nodes))
        built = np.flatnonzero(self._built)
        start, end = number[self._part.start[built]], number[self._part.end[built]]
        return internal_stability(self._part.nodes_mm[nodes], start, end).mechanisms

    def _against_body(self, nodes: Ints) -> int:
        start, end = self._part.start, self._part.end
        bars = self._bars(nodes)
        if not len(bars):
            return 3 * len(nodes)
        away = self._part.nodes_mm[end[bars]] - self._part.nodes_mm[start[bars]]
        unit = away / np.linalg.norm(away, axis=1)[:, None]
        number = np.full(len(self._standing), len(nodes), dtype=np.int64)
        number[nodes] = np.arange(len(nodes))
        columns = equilibrium_matrix(number[start[bars]], number[end[bars]], unit, len(nodes) + 1)
        rows = columns.tocsr()[: 3 * len(nodes)].tocsc()
        return int(null_space(rows).shape[1])
