"""Speed of fit-remedies beside grid-fit's own search, in one run: `pytest -m benchmark -n 0 -s`.

grid-fit tries single changes on the same machine, each proven by building it again; fit-remedies
looks over all sections at once. Absolute times are printed and held generously.
"""

from time import perf_counter
from typing import Any

import pytest

from baywright_plugins.fit_remedies import FitRemedies
from baywright_plugins.grid_fit import GridFit
from baywright_plugins.grid_fit.examples import KIT
from baywright_service.contract import Calculator

pytestmark = pytest.mark.benchmark


def seconds(calculator: Calculator, body: Any) -> float:
    """The best of three."""
    times = []
    for _ in range(3):
        inputs = calculator.load(body)
        start = perf_counter()
        calculator.calculate(inputs)
        times.append(perf_counter() - start)
    return min(times)


def row(sizes: list[tuple[int, int, int]]) -> dict[str, Any]:
    """Sections of R120 bays in a row, coupled by R60."""
    sections = [
        {
            "id": f"S{k}",
            "rods": {
                axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", size, strict=True)
            },
        }
        for k, size in enumerate(sizes)
    ]
    joints = [
        {"between": [f"S{k}", f"S{k + 1}"], "axis": "x", "rod": "R60"}
        for k in range(len(sizes) - 1)
    ]
    return {"sections": sections, "joints": joints}


DOORS = [
    {"id": f"door-{k}", "width_mm": 745 + 5 * k, "height_mm": 1960 + 10 * k} for k in range(10)
]


def test_all_sections_at_once_beside_one_change_at_a_time() -> None:
    """Four sections, two of them twins: at most five times as long as grid-fit's search."""
    layout = row([(5, 6, 15), (9, 6, 12), (9, 6, 12), (7, 6, 9)])
    single = seconds(GridFit(), {"kit": KIT, "layout": layout, "passages": DOORS})
    whole = seconds(FitRemedies(), {"kit": KIT, "frame": {"layout": layout}, "passages": DOORS})
    print(f"\ngrid-fit {single:.2f} s, fit-remedies {whole:.2f} s: {whole / single:.2f} times")
    assert whole < 5 * single


def test_twenty_sections_and_ten_passages() -> None:
    """Twenty sections, none like another beside it, ten doors: the best way proven in seconds."""
    layout = row([(5 + k % 7, 6, 8 + k % 5) for k in range(20)])
    body = {"kit": KIT, "frame": {"layout": layout}, "passages": DOORS, "most_ways": 1}
    inputs = FitRemedies().load(body)
    start = perf_counter()
    best = FitRemedies().calculate(inputs).value["ways"][0]
    taken = perf_counter() - start
    print(f"\n20 sections, 10 passages: {taken:.2f} s, proven best: {best['proven_best']}")
    assert best["proven_best"] and taken < 30
