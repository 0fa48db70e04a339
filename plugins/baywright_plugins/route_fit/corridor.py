"""A box through corridors that meet at right angles, one turn after the other."""

import math
from dataclasses import dataclass
from functools import lru_cache

from ..grid_fit.corners import Corner, round_corner


@dataclass(frozen=True)
class Bend:
    """How a corner is taken: turning or sliding, and what decides (corner, or leg: too short)."""

    corner: int
    how: str
    spare_mm: float
    tight: str
    angle_deg: float


@lru_cache(maxsize=65536)
def bend(length_mm: float, width_mm: float, corridors_mm: tuple[float, float]) -> Corner:
    """`round_corner`, remembered."""
    return round_corner(length_mm, width_mm, corridors_mm)


def through_corridors(
    length_mm: float, width_mm: float, widths_mm: tuple[float, ...], legs_mm: tuple[float, ...]
) -> Bend:
    """The best way of a box of plan L x B through corridors; its tightest corner.

    In each corridor the box lies along it or across it. A corner is turned in one sweep, keeping
    that, or taken by sliding sideways, which changes it. Between two corners the box must lie in
    its corridor whole, clear of both end walls. Of all sequences, the one whose least room is
    greatest.

    Args:
        widths_mm: of n corridors, in order, n >= 2.
        legs_mm: lengths of the n - 2 corridors between, end wall to end wall.

    Leaves out: turning further while still in the corner before (where a leg is short), standing
    the box up on the way.
    Source: `round_corner` for each; sequences by comparing all.
    """
    if len(widths_mm) == 2:
        return _one_corner(bend(length_mm, width_mm, (widths_mm[0], widths_mm[1])))
    states = {"along": (length_mm, width_mm), "across": (width_mm, length_mm)}
    worst: dict[str, Bend | None] = {state: None for state in states}
    for k, pair in enumerate(zip(widths_mm, widths_mm[1:], strict=False)):
        leg = legs_mm[k] if k < len(widths_mm) - 2 else math.inf
        after = {}
        for state, (down, across) in states.items():
            slid = Bend(k, "sliding", min(pair[0] - down, pair[1] - across), "corner", 0.0)
            best = _lesser(worst[_other(state)], slid)
            if min(*pair) - across > best.spare_mm:  # else turning, which needs that, is no better
                corner = bend(down, across, pair)
                turned = Bend(k, "turning", corner.turning_spare_mm, "corner", corner.angle_deg)
                best = max(_lesser(worst[state], turned), best, key=lambda b: b.spare_mm)
            if leg - down < best.spare_mm:
                best = Bend(k, best.how, leg - down, "leg", best.angle_deg)
            after[state] = best
        worst = dict(after)
    return max((b for b in worst.values() if b is not None), key=lambda b: b.spare_mm)


def _one_corner(corner: Corner) -> Bend:
    angle = corner.angle_deg if corner.way == "turning" else 0.0
    return Bend(0, corner.way, corner.spare_mm, "corner", angle)


def _other(state: str) -> str:
    return "across" if state == "along" else "along"


def _lesser(before: Bend | None, now: Bend) -> Bend:
    return before if before is not None and before.spare_mm <= now.spare_mm else now
