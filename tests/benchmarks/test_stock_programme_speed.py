"""Speed of the stock programme: `pytest -m benchmark -n 0 -s`.

Instances with a known optimum beside first-fit decreasing in the same run; the demo machine beside
its plain count; and an instance too large to prove, whose gap is printed.
"""

from collections.abc import Callable
from time import process_time
from typing import Any

import pytest

from baywright_plugins.part_count import PartCount
from baywright_plugins.part_count.programme.cutting import fewest_lengths
from tests.plugins.part_count.conftest import ACCESSORIES, DATA, DESK, read

pytestmark = pytest.mark.benchmark


def timed(run: Callable[[], Any]) -> tuple[float, Any]:
    """CPU seconds of the faster of two runs, and what it gave."""
    found = []
    for _ in range(2):
        start = process_time()
        value = run()
        found.append((process_time() - start, value))
    return min(found, key=lambda pair: pair[0])


def first_fit(length: int, demand: dict[int, int]) -> int:
    """Lengths that first-fit decreasing takes."""
    rooms: list[int] = []
    for size in sorted(demand, reverse=True):
        for _ in range(demand[size]):
            for k, room in enumerate(rooms):
                if room >= size:
                    rooms[k] -= size
                    break
            else:
                rooms.append(length - size)
    return len(rooms)


def test_known_optimum() -> None:
    cases = {case["id"]: case for case in read(DATA / "published" / "stock_programme.json")}
    given = cases["cut-jumbo"]["inputs"]
    demand = dict(zip(given["lengths"], given["demand"], strict=True))
    own, plan = timed(lambda: fewest_lengths(given["stock"], demand, 0))
    plain, rolls = timed(lambda: first_fit(given["stock"], demand))
    print(
        f"\n13 widths: {plan.lengths} rolls, proven {plan.at_least}, {own * 1000:.0f} ms; "
        f"first-fit {rolls} rolls, {plain * 1000:.1f} ms"
    )
    assert plan.lengths == plan.at_least == 73 <= rolls
    assert own < 1.0


def test_gap_beyond() -> None:
    """Sixty sizes, too many patterns to list: column generation comes within 3 % of its
    own bound, and first-fit does no better."""
    demand = {900 + 37 * k: 5 + 7 * k % 23 for k in range(60)}
    own, plan = timed(lambda: fewest_lengths(5600, demand, 3))
    rolls = first_fit(5600 + 3, {size + 3: count for size, count in demand.items()})
    print(
        f"\n60 sizes: {plan.lengths} lengths, at least {plan.at_least}, "
        f"{own:.2f} s; first-fit {rolls}"
    )
    assert plan.at_least <= plan.lengths <= min(rolls, 1.03 * plan.at_least)
    assert own < 20.0


def test_the_demo_machine() -> None:
    calculator = PartCount()
    body = {
        "kit": read(DESK / "kit.json"),
        "stock": read(DESK / "stock.json"),
        "frame": {"layout": read(DESK / "changed.json")},
        "accessories": ACCESSORIES,
    }
    plain, _ = timed(lambda: calculator.calculate(calculator.load(body)))
    own, result = timed(lambda: calculator.calculate(calculator.load({**body, "programme": {}})))
    assert result.value["programme"]["proven_best"]
    print(f"\ndemo machine: count {plain:.2f} s, with programme and strength {own:.2f} s CPU")
    assert own < 3.0 + 10 * plain
