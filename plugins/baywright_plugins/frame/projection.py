"""From three dimensions to the page: one axonometric view and three orthographic ones."""

import math

import numpy as np
from numpy.typing import ArrayLike

from .model import Floats

#: right and up on the page, as directions in the machine (x along, y deep, z up)
VIEWS: dict[str, tuple[tuple[float, float, float], tuple[float, float, float]]] = {
    "front": ((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    "end": ((0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "plan": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
}


def _axonometric() -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    turn, tilt = math.radians(28.0), math.radians(20.0)
    right = (math.cos(turn), math.sin(turn), 0.0)
    up = (-math.sin(turn) * math.sin(tilt), math.cos(turn) * math.sin(tilt), math.cos(tilt))
    return right, up


VIEWS["axonometric"] = _axonometric()


def projected(points_mm: ArrayLike, view: str) -> Floats:
    """Places on the page in mm, shape (n, 2), of points (n, 3).

    front: seen along +y; end: seen against +x from the right, y to the right; plan: from above;
    axonometric: from the front left, from above, all three axes foreshortened.

    Raises KeyError for a view that is not one of VIEWS.
    """
    right, up = VIEWS[view]
    places: Floats = np.asarray(points_mm, dtype=np.float64).reshape(-1, 3)
    return np.asarray(places @ np.array([right, up]).T)


def axonometric(points_mm: ArrayLike) -> Floats:
    """`projected` in the axonometric view."""
    return projected(points_mm, "axonometric")


def toward_viewer(view: str) -> Floats:
    """Unit vector from the machine to the eye, shape (3,)."""
    right, up = VIEWS[view]
    return np.asarray(np.cross(right, up))
