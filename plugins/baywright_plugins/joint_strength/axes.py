"""A plot's box: data to millimetres on paper, ticks, and a grid."""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from baywright_service.contract import Ink, Label, Line, Polygon, Segments, Shape

Point = tuple[float, float]
EDGE = Ink(width=0.2)
GRID = Ink("#c3cad2", 0.1)


@dataclass(frozen=True)
class Scale:
    """Maps data from `low` to `high` onto `start` to `start + length` mm; logarithmic if asked."""

    low: float
    high: float
    start: float
    length: float
    logarithmic: bool = False

    def at(self, value: float) -> float:
        """Place of `value` in mm."""
        low, high, x = self.low, self.high, value
        if self.logarithmic:
            low, high, x = math.log(low), math.log(high), math.log(x)
        return self.start + self.length * (x - low) / (high - low)

    def holds(self, value: float) -> bool:
        """Whether `value` lies on the scale."""
        return self.low <= value <= self.high

    def ticks(self, *, about: int = 6) -> list[float]:
        """Round numbers on the scale; 1, 2, 5 of each power of ten where it spans a few times."""
        if self.logarithmic and self.high > 4 * self.low:
            return decade_ticks(self.low, self.high)
        return round_ticks(self.low, self.high, about=about)


@dataclass(frozen=True)
class Axes:
    """A box with one scale across and one up."""

    x: Scale
    y: Scale

    def point(self, x: float, y: float) -> Point:
        """Place of a datum in mm."""
        return self.x.at(x), self.y.at(y)

    def run(self, xs: Iterable[float], ys: Iterable[float]) -> list[Point]:
        """Places of a curve's points inside the box, in order."""
        inside = self.x.holds, self.y.holds
        pairs = zip(xs, ys, strict=True)
        return [self.point(x, y) for x, y in pairs if inside[0](x) and inside[1](y)]

    def frame(
        self,
        *,
        x_ticks: Sequence[tuple[float, str]],
        y_ticks: Sequence[tuple[float, str]],
        x_title: str,
        y_title: str,
        size: float = 1.7,
    ) -> list[Shape]:
        """Grid, edge, ticks and titles."""
        x0, y0 = self.x.start, self.y.start
        x1, y1 = x0 + self.x.length, y0 + self.y.length
        grid = [((self.x.at(v), y0), (self.x.at(v), y1)) for v, _ in x_ticks]
        grid += [((x0, self.y.at(v)), (x1, self.y.at(v))) for v, _ in y_ticks]
        edge = Polygon(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), EDGE)
        shapes: list[Shape] = [Segments(grid, GRID), edge]
        shapes += [Label((self.x.at(v), y0 - 5), text, size, "middle") for v, text in x_ticks]
        shapes += [Label((x0 - 2, self.y.at(v) - 1), text, size, "end") for v, text in y_ticks]
        shapes.append(Label(((x0 + x1) / 2, y0 - 11), x_title, size, "middle"))
        shapes.append(Label((x0, y1 + 3), y_title, size))
        return shapes


def round_ticks(low: float, high: float, *, about: int = 6) -> list[float]:
    """Round numbers from `low` to `high`, about so many.

    >>> round_ticks(64.0, 113.0)
    [70.0, 80.0, 90.0, 100.0, 110.0]
    """
    raw = (high - low) / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [k * step for k in range(first, last + 1)]


def decade_ticks(low: float, high: float) -> list[float]:
    """1, 2, 5, 10, 20 ... from `low` to `high`; 1, 10, 100 ... where those would crowd."""
    first, last = math.floor(math.log10(low)), math.ceil(math.log10(high))
    steps = (1, 2, 5) if high < 300 * low else (1,)
    every = [m * 10.0**p for p in range(first, last + 1) for m in steps]
    return [v for v in every if low * (1 - 1e-9) <= v <= high * (1 + 1e-9)]


def labelled(
    values: Iterable[float], words: Callable[[float], str] = "{:g}".format
) -> list[tuple[float, str]]:
    """Ticks with their text."""
    return [(value, words(value)) for value in values]


def dashed(points: Sequence[Point], ink: Ink) -> list[Line]:
    """A curve, left out where fewer than two of its points are in the box."""
    return [Line(points, ink)] if len(points) > 1 else []
