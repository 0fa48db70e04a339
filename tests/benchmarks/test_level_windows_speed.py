"""Speed of level-windows beside networkx in the same run: `pytest -m benchmark -s`.

A ladder of 40 levels and 200 requirements. The reference gives, without a grid, the windows alone:
Bellman-Ford of networkx from and to each level in turn, as one would by hand; ours gives windows on
the grid and off it, the heights with the most slack, the order and the chains. Times are those of
the processor, so that what else runs on the machine counts little.
"""

from collections.abc import Callable
from time import process_time
from typing import Any

import networkx as nx
import numpy as np
import pytest

from baywright_plugins.level_windows import LevelWindows
from baywright_plugins.level_windows.difference_constraints import close
from baywright_plugins.level_windows.ladder import build
from baywright_plugins.level_windows.study import study

pytestmark = pytest.mark.benchmark

CALCULATOR = LevelWindows()
MODULE, FIRST = 60, 42


def ladder(levels: int, requirements: int, *, every_free: int = 0) -> dict[str, Any]:
    """Levels one to three modules apart; ranges around those heights, half of them open above."""
    random = np.random.default_rng(1)
    height = np.cumsum(random.integers(1, 4, levels)) * MODULE + FIRST
    rows = []
    for k in range(requirements):
        pair = (k, k + 1) if k < levels - 1 else sorted(random.choice(levels, 2, replace=False))
        below, above = (int(x) for x in pair)
        distance = float(height[above] - height[below])
        gap = {"gap_min_mm": round(distance - 50 * random.random(), 2)}
        if k % 2:
            gap["gap_max_mm"] = round(distance + 10 + 140 * random.random(), 2)
        rows.append({"id": f"r{k}", "below": f"l{below}", "above": f"l{above}", "gap": gap})
    named: list[dict[str, Any]] = [
        {"id": f"l{k}", "snapped": not (every_free and k % every_free == 0)} for k in range(levels)
    ]
    named[0]["at_least_mm"] = float(height[0]) - 100
    named[-1]["at_most_mm"] = float(height[-1]) + 200
    return {
        "grid": {"module_mm": MODULE, "first_plane_mm": FIRST},
        "levels": named,
        "requirements": rows,
    }


def best_of(times: int, work: Callable[[], object]) -> float:
    spent = []
    for _ in range(times):
        start = process_time()
        work()
        spent.append(process_time() - start)
    return min(spent)


def by_networkx(body: dict[str, Any]) -> dict[Any, tuple[float, float]]:
    """Both ends of each window, without a grid: a shortest path to and from each level."""
    graph: Any = nx.DiGraph()

    def edge(tail: object, head: object, weight: float) -> None:
        if graph.has_edge(tail, head):
            weight = min(weight, graph.edges[tail, head]["weight"])
        graph.add_edge(tail, head, weight=weight)

    for row in body["requirements"]:
        edge(row["above"], row["below"], -row["gap"]["gap_min_mm"])
        if "gap_max_mm" in row["gap"]:
            edge(row["below"], row["above"], row["gap"]["gap_max_mm"])
    edge(body["levels"][0]["id"], "floor", -body["levels"][0]["at_least_mm"])
    edge("floor", body["levels"][-1]["id"], body["levels"][-1]["at_most_mm"])
    return {
        level["id"]: (
            -nx.bellman_ford_path_length(graph, level["id"], "floor"),
            nx.bellman_ford_path_length(graph, "floor", level["id"]),
        )
        for level in body["levels"]
    }


@pytest.mark.parametrize("every_free", [0, 3], ids=["all snapped", "every third free"])
def test_forty_levels_and_two_hundred_requirements(every_free: int) -> None:
    """Under 50 ms on the grid, validation included; room for a busy machine."""
    body = ladder(40, 200, every_free=every_free)
    inputs = CALCULATOR.load(body)
    worked = study(build(inputs), objective="most-slack", enough_nm=None)
    reference = by_networkx(body)
    assert worked.free is not None and worked.placement is not None and worked.placement.proven
    for k, level in enumerate(body["levels"]):
        low, high = reference[level["id"]]
        assert worked.free.low_nm[k + 1] == pytest.approx(low * 1e6, abs=1)
        assert worked.free.high_nm[k + 1] == pytest.approx(high * 1e6, abs=1)
    ladder_of = build(inputs)
    windows = best_of(5, lambda: close(ladder_of.rows, ladder_of.grid).window())
    numerics = best_of(5, lambda: study(build(inputs), objective="most-slack", enough_nm=None))
    whole = best_of(5, lambda: CALCULATOR.calculate(CALCULATOR.load(body)))
    theirs = best_of(2, lambda: by_networkx(body))
    print(
        f"\n40 levels, 200 requirements, free every {every_free}: windows {windows * 1e3:.2f} ms, "
        f"all numerics {numerics * 1e3:.1f} ms, whole run {whole * 1e3:.1f} ms; networkx windows "
        f"{theirs * 1e3:.0f} ms = {theirs / windows:.0f} times ours"
    )
    assert windows * 10 < theirs
    assert whole < (0.1 if not every_free else 0.3)


def test_the_largest_ladder() -> None:
    """200 levels and 2000 requirements stay far under ten seconds."""
    for every_free in (0, 3):
        body = ladder(200, 2000, every_free=every_free)
        start = process_time()
        CALCULATOR.calculate(CALCULATOR.load(body))
        spent = process_time() - start
        print(f"200 levels, 2000 requirements, free every {every_free}: {spent:.2f} s")
        assert spent < 5
