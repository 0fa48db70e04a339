"""Does a box of a given size get through the whole route? Remembered, since many are asked."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ..route_fit.passing import Carried, Crossing, RouteClearances, RoutePassage, cross, passes

Size = tuple[float, float, float]
Floats = NDArray[np.float64]


#: Obstacles looked at for sizes that nothing is known of, in one search.
MOST_LOOKS = 4000


class Journey:
    """A route. Passing only gets easier as a box shrinks, so most sizes need no new look:
    one that is no larger than a box that passes does, one no smaller than a box that sticks
    does too. Beyond MOST_LOOKS a size of which nothing is known counts as sticking, and
    `broken_off` is set."""

    def __init__(self, passages: Sequence[RoutePassage], clearances: RouteClearances) -> None:
        self.passages, self.clearances = tuple(passages), clearances
        self.obstacles = sum(map(_obstacles, self.passages))
        self.broken_off = False
        self._looks = 0
        self._known: dict[Size, bool] = {}
        self._passing: Floats = np.empty((0, 3))
        self._sticking: Floats = np.empty((0, 3))

    def passes(self, size_mm: Size) -> bool:
        """Whether a box of these outside sizes along x, y, z gets through every passage."""
        known = self._known.get(size_mm)
        if known is None:
            known = self._known[size_mm] = self._looked(size_mm)
        return known

    def crossings(self, size_mm: Size) -> tuple[Crossing, ...]:
        """How the box fares at each passage."""
        return cross(Carried("", size_mm), self.passages, self.clearances)

    def tightest(self, size_mm: Size) -> Crossing:
        """The passage that governs: where it sticks most, or has least to spare."""
        return min(self.crossings(size_mm), key=lambda c: (c.passes, c.spare_mm))

    def _looked(self, size_mm: Size) -> bool:
        size = np.array(size_mm)
        if (size <= self._passing).all(axis=1).any():
            return True
        if (size >= self._sticking).all(axis=1).any():
            return False
        if self._looks > MOST_LOOKS:
            self.broken_off = True
            return False
        self._looks += self.obstacles
        found = passes(Carried("", size_mm), self.passages, self.clearances)
        if found:
            beyond = ~(self._passing <= size).all(axis=1)
            self._passing = np.vstack([self._passing[beyond], size])
        else:
            within = ~(self._sticking >= size).all(axis=1)
            self._sticking = np.vstack([self._sticking[within], size])
        return found


def _obstacles(passage: RoutePassage) -> int:
    """How much there is to look at: openings, turns, flights, landings."""
    flight = passage.flight
    stairs = 0 if flight is None else 1 + len(flight.landings)
    return 1 + len(passage.corridors_mm) + stairs
