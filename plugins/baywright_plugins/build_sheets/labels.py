"""Room for words: what is placed is remembered, and what would cover it is not placed."""

import math
from collections import defaultdict

from baywright_service.contract import Label

from .marks import CAPITAL, width_mm
from .panels import FlatRod, Point
from .scales import TEXT_MM


class Spots:
    """Discs that are taken, on paper mm, in a grid of cells so that many can be asked quickly."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[tuple[float, float, float]]] = defaultdict(list)

    def take(self, x: float, y: float, radius: float) -> None:
        """Nothing else may come within `radius` of here."""
        self._cells[int(x // 5), int(y // 5)].append((x, y, radius))

    def free(self, x: float, y: float, radius: float) -> bool:
        """Whether a disc here touches none that is taken. Radii are at most 5 together."""
        i, j = int(x // 5), int(y // 5)
        return not any(
            math.hypot(x - a, y - b) < radius + r
            for di in (-1, 0, 1)
            for dj in (-1, 0, 1)
            for a, b, r in self._cells.get((i + di, j + dj), ())
        )


#: A text is as long as it is, and held free by discs of this radius along it.
_DISC = 1.15
#: From the middle of a rod to the foot of its label.
_LIFT = 0.8


def rod_label(rod: FlatRod, origin: Point, scale: int, hub_mm: float, spots: Spots) -> Label | None:
    """The pitch of a rod beside it, read from below or from the right; None where it is too
    short or everything beside it is taken."""
    (x0, y0), (x1, y1) = (
        ((p[0] + origin[0]) / scale, (p[1] + origin[1]) / scale) for p in (rod.start, rod.end)
    )
    if (x1, y1) < (x0, y0):
        x0, y0, x1, y1 = x1, y1, x0, y0
    long, wide = math.hypot(x1 - x0, y1 - y0), width_mm(rod.item)
    if long < wide + 2 * hub_mm + 0.8:
        return None
    ux, uy = (x1 - x0) / long, (y1 - y0) / long
    for share in (0.5, 0.42, 0.58):
        along = min(max(long * share, hub_mm + wide / 2 + 0.3), long - hub_mm - wide / 2 - 0.3)
        for side in (1.0, -1.0):
            foot = _LIFT if side > 0 else -_LIFT - CAPITAL * TEXT_MM
            middle = foot + CAPITAL * TEXT_MM / 2
            discs = _discs(
                x0 + ux * along - uy * middle, y0 + uy * along + ux * middle, ux, uy, wide
            )
            if all(spots.free(x, y, _DISC) for x, y in discs):
                for x, y in discs:
                    spots.take(x, y, _DISC)
                at = (x0 + ux * along - uy * foot, y0 + uy * along + ux * foot)
                turned = math.degrees(math.atan2(uy, ux))
                return Label((at[0] * scale, at[1] * scale), rod.item, TEXT_MM, "middle", turned)
    return None


def _discs(x: float, y: float, ux: float, uy: float, wide: float) -> list[Point]:
    count = max(2, math.ceil(wide / (1.6 * _DISC)))
    reach = max(wide / 2 - _DISC, 0.0)
    return [
        (x + ux * reach * (2 * k / (count - 1) - 1), y + uy * reach * (2 * k / (count - 1) - 1))
        for k in range(count)
    ]


def take_rod(rod: FlatRod, origin: Point, scale: int, spots: Spots) -> None:
    """Words keep off a sloping rod: discs along it."""
    (x0, y0), (x1, y1) = (
        ((p[0] + origin[0]) / scale, (p[1] + origin[1]) / scale) for p in (rod.start, rod.end)
    )
    long = math.hypot(x1 - x0, y1 - y0)
    for k in range(1, min(int(long / 1.2), 400)):
        spots.take(x0 + (x1 - x0) * 1.2 * k / long, y0 + (y1 - y0) * 1.2 * k / long, 0.0)
