"""Standing: the outline of the feet, the angle at which it tips, what pushes it over."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from ..frame.model import Floats

#: Tilt and push of product standards: 10 degrees; 13 % of the weight, 250 N at most, up to 1.5 m.
TEST_DEG, TEST_SHARE, TEST_MOST_N, TEST_HEIGHT_MM = 10.0, 0.13, 250.0, 1500.0


@dataclass(frozen=True)
class Edge:
    """An edge that a thing may tip over: distance of the centre of mass inside it, and the
    direction it then falls, as a unit vector (x, y)."""

    lever_mm: float
    toward: tuple[float, float]


def outline(points_mm: Floats) -> tuple[tuple[float, float], ...]:
    """Corners of the outline of points (n, 2); the two ends, or the point, where they lie in
    line."""
    points = np.unique(points_mm, axis=0)
    try:
        corners = points[ConvexHull(points).vertices]
    except (QhullError, ValueError):
        corners = points[[0, -1]]
    return tuple((float(x), float(y)) for x, y in corners)


def edges_of(feet_mm: Sequence[tuple[float, float]], centre: tuple[float, float]) -> list[Edge]:
    """The edges of the outline of the feet, the least lever first. Feet in one line or in one
    point hold nothing: one edge with a lever of zero, or less where the centre is off the line."""
    points = np.unique(np.array(feet_mm, dtype=np.float64), axis=0)
    try:
        hull = ConvexHull(points)
    except (QhullError, ValueError):
        return [_line(points, centre)]
    if hull.volume < 1e-6 * hull.area:
        return [_line(points, centre)]
    rows = np.unique(np.round(hull.equations, 9), axis=0)
    found = [
        Edge(-float(nx * centre[0] + ny * centre[1] + off), (float(nx), float(ny)))
        for nx, ny, off in rows
    ]
    return sorted(found, key=lambda edge: (round(edge.lever_mm, 6), edge.toward))


def _line(points: Floats, centre: tuple[float, float]) -> Edge:
    middle = points.mean(axis=0)
    along = points[-1] - points[0]
    length = float(np.hypot(*along))
    across = np.array([0.0, -1.0]) if length == 0 else np.array([along[1], -along[0]]) / length
    off = float(across @ (np.array(centre) - middle))
    toward = across if off >= 0 else -across
    return Edge(-abs(off), (float(toward[0]), float(toward[1])))


def tip_angle_deg(lever_mm: float, height_mm: float) -> float:
    """atan(a / h): the tilt at which the centre of mass stands over the edge.

    Source: statics.

    >>> round(tip_angle_deg(300, 1200), 4)
    14.0362
    """
    return math.degrees(math.atan2(lever_mm, height_mm))


def tipping_push_n(
    weight_n: float, lever_mm: float, centre_mm: float, push_mm: float, slope_deg: float = 0.0
) -> float:
    """Push at a height that starts to tip it, toward the lower side of a slope; never below 0.

        F H cos t = W (a cos t - h sin t)

    Push along the slope. Source: moments about the toe, F = W a / H on the level.
    """
    t = math.radians(slope_deg)
    return max(weight_n * (lever_mm * math.cos(t) - centre_mm * math.sin(t)) / push_mm, 0.0)


def asked_push_n(weight_n: float) -> float:
    """13 % of the weight, 250 N at most. Source: IEC 62368-1:2018, stability."""
    return min(TEST_SHARE * weight_n, TEST_MOST_N)


def asked_weight_n(weight_n: float) -> float:
    """Downward push on what sticks out beyond the feet: half the weight, 100 N at most.

    Source: IEC 62368-1:2018, stability.
    """
    return min(0.5 * weight_n, 100.0)


@dataclass(frozen=True)
class Lean:
    """Somebody leans: force, height, and the factors that each side of the balance bears."""

    force_n: float
    height_mm: float
    restoring_factor: float = 0.9
    overturning_factor: float = 1.5

    def holds(self, weight_n: float, lever_mm: float, height_mm: float) -> bool:
        """0.9 W a >= 1.5 F h. Source: EN 1990, Table A1.2(A), loss of balance (from memory)."""
        return self.most_n(weight_n, lever_mm, height_mm) >= self.force_n * (1 - 1e-9)

    def most_n(self, weight_n: float, lever_mm: float, height_mm: float) -> float:
        """The largest force it bears at that height."""
        moment = self.restoring_factor * weight_n * max(lever_mm, 0.0)
        return moment / (self.overturning_factor * height_mm)

    def ballast_n(self, weight_n: float, lever_mm: float, height_mm: float) -> float | None:
        """Weight to add over the middle of the feet; None where a lever is missing."""
        if lever_mm <= 0:
            return None
        wanted = self.overturning_factor * self.force_n * height_mm
        return max(wanted / (self.restoring_factor * lever_mm) - weight_n, 0.0)

    def outrigger_mm(self, weight_n: float, lever_mm: float, height_mm: float) -> float:
        """Length to add to the feet on the side it tips to."""
        wanted = self.overturning_factor * self.force_n * height_mm
        return max(wanted / (self.restoring_factor * weight_n) - lever_mm, 0.0)

    def tie_n(self, weight_n: float, lever_mm: float, height_mm: float, tie_mm: float) -> float:
        """Pull in a level tie to a wall at a height, or the rail's share."""
        wanted = self.overturning_factor * self.force_n * height_mm
        return max(wanted - self.restoring_factor * weight_n * lever_mm, 0.0) / tie_mm
