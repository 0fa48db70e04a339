"""Small ladders, and what trying every height says about them: no code of the calculator."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from hypothesis import strategies as st
from scipy.optimize import linprog

from baywright_plugins.level_windows.difference_constraints import Grid, Rows

NM = 1_000_000
Item = tuple[int, int, int | None, int | None]  # below, above, least and most in whole mm


@dataclass(frozen=True)
class Small:
    """Levels 1..n between 0 and `top` mm, some on planes `module` mm apart; 0 is the hall floor.

    Each item asks least <= z[above] - z[below] <= most. The last items hold levels in the range.
    """

    module: int
    snapped: tuple[bool, ...]
    items: tuple[Item, ...]

    @property
    def rows(self) -> Rows:
        """As the numerics take it, in nm."""
        found = []
        for k, (below, above, least, most) in enumerate(self.items):
            loose = least is None or most is None or least != most
            if least is not None:
                found.append((below, above, least * NM, k, loose))
            if most is not None:
                found.append((above, below, -most * NM, k, loose))
        columns = list(zip(*found, strict=True))
        ints = [np.array(column, dtype=np.int64) for column in columns[:4]]
        return Rows(ints[0], ints[1], ints[2], ints[3], np.array(columns[4], dtype=bool))

    @property
    def grid(self) -> Grid:
        """As the numerics take it; planes count from 0."""
        count = len(self.snapped) + 1
        snapped = np.array([True, *self.snapped])
        return Grid(snapped, self.module * NM, np.zeros(count, dtype=np.int64))

    def holding(self, items: Sequence[int], top: int, free_step: int = 1) -> np.ndarray:
        """Every choice of heights (mm) that satisfies those items: shape (choices, levels)."""
        steps = [self.module if on else free_step for on in self.snapped]
        axes = [np.arange(0, top + 1, step) for step in steps]
        every = np.stack([x.ravel() for x in np.meshgrid(*axes, indexing="ij")], axis=1)
        height = np.c_[np.zeros(len(every), dtype=int), every]
        fits = np.ones(len(height), dtype=bool)
        for k in items:
            below, above, least, most = self.items[k]
            distance = height[:, above] - height[:, below]
            fits &= (least is None) | (distance >= (least or 0))
            fits &= (most is None) | (distance <= (most or 0))
        chosen: np.ndarray = height[fits][:, 1:]
        return chosen

    def slacks(self, heights: np.ndarray, cap: int = 10**9) -> np.ndarray:
        """What each item that is no equality keeps, up to a cap: shape (choices, items)."""
        height = np.c_[np.zeros(len(heights), dtype=int), heights]
        found = []
        for below, above, least, most in self.items:
            if least is not None and least == most:
                continue
            distance = height[:, above] - height[:, below]
            room = np.full(len(height), cap)
            if least is not None:
                room = np.minimum(room, distance - least)
            if most is not None:
                room = np.minimum(room, most - distance)
            found.append(room)
        return np.stack(found, axis=1) if found else np.zeros((len(height), 0), dtype=int)

    def best_slack(self, top: int) -> float | None:
        """The largest smallest slack: a linear programme for each choice of snapped heights."""
        loose = [least is None or most is None or least != most for *_, least, most in self.items]
        found = [
            self._programme(bounds, [[float(x)] for x in loose], [(0.0, None)])
            for bounds in self._choices(top)
        ]
        return max((x for x in found if x is not None), default=None)

    def best_total(self, top: int, least_mm: float, cap_mm: float) -> float:
        """The largest sum of slacks, each between a least and a cap, in the same way."""
        loose = [least is None or most is None or least != most for *_, least, most in self.items]
        own = np.eye(len(self.items))[:, loose]
        limits: list[tuple[float, float | None]] = [(least_mm, cap_mm)] * own.shape[1]
        found = [self._programme(bounds, own.tolist(), limits) for bounds in self._choices(top)]
        return max(x for x in found if x is not None)

    def _choices(self, top: int) -> Iterator[list[tuple[float, float]]]:
        """Ranges of all levels for each choice of snapped heights."""
        on = [k for k, snapped in enumerate(self.snapped) if snapped]
        for chosen in itertools.product(range(0, top + 1, self.module), repeat=len(on)):
            bounds: list[tuple[float, float]] = [(0, top)] * len(self.snapped)
            for k, height in zip(on, chosen, strict=True):
                bounds[k] = (height, height)
            yield bounds

    def _programme(
        self,
        bounds: list[tuple[float, float]],
        takes: list[list[float]],
        limits: list[tuple[float, float | None]],
    ) -> float | None:
        """The largest sum of slack variables; row k of `takes` says which of them item k keeps."""
        levels = len(self.snapped)
        matrix, limit = [], []
        for (below, above, least, most), taken in zip(self.items, takes, strict=True):
            for value, sign in ((least, 1), (most, -1)):
                if value is not None:
                    line = np.zeros(levels + len(limits))
                    if above:
                        line[above - 1] -= sign
                    if below:
                        line[below - 1] += sign
                    line[levels:] = taken
                    matrix.append(line)
                    limit.append(-sign * value)
        cost = np.r_[np.zeros(levels), -np.ones(len(limits))]
        answer = linprog(cost, np.array(matrix), limit, bounds=[*bounds, *limits])
        return -float(answer.fun or 0.0) if answer.status == 0 else None


@st.composite
def ladders(
    draw: Any,
    *,
    levels: int,
    free: int = 0,
    top: int,
    module: int,
    most_items: int,
    held: bool = True,
) -> Small:
    """Random ladders; `held`: every level lies between 0 and `top`, as items of their own."""
    snapped = [True] * (levels - free) + [False] * free
    items: list[Item] = []
    for _ in range(draw(st.integers(1, most_items))):
        below, above = draw(st.permutations(range(levels + 1)))[:2]
        least = draw(st.one_of(st.none(), st.integers(-top // 2, top)))
        width = draw(st.one_of(st.none(), st.integers(0, top // 2)))
        if least is None:
            items.append((below, above, None, draw(st.integers(-top // 2, top))))
        else:
            items.append((below, above, least, None if width is None else least + width))
    if held:
        items += [(0, k + 1, 0, top) for k in range(levels)]
    return Small(module, tuple(snapped), tuple(items))


def subsets(count: int) -> Iterator[tuple[int, ...]]:
    """Every set of 0..count-1, the small ones first."""
    for size in range(count + 1):
        yield from itertools.combinations(range(count), size)
