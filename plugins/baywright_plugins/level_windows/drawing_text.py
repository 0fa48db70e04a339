"""Where words go in a picture: sizes, shortening, and lines that keep clear of one another."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from baywright_service.contract import Label, Shape


@dataclass(frozen=True)
class Text:
    """The unit of a layout (mm), and in units the size of words and the height of a line."""

    unit: float
    size: float
    line: float

    @property
    def pitch(self) -> float:
        """From line to line (mm)."""
        return self.line * self.unit

    @property
    def half(self) -> float:
        """From the middle of a line of words down to where it stands (mm)."""
        return 0.36 * self.size * self.unit

    def width(self, letters: int) -> float:
        """About how wide so many letters are (mm)."""
        return 0.57 * letters * self.size * self.unit


def sized(shapes: Iterable[Shape], unit: float, wide: float, high: float) -> list[Shape]:
    """The same shapes with words sized in percent of the longer side instead of in units."""
    percent = 100 * unit / max(wide, high)
    return [
        replace(shape, size=shape.size * percent) if isinstance(shape, Label) else shape
        for shape in shapes
    ]


def cut_short(words: str, longest: int) -> str:
    """At most so many characters.

    >>> cut_short("Start of the long track", 12)
    'Start of th…'
    """
    return words if len(words) <= longest else words[: longest - 1] + "…"


def spread(wanted: Sequence[float], apart: float) -> list[float]:
    """Places in rising order, at least `apart` from one another, near the wanted ones.

    Lines that would touch form a block around the middle of what they want (the pool of adjacent
    violators, least squares).

    >>> spread([0, 1, 10], 4)
    [-1.5, 2.5, 10.0]
    """
    blocks: list[tuple[float, int]] = []
    for k, place in enumerate(wanted):
        blocks.append((place - k * apart, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (first, many), (last, few) = blocks[-2:]
            blocks[-2:] = [((first * many + last * few) / (many + few), many + few)]
    starts = [start for start, many in blocks for _ in range(many)]
    return [float(start + k * apart) for k, start in enumerate(starts)]
