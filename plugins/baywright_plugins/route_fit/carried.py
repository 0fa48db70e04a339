"""A thing that is carried: its box over all, and the blocks of its true outline."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..grid_fit.passages import ATTITUDES, AXES

Triple = tuple[float, float, float]
Floats = NDArray[np.float64]

#: attitudes from the one people prefer to the one they avoid
STRAIGHT = tuple(ATTITUDES)
PREFERENCE = (*STRAIGHT, "tilted")
UP = {name: up for name, (up, _) in ATTITUDES.items()}


@dataclass(frozen=True)
class Solid:
    """An upright block between two corners, in the carried thing's own axes from its corner."""

    low_mm: Triple
    high_mm: Triple

    @property
    def volume_mm3(self) -> float:
        x, y, z = (b - a for a, b in zip(self.low_mm, self.high_mm, strict=True))
        return x * y * z


@dataclass(frozen=True)
class Carried:
    """What is carried.

    `size_mm`: x, y, z over all, as it stands. `projections`: the blocks of its true outline, the
    main body among them; empty for a plain box. `led_along`: the axis that must lead.
    Raises ValueError where that is the upright one of a thing that must be kept upright.
    """

    id: str
    size_mm: Triple
    projections: tuple[Solid, ...] = ()
    led_along: str | None = None
    keep_upright: bool = False

    def __post_init__(self) -> None:
        if self.keep_upright and self.led_along == UP["upright"]:
            raise ValueError("what is kept upright cannot be led along its upright axis")

    @property
    def is_box(self) -> bool:
        return not self.projections

    @property
    def attitudes(self) -> tuple[str, ...]:
        return STRAIGHT[:1] if self.keep_upright else STRAIGHT

    def along(self, axis: str) -> float:
        """Its size along one of its axes."""
        return self.size_mm[AXES.index(axis)]

    def blocks(self) -> tuple[Solid, ...]:
        return self.projections or (Solid((0.0, 0.0, 0.0), self.size_mm),)

    def face_down(self, up: str) -> str:
        """The side to lie on with an axis up: of an outline the one that less stands out of.

        Empty for a box laid on a face: either will do.
        """
        if up == UP["upright"]:
            return f"{up}-minus"
        if self.is_box:
            return ""
        k = AXES.index(up)
        body = max(self.projections, key=lambda block: block.volume_mm3)
        low, high = body.low_mm[k], self.size_mm[k] - body.high_mm[k]
        return f"{up}-minus" if low <= high else f"{up}-plus"

    def rectangles(self, across: str, up: str) -> Floats:
        """Its blocks seen along the third axis: (n, 4), from and to across, from and to up."""
        a, u = AXES.index(across), AXES.index(up)
        return self._faces[a, u]

    def silhouette(self, across: str, up: str) -> Floats:
        """Convex hull of its blocks seen along the third axis, shape (k, 2)."""
        key = AXES.index(across), AXES.index(up)
        if key not in self._hulls:
            rows = self._faces[key].tolist()
            self._hulls[key] = hull([(x, y) for x0, x1, *ys in rows for x in (x0, x1) for y in ys])
        return self._hulls[key]

    @cached_property
    def _faces(self) -> dict[tuple[int, int], Floats]:
        low = np.array([block.low_mm for block in self.blocks()], dtype=np.float64)
        high = np.array([block.high_mm for block in self.blocks()], dtype=np.float64)
        return {
            (a, u): np.column_stack([low[:, a], high[:, a], low[:, u], high[:, u]])
            for a in range(3)
            for u in range(3)
            if a != u
        }

    @cached_property
    def _hulls(self) -> dict[tuple[int, int], Floats]:
        return {}


def ways_to_lead(carried: Carried, attitude: str) -> tuple[tuple[str, str], ...]:
    """(axis of travel, axis across) of an attitude, those that `led_along` allows."""
    ways = ATTITUDES[attitude][1]
    return tuple(way for way in ways if carried.led_along in (None, way[0]))


def hull(points: Sequence[tuple[float, float]]) -> Floats:
    """Convex hull, counter-clockwise, shape (k, 2); Andrew's monotone chain.

    Raises:
        ValueError: no points.

    Leaves out: points on an edge.
    Source: A. M. Andrew, Information Processing Letters 9 (1979), from memory.

    >>> hull([(0, 0), (2, 0), (1, 1), (2, 2), (0, 2)]).tolist()
    [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]
    """
    if not points:
        raise ValueError("no points")
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return np.array(ordered, dtype=np.float64)

    def chain(run: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for x, y in run:
            while len(kept) > 1:
                (x0, y0), (x1, y1) = kept[-2:]
                if (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0) > 0:
                    break
                kept.pop()
            kept.append((x, y))
        return kept[:-1]

    return np.array(chain(ordered) + chain(ordered[::-1]), dtype=np.float64)
