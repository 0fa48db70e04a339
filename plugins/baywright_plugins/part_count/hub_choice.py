"""Which hub goes where when the shelf holds only so many of each kind."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import networkx as nx

_SHORT = 1000  # dearer than any preference among kinds, of which there are at most 30


@dataclass(frozen=True)
class HubChoice:
    """`placed[c][k]`: how many nodes of class c take kind k. `to_buy[k]`: beyond the shelf."""

    placed: tuple[tuple[int, ...], ...]
    to_buy: tuple[int, ...]


def choose_hubs(
    demand: Sequence[int],
    fits: Sequence[Sequence[int]],
    preference: Sequence[int],
    free: Mapping[int, int] | None,
) -> HubChoice:
    """The assignment of kinds to nodes that is short of the fewest hubs; then the most preferred.

    A transportation problem, solved exactly as a flow of least cost in whole numbers: classes
    of nodes send hubs to kinds, kinds to the shelf (bounded) or to the shop (dear).

    Args:
        demand: nodes in each class. fits: kinds that can stand there, not empty where demand is.
        preference: rank of each kind, 0 best, at most 30.
        free: pieces on the shelf by kind; None: as many as wanted.

    Source: transportation problem; network simplex as in networkx.

    >>> choose_hubs([5, 20], [[0], [0, 1]], [1, 0], {0: 8, 1: 15})
    HubChoice(placed=((5, 0), (3, 17)), to_buy=(0, 2))
    """
    kinds = len(preference)
    graph: nx.DiGraph[str] = nx.DiGraph()
    for number, nodes in enumerate(demand):
        graph.add_node(f"class {number}", demand=-nodes)
        for kind in fits[number]:
            graph.add_edge(f"class {number}", f"kind {kind}", weight=preference[kind])
    graph.add_node("made", demand=sum(demand))
    for kind in range(kinds):
        shelf = {} if free is None else {"capacity": free.get(kind, 0)}
        graph.add_edge(f"kind {kind}", "made", weight=0, **shelf)
        graph.add_edge(f"kind {kind}", f"shop {kind}", weight=_SHORT)
        graph.add_edge(f"shop {kind}", "made", weight=0)
    _, flow = nx.network_simplex(graph)
    placed = tuple(
        tuple(flow[f"class {number}"].get(f"kind {kind}", 0) for kind in range(kinds))
        for number in range(len(demand))
    )
    return HubChoice(placed, tuple(flow[f"kind {k}"][f"shop {k}"] for k in range(kinds)))
