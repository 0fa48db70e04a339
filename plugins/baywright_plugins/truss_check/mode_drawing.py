"""Picture of a mode of vibration."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from baywright_service.contract import Drawing, Ink, Legend, Segments

from ..frame import axonometric
from .drawing import PALE, Bars

MOVED = Ink("#0b69a3", 0.2)
BACK = Ink("#52606d", 0.15, (1.6, 0.7))


def draw_mode(bars: Bars, picture: Mapping[str, Any]) -> Drawing:
    """The frame at rest and at both ends of its swing."""
    if "mode_shape" not in picture:
        words = "No vibration was computed: ask for the analysis vibration, or an excitation."
        still = (Legend(PALE, "at rest"),)
        return Drawing(f"{bars.name}: {words}", words, [_segments(bars, 0.0, PALE)], still)
    swing = np.asarray(picture["mode_shape"])
    reach = 0.06 * float(np.ptp(bars.nodes_mm, axis=0).max())
    drawn = [
        _segments(bars, share * reach * swing, ink)
        for ink, share in ((PALE, 0.0), (BACK, -1.0), (MOVED, 1.0))
    ]
    number, hertz = int(picture["mode"]) + 1, float(picture["mode_hz"])
    title = f"{bars.name}: mode {number} at {hertz:.2f} Hz, standing"
    words = f"Mode {number} swings {hertz:.2f} times a second; movement not to scale."
    legend = (
        Legend(PALE, "at rest"),
        Legend(MOVED, "one end of the swing"),
        Legend(BACK, "the other end"),
    )
    return Drawing(title, words, drawn, legend)


def _segments(bars: Bars, moved_mm: Any, ink: Ink) -> Segments:
    places = axonometric(bars.nodes_mm + moved_mm)
    a, b = places[bars.start], places[bars.end]
    pairs = [((p[0], p[1]), (q[0], q[1])) for p, q in zip(a.tolist(), b.tolist(), strict=True)]
    return Segments(pairs, ink)
