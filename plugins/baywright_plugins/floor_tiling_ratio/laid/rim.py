"""Edges of a floor: what hangs over the outer bearer, and the gap to the wall a ball meets.

Millimetres; a ball that touches the wall has its centre one radius before it.
"""

import math
from dataclasses import dataclass

from ..grooves import groove_angle, sink


@dataclass(frozen=True)
class EdgeGap:
    """A gap between the floor's edge and a wall. `kind`: runs-in (the floor reaches into the wall),
    closed (a ball at the wall still rests on the floor), sinks (it hangs in the gap) or swallows.
    `sink_mm` and `slope_percent` (fall away from the wall that lets it out) for closed and sinks.
    """

    kind: str
    gap_mm: float
    sink_mm: float = 0.0
    slope_percent: float = 0.0


def edge_gap(ball_mm: float, gap_mm: float) -> EdgeGap:
    """What a ball of diameter d does at a gap g between a level floor's edge and an upright wall.

    Up to g = d/2 its centre stays over the floor. Beyond, it hangs between edge and wall as in
    a groove whose other half the wall mirrors: groove width 2 (g - d/2). At g = d it falls
    through.

    Leaves out: edges that are rounded or give way; speed, which may carry a ball in or out.
    Source: geometry; sink and slope from `grooves`.
    """
    if gap_mm < 0:
        return EdgeGap("runs-in", gap_mm)
    if gap_mm >= ball_mm:
        return EdgeGap("swallows", gap_mm)
    width = max(0.0, 2 * gap_mm - ball_mm)
    slope = math.tan(groove_angle(ball_mm, width)) * 100
    return EdgeGap("sinks" if width else "closed", gap_mm, sink(ball_mm, width), slope)


def corner_gap(ball_mm: float, gap_a_mm: float, gap_b_mm: float) -> EdgeGap:
    """The same in the corner of two walls, where the floor's corner is the last support.

    A ball that touches both walls has its centre sqrt((a - r)^2 + (b - r)^2) beyond the floor's
    corner if both gaps are above r; otherwise it lies at the edge with the wider gap. So two gaps
    that each hold a ball may let it through where they meet: from equal gaps of
    r (1 + 1/sqrt 2) on.

    Source: geometry.
    """
    radius = ball_mm / 2
    beyond = [gap - radius for gap in (gap_a_mm, gap_b_mm)]
    if min(gap_a_mm, gap_b_mm) < 0 or min(beyond) <= 0:
        least = min(gap_a_mm, gap_b_mm)
        return edge_gap(ball_mm, least if least < 0 else max(gap_a_mm, gap_b_mm))
    away = math.hypot(*beyond)
    widest = max(gap_a_mm, gap_b_mm)
    if away >= radius:
        return EdgeGap("swallows", widest)
    slope = math.tan(groove_angle(ball_mm, 2 * away)) * 100
    return EdgeGap("sinks", widest, sink(ball_mm, 2 * away), slope)


def widest_closed_gap(ball_mm: float) -> float:
    """Half the ball: the widest gap in which no ball sinks. Source: geometry."""
    return ball_mm / 2


@dataclass(frozen=True)
class EdgePiece:
    """The last piece of a floor: how far it reaches beyond the outer bearer, and whether that
    bearer lies under it, and whether its own weight keeps it down."""

    width_mm: float
    overhang_mm: float
    rests: bool
    stays_down: bool


def edge_piece(width_mm: float, overhang_mm: float) -> EdgePiece:
    """A piece of that width whose outer edge is `overhang_mm` beyond the outer bearer.

    It rests on the bearer if it reaches back to it, and stays down by itself if no more than half
    of it hangs over.

    Leaves out: clips to its neighbour, and a ball that lands on the edge.
    Source: balance of a uniform piece about the bearer.
    """
    rests = overhang_mm < width_mm
    return EdgePiece(width_mm, overhang_mm, rests, rests and 2 * overhang_mm <= width_mm)
