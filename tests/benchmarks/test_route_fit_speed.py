"""Speed of route-fit: `pytest -m benchmark -n 0 -s`.

Twenty sections at ten passages, against one dense sweep of angles for the corner of each of them
in the same run, so that the machine does not matter.
"""

from time import perf_counter, process_time
from typing import Any

import numpy as np
import pytest

from baywright_plugins.grid_fit.examples import KIT
from baywright_plugins.route_fit import RouteFit
from baywright_plugins.route_fit.passing import (
    Carried,
    RouteClearances,
    passages_from_inputs,
    passes,
)
from baywright_plugins.route_fit.route_schemas import RoutePassageSchema

pytestmark = pytest.mark.benchmark

#: as in the published check of leaning cross-sections
ANGLES = 90_001

STAIRS = {"going_mm": 280, "rise_mm": 170, "width_mm": 1300, "headroom_mm": 2500}
PASSAGES: list[dict[str, Any]] = [
    {"id": "workshop", "width_mm": 900, "height_mm": 2050, "before_mm": 1900},
    {"id": "bar", "width_mm": 950, "height_mm": 2050,
     "hardware": [{"side": "left", "projects_mm": 90, "from_mm": 900, "to_mm": 1050}]},
    {"id": "corner", "corner_mm": [1300, 1400]},
    {"id": "stairs", "flight": STAIRS,
     "landings": [{"turn": "half", "length_mm": 1800, "width_mm": 2800}]},
    {"id": "lift", "kind": "lift", "width_mm": 1100, "height_mm": 2100, "depth_mm": 2000,
     "inside_width_mm": 1400, "inside_height_mm": 2200},
    {"id": "van", "kind": "van", "width_mm": 1550, "height_mm": 1950, "depth_mm": 2900},
    {"id": "gate", "library": "ada-clear-door"},
    {"id": "yard", "corridors_mm": [1500, 1400, 1500], "legs_mm": [2600]},
    {"id": "side", "width_mm": 815, "height_mm": 2030, "before_mm": 1600, "behind_mm": 2000},
    {"id": "hall", "width_mm": 745, "height_mm": 1960, "threshold_mm": 20,
     "leaf_off_width_mm": 780},
]  # fmt: skip


def machine() -> dict[str, Any]:
    """Twenty sections, no two alike, with feet at four corners and a sprocket on each."""

    def row(rod: str, count: int) -> list[dict[str, Any]]:
        return [{"rod": rod, "count": count}]

    sections = [
        {
            "id": f"S{k}",
            "rods": {"x": row("R120", 4 + k % 5), "y": row("R120", 3 + k % 4),
                     "z": row("R120", 6 + k % 7)},
        }
        for k in range(20)
    ]  # fmt: skip
    return {
        "kit": KIT,
        "frame": {"layout": {"sections": sections}},
        "protrusions": [
            {"side": "z-minus", "mm": 25, "place": "four-corners", "pad_mm": 40},
            {"side": "y-plus", "mm": 60, "place": "patches", "patches_mm": [[100, 300, 220, 420]]},
        ],
        "passages": PASSAGES,
    }


def test_twenty_sections_at_ten_passages() -> None:
    """Under a second, and less than dense sweeps of the corner alone would take."""
    calculator = RouteFit()
    inputs = calculator.load(machine())
    wall, begun = perf_counter(), process_time()
    result = calculator.calculate(inputs)
    ours, wall = process_time() - begun, perf_counter() - wall
    assert len(result.value["passages"]) == 200
    begun = process_time()
    turn = np.linspace(0.0, np.pi / 2, ANGLES)
    for one in result.value["sections"]:
        sides = sorted(one["outside_mm"].values())
        for length, width in ((sides[2], sides[1]), (sides[2], sides[0]), (sides[1], sides[0])):
            for ends in (0.0, 700.0):
                s, c = np.sin(turn), np.cos(turn)
                assert float((1300 * s + 1400 * c - (length + ends) * s * c).min()) - width < 2000
    swept = process_time() - begun
    print(
        f"\n20 sections, 10 passages: {wall:.2f} s, {ours:.2f} s of one processor; sweeps of "
        f"{ANGLES} angles, one corner: {swept:.2f} s; ratio {ours / swept:.2f}"
    )
    assert ours < 2.0 and ours < 4 * swept  # the target is 1 s on a quiet machine


def test_a_search_may_ask_thousands_of_times() -> None:
    """Boxes on a grid of sizes, doors and corners only: well under a millisecond each."""
    plain = [p for p in PASSAGES if "flight" not in p]
    route = passages_from_inputs([RoutePassageSchema().load(p) for p in plain])
    room = RouteClearances()
    begun = perf_counter()
    asked = [
        passes(Carried("", (274.0 + 120 * i, 274.0 + 120 * j, 634.0 + 120 * k)), route, room)
        for i in range(12)
        for j in range(8)
        for k in range(12)
    ]
    each = (perf_counter() - begun) / len(asked) * 1000
    print(f"\n{len(asked)} boxes, {len(route)} passages: {each:.2f} ms each, {sum(asked)} pass")
    assert 0 < sum(asked) < len(asked) and each < 10.0
