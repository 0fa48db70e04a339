"""In which order the sections of a machine are built: what stands below first, twins in a row."""

from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np

from ...frame import Frame

#: A coupling that rises by more than this share of its length puts one section on the other.
_STANDS_ON = 0.9


@dataclass(frozen=True)
class SectionOrder:
    """Places of the sections in building order; `twin_of[s]` is the first section like s, itself
    where it is the first."""

    order: tuple[int, ...]
    twin_of: tuple[int, ...]


def section_order(frame: Frame, parts: Sequence[Frame]) -> SectionOrder:
    """Sections that carry others come before them; sections of the same shape follow one another,
    so that what was learnt on one serves the next.

    Args:
        parts: the frame of each section by itself.

    Source: topological order, as networkx.lexicographical_topological_sort.
    """
    first: dict[tuple[bytes, ...], int] = {}
    twin_of = tuple(first.setdefault(_shape(part), number) for number, part in enumerate(parts))
    carried = _carried(frame)
    together: nx.DiGraph[int] = nx.DiGraph()
    together.add_nodes_from(sorted(set(twin_of)))
    together.add_edges_from(
        (twin_of[a], twin_of[b]) for a, b in carried if twin_of[a] != twin_of[b]
    )
    if nx.is_directed_acyclic_graph(together):
        groups = list(nx.lexicographical_topological_sort(together))
        order = [s for group in groups for s, twin in enumerate(twin_of) if twin == group]
    else:
        order = list(range(len(parts)))
    return SectionOrder(tuple(order), twin_of)


def _carried(frame: Frame) -> list[tuple[int, int]]:
    """(below, above) for sections that couplings join from below."""
    joints = np.flatnonzero(frame.section < 0)
    rise = (frame.nodes_mm[frame.end] - frame.nodes_mm[frame.start])[:, 2]
    found = set()
    for member in joints.tolist():
        if abs(rise[member]) > _STANDS_ON * frame.length_mm[member]:
            a = int(frame.node_section[frame.start[member]])
            b = int(frame.node_section[frame.end[member]])
            found.add((a, b) if rise[member] > 0 else (b, a))
    return sorted(found)


def _shape(part: Frame) -> tuple[bytes, ...]:
    if not len(part.nodes_mm):
        return (b"",)
    away = np.round(part.nodes_mm - part.nodes_mm.min(axis=0), 3) + 0.0
    return tuple(np.ascontiguousarray(x).tobytes() for x in (away, part.start, part.end, part.rod))
