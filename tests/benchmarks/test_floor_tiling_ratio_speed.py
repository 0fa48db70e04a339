"""Speed of laying a floor over sections, as ratios to trying all: `pytest -m benchmark -s`."""

from collections.abc import Callable
from time import perf_counter
from typing import Any

import numpy as np
import pytest

from baywright_plugins.floor_tiling_ratio import FloorTilingRatio
from baywright_plugins.floor_tiling_ratio.laid.datum import best_datum
from baywright_plugins.floor_tiling_ratio.laid.starts import (
    Ground,
    order,
    scores,
    starts_that_matter,
)

pytestmark = pytest.mark.benchmark

NONE = np.zeros((0, 2), dtype=np.int64)


def seconds(call: Callable[[], Any], repeats: int = 3) -> float:
    """The quickest of a few calls."""
    took = []
    for _ in range(repeats):
        begun = perf_counter()
        call()
        took.append(perf_counter() - begun)
    return min(took)


def twenty_sections() -> Ground:
    """Twenty sections of nine bays of 120 mm, joints of 60 mm, tiles of 51.4, in micrometres."""
    starts = 2 * np.arange(20, dtype=np.int64) * (9 * 120_000 + 60_000)
    planes = (starts[:, None] + 2 * 120_000 * np.arange(10, dtype=np.int64)).ravel()
    gaps = np.column_stack([starts[:-1] + 2 * 1_080_000, starts[1:]])
    nodes = np.zeros(0, dtype=np.int64)
    return Ground(0, int(planes[-1]), 102_800, 1_800, 20_000, planes, nodes, gaps, NONE, True)


def test_starts_that_matter_against_every_hundredth_of_a_millimetre() -> None:
    """The complete search looks at fewer starts than a fine sweep, and is never worse."""
    ground = twenty_sections()
    sweep = np.arange(0, ground.panel, 20, dtype=np.int64)

    def best(starts: "np.ndarray[Any, np.dtype[np.int64]]") -> tuple[int, int]:
        found = scores(ground, starts)
        place = int(order(ground, found, "bearers")[0])
        return int(found.on_bearers[place]), -int(found.crossing[place])

    few = starts_that_matter(ground)
    ours, theirs = seconds(lambda: best(few)), seconds(lambda: best(sweep))
    print(f"\n{len(few)} starts {ours * 1e3:.1f} ms, sweep of {len(sweep)} {theirs * 1e3:.1f} ms")
    assert best(few) >= best(sweep)
    assert ours < theirs


def test_datum_against_every_micrometre() -> None:
    """Branch and bound over a window of 60 mm against looking at each height in it."""
    rng = np.random.default_rng(4)
    reached = np.unique(2 * rng.integers(0, 200_000, 400))
    rises = 2 * rng.integers(0, 60_000, 60)

    def error(lows: "np.ndarray[Any, np.dtype[np.int64]]") -> "np.ndarray[Any, np.dtype[np.int64]]":
        target = lows[None, :] + rises[:, None]
        above = np.clip(np.searchsorted(reached, target), 1, len(reached) - 1)
        away = np.minimum(np.abs(target - reached[above - 1]), np.abs(reached[above] - target))
        return np.asarray(away.max(axis=0))

    every = np.arange(100_000, 220_001, dtype=np.int64)
    found = best_datum(error, 100_000, 220_000)
    ours = seconds(lambda: best_datum(error, 100_000, 220_000))
    theirs = seconds(lambda: error(every), repeats=1)
    print(f"\nbranch and bound {ours * 1e3:.1f} ms, every height {theirs * 1e3:.1f} ms")
    assert found.error == error(every).min()
    assert ours < theirs / 3


def test_a_machine_of_four_sections_is_laid_while_one_waits() -> None:
    """Panels, slope and walls of four sections, remedies proven: printed; generous bound."""
    calculator = FloorTilingRatio()
    bays = [{"pitch": "bay", "count": n} for n in (5, 9, 9, 7)]
    body = {
        "pitches": [
            {"id": "bay", "pitch_mm": 120, "play_per_seat_mm": 0.15},
            {"id": "tile", "pitch_mm": 51.4},
        ],
        "ball": {"diameter_mm": 48, "mass_kg": 0.041},
        "lay": {
            "along": {
                "stretches": [{"id": f"S{k}", "bays": [row]} for k, row in enumerate(bays)],
                "joints": [{"pitch_mm": 60}] * 3,
            },
            "across": {"stretches": [{"id": "width", "bays": [{"pitch": "bay", "count": 5}]}]},
        },
        "slope_steps": {
            "along_percent": 1.5,
            "low_edge_min_mm": 400,
            "low_edge_max_mm": 460,
            "module_mm": 60,
            "pieces": [{"item": "s2", "height_mm": 2}, {"item": "s10", "height_mm": 10}],
        },
    }
    once = seconds(lambda: calculator.calculate(calculator.load(body, proving=True)))
    whole = seconds(lambda: calculator.calculate(calculator.load(body)))
    print(f"\none run {once * 1e3:.0f} ms, with remedies proven {whole * 1e3:.0f} ms")
    assert whole < 5
