"""The same machines written for simpy, a general event library, as a reference.

`processes` gives each ball a process of its own; `callbacks` hangs plain functions on timeouts.
Both know what The Returns Desk needs: tracks, one line, lifts with hooks.
"""

import math
from collections import deque
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import simpy


@dataclass(frozen=True)
class Loop:
    """Tracks (seconds, share) from the top to one line, lifts alike from there to the top."""

    tracks: Sequence[tuple[float, float]]
    lifts: int
    hook_s: float
    fill: float
    ride_s: float
    balls: int
    spacing_s: float


class Seen:
    """What a run counts: balls past the top, hooks that took one, the wait of each, the peak."""

    def __init__(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        self.u = self._draw(rng)
        self.passed = 0
        self.waits: list[float] = []
        self.peak = 0

    @staticmethod
    def _draw(rng: np.random.Generator) -> Iterator[float]:
        while True:
            yield from rng.random(1024).tolist()

    def track(self, loop: Loop) -> float:
        u = next(self.u)
        for seconds, share in loop.tracks:
            u -= share
            if u < 0.0:
                return seconds
        return loop.tracks[-1][0]


def processes(loop: Loop, end_s: float, seed: int) -> Seen:
    """A process for each ball and for each lift."""
    env, seen = simpy.Environment(), Seen(seed)
    line: deque[tuple[float, simpy.Event]] = deque()

    def ball(first_s: float) -> Generator[Any, Any, None]:
        yield env.timeout(first_s)
        while True:
            seen.passed += 1
            yield env.timeout(seen.track(loop))
            taken = env.event()
            line.append((env.now, taken))
            seen.peak = max(seen.peak, len(line))
            yield taken
            yield env.timeout(loop.ride_s)

    def lift(phase: float) -> Generator[Any, Any, None]:
        yield env.timeout(phase * loop.hook_s)
        while True:
            if line and next(seen.u) < loop.fill:
                since, taken = line.popleft()
                seen.waits.append(env.now - since)
                taken.succeed()
            yield env.timeout(loop.hook_s)

    for k in range(loop.balls):
        env.process(ball(k * loop.spacing_s))
    for k in range(loop.lifts):
        env.process(lift((k + 0.5) / loop.lifts))
    env.run(until=end_s)
    return seen


def callbacks(loop: Loop, end_s: float, seed: int) -> Seen:
    """Plain functions on timeouts."""
    env, seen = simpy.Environment(), Seen(seed)
    line: deque[float] = deque()

    def after(seconds: float, do: Any) -> None:
        simpy.Timeout(env, seconds).callbacks.append(do)

    def top(_: Any) -> None:
        seen.passed += 1
        after(seen.track(loop), foot)

    def foot(_: Any) -> None:
        line.append(env.now)
        seen.peak = max(seen.peak, len(line))

    def hook(_: Any) -> None:
        if line and next(seen.u) < loop.fill:
            seen.waits.append(env.now - line.popleft())
            after(loop.ride_s, top)
        after(loop.hook_s, hook)

    for k in range(loop.balls):
        after(k * loop.spacing_s, top)
    for k in range(loop.lifts):
        after((k + 0.5) / loop.lifts * loop.hook_s, hook)
    env.run(until=end_s)
    return seen


def single_station(
    rate_per_s: float, service_s: float, room: int, end_s: float, seed: int
) -> tuple[float, float]:
    """One server with places for `room` balls in all: share turned away, mean count.

    Times exponential. Written after the bank example of simpy's documentation.
    """
    env, rng = simpy.Environment(), np.random.default_rng(seed)
    server = simpy.Resource(env, capacity=1)
    counts = {"came": 0, "away": 0, "there": 0}
    area = [0.0, 0.0]

    def note(by: int) -> None:
        area[0] += counts["there"] * (env.now - area[1])
        area[1] = env.now
        counts["there"] += by

    def guest() -> Generator[Any, Any, None]:
        note(1)
        with server.request() as turn:
            yield turn
            yield env.timeout(-service_s * math.log(1.0 - rng.random()))
        note(-1)

    def arrivals() -> Generator[Any, Any, None]:
        while True:
            yield env.timeout(-math.log(1.0 - rng.random()) / rate_per_s)
            counts["came"] += 1
            if counts["there"] >= room:
                counts["away"] += 1
            else:
                env.process(guest())

    env.process(arrivals())
    env.run(until=end_s)
    note(0)
    return counts["away"] / counts["came"], area[0] / end_s
