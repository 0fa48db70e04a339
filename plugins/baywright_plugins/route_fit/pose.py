"""How a thing is turned in an opening: the rotation behind a way straight or leaning through."""

import math
from itertools import product

import numpy as np

from ..grid_fit.passages import AXES
from .carried import UP, Carried, Floats
from .way import Way

_CLOSE_MM = 0.5


def pose(carried: Carried, way: Way) -> Floats:
    """Rotation (3, 3) of a way through an opening.

    Args:
        carried: what is led through.
        way: one past the obstacle "opening", straight, weaving or rolled.

    Returns:
        Rows are the directions across, through and up of the opening in the thing's own axes, so
        that `pose @ point` is where a point of the thing comes to lie. A proper rotation.

    Raises:
        ValueError: the way gives no turn by which the thing spans the width and height it states.

    Leaves out: which of two mirror images of a lean is easier to hold.
    Source: derived here; held against the width and height of every way in the tests.
    """
    if way.attitude == "tilted":
        return _leaning(carried, way)
    up = _unit(UP[way.attitude])
    if way.face_down.endswith("plus"):
        up = -up
    through = _unit(way.travel)
    return np.array([np.cross(through, up), through, up])


def _leaning(carried: Carried, way: Way) -> Floats:
    through = _unit(way.travel)
    one, two = (_unit(axis) for axis in AXES if axis != way.travel)
    angle = math.radians(way.angle_deg)
    for quarter, sign in product((0.0, math.pi / 2), (1.0, -1.0)):
        turn = sign * angle + quarter
        across = math.cos(turn) * one - math.sin(turn) * two
        up = math.sin(turn) * one + math.cos(turn) * two
        across = across if np.dot(np.cross(through, up), across) > 0 else -across
        found = np.array([across, through, up])
        width, _, height = span_mm(carried, found)
        if abs(width - way.width_mm) < _CLOSE_MM and abs(height - way.height_mm) < _CLOSE_MM:
            return found
    raise ValueError("no turn gives the width and height of this way")


def span_mm(carried: Carried, turn: Floats) -> Floats:
    """Size across, through and up (3,) of a thing turned by `turn`."""
    return np.asarray(np.ptp(corners_mm(carried) @ turn.T, axis=0))


def corners_mm(carried: Carried) -> Floats:
    """Corners (8 n, 3) of the blocks of a thing."""
    return np.array(
        [
            [ends[side][k] for k, side in enumerate(sides)]
            for block in carried.blocks()
            for ends in [(block.low_mm, block.high_mm)]
            for sides in product((0, 1), repeat=3)
        ]
    )


def _unit(axis: str) -> Floats:
    return np.asarray(np.eye(3)[AXES.index(axis)])
