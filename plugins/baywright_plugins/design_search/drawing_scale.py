"""Values on paper: one scale an objective, and labels that keep apart."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import Ink

from .objectives import OBJECTIVES, Objective

Json = Mapping[str, Any]

SET = Ink("#0b5394", 0.34)
LOST = Ink("#7b8794", 0.1, (0.6, 0.6))
AXIS = Ink("#1f2933", 0.25)
FINE = Ink("#cbd2d9", 0.1)

#: Lines and points of machines outside the set, at most.
MOST_DRAWN = 200


@dataclass(frozen=True)
class Scale:
    """One objective over a length of paper, from `low` to `high` of its values."""

    objective: Objective
    low: float
    high: float

    def share(self, value: float) -> float:
        """0 at the low end, 1 at the high end; the middle where all are alike."""
        span = self.high - self.low
        return (value - self.low) / span if span > 0 else 0.5

    def better(self, value: float) -> float:
        """0 at the worse end, 1 at the better end."""
        share = self.share(value)
        return share if self.objective.more_is_better or self.high == self.low else 1.0 - share

    @property
    def ends(self) -> tuple[str, str]:
        """The better and the worse end, with unit."""
        one = self.objective
        pair = (self.high, self.low) if one.more_is_better else (self.low, self.high)
        return one.text(pair[0]), one.text(pair[1])

    @property
    def title(self) -> str:
        return self.objective.title


def scale_of(objective: str, machines: Sequence[Json]) -> Scale:
    """The scale that holds these machines."""
    one = OBJECTIVES[objective]
    values = [machine[one.field] for machine in machines]
    return Scale(one, min(values), max(values))


def ticks(scale: Scale) -> list[float]:
    """Round values over a scale, about five: steps of 1, 2 or 5 times a power of ten.

    >>> ticks(Scale(OBJECTIVES["parts"], 276, 1184))
    [400.0, 600.0, 800.0, 1000.0]
    """
    span = scale.high - scale.low
    if span <= 0:
        return [scale.low]
    size = 10.0 ** math.floor(math.log10(span / 4))
    step = next(n * size for n in (1, 2, 5, 10) if n * size >= span / 4.999)
    first, last = math.ceil(scale.low / step - 1e-9), math.floor(scale.high / step + 1e-9)
    return [float(f"{k * step:.12g}") for k in range(first, last + 1)]


def drawn_machines(value: Json) -> tuple[list[Json], list[Json]]:
    """Machines of the set, and others that would do (evenly picked where there are very many)."""
    others = [one for one in value["lost"] if one["reason"] != "infeasible"]
    step = -(-len(others) // MOST_DRAWN) if others else 1
    return list(value["machines"]), others[::step]


def kept_apart(places: Sequence[float], gap: float) -> list[float]:
    """Places moved up or down so that neighbours are `gap` apart, their middle kept.

    >>> kept_apart([0.0, 0.0, 10.0], 2.0)
    [-1.0, 1.0, 10.0]
    """
    order = sorted(range(len(places)), key=lambda k: (places[k], k))
    groups: list[list[float]] = []  # middle, count
    for k in order:
        groups.append([places[k], 1.0])
        while len(groups) > 1 and _overlap(groups[-2], groups[-1], gap):
            (a, n), (b, m) = groups[-2], groups[-1]
            groups[-2:] = [[(a * n + b * m) / (n + m), n + m]]
    moved = [0.0] * len(places)
    at = 0
    for middle, count in groups:
        for number in range(int(count)):
            moved[order[at]] = middle + (number - (count - 1) / 2) * gap
            at += 1
    return moved


def _overlap(low: Sequence[float], high: Sequence[float], gap: float) -> bool:
    return high[0] - low[0] < gap * (low[1] + high[1]) / 2
