"""Falling balls against a panel: from the builder's units to SI and back."""

from collections.abc import Mapping, Sequence
from typing import Any

from .drop_impact import (
    Impact,
    Range,
    bounce_time,
    fall_energy,
    free_fall_speed,
    hits_per_day,
    impact_range,
    rebound,
    wall_needed,
)
from .panel_strength import HitPoint, RodAndSeat, lying_flat, on_edge


def drop_report(
    ball: Mapping[str, Any], drop: Mapping[str, Any], gravity_m_s2: float
) -> dict[str, Any]:
    """The fields of DropOut."""
    height_m, e = drop["height_mm"] / 1000, ball["restitution_ratio"]
    found: dict[str, Any] = {
        "impact_energy_j": fall_energy(ball["mass_kg"], height_m, gravity_m_s2),
        "fall_speed_m_per_s": free_fall_speed(height_m, gravity_m_s2),
        "rebound_mm": rebound(height_m, e) * 1000,
        "bouncing_s": bounce_time(height_m, e, gravity_m_s2),
        "wall_needed_mm": wall_needed(height_m, e, ball["diameter_mm"] / 1000) * 1000,
        "hits_per_day_count": hits_per_day(
            drop["balls_per_min"], drop["share_ratio"], drop["hours_per_day"]
        ),
    }
    if "stiffness_min_n_per_mm" in drop:
        stiffness = Range(
            drop["stiffness_min_n_per_mm"] * 1000, drop["stiffness_max_n_per_mm"] * 1000
        )
        low, high = impact_range(
            ball["mass_kg"], height_m, stiffness, drop["panel_mass_kg"], gravity_m_s2
        )
        shared = drop["seats_sharing_count"]
        found |= {
            "low": _impact(low),
            "high": _impact(high),
            "seat_force_low_n": low.force_n / shared,
            "seat_force_high_n": high.force_n / shared,
        }
    if "seat_design_n" in drop:
        found["seat_limit_n"] = drop["seat_design_n"] / drop["reserve_ratio"]
    return found


def _impact(impact: Impact) -> dict[str, float]:
    return {
        "panel_energy_j": impact.panel_energy_j,
        "deflection_mm": impact.deflection_m * 1000,
        "force_n": impact.force_n,
        "factor_ratio": impact.factor,
    }


def seat_moment(truss: Mapping[str, Any]) -> float:
    """Bending moment of a seat as given, or pull-out times half the rod's diameter, in N mm."""
    guess: float = truss["seat_pull_out_n"] * truss["rod_diameter_mm"] / 2
    return float(truss.get("seat_moment_n_mm", guess))


def rod_and_seat(truss: Mapping[str, Any]) -> RodAndSeat:
    """The kit part of a panel truss."""
    return RodAndSeat(
        truss["rod_diameter_mm"],
        truss["elastic_modulus_n_per_mm2"],
        truss["bending_strength_n_per_mm2"],
        truss["seat_inset_mm"],
        truss["seat_pull_out_n"],
        truss["seat_bearing_n"],
        truss["seat_stiffness_n_per_mm"],
        seat_moment(truss),
        truss["seat_turning_n_mm_per_rad"],
    )


def strength_report(
    ball: Mapping[str, Any],
    drop: Mapping[str, Any],
    truss: Mapping[str, Any],
    gravity_m_s2: float,
) -> dict[str, Any]:
    """The fields of StrengthOut: every landing place in both orientations.

    Raises:
        ValueError: the seats leave no free rod.
    """
    if 2 * truss["seat_inset_mm"] >= min(truss["bay_mm"], truss["depth_mm"]):
        raise ValueError("the seats of one rod overlap")
    kit = rod_and_seat(truss)
    bays, bay = truss["bays_count"], truss["bay_mm"]
    choices = {
        "on-edge": on_edge(bays, bay, truss["depth_mm"], kit),
        "flat": lying_flat(bays, bay, kit),
    }
    reports = {
        name: _orientation(name, points, ball, drop, truss, gravity_m_s2)
        for name, points in choices.items()
    }
    weakest = {name: min(point.first_slip_n for point in choices[name]) for name in choices}
    # Ranked by the hardest hit, not by strength alone: the stiffer panel is hit harder.
    better = min(reports, key=lambda name: reports[name]["worst"]["utilisation_high_ratio"])
    other = "flat" if better == "on-edge" else "on-edge"
    return {
        "on_edge": reports["on-edge"],
        "flat": reports["flat"],
        "better": better,
        "advantage_ratio": weakest[better] / weakest[other],
        "why": _why(better, weakest, reports, truss),
    }


def _orientation(
    name: str,
    points: Sequence[HitPoint],
    ball: Mapping[str, Any],
    drop: Mapping[str, Any],
    truss: Mapping[str, Any],
    gravity_m_s2: float,
) -> dict[str, Any]:
    hits = []
    for point in points:
        stiffness = Range(point.stiffness_n_mm * 1000, point.stiffness_n_mm * 1000)
        low, high = impact_range(
            ball["mass_kg"], drop["height_mm"] / 1000, stiffness, truss["mass_kg"], gravity_m_s2
        )
        allowed = point.first_slip_n / drop["reserve_ratio"]
        hits.append(
            {
                "at_mm": point.at_mm,
                "stiffness_n_per_mm": point.stiffness_n_mm,
                "first_slip_n": point.first_slip_n,
                "governed_by": point.governed_by,
                "force_low_n": low.force_n,
                "force_high_n": high.force_n,
                "utilisation_low_ratio": low.force_n / allowed,
                "utilisation_high_ratio": high.force_n / allowed,
            }
        )
    worst = max(hits, key=lambda hit: round(hit["utilisation_high_ratio"], 9))
    passes = worst["utilisation_high_ratio"] <= 1
    return {"orientation": name, "hits": hits, "worst": worst, "passes": passes}


def _why(
    better: str,
    weakest: Mapping[str, float],
    reports: Mapping[str, Mapping[str, Any]],
    truss: Mapping[str, Any],
) -> str:
    edge, flat = reports["on-edge"]["worst"], reports["flat"]["worst"]
    lever = seat_moment(truss) / truss["seat_pull_out_n"]
    common = (
        f"On edge the chords carry the hit along their seats with the depth of "
        f"{truss['depth_mm']:g} mm as lever (first to give at {weakest['on-edge']:.1f} N: "
        f"{edge['governed_by']}); flat, a seat must hold the bending moment with a lever of "
        f"{lever:.1f} mm (gives at {weakest['flat']:.1f} N: {flat['governed_by']})."
    )
    harder = edge["force_high_n"] / flat["force_high_n"]
    if better == "on-edge":
        return f"{common} The stiffer panel is hit {harder:.1f} times as hard and still wins."
    return (
        f"{common} Yet the stiffer panel is hit {harder:.1f} times as hard, and that costs more "
        f"than the lever gains."
    )


def height_that_passes(
    ball: Mapping[str, Any], stiffness_n_mm: float, force_n: float, gravity_m_s2: float
) -> float:
    """Fall in mm at which the hardest impact (no panel mass moving) reaches `force_n`.

    0 where even a ball laid down suddenly (twice its weight) is too much.
    """
    weight = ball["mass_kg"] * gravity_m_s2
    if force_n <= 2 * weight:
        return 0.0
    energy = ((force_n - weight) ** 2 - weight**2) / (2 * stiffness_n_mm * 1000)
    return float(energy / weight * 1000)
