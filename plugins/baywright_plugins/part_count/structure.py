"""The product structure of a machine: machine, sections, beams, bays, hubs and rods as a graph."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

import networkx as nx

from ..frame import ROLES, Frame
from .beams import Beam, Cell, bays_of, beams_of

#: (what, numbers...): ("machine",), ("section", s), ("beam", s, b), ("bay", s, i, j, k),
#: ("joint", s, t), ("hub", node), ("rod", member)
Vertex = tuple[Any, ...]
Graph = nx.DiGraph
MACHINE: Vertex = ("machine",)

_AXIS_ROLE = ROLES.index("axis")


@dataclass(frozen=True)
class Counted:
    """Hubs and rods found in one way of counting; axis rods are the edges of bays."""

    hubs_count: int
    rods_count: int
    axis_rods_count: int


@dataclass(frozen=True)
class SectionParts:
    """Beams and bays of one section; none where it has no grid."""

    beams: tuple[Beam, ...]
    bays: tuple[Cell, ...]


def section_parts(frame: Frame, layout: Mapping[str, Any] | None) -> list[SectionParts]:
    """Beams and bays of every section, in their order."""
    if layout is None:
        return [SectionParts((), ()) for _ in frame.sections]
    found = []
    for number, (section, spec) in enumerate(zip(frame.sections, layout["sections"], strict=True)):
        beams = () if section.bays is None else tuple(beams_of(spec, section.bays))
        found.append(SectionParts(beams, tuple(bays_of(frame, number))))
    return found


def product_structure(frame: Frame, sections: Sequence[SectionParts]) -> "Graph[Vertex]":
    """The graph from the machine down to each single hub and rod.

    A part that several bays or beams share is one vertex with several wholes above it. Parts
    of no bay hang on their section, coupling rods on the joint between two sections.
    """
    graph: Graph[Vertex] = nx.DiGraph()
    graph.add_node(MACHINE)
    rods_between = {
        (min(a, b), max(a, b)): member
        for member, (a, b) in enumerate(zip(frame.start.tolist(), frame.end.tolist(), strict=True))
    }
    for number, parts in enumerate(sections):
        whole: Vertex = ("section", number)
        graph.add_edge(MACHINE, whole)
        for place, beam in enumerate(parts.beams):
            graph.add_edge(whole, ("beam", number, place))
            graph.add_edges_from(
                (("beam", number, place), ("bay", number, *cell)) for cell in beam.cells
            )
        for cell in parts.bays:
            _add_bay(graph, frame, number, cell, rods_between)
    _add_the_rest(graph, frame)
    return graph


def _add_bay(
    graph: "Graph[Vertex]",
    frame: Frame,
    section: int,
    cell: Cell,
    rods_between: Mapping[tuple[int, int], int],
) -> None:
    bay: Vertex = ("bay", section, *cell)
    corners = []
    for step in product((0, 1), repeat=3):
        node = frame.node_at(section, (cell[0] + step[0], cell[1] + step[1], cell[2] + step[2]))
        if node is not None:
            corners.append(node)
    graph.add_edges_from((bay, ("hub", node)) for node in corners)
    for pair in combinations(sorted(corners), 2):
        if pair in rods_between:
            graph.add_edge(bay, ("rod", rods_between[pair]))
    if not graph.in_degree(bay):
        graph.add_edge(("section", section), bay)


def _add_the_rest(graph: "Graph[Vertex]", frame: Frame) -> None:
    for node, section in enumerate(frame.node_section.tolist()):
        if ("hub", node) not in graph:
            graph.add_edge(("section", section), ("hub", node))
    for member, section in enumerate(frame.section.tolist()):
        if ("rod", member) in graph:
            continue
        if section >= 0:
            graph.add_edge(("section", section), ("rod", member))
            continue
        ends = (int(frame.node_section[frame.start[member]]),
                int(frame.node_section[frame.end[member]]))  # fmt: skip
        graph.add_edge(MACHINE, ("joint", *ends))
        graph.add_edge(("joint", *ends), ("rod", member))


def counted_once(graph: "Graph[Vertex]", frame: Frame, top: Vertex = MACHINE) -> Counted:
    """Hubs and rods below `top`, each once however many wholes share it."""
    return _counted(nx.descendants(graph, top), frame)


def counted_by(graph: "Graph[Vertex]", frame: Frame, what: str) -> Counted:
    """Hubs and rods if each "beam" or each "bay" were counted by itself and the counts summed.

    What stands in no beam or bay (coupling rods, for one) is left out.
    """
    hubs = rods = axis = 0
    for vertex in graph:
        if vertex[0] == what:
            below = set(graph[vertex]) if what == "bay" else nx.descendants(graph, vertex)
            own = _counted(below, frame)
            hubs, rods = hubs + own.hubs_count, rods + own.rods_count
            axis += own.axis_rods_count
    return Counted(hubs, rods, axis)


def _counted(vertices: set[Vertex], frame: Frame) -> Counted:
    kinds = Counter(vertex[0] for vertex in vertices)
    axis = sum(v[0] == "rod" and int(frame.role[v[1]]) == _AXIS_ROLE for v in vertices)
    return Counted(kinds["hub"], kinds["rod"], axis)


def beam_rule(sections: Sequence[SectionParts]) -> Counted | None:
    """Hubs and axis rods by rule, from lengths of beams and the bays they share.

        hubs = sum of 4 (n + 1) over beams - 8 (m - 1) per bay that m beams share
        axis rods = sum of (8 n + 4) over beams - 12 (m - 1) per such bay

    None where no section has beams. `rods_count` repeats the axis rods.

    Leaves out: beams that lie side by side or overlap lengthwise share single faces, which the
    rule counts twice; then it differs from the true count.
    Source: inclusion and exclusion over the 8 corners and 12 edges of a shared bay; derived.

    >>> nine_by_five_by_twelve = beams_of({}, (9, 5, 12))
    >>> beam_rule([SectionParts(tuple(nine_by_five_by_twelve), ())])
    Counted(hubs_count=336, rods_count=688, axis_rods_count=688)
    """
    if not any(parts.beams for parts in sections):
        return None
    hubs = rods = 0
    for parts in sections:
        shared = Counter(cell for beam in parts.beams for cell in beam.cells)
        hubs += sum(4 * (beam.bays + 1) for beam in parts.beams)
        hubs -= sum(8 * (beams - 1) for beams in shared.values())
        rods += sum(8 * beam.bays + 4 for beam in parts.beams)
        rods -= sum(12 * (beams - 1) for beams in shared.values())
    return Counted(hubs, rods, rods)
