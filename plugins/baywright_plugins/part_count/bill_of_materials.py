"""Bills of materials: how many of each item go into so many of the top one."""

from collections.abc import Mapping
from dataclasses import dataclass

import networkx as nx


class Circular(ValueError):
    """An item that goes into itself; `cycle` names the items in order, the first once more."""

    def __init__(self, cycle: tuple[str, ...]) -> None:
        super().__init__(" -> ".join(cycle))
        self.cycle = cycle


@dataclass(frozen=True)
class Line:
    """One item of an explosion.

    `count` is the gross quantity, nothing taken from the shelf; `from_stock_count` and
    `to_get_count` (to build or buy) follow when free pieces are used up level by level.
    `level` is the low-level code: the longest way down from the top item.
    """

    item: str
    count: int
    level: int
    assembled: bool
    from_stock_count: int
    to_get_count: int


def product_graph(tree: Mapping[str, Mapping[str, int]]) -> "nx.DiGraph[str]":
    """Items as nodes, an edge from a whole to each of its parts with its `quantity`.

    Raises Circular.
    """
    graph: nx.DiGraph[str] = nx.DiGraph()
    for whole, parts in tree.items():
        graph.add_node(whole)
        for part, quantity in parts.items():
            graph.add_edge(whole, part, quantity=quantity)
    if not nx.is_directed_acyclic_graph(graph):
        edges = nx.find_cycle(graph)
        raise Circular((*(edge[0] for edge in edges), edges[0][0]))
    return graph


def explode(
    tree: Mapping[str, Mapping[str, int]],
    top: str,
    units: int,
    free: Mapping[str, int] | None = None,
) -> list[Line]:
    """Every item below `top`, in the order of low-level codes, then of first mention.

        gross(item) = sum over all wholes of gross(whole) * quantity(whole, item)

    which multiplies quantities along each path and sums over all paths. The net run does the
    same with what is left to get of each whole after its free pieces are used.

    Args:
        tree: whole -> {part: quantity per whole}.
        top: the item to build; `units` of it, none of them from the shelf.
        free: pieces on the shelf by item; absent: none.

    Raises:
        KeyError: `top` is not in the tree. Circular: an item goes into itself.

    Leaves out: lead times, scrap, lot sizes.
    Source: material requirements planning, e.g. Jacobs and Chase, Operations and Supply Chain
    Management, chapter on MRP (gross and net requirements, low-level coding).

    >>> [(x.item, x.count) for x in explode({"cart": {"wheel": 4, "axle": 2}}, "cart", 3)]
    [('wheel', 12), ('axle', 6)]
    """
    graph = product_graph(tree)
    if top not in graph:
        raise KeyError(top)
    below = graph.subgraph(nx.descendants(graph, top) | {top})
    level = {top: 0}
    gross = dict.fromkeys(below, 0)
    net = dict.fromkeys(below, 0)
    gross[top] = net[top] = units
    taken = dict.fromkeys(below, 0)
    for item in nx.topological_sort(below):
        if item != top:
            taken[item] = min(net[item], (free or {}).get(item, 0))
            net[item] -= taken[item]
        for part, edge in below[item].items():
            gross[part] += gross[item] * edge["quantity"]
            net[part] += net[item] * edge["quantity"]
            level[part] = max(level.get(part, 0), level[item] + 1)
    order = {item: place for place, item in enumerate(graph)}
    return [
        Line(item, gross[item], level[item], below.out_degree(item) > 0, taken[item], net[item])
        for item in sorted(below, key=lambda item: (level[item], order[item]))
        if item != top
    ]
