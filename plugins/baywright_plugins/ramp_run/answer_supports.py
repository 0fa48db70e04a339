"""What is said about each support, and about rolling resistance."""

import math
from collections.abc import Mapping
from typing import Any

from . import slip
from .ball import Ball, inertia_about
from .contact import UPRIGHT, wedges
from .pieces import Surface
from .reading import Found
from .resistance import HOW_TO_MEASURE, TABLE

_MOST_PERCENT = 1e6  # steeper counts as upright


def percent(slope_rad: float) -> float:
    """A slope as builders say it."""
    return 100 * math.tan(slope_rad)


def support_result(
    ball: Ball, support: Mapping[str, Any], surface: Surface, tilt_rad: float
) -> dict[str, Any]:
    """The fields of SupportOut."""
    found: dict[str, Any] = {
        "id": support["id"],
        "kind": support["kind"],
        "holds": surface.bears,
        "clear_gap_mm": clear_gap_mm(support),
    }
    if not surface.bears:
        return found
    contact = surface.contact
    inertia = inertia_about(ball, contact.effective_radius_m)
    low, high = (surface.resistance_on_it(value) for value in surface.resistance)
    slide = slip.slip_slope(surface.friction[0], inertia, contact.angle_rad)
    return found | {
        "contacts_count": 2 if contact.angle_rad else 1,
        "effective_radius_mm": contact.effective_radius_m * 1000,
        "contact_angle_deg": math.degrees(contact.angle_rad),
        "contact_spread_mm": 1000 * ball.diameter_m * math.sin(contact.angle_rad),
        "sink_mm": contact.sink_m * 1000,
        "acceleration_ratio": 1 / (1 + inertia),
        "resistance_min_ratio": low,
        "resistance_max_ratio": high,
        "slope_min_percent": percent(math.atan(high) + tilt_rad),
        "slope_slip_percent": min(_MOST_PERCENT, percent(slide)),
        "holds_sideways_deg": math.degrees(min(UPRIGHT, max(contact.holds_rad, contact.angle_rad))),
        "wedges": wedges(contact, surface.friction[1]),
    }


def clear_gap_mm(support: Mapping[str, Any]) -> float:
    """Width that is open below the ball; 0 where there is ground."""
    if support["kind"] == "rails":
        gauge = support["gauge_mm"] + support.get("gauge_play_mm", 0.0)
        return max(0.0, float(gauge - support.get("rod_diameter_mm", 0.0)))
    return 0.0


def resistance_result(found: Found) -> dict[str, Any]:
    """The fields of ResistanceOut."""
    return {
        "min_ratio": found.pair[0],
        "max_ratio": found.pair[1],
        "origin": found.origin,
        "how_to_measure": HOW_TO_MEASURE,
        "table": [
            {
                "pair": known.pair,
                "low_ratio": known.low,
                "high_ratio": known.high,
                "source": known.source,
            }
            for known in TABLE
        ],
    }
