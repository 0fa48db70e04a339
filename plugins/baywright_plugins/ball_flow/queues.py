"""Queues with a closed solution, to hold the simulation against.

Poisson arrivals, `servers` alike. Sources: D. Gross and C. M. Harris, Fundamentals of Queueing
Theory (from memory: M/M/c/K birth-death chain, Erlang's two formulas, M/G/infinity); the
Pollaczek-Khinchine formula for M/G/1. Checked against printed tables and examples in the tests.
"""

import math
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class ClosedSolution:
    """Shares and means over a long time; None where the model does not give it.

    `mean_count` counts balls waiting and in service, `mean_wait_s` the wait before service of
    those let in; `busy_ratio` is the share of arrivals that find every server busy.
    """

    model: str
    mean_count: float
    mean_wait_s: float | None = None
    busy_ratio: float | None = None
    lost_ratio: float | None = None


def markov_queue(
    arrival_per_s: float, service_s: float, servers: int, places: int | None
) -> ClosedSolution | None:
    """M/M/c with room for `places` waiting balls (None: for all, Erlang C); None: it never settles.

    >>> found = markov_queue(8.0, 1.0 / 9.0, 1, 2)
    >>> round(found.lost_ratio, 6), round(found.mean_count, 6)
    (0.207708, 1.353347)
    """
    load = arrival_per_s * service_s
    if places is None:
        return _erlang_c(arrival_per_s, service_s, load, servers)
    size = servers + places
    n = np.arange(1, size + 1)
    logs = np.concatenate(([0.0], np.cumsum(math.log(load) - np.log(np.minimum(n, servers)))))
    share = np.exp(logs - logs.max())
    share /= share.sum()
    lost = float(share[-1])
    count = float(share @ np.arange(size + 1))
    waiting = float(share[servers:] @ np.arange(places + 1))
    let_in = arrival_per_s * (1.0 - lost)
    model = "M/M/1/K" if servers == 1 else "M/M/c/K"
    if places == 0:
        return ClosedSolution("Erlang B (M/G/c/c)", count, 0.0, lost, lost)
    wait = waiting / let_in if let_in > 0.0 else None
    return ClosedSolution(model, count, wait, float(share[servers:].sum()), lost)


def _erlang_c(
    arrival_per_s: float, service_s: float, load: float, servers: int
) -> ClosedSolution | None:
    if load >= servers:
        return None
    blocked = erlang_b(load, servers)
    busy = servers * blocked / (servers - load * (1.0 - blocked))
    wait = busy * service_s / (servers - load)
    model = "M/M/1" if servers == 1 else "Erlang C (M/M/c)"
    return ClosedSolution(model, load + arrival_per_s * wait, wait, busy, 0.0)


def erlang_b(load: float, servers: int) -> float:
    """Share of arrivals lost with no place to wait: B(n) = a B(n-1) / (n + a B(n-1)).

    >>> round(erlang_b(8.108, 15), 3)
    0.01
    """
    blocked = 1.0
    for n in range(1, servers + 1):
        blocked = load * blocked / (n + load * blocked)
    return blocked


def one_server(arrival_per_s: float, service_s: float, half_s: float) -> ClosedSolution | None:
    """M/G/1 for service times within service_s +- half_s, evenly spread (0: M/D/1).

    Pollaczek-Khinchine: wait = arrival x E[S^2] / (2 (1 - load)).
    """
    load = arrival_per_s * service_s
    if load >= 1.0:
        return None
    square = service_s**2 + half_s**2 / 3.0
    wait = arrival_per_s * square / (2.0 * (1.0 - load))
    model = "M/D/1" if half_s == 0.0 else "M/G/1"
    return ClosedSolution(model, load + arrival_per_s * wait, wait, load, 0.0)


def no_waiting(arrival_per_s: float, time_s: float) -> ClosedSolution:
    """M/G/infinity: a track; the balls on it are Poisson with this mean, whatever the times."""
    return ClosedSolution("M/G/infinity", arrival_per_s * time_s, 0.0, 0.0, 0.0)
