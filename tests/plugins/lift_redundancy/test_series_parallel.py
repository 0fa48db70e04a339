"""Flows of all states at once against one max-flow each."""

import numpy as np

from baywright_plugins.lift_redundancy.network import Element, FlowNetwork
from baywright_plugins.lift_redundancy.series_parallel import series_parallel_flow

ARCS = [("in", "a"), ("in", "b"), ("a", "a2"), ("a2", "mid"), ("b", "mid")]
ARCS += [("mid", "x"), ("mid", "y"), ("x", "out"), ("y", "out")]


def test_rows_and_side_by_sides_equal_one_flow_each() -> None:
    rng = np.random.default_rng(3)
    names = ["a", "a2", "b", "mid", "x", "y"]
    carried = {name: rng.integers(0, 30, 40).astype(float) for name in names}
    found = series_parallel_flow(carried, ARCS, "in", "out")
    assert found is not None
    for k in range(40):
        elements = [Element(name, carried[name][k]) for name in names]
        assert found[k] == FlowNetwork(elements, ARCS, "in", "out").max_flow()


def test_a_bridge_is_left_to_the_general_way() -> None:
    arcs = [("s", "1"), ("s", "2"), ("1", "5"), ("5", "2"), ("1", "3"), ("2", "4"), ("3", "t")]
    carried = {name: np.ones(2) for name in "12345"}
    assert series_parallel_flow(carried, [*arcs, ("4", "t"), ("5", "4")], "s", "t") is None
