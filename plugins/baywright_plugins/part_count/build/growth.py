"""A frame as it grows: whether what stands already holds its shape."""

from collections.abc import Iterable

import numpy as np

from ...frame import Frame
from ...frame.model import Ints
from ...truss_check.equilibrium import equilibrium_matrix
from ...truss_check.stability import RankUndecided, internal_stability, null_space

#: Hubs outside the steady part that are still looked at; beyond, the answer is left open.
MOST_LOOSE_HUBS = 60


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
        self._given_up = False

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

    def loose_ways(self) -> int | None:
        """In how many ways what stands can change its shape, hubs taken as ball joints.

        None where more hubs than MOST_LOOSE_HUBS stand outside the body, or where rounding would
        decide.

        Leaves out: the floor, and hands; both hold what this calls loose.
        Source: rank of the equilibrium matrix, as truss_check.stability.
        """
        loose = np.flatnonzero(self._standing & ~self._body)
        if not len(loose):
            return 0
        if self._given_up or len(loose) > MOST_LOOSE_HUBS:
            self._given_up = True
            return None
        try:
            ways = self._against_body(loose) if self._body.any() else self._alone(loose)
        except RankUndecided:
            return None
        if ways == 0:
            self._body |= self._standing
        return ways

    def _alone(self, nodes: Ints) -> int | None:
        if len(nodes) < 3:
            return None
        number = np.full(len(self._standing), -1, dtype=np.int64)
        number[nodes] = np.arange(len(nodes))
        built = np.flatnonzero(self._built)
        start, end = number[self._part.start[built]], number[self._part.end[built]]
        return internal_stability(self._part.nodes_mm[nodes], start, end).mechanisms

    def _against_body(self, nodes: Ints) -> int:
        outside = np.zeros(len(self._standing), dtype=bool)
        outside[nodes] = True
        start, end = self._part.start, self._part.end
        bars = np.flatnonzero(self._built & (outside[start] | outside[end]))
        if not len(bars):
            return 3 * len(nodes)
        away = self._part.nodes_mm[end[bars]] - self._part.nodes_mm[start[bars]]
        unit = away / np.linalg.norm(away, axis=1)[:, None]
        number = np.full(len(self._standing), len(nodes), dtype=np.int64)
        number[nodes] = np.arange(len(nodes))
        columns = equilibrium_matrix(number[start[bars]], number[end[bars]], unit, len(nodes) + 1)
        rows = columns.tocsr()[: 3 * len(nodes)].tocsc()
        return int(null_space(rows).shape[1])
