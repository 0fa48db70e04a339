"""What is put together at once: a bay of a section on a grid, else a hub with its rods."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, product

import networkx as nx
import numpy as np

from ...frame import Frame
from ..beams import Cell

#: Hubs that count as one bay where a section has no bays.
HUBS_PER_BAY = 4


@dataclass(frozen=True)
class Unit:
    """`nodes` and `members` of the section's own frame that stand once it is built; a member may
    stand in several. `level` counts units from the floor up, `key` sorts units of one level.
    `cell` is its bay, None where there is none; `bays` its share of the work."""

    nodes: tuple[int, ...]
    members: tuple[int, ...]
    level: int
    key: tuple[float, ...]
    cell: Cell | None
    bays: float


@dataclass(frozen=True)
class Units:
    """The units of one section, and which of them touch: an undirected graph of their places."""

    units: tuple[Unit, ...]
    touching: "nx.Graph[int]"


def units_of(part: Frame, cells: Sequence[Cell]) -> Units:
    """The units of a section given by itself.

    Args:
        part: one section, nodes numbered from 0. cells: its bays, empty where it has no grid.
    """
    return _bays(part, cells) if cells else _hubs(part)


def _bays(part: Frame, cells: Sequence[Cell]) -> Units:
    place = {cell: number for number, cell in enumerate(cells)}
    touching: nx.Graph[int] = nx.Graph()
    touching.add_nodes_from(range(len(cells)))
    for (i, j, k), number in place.items():
        for other in ((i + 1, j, k), (i, j + 1, k), (i, j, k + 1)):
            if other in place:
                touching.add_edge(number, place[other])
    level = _levels(touching, [cell[2] for cell in cells])
    between = _members_between(part)
    units = []
    for number, cell in enumerate(cells):
        nodes = _corners(part, cell)
        members = [m for pair in combinations(sorted(nodes), 2) for m in between.get(pair, ())]
        key = (float(cell[2]), float(cell[1]), float(cell[0]))
        units.append(Unit(nodes, tuple(members), level[number], key, cell, 1.0))
    return Units(tuple(units), touching)


def _corners(part: Frame, cell: Cell) -> tuple[int, ...]:
    found = []
    for step in product((0, 1), repeat=3):
        node = part.node_at(0, (cell[0] + step[0], cell[1] + step[1], cell[2] + step[2]))
        assert node is not None
        found.append(node)
    return tuple(found)


def _members_between(part: Frame) -> dict[tuple[int, int], list[int]]:
    between: dict[tuple[int, int], list[int]] = defaultdict(list)
    for member, (a, b) in enumerate(zip(part.start.tolist(), part.end.tolist(), strict=True)):
        between[min(a, b), max(a, b)].append(member)
    return between


def _levels(touching: "nx.Graph[int]", heights: Sequence[int]) -> list[int]:
    """Steps from the lowest units, over units that touch; each loose piece from its own lowest."""
    level = [0] * len(heights)
    for piece in nx.connected_components(touching):
        lowest = min(heights[unit] for unit in piece)
        ground = {unit for unit in piece if heights[unit] == lowest}
        away = nx.multi_source_dijkstra_path_length(touching, ground, weight=None)
        for unit, distance in away.items():
            level[unit] = int(distance)
    return level


def _hubs(part: Frame) -> Units:
    """One unit a hub, lowest first; a rod stands once both its hubs do."""
    touching: nx.Graph[int] = nx.Graph()
    touching.add_nodes_from(range(len(part.nodes_mm)))
    touching.add_edges_from(zip(part.start.tolist(), part.end.tolist(), strict=True))
    at: dict[int, list[int]] = defaultdict(list)
    for member, (a, b) in enumerate(zip(part.start.tolist(), part.end.tolist(), strict=True)):
        at[a].append(member)
        at[b].append(member)
    heights = np.round(part.nodes_mm[:, 2], 3)
    _, level = np.unique(heights, return_inverse=True)
    units = [
        Unit((node,), tuple(at[node]), int(level[node]), (z, y, x), None, 1.0 / HUBS_PER_BAY)
        for node, (x, y, z) in enumerate(part.nodes_mm.tolist())
    ]
    return Units(tuple(units), touching)
