"""Sets that no other beats: a printed ranking, a worked example, a graph, and the definition."""

from itertools import product
from math import pi
from typing import Any

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from baywright_plugins.design_search.dominance import dominators, fronts, non_dominated

Points = list[tuple[float, ...]]


def beats(one: Any, other: Any) -> bool:
    """The definition, point by point."""
    pairs = list(zip(one, other, strict=True))
    return all(a <= b for a, b in pairs) and any(a < b for a, b in pairs)


@pytest.mark.parametrize("case", ["pareto-rank-input1", "pareto-rank-60-5"])
def test_ranks_that_a_general_library_prints(published: Any, case: str) -> None:
    """moocore 0.3.2, docstring of pareto_rank: 100 points in 14 fronts; 60 points of 5 columns."""
    known = published[case]
    ranks = fronts(np.array(known["inputs"]["points"]))
    assert ranks.tolist() == known["expected"]["ranks"]
    assert known["expected"].get("fronts", ranks.max() + 1) == ranks.max() + 1


def test_equal_points_do_not_beat_each_other(published: Any) -> None:
    """moocore 0.3.2, docstring of is_nondominated with keep_weakly."""
    known = published["non-dominated-4"]
    found = non_dominated(np.array(known["inputs"]["points"], dtype=float))
    assert found.tolist() == known["expected"]


def test_cantilever_of_a_textbook(published: Any) -> None:
    """Deb, Multi-Objective Optimization using Evolutionary Algorithms (2001), section 2.1, from
    memory: of five designs A to D remain, E is beaten by C. Weights and deflections follow from
    the formulas of the same section to their printed digits (B's diameter is not remembered)."""
    known = published["cantilever"]
    given_, wanted = known["inputs"], known["expected"]
    for name, design in given_["designs"].items():
        d, length = design["diameter_mm"] / 1000, design["length_mm"] / 1000
        weight = given_["density_kg_per_m3"] * pi * d**2 / 4 * length
        tip = 64 * given_["force_n"] * length**3 / (3 * given_["modulus_pa"] * pi * d**4)
        assert round(weight, 2) == wanted["weight_kg"][name]
        assert round(1000 * tip, 2) == wanted["deflection_mm"][name]
    names = list(wanted["weight_kg"])
    rows = [(wanted["weight_kg"][name], wanted["deflection_mm"][name]) for name in names]
    found = dominators(np.array(rows))
    assert [n for n, by in zip(names, found, strict=True) if by < 0] == wanted["non_dominated"]
    beaten = {n: names[by] for n, by in zip(names, found.tolist(), strict=True) if by >= 0}
    assert beaten == wanted["dominated"]


@given(st.lists(st.tuples(*[st.integers(0, 4)] * 3), min_size=1, max_size=25))
@settings(deadline=None, derandomize=True, max_examples=60)
def test_sources_of_the_graph_of_who_beats_whom(points: Points) -> None:
    """networkx: points that nobody beats have no edge in; fronts are its generations."""
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(points)))
    graph.add_edges_from(
        (a, b) for a, b in product(range(len(points)), repeat=2) if beats(points[a], points[b])
    )
    costs = np.array(points, dtype=float)
    assert np.flatnonzero(non_dominated(costs)).tolist() == [
        n for n in graph if not graph.in_degree(n)
    ]
    generations = [sorted(layer) for layer in nx.topological_generations(graph)]
    ranks = fronts(costs)
    assert generations == [np.flatnonzero(ranks == k).tolist() for k in range(ranks.max() + 1)]


@given(st.lists(st.tuples(*[st.integers(0, 6)] * 4), min_size=1, max_size=30))
@settings(deadline=None, derandomize=True, max_examples=60)
def test_every_loser_is_told_a_winner_of_the_set(points: Points) -> None:
    """A dominator is in the set and does dominate; the others have none."""
    costs = np.array(points, dtype=float)
    kept = non_dominated(costs)
    for row, by in enumerate(dominators(costs).tolist()):
        assert (by < 0) == kept[row]
        if by >= 0:
            assert kept[by] and beats(points[by], points[row])


def test_nothing_to_compare() -> None:
    assert dominators(np.empty((0, 3))).tolist() == []
    assert fronts(np.empty((0, 3))).tolist() == []
