"""Whether a drawing is true to scale, and how large it may be on a sheet."""

import math
import re
from collections.abc import Iterable

from ..drawing import Dimension, Drawing

#: ISO 5455:1979, 5: recommended scales, from full size down, as the number behind "1:".
REDUCTIONS = tuple(float(step * 10**power) for power in range(5) for step in (1, 2, 5))
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_PRODUCT = re.compile(r"(\d+(?:\.\d+)?)\s*×\s*(\d+(?:\.\d+)?)")


def is_to_scale(drawing: Drawing) -> bool:
    """Whether a length in the drawing is that length of the thing.

    The drawing may say so itself. Where it does not, its dimensions prove it: there is at least
    one, and each is as long as the number written on it.
    """
    if drawing.to_scale is not None:
        return drawing.to_scale
    dimensions = [shape for shape in drawing.shapes if isinstance(shape, Dimension)]
    return bool(dimensions) and all(map(_as_long_as_written, dimensions))


def _as_long_as_written(dimension: Dimension) -> bool:
    """One of the numbers in the text, or a product in it ("16 × 55.8"), is the length in mm."""
    length = math.dist(dimension.start, dimension.end)
    return any(
        math.isclose(length, number, rel_tol=0.005, abs_tol=0.6)
        for number in _numbers(dimension.text)
    )


def _numbers(text: str) -> Iterable[float]:
    yield from (float(number) for number in _NUMBER.findall(text))
    yield from (float(a) * float(b) for a, b in _PRODUCT.findall(text))


def standard_reduction(fitting: float) -> float:
    """The largest standard scale that fits: for 23.4 (drawing mm for each mm of paper), 50.

    Beyond the last one of the standard the exact scale stays.
    """
    return next((step for step in REDUCTIONS if step >= fitting * (1 - 1e-9)), fitting)


def scale_text(reduction: float) -> str:
    """A scale as a title block states it.

    >>> scale_text(50.0), scale_text(23.4567), scale_text(0.2)
    ('1:50', '1:23.5', '5:1')
    """
    if reduction < 1.0:
        return f"{1.0 / reduction:.3g}:1"
    return f"1:{reduction:.3g}" if reduction < 1000 else f"1:{reduction:.0f}"
