"""Speed of the packing of a vehicle, against a whole-number programme in the same run.

The reference is the usual model of rectangles in a strip (for each pair, which of four ways they
are apart; after C. S. Chen, S. M. Lee, Q. S. Shen, An analytical model for the container loading
problem, European Journal of Operational Research 80 (1995), from memory) solved by HiGHS through
scipy. Both must find the same shortest length. `pytest -m benchmark -s` prints the numbers.
"""

from collections.abc import Sequence
from itertools import combinations
from time import perf_counter
from typing import Any

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from baywright_plugins.route_fit.vehicle import Cargo, VehicleSchema, vehicle_answers

pytestmark = pytest.mark.benchmark

Size = tuple[float, float]
WIDTH = 1700.0


def programme(sizes: Sequence[Size]) -> float:
    """Shortest strip of WIDTH for rectangles that may be turned, by a whole-number programme."""
    n, pairs = len(sizes), list(combinations(range(len(sizes)), 2))
    longest = sum(max(size) for size in sizes)
    count = 1 + 3 * n + 4 * len(pairs)  # length; x, y, turned of each; four ways of each pair
    rows: list[np.ndarray[Any, Any]] = []
    most: list[float] = []

    def at_most(entries: dict[int, float], limit: float) -> None:
        row = np.zeros(count)
        for column, value in entries.items():
            row[column] += value
        rows.append(row)
        most.append(limit)

    for k, (a, b) in enumerate(sizes):
        x, y, turned = 1 + 3 * k, 2 + 3 * k, 3 + 3 * k
        at_most({x: 1, turned: b - a, 0: -1}, -a)
        at_most({y: 1, turned: a - b}, WIDTH - b)
    for p, (i, j) in enumerate(pairs):
        way = 1 + 3 * n + 4 * p
        for first, second, shift in ((i, j, 0), (j, i, 2)):
            a, b = sizes[first]
            x, y, turned = 1 + 3 * first, 2 + 3 * first, 3 + 3 * first
            x2, y2 = 1 + 3 * second, 2 + 3 * second
            at_most({x: 1, turned: b - a, x2: -1, way + shift: longest}, longest - a)
            at_most({y: 1, turned: a - b, y2: -1, way + shift + 1: WIDTH}, WIDTH - b)
        at_most({way + shift: -1.0 for shift in range(4)}, -1)
    whole = np.ones(count, dtype=np.int64)
    upper = np.ones(count)
    for k in range(n):
        whole[1 + 3 * k : 3 + 3 * k] = 0
        upper[1 + 3 * k], upper[2 + 3 * k] = longest, WIDTH
    whole[0], upper[0] = 0, longest
    cost = np.zeros(count)
    cost[0] = 1
    solved = milp(
        cost,
        constraints=LinearConstraint(np.array(rows), -np.inf, np.array(most)),
        bounds=Bounds(np.zeros(count), upper),
        integrality=whole,
        options={"mip_rel_gap": 0.0, "time_limit": 300},
    )
    assert solved.status == 0
    return float(solved.fun)


def ours(sizes: Sequence[Size], height: float = 900.0) -> Any:
    """The same rectangles as boxes on which nothing may stand."""
    names = [f"b{k}" for k in range(len(sizes))]
    vehicle = VehicleSchema().load(
        {
            "length_mm": sum(max(size) for size in sizes), "width_mm": WIDTH, "height_mm": 1750,
            "items": [{"id": n, "do_not_stack": True, "this_side_up": True} for n in names],
        }
    )  # fmt: skip
    cargo = [Cargo(n, "", (a, b, height)) for n, (a, b) in zip(names, sizes, strict=True)]
    return vehicle_answers(vehicle, cargo)[0]


def drawn(count: int, seed: int) -> list[Size]:
    """Sizes of sections as they come: whole millimetres, 300 to 1300."""
    lot = np.random.default_rng(seed)
    return [(float(a), float(b)) for a, b in lot.integers(300, 1300, size=(count, 2))]


def test_same_length_as_a_whole_number_programme_and_sooner() -> None:
    """Six rectangles twice, and seven."""
    for count, seed in ((6, 1), (6, 2), (7, 3)):
        sizes = drawn(count, seed)
        start = perf_counter()
        expected = programme(sizes)
        theirs = perf_counter() - start
        start = perf_counter()
        record = ours(sizes)
        own = perf_counter() - start
        print(
            f"\n{count} rectangles: {own * 1000:.0f} ms, programme {theirs * 1000:.0f} ms, "
            f"ratio {theirs / own:.1f}, {record['nodes_searched_count']} steps"
        )
        assert record["aim_proven"]
        assert record["used_length_mm"] == pytest.approx(expected, abs=0.01)
        assert theirs > own


def test_eight_boxes_any_way_up() -> None:
    """Every one turnable and bearing: the hardest; an answer in bounded time, nearly all proven."""
    lot = np.random.default_rng(8)
    proven, slowest = 0, 0.0
    for draw in range(8):
        vehicle = VehicleSchema().load({"length_mm": 2900, "width_mm": 1700, "height_mm": 1750})
        low, high = ((500, 1100), (300, 1300), (200, 1600), (400, 900))[draw % 4]
        cargo = [
            Cargo(f"b{k}", "", (float(a), float(b), float(c)))
            for k, (a, b, c) in enumerate(lot.integers(low, high, size=(8, 3)))
        ]
        start = perf_counter()
        record, _ = vehicle_answers(vehicle, cargo)
        took = perf_counter() - start
        slowest = max(slowest, took)
        proven += bool(record["answer"] == "does-not-fit" or record.get("aim_proven"))
        print(
            f"\n8 boxes of {low} to {high}: {record['answer']}, {took * 1000:.0f} ms, "
            f"{record['nodes_searched_count']} steps, proven {record.get('aim_proven')}"
        )
    print(f"proven {proven} of 8, slowest {slowest:.1f} s")
    assert proven >= 7
    assert slowest < 30
