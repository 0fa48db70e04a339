"""Speed of lift-redundancy: `pytest -m benchmark -n 0 -s`."""

from itertools import product
from time import process_time
from typing import Any

import pytest

from baywright_plugins.lift_redundancy import LiftRedundancy

pytestmark = pytest.mark.benchmark

LANES = 12
MACHINE: dict[str, Any] = {
    "required_balls_per_min": 100,
    "lifts": [
        {"id": f"l{k}", "capacity_per_min": 12 + k, "mtbf_h": 16 + k, "mttr_h": 0.25 + 0.01 * k}
        for k in range(LANES)
    ],
    "divider_lanes": [
        {"id": f"lane{k}", "capacity_per_min": 20, "feeds": [f"l{k}"]} for k in range(LANES)
    ],
    "paths": [
        {"id": "short", "transit_s": 14, "share_ratio": 0.6},
        {"id": "long", "transit_s": 40, "share_ratio": 0.4},
    ],
    "lift_transit_s": 27,
    "queue": {"free_places_count": 8},
    "stations": {"divider_per_min": 300},
}


def plain_enumeration() -> float:
    """Availability alone, state by state in plain Python: the reference of this run."""
    lifts = MACHINE["lifts"]
    share = [x["mtbf_h"] / (x["mtbf_h"] + x["mttr_h"]) for x in lifts]
    met = 0.0
    for state in product((0, 1), repeat=LANES):
        weight, flow = 1.0, 0
        for up, a, lift in zip(state, share, lifts, strict=True):
            weight *= a if up else 1 - a
            flow += min(lift["capacity_per_min"], 20) * up
        met += weight * (flow >= 100)
    return met


def test_twelve_lanes_of_their_own() -> None:
    calculator = LiftRedundancy()
    times, plain = [], []
    for _ in range(3):
        start = process_time()
        value = calculator.calculate(calculator.load(MACHINE)).value
        times.append(process_time() - start)
        start = process_time()
        met = plain_enumeration()
        plain.append(process_time() - start)
    own, reference = min(times), min(plain)
    print(
        f"\n12 lanes, {len(value['states'])} states: {own:.2f} s CPU for the whole study "
        f"(target 1 s); plain enumeration of the availability alone {reference:.3f} s "
        f"({own / reference:.0f} x)"
    )
    assert len(value["states"]) == 4096
    assert value["availability"]["independent_ratio"] == pytest.approx(met, abs=1e-9)
    assert own < 2.0
