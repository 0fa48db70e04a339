"""How many spares to carry so that a tour is ridden through with a stated chance."""

import math

MOST_SPARES = 10_000


def poisson_chances(mean: float, confidence: float, least: int) -> list[float]:
    """Chance that 0, 1, 2 ... spares suffice when nothing comes back: P(breakages <= s).

    Goes on until `confidence` is reached and at least `least` spares are covered.

    Source: Poisson process; MIL-HDBK-338B, section on spares (from memory).

    >>> [round(x, 4) for x in poisson_chances(1.0, 0.95, 0)]
    [0.3679, 0.7358, 0.9197, 0.981]
    """
    chances: list[float] = []
    mean = max(mean, 1e-300)
    total, term = 0.0, -mean
    for s in range(MOST_SPARES + 1):
        if s:
            term += math.log(mean / s)
        total = min(total + math.exp(term), 1.0)
        chances.append(total)
        if total >= confidence and s >= least:
            break
    return chances


def loss_chances(offered: float, confidence: float, least: int) -> list[float]:
    """Chance that a breakage finds one of 0, 1, 2 ... spares in the box, when broken ones come
    back after a mean time and an empty box is helped out from elsewhere: 1 - Erlang B.

    Args:
        offered: breakages expected during the time one is away.

    Source: A. K. Erlang (1917), loss formula; it holds for any spread of the time away. For
    spares: C. C. Sherbrooke, Optimal Inventory Modeling of Systems (from memory).

    >>> [round(x, 4) for x in loss_chances(1.0, 0.9, 0)]
    [0.0, 0.5, 0.8, 0.9375]
    """
    blocked = 1.0
    chances = [0.0]
    for s in range(1, MOST_SPARES + 1):
        if chances[-1] >= confidence and len(chances) > least:
            break
        blocked = offered * blocked / (s + offered * blocked)
        chances.append(1.0 - blocked)
    return chances


def enough_of(chances: list[float], confidence: float) -> int | None:
    """The fewest spares whose chance reaches `confidence`; None where none of them does."""
    return next((s for s, chance in enumerate(chances) if chance >= confidence), None)
