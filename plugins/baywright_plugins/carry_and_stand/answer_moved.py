"""A section on wheels, and in the van, as rows of the result."""

from collections.abc import Mapping
from typing import Any

from ..route_fit.vehicle.tipping import BEND_RATIO, BRAKING_RATIO
from ..truss_check.kerb import NotRolled, leading_load_n, push_ratio
from .bodies import Body
from .castors import PROOF_FACTOR, corner_loads, design_load_kg, proof_load_n, stands_on_three

Row = Mapping[str, Any]


def castors_row(body: Body, trolley: Row, gravity: float) -> dict[str, Any] | None:
    """Four wheels under a section; None where the inset leaves no base."""
    x0, y0, x1, y1 = body.base
    inset = trolley["inset_mm"]
    base = (x1 - x0 - 2 * inset, y1 - y0 - 2 * inset)
    if min(base) < 1.0:
        return None
    centre = (body.centre[0] - x0 - inset, body.centre[1] - y0 - inset)
    weight = body.mass_kg * gravity
    loads = [share * weight for share in corner_loads(base, centre)]
    design, proof = design_load_kg(body.mass_kg), proof_load_n(loads)
    row: dict[str, Any] = {
        "loads_n": loads,
        "worst_n": max(loads),
        "proof_n": proof,
        "design_kg": design,
        "stands_on_three": stands_on_three(base, centre),
        "step_mm": trolley["step_mm"],
        **_step(body, trolley, weight, base, centre),
    }
    if "rated_kg" in trolley:
        needed = max(design, proof / PROOF_FACTOR / gravity)
        row["rated_ok"] = trolley["rated_kg"] >= needed * (1 - 1e-9)
    return row


def _step(
    body: Body,
    trolley: Row,
    weight_n: float,
    base_mm: tuple[float, float],
    centre_mm: tuple[float, float],
) -> dict[str, Any]:
    """Pushed along the longer side of its base, both leading wheels at the step."""
    axis = 0 if base_mm[0] >= base_mm[1] else 1
    length, radius = base_mm[axis], trolley["wheel_radius_mm"]
    behind = max(centre_mm[axis], length - centre_mm[axis])
    try:
        ratio = push_ratio(radius, trolley["step_mm"])
    except NotRolled:
        return {}
    row = {"push_ratio": ratio, "push_low_n": ratio * weight_n * behind / length}
    if ratio > 0:
        row["push_below_mm"] = min(radius + max(length - behind, 0.0) / ratio, 1e6)
    hands = body.grip_mm + trolley["raised_mm"] - radius
    try:
        load = leading_load_n(weight_n, behind, length, max(hands, 0.0), ratio)
    except NotRolled:
        return row
    return row | ({"push_n": ratio * load} if 0 <= load <= weight_n else {})


def van_row(body: Body) -> dict[str, Any]:
    """The steadier side looks forward; on its back the box itself is the base."""
    height = body.height_of_centre
    least, most = sorted(side / height for side in _least_by_axis(body))
    upright = least >= BEND_RATIO - 1e-9 and most >= BRAKING_RATIO - 1e-9
    braking = least >= BEND_RATIO - 1e-9 and not upright
    low, high = body.low, [a + b for a, b in zip(body.low, body.size, strict=True)]
    back = max(high[1] - body.hub_mm - body.centre[1], 1.0)
    lying = min(
        body.centre[0] - low[0], high[0] - body.centre[0],
        body.centre[2] - low[2], high[2] - body.centre[2],
    )  # fmt: skip
    return {
        "ratio": most if braking else least,
        "limit_ratio": BRAKING_RATIO if braking else BEND_RATIO,
        "when": "when the driver brakes" if braking else "in a bend",
        "upright_ok": upright,
        "lying_ratio": max(lying, 0.0) / back,
    }


def _least_by_axis(body: Body) -> tuple[float, float]:
    x0, y0, x1, y1 = body.base
    return (
        min(body.centre[0] - x0, x1 - body.centre[0]),
        min(body.centre[1] - y0, y1 - body.centre[1]),
    )
