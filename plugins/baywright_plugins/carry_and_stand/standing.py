"""One thing in one state (standing, on castors): every way it might tip, in numbers."""

import math
from dataclasses import dataclass

from .bodies import Body
from .support import (
    TEST_DEG,
    TEST_HEIGHT_MM,
    Edge,
    Lean,
    asked_push_n,
    asked_weight_n,
    edges_of,
    tip_angle_deg,
    tipping_push_n,
)

_SIDES = {"right": (1.0, 0.0), "left": (-1.0, 0.0), "back": (0.0, 1.0), "front": (0.0, -1.0)}


@dataclass(frozen=True)
class Standing:
    """Least steady edge of a thing in one state; all heights above the floor it stands on."""

    state: str
    mass_kg: float
    centre_mm: float
    lever_mm: float
    toward: str
    tip_deg: float
    slope_left_deg: float
    ten_degree_ok: bool
    push_test_n: float
    push_test_at_mm: float
    push_tips_n: float
    push_test_ok: bool
    down_test_n: float
    overhang_mm: float
    down_test_ok: bool
    lean_at_mm: float
    lean_moment_nm: float
    holding_moment_nm: float
    lean_tips_n: float
    lean_most_n: float
    lean_ok: bool
    lean_used_ratio: float


def stand(
    body: Body,
    state: str,
    lean: Lean,
    *,
    gravity: float,
    slope_deg: float = 0.0,
    raised_mm: float = 0.0,
    outward_mm: float = 0.0,
    ballast_kg: float = 0.0,
    ballast_mm: float = 0.0,
) -> Standing:
    """Tilt, push and lean of a body over its nearest edge.

    Args:
        raised_mm: a trolley's height. outward_mm: how far the feet reach beyond the frame's
        (negative: castors set inward, and their swivel). ballast_kg at ballast_mm above the floor,
        over the centre of mass. Pushes act at their height or at the top, whichever is lower.

    Leaves out: give of the frame and of castors, which takes some degrees; loose feet; running
    starts and blows.
    """
    edges = edges_of(body.feet, body.centre[:2])
    edge = edges[0]
    mass = body.mass_kg + ballast_kg
    own = (body.height_of_centre + raised_mm) * body.mass_kg
    centre = (own + ballast_kg * ballast_mm) / mass
    lever = edge.lever_mm + outward_mm
    weight = mass * gravity
    top = body.size[2] + raised_mm
    at, push_at = min(lean.height_mm, top), min(TEST_HEIGHT_MM, top)
    angle = tip_angle_deg(lever, centre)
    slope = math.radians(slope_deg)
    holding = max(lever * math.cos(slope) - centre * math.sin(slope), 0.0)
    most = lean.most_n(weight, holding, at)
    tips = tipping_push_n(weight, lever, centre, push_at, slope_deg)
    overhangs = [
        (max(_reach(body, e) - e.lever_mm - outward_mm, 0.0), e.lever_mm + outward_mm)
        for e in edges
    ]
    return Standing(
        state,
        mass,
        centre,
        lever,
        side(edge.toward),
        angle,
        angle - slope_deg,
        angle >= TEST_DEG,
        asked_push_n(weight),
        push_at,
        tips,
        tips >= asked_push_n(weight),
        asked_weight_n(weight),
        max(over for over, _ in overhangs),
        all(weight * lever >= asked_weight_n(weight) * over - 1e-9 for over, lever in overhangs),
        at,
        lean.force_n * at / 1000,
        weight * holding / 1000,
        tipping_push_n(weight, lever, centre, at, slope_deg),
        most,
        lean.holds(weight, holding, at),
        min(lean.force_n / most if most > 0 else math.inf, 1e6),
    )


def _reach(body: Body, edge: Edge) -> float:
    """How far the outside box reaches from the centre of mass toward an edge."""
    return sum(
        toward * (body.low[k] + (body.size[k] if toward > 0 else 0.0) - body.centre[k])
        for k, toward in enumerate(edge.toward)
    )


def side(toward: tuple[float, float]) -> str:
    """The side of the machine that a direction points to; front is where y is least."""
    return max(_SIDES, key=lambda name: toward[0] * _SIDES[name][0] + toward[1] * _SIDES[name][1])
