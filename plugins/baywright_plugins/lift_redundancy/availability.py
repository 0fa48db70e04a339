"""Shares of time: one unit, k of n alike, and any mix of units with a number of repair crews."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .generator import long_run, mean_hours_to_leave, rates_of


def steady_availability(mtbf_h: float, mttr_h: float) -> float:
    """Share of time a unit runs in the long run: MTBF / (MTBF + MTTR).

    Source: MIL-HDBK-338B, inherent availability (from memory).

    >>> round(steady_availability(16.0, 0.25), 5)
    0.98462
    """
    return mtbf_h / (mtbf_h + mttr_h)


def k_out_of_n(k: int, n: int, availability: float) -> float:
    """Probability that at least `k` of `n` alike, independent units run (binomial sum).

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 8.1.8.4.

    >>> round(k_out_of_n(2, 3, 0.99), 6)
    0.999702
    """
    up, down = availability, 1.0 - availability
    return math.fsum(math.comb(n, j) * up**j * down ** (n - j) for j in range(k, n + 1))


def stopped_distribution(n: int, odds_down: float, crews: int) -> np.ndarray[Any, Any]:
    """Probability that j = 0..n of `n` alike units are stopped, with `crews` repairers.

    Birth-death balance: p(j+1) / p(j) = (n - j) odds / min(j + 1, crews).

    Args:
        odds_down: failure rate over repair rate = MTTR / MTBF.
        crews: each repairs one unit at a time; `crews` >= n is the binomial.

    Returns:
        shape (n + 1,), adding to 1.

    Source: the machine-repair model; Epstein & Weissman, Mathematical Models for Systems
    Reliability, chapters 5 and 7.

    >>> stopped_distribution(2, 0.1, 1).round(6).tolist()
    [0.819672, 0.163934, 0.016393]
    """
    weights = [1.0]
    for j in range(n):
        weights.append(weights[-1] * (n - j) * odds_down / min(j + 1, crews))
    total = np.asarray(weights)
    return np.asarray(total / total.sum())


def state_probabilities(
    stopped: np.ndarray[Any, Any],
    sizes: np.ndarray[Any, Any],
    odds_down: np.ndarray[Any, Any],
    crews: int,
) -> np.ndarray[Any, Any]:
    """Long-run probability of each state of several classes of alike units.

        p(state) ~ product over classes of C(n, j) odds^j, times product m / min(m, crews)
        over m = 1..(all stopped)

    The chain is reversible when the crews share their time equally among all stopped units, so
    this product is exact; with `crews` >= all units it is independent repair, with one class it
    is the birth-death balance of `stopped_distribution`.

    Args:
        stopped: shape (states, classes), whole; how many of each class are stopped.
        sizes: shape (classes,), units in each class.
        odds_down: shape (classes,), MTTR / MTBF of one unit.
        crews: repair crews, >= 1.

    Returns:
        shape (states,); adds to 1 when all states are listed.

    Leaves out: units that wear, repairs in a fixed order of unlike units.
    Source: detailed balance, derived here; checked against the linear system in the tests.
    """
    log_odds = np.log(np.clip(odds_down, 1e-300, 1e300))
    combinations = sum(_log_choose(int(n))[stopped[:, c]] for c, n in enumerate(sizes))
    waiting = _log_waiting(int(sizes.sum()), crews)[stopped.sum(axis=1)]
    log_weight = combinations + stopped @ log_odds + waiting
    all_states = np.exp(log_weight - log_weight.max())
    return np.asarray(all_states / all_states.sum())


def _log_choose(n: int) -> np.ndarray[Any, Any]:
    """log C(n, j) for j = 0..n."""
    return np.array([math.log(math.comb(n, j)) for j in range(n + 1)])


def _log_waiting(most: int, crews: int) -> np.ndarray[Any, Any]:
    """log of the product of m / min(m, crews) over m = 1..j, for j = 0..most."""
    steps = [0.0] + [math.log(m / min(m, crews)) for m in range(1, most + 1)]
    return np.cumsum(steps)


@dataclass(frozen=True)
class Shortage:
    """How often and how long a system is short.

    `frequency_per_h`: shortages begun in an hour, in the long run; `mean_spell_h`: length of one;
    `mean_time_to_first_h`: from all running to the first, infinite where nothing can make it short.
    """

    frequency_per_h: float
    mean_spell_h: float
    mean_time_to_first_h: float


def shortage(
    stopped: np.ndarray[Any, Any],
    sizes: np.ndarray[Any, Any],
    failure_per_h: np.ndarray[Any, Any],
    repair_per_h: np.ndarray[Any, Any],
    crews: int,
    enough: np.ndarray[Any, Any],
    order: Sequence[int] | None = None,
) -> Shortage:
    """Frequency, mean length and mean time to the first state that is not `enough`.

    Args:
        stopped: shape (states, classes); row 0 is "all running"; every state listed once.
        failure_per_h, repair_per_h: shape (classes,), rates of one unit.
        enough: shape (states,), True where the requirement is met; more stopped is never better.
        order: classes in the order of mending; None: the crews share their time.

    Returns:
        `Shortage`. Where row 0 is not enough, the mean time to the first is 0.

    Source: absorbing Markov chain, (-Q) t = 1 over the states that are enough; Epstein &
    Weissman, chapters 5 and 7.
    """
    rates = rates_of(stopped, sizes, failure_per_h, repair_per_h, crews, order)
    odds = failure_per_h / np.maximum(repair_per_h, 1e-12)
    if order is None:
        probability = state_probabilities(stopped, sizes, odds, crews)
    else:
        probability = long_run(rates)
    out = enough[rates.source] & ~enough[rates.target]
    frequency = float((probability[rates.source] * rates.per_h)[out].sum())
    short = float(probability[~enough].sum())
    if not enough[0]:
        first = 0.0
    elif not out.any():
        first = math.inf
    else:
        first = mean_hours_to_leave(rates, enough)
    return Shortage(
        frequency_per_h=frequency,
        mean_spell_h=short / frequency if frequency > 0.0 else 0.0,
        mean_time_to_first_h=first,
    )
