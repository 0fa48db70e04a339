"""Dimensions of a panel: numbers of bays, runs of equal bays, and the whole over the hub ends.

Values stand above their lines and are read from below or from the right, equal spacings as number ×
spacing = total (ISO 129-1).
"""

from collections.abc import Callable, Sequence

from baywright_service.contract import Dimension, Shape

from .marks import centred, width_mm
from .panels import Chain, Panel, Point
from .scales import TEXT_MM


def dimensions(panel: Panel, origin: Point, scale: int) -> list[Shape]:
    """Below and left of a panel, where it is dimensioned; sizes in mm on paper."""
    shapes: list[Shape] = []
    if panel.across is not None:
        y = panel.low[1] + origin[1] - panel.beyond[1] - panel.noted[1] * scale
        shapes += _chain(
            panel.across, panel.overhang, scale, lambda place: (place + origin[0], y), -1.0
        )
    if panel.up is not None:
        x = panel.low[0] + origin[0] - panel.beyond[0] - panel.noted[0] * scale
        shapes += _chain(panel.up, panel.overhang, scale, lambda place: (x, place + origin[1]), 1.0)
    return shapes


def _chain(
    chain: Chain, overhang: float, scale: int, at: Callable[[float], Point], side: float
) -> list[Shape]:
    planes = chain.planes
    shapes: list[Shape] = []
    if len(planes) > 2:
        for number, middle in _numbers(planes, scale):
            x, y = at(middle)
            away = (2.4 if side < 0 else 3.4) * scale
            place = (x, y - away) if side < 0 else (x - away, y)
            shapes.append(centred(place, str(number), scale))
    for first, last, text in _runs(chain):
        room = (planes[last] - planes[first]) / scale
        words = next((t for t in text if width_mm(t) + 1 < room), None)
        if words is not None:
            ends = at(planes[first]), at(planes[last])
            shapes.append(Dimension(*ends, words, side * 8.0 * scale, TEXT_MM))
    whole = planes[-1] - planes[0] + 2 * overhang
    words = f"{number_text(whole)} over hub ends"
    if width_mm(words) > whole / scale:
        words = number_text(whole)
    ends = at(planes[0] - overhang), at(planes[-1] + overhang)
    shapes.append(Dimension(*ends, words, side * 14.0 * scale, TEXT_MM))
    return shapes


def _numbers(planes: Sequence[float], scale: int) -> list[tuple[int, float]]:
    """Bay numbers with their middles; every second, fifth ... where bays are small."""
    least = min(b - a for a, b in zip(planes, planes[1:], strict=False)) / scale
    every = next((k for k in (1, 2, 5, 10, 20, 50, 100) if least * k > 4.8), 200)
    return [
        (k + 1, (planes[k] + planes[k + 1]) / 2)
        for k in range(len(planes) - 1)
        if k == 0 or (k + 1) % every == 0
    ]


def _runs(chain: Chain) -> list[tuple[int, int, tuple[str, ...]]]:
    """(first plane, last plane, texts from long to short) of bays of one rod in a row."""
    if not chain.rods:
        return []
    runs: list[tuple[int, int, tuple[str, ...]]] = []
    first = 0
    for k in range(1, len(chain.rods) + 1):
        if k < len(chain.rods) and chain.rods[k] == chain.rods[first]:
            continue
        whole = number_text(chain.planes[k] - chain.planes[first])
        one = number_text(chain.planes[first + 1] - chain.planes[first])
        count, rod = k - first, chain.rods[first]
        texts = (f"{count} {rod}: {count} × {one} = {whole}", f"{count} × {one} = {whole}", whole)
        runs.append((first, k, texts if count > 1 else (f"{rod}: {whole}", whole)))
        first = k
    return runs


def number_text(value: float) -> str:
    """A length to the micrometre, no zeros behind.

    >>> number_text(1114.0), number_text(84.80000000000001)
    ('1114', '84.8')
    """
    return f"{value:.3f}".rstrip("0").rstrip(".")
