"""Speed of ball-flow: `pytest -m benchmark -n 0 -s`.

An hour of a machine with 500 balls, against simpy in the same run: with a process for each ball,
and with plain functions on timeouts.
"""

from collections.abc import Callable
from time import process_time

import pytest

from baywright_plugins.ball_flow import BallFlow
from baywright_plugins.ball_flow.events import follow
from baywright_plugins.ball_flow.reading import machine_of
from tests.plugins.ball_flow.simpy_reference import Loop, callbacks, processes

pytestmark = pytest.mark.benchmark

TRACKS = [(14.0, 0.4), (32.0, 0.35), (75.0, 0.25)]
LIFTS, HOOKS_PER_MIN, FILL, RIDE_S, BALLS = 12, 50.0, 0.9, 27.33, 500
HOUR_S = 3600.0
MACHINE = {
    "moving_count": BALLS,
    "lifts": [{"id": "lift", "count": LIFTS, "hooks_per_min": HOOKS_PER_MIN, "fill_ratio": FILL}],
    "lift_transit_s": RIDE_S,
    "paths": [
        {"id": f"track-{k}", "transit_s": seconds, "share_ratio": share}
        for k, (seconds, share) in enumerate(TRACKS)
    ],
}


def fastest(run: Callable[[], object], times: int = 3) -> float:
    """CPU seconds of the fastest of several runs."""
    found = []
    for _ in range(times):
        start = process_time()
        run()
        found.append(process_time() - start)
    return min(found)


def test_an_hour_of_five_hundred_balls() -> None:
    machine = machine_of(BallFlow().load(MACHINE))
    loop = Loop(TRACKS, LIFTS, 60.0 / HOOKS_PER_MIN, FILL, RIDE_S, BALLS, 0.125)

    def ours() -> int:
        history = follow(
            machine, balls=BALLS, spacing_s=0.125, settle_s=0.0, end_s=HOUR_S, seed=[1]
        )
        return history.events

    own = fastest(ours)
    by_process = fastest(lambda: processes(loop, HOUR_S, 1), 1)
    by_callback = fastest(lambda: callbacks(loop, HOUR_S, 1), 1)
    print(
        f"\nhour of {BALLS} balls: heap {own:.2f} s CPU ({ours()} events), simpy callbacks "
        f"{by_callback:.2f} s ({by_callback / own:.1f} x), simpy processes {by_process:.2f} s "
        f"({by_process / own:.1f} x)"
    )
    assert own < 2.0 * 2.5  # the aim is 2 s; machines are noisy
    # The reference keeps no records, knows no stops, no places, no overflow.
    assert own < 2.0 * by_process
