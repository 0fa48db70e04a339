"""All states of stopped and running units, alike ones counted together."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

MOST_STATES = 4096  # 2^12: twelve lifts that all differ


class TooManyStates(ValueError):
    """More states than can be gone through; `count` is how many there would be."""

    def __init__(self, count: int) -> None:
        super().__init__(str(count))
        self.count = count


@dataclass(frozen=True)
class Unit:
    """What stops as one: a lift, lifts on one motor, a motor, a station or link that can fail.

    `stops` are the parts that then let no ball through. Rates are None where no times are known;
    `odds_down` = MTTR / MTBF. Units with equal `alike` can change places without any effect.
    """

    id: str
    stops: tuple[str, ...]
    lifts: tuple[str, ...]
    alike: str
    availability: float | None = None
    odds_down: float | None = None
    failure_per_h: float | None = None
    repair_per_h: float | None = None


@dataclass(frozen=True)
class StateSpace:
    """All states. `classes[c]` lists units that are alike; `stopped[s, c]` how many are stopped;
    `ways[s]` how many of the 2^n plain states row s stands for. Row 0: all running."""

    classes: tuple[tuple[Unit, ...], ...]
    stopped: np.ndarray[Any, Any]
    ways: tuple[int, ...]

    def units_down(self, row: int) -> list[Unit]:
        """The units of one plain state that row `row` stands for."""
        counts = self.stopped[row]
        return [u for c, units in enumerate(self.classes) for u in units[: counts[c]]]

    @property
    def sizes(self) -> np.ndarray[Any, Any]:
        return np.array([len(units) for units in self.classes])

    def each(self, name: str) -> np.ndarray[Any, Any]:
        """A number of one unit of each class, such as `odds_down`; shape (classes,)."""
        return np.array([getattr(units[0], name) for units in self.classes], dtype=float)


def all_states(units: Sequence[Unit]) -> StateSpace:
    """Every combination of running and stopped units, grouped by symmetry.

    Raises:
        TooManyStates: more than 4096 after grouping.
    """
    by_kind: dict[str, list[Unit]] = {}
    for unit in units:
        by_kind.setdefault(unit.alike, []).append(unit)
    classes = tuple(tuple(group) for group in by_kind.values())
    count = math.prod(len(group) + 1 for group in classes)
    if count > MOST_STATES:
        raise TooManyStates(count)
    rows = sorted(product(*(range(len(group) + 1) for group in classes)), key=lambda r: (sum(r), r))
    ways = tuple(
        math.prod(math.comb(len(group), j) for group, j in zip(classes, row, strict=True))
        for row in rows
    )
    return StateSpace(classes, np.array(rows, dtype=np.int64).reshape(len(rows), -1), ways)
