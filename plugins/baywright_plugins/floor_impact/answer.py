"""A study as the fields of the result."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from ..floor_tiling_ratio.drop_impact import bounce_time, hits_per_day, rebound, wall_needed
from ..kit import Kit
from .drop_test import drops_needed, shown_reliability
from .panel_frame import mirrored_along
from .panel_spec import ON_EDGE, PanelSpec
from .peak_force import Blow
from .slip import left_over_n_mm, slip_per_hit
from .stopping import even_way_mm, spring_way_mm
from .study import Curve, Hit, Study
from .words import BUILT, mm, newton, part

#: A seat is lost once it has slid this share of its depth; common practice, no source.
LOST = 1 / 3
_CURVE_DROPS = (1, 2, 3, 5, 7, 10, 14, 20, 30, 45, 60, 90, 130, 200, 300, 500, 1000, 3000)
_MOST_DROPS = 10**9


def ball_report(inputs: Mapping[str, Any], blow: Blow) -> dict[str, Any]:
    """The fields of BallOut."""
    ball, drop = inputs["ball"], inputs["drop"]
    along, down = drop["horizontal_speed_m_per_s"], blow.speed_m_s
    energy = blow.energy_n_mm / 1000
    low, high = ball["restitution_min_ratio"], ball["restitution_max_ratio"]
    height_m = drop["height_mm"] / 1000
    return {
        "fall_speed_m_per_s": down,
        "landing_speed_m_per_s": math.hypot(down, along),
        "landing_angle_deg": math.degrees(math.atan2(down, along)),
        "energy_j": energy,
        "whole_energy_j": energy + blow.mass_kg * along**2 / 2,
        "lost_min_j": energy * (1 - high**2),
        "lost_max_j": energy * (1 - low**2),
        "rebound_min_mm": 1000 * rebound(height_m, low),
        "rebound_max_mm": 1000 * rebound(height_m, high),
        "wall_needed_mm": 1000 * wall_needed(height_m, high, ball["diameter_mm"] / 1000),
        "bouncing_max_s": bounce_time(height_m, high, blow.gravity_m_s2),
        "hits_per_day_count": hits_per_day(
            drop["balls_per_min"], drop["share_ratio"], drop["hours_per_day"]
        ),
    }


def panel_report(study: Study) -> dict[str, Any]:
    """The fields of PanelOut."""
    parts = study.panel.parts
    hits = [hit_report(hit) for hit in study.hits]
    return {
        "orientation": parts.orientation,
        "rods_count": sum(parts.rods_used.values()),
        "hubs_count": parts.hubs_count,
        "mass_kg": study.panel.total_kg,
        "height_mm": parts.spec.depth.pitch_mm if parts.orientation == ON_EDGE else 0.0,
        "own_weight_ratio": study.own_weight,
        "mirrored_along": mirrored_along(parts),
        "hits": hits,
        "worst": hits[study.worst],
        "passes": study.worst_hit.used_high <= 1,
        "followed_ms": 1000 * study.followed_s,
    }


def hit_report(hit: Hit) -> dict[str, Any]:
    """The fields of HitOut."""
    peak, stiffness = hit.peak, hit.spot.stiffness_n_mm
    return {
        "along_mm": hit.place.along_mm,
        "across_mm": hit.place.across_mm,
        "over": hit.place.kind,
        "stiffness_n_per_mm": stiffness,
        "moving_kg": hit.spot.moving_kg,
        "energy_min_j": peak.energy_low_n_mm / 1000,
        "energy_max_j": peak.energy_high_n_mm / 1000,
        "deflection_min_mm": peak.low_n / stiffness,
        "deflection_max_mm": peak.high_n / stiffness,
        "force_min_n": peak.low_n,
        "force_series_n": peak.series_n,
        "force_max_n": peak.high_n,
        "touch_min_n": peak.touch_low_n,
        "touch_max_n": peak.touch_high_n,
        "seat_slips_n": hit.seat_slips_n,
        "gives_n": hit.gives_n,
        "allowed_n": hit.allowed_n,
        "bears_j": _bears_j(hit),
        "utilisation_min_ratio": hit.used_low,
        "utilisation_max_ratio": hit.used_high,
        "still_ratio": hit.used_still,
        "gives_first": part(hit.gives_first, hit.role),
        "part": hit.role,
        "back_min_n": peak.back_low_n,
        "back_max_n": peak.back_high_n,
        "lifts_min_n": hit.lifts_low_n,
        "lifts_max_n": hit.lifts_high_n,
    }


def comparison_report(studies: Mapping[str, Study], built: str, energy_j: float) -> dict[str, Any]:
    """The fields of ComparisonOut; one orientation alone wins by default."""
    ranked = sorted(studies, key=lambda name: round(studies[name].worst_hit.used_high, 9))
    better = ranked[0]
    found: dict[str, Any] = {"better": better, "built": built}
    if len(ranked) == 1:
        other = "flat" if better == ON_EDGE else "on edge"
        why = f"The panel {other} was not worked out, so there is nothing to compare."
        return {**found, "why": why}
    used = [studies[name].worst_hit.used_high for name in ranked]
    return {**found, "advantage_ratio": used[1] / used[0], "why": _why(studies, ranked, energy_j)}


def _bears_j(hit: Hit) -> float:
    return hit.gives_n**2 / (2000 * hit.spot.stiffness_n_mm)


def _why(studies: Mapping[str, Study], ranked: Sequence[str], energy_j: float) -> str:
    edge, flat = (middle_hub(studies[name]) for name in (ON_EDGE, "flat"))
    first, second = (studies[name] for name in ranked)
    spec = first.panel.parts.spec
    lever = spec.seat.moment_n_mm / spec.seat.pull_out_n
    deck = "" if spec.deck is None else " (the deck bears its part in both)"
    words = []
    if edge is not None and flat is not None:
        words.append(
            f"Hit on the hub nearest to the middle, trusses on edge carry the blow by chords "
            f"{mm(spec.depth.pitch_mm)} apart and give at {newton(edge.gives_n)}; a flat grid "
            f"must bend, which a seat holds with a lever of {mm(lever)} only, and gives at "
            f"{newton(flat.gives_n)}{deck}. On edge is the stiffer, {edge.spot.stiffness_n_mm:.3g} "
            f"against {flat.spot.stiffness_n_mm:.3g} N/mm, so it is also hit harder: up to "
            f"{newton(edge.peak.high_n)} against {newton(flat.peak.high_n)}. What it can spring "
            f"counts: {_bears_j(edge):.3g} J on edge, {_bears_j(flat):.3g} J flat, of the ball's "
            f"{energy_j:.3g} J."
        )
    words.append(
        f"At its worst place the panel {BUILT[ranked[0]]} uses "
        f"{first.worst_hit.used_high:.2f} of what may be repeated "
        f"({part(first.worst_hit.gives_first, first.worst_hit.role)}), {BUILT[ranked[1]]} "
        f"{second.worst_hit.used_high:.2f} "
        f"({part(second.worst_hit.gives_first, second.worst_hit.role)})."
    )
    rods = [sum(studies[name].panel.parts.rods_used.values()) for name in (ON_EDGE, "flat")]
    words.append(f"On edge takes {rods[0]} rods, flat {rods[1]}.")
    return " ".join(words)


def middle_hub(study: Study) -> Hit | None:
    """The hit on a hub nearest to the middle of the panel."""
    spec = study.panel.parts.spec
    hubs = [hit for hit in study.hits if hit.place.kind == "hub"]

    def away(hit: Hit) -> float:
        return math.hypot(
            hit.place.along_mm - spec.length_mm / 2, hit.place.across_mm - spec.width_mm / 2
        )

    return min(hubs, key=away, default=None)


def repeated_report(
    inputs: Mapping[str, Any], kit: Kit, hit: Hit, spec: PanelSpec, hits_a_day: float
) -> dict[str, Any]:
    """The fields of RepeatedOut, for the worst place."""
    low, high, slips_at = hit.peak.low_n, hit.peak.high_n, hit.seat_slips_n
    seat_depth = seat_depth_mm(inputs, kit)
    found: dict[str, Any] = {
        "seat_slips_n": slips_at,
        "hits_per_day_count": hits_a_day,
        "slips": "at every hit" if low > slips_at else "perhaps" if high > slips_at else "never",
    }
    if seat_depth is not None:
        found["seat_depth_mm"] = seat_depth
    if high <= slips_at:
        return found
    energy = left_over_n_mm(high, slips_at, hit.spot.stiffness_n_mm)
    if hit.slips_by == "seat bent":
        turn = slip_per_hit(energy, spec.seat.moment_n_mm)
        return {**found, "turn_per_hit_max_deg": math.degrees(turn)}
    holds = spec.seat.bearing_n if hit.slips_by == "seat pressed" else spec.seat.pull_out_n
    slip = slip_per_hit(energy, holds)
    found["slip_per_hit_max_mm"] = slip
    if seat_depth is not None and slip > 1e-9:
        hits = LOST * seat_depth / slip
        found["hits_to_lose_seat_count"] = hits
        if hits_a_day > 0:
            found["days_to_lose_seat_days"] = hits / hits_a_day
    return found


def seat_depth_mm(inputs: Mapping[str, Any], kit: Kit) -> float | None:
    """As given, or what of the hub's reach the rod fills; None where the kit does not tell."""
    hub = kit.frame_hub
    depth = inputs["panel"].get("seat_depth_mm", hub.overhang_mm - hub.seat.inset_mm)
    return float(depth) if depth > 0 else None


def stop_report(study: Study, blow: Blow) -> dict[str, Any] | None:
    """The fields of StopOut, for the weakest place; None where no way to stop will do."""
    hit = min(study.hits, key=lambda one: one.allowed_n)
    force, energy, weight = hit.allowed_n, blow.energy_n_mm, blow.weight_n
    even = even_way_mm(energy, weight, force)
    if even is None:
        return None
    found = {
        "allowed_n": force,
        "evenly_mm": even,
        "average_gravities_ratio": blow.height_mm / even,
    }
    spring = spring_way_mm(energy, weight, force)
    if spring is not None:
        pressed = (force - weight) ** 2 - weight**2
        free = pressed / (2 * hit.spot.stiffness_n_mm * weight)
        found |= {
            "spring_mm": spring,
            "spring_n_per_mm": force / spring,
            "free_height_mm": min(free, 1e9),
        }
    return found


def curve_report(curve: Curve) -> dict[str, Any]:
    """The fields of CurveOut."""
    return {
        "time_ms": 1000 * curve.time_s,
        "touch_n": curve.touch_n,
        "panel_n": curve.panel_n,
        "touch_peak_n": float(curve.touch_n.max()),
        "panel_peak_n": float(curve.panel_n.max()),
    }


def test_report(
    inputs: Mapping[str, Any], hits_a_day: float, worst: Sequence[str]
) -> dict[str, Any]:
    """The fields of TestOut. Args: worst: landing places to aim at, in words."""
    test, drop = inputs["test"], inputs["drop"]
    wanted, sure = test["reliability_ratio"], test["confidence_ratio"]
    allowed = test["failures_allowed_count"]
    plans = {r: drops_needed(wanted, sure, r) for r in sorted({0, 1, 2, 3, allowed})}
    drops = plans[allowed]
    shown = sorted({*_CURVE_DROPS, plans[0]})
    rate = drop["balls_per_min"] * drop["share_ratio"]
    found: dict[str, Any] = {
        "reliability_ratio": wanted,
        "confidence_ratio": sure,
        "plans": [{"failures_allowed_count": r, "drops_count": n} for r, n in plans.items()],
        "drops_count": drops,
        "shown_by_drops": [
            {"drops_count": n, "shown_ratio": shown_reliability(n, 0, sure)} for n in shown
        ],
        "drop_height_mm": drop["height_mm"],
        "steps": test_steps(inputs, drops, allowed, worst),
    }
    if hits_a_day >= 1:
        found["day_reliability_ratio"] = wanted**hits_a_day
        for_a_day = min(hits_a_day * math.log(1 - sure) / math.log(wanted), _MOST_DROPS)
        found["for_a_day_count"] = float(math.ceil(for_a_day))
        found["for_a_day_h"] = for_a_day / rate / 60
    if rate > 0:
        found["rig_min"] = drops / rate
    if "drops_done_count" in test:
        done, seen = test["drops_done_count"], test["failures_seen_count"]
        found["shown_so_far_ratio"] = shown_reliability(done, seen, sure)
    return found


def test_steps(
    inputs: Mapping[str, Any], drops: int, allowed: int, worst: Sequence[str]
) -> list[str]:
    """How to run the drop test."""
    height, slowing = inputs["drop"]["height_mm"], inputs.get("slowing")
    stop = (
        "Stop at the first failure: the plan has failed; mend the cause, then begin again at one."
        if allowed == 0
        else f"Stop at failure number {allowed + 1}: the plan has failed; mend the cause, then "
        f"begin again at one."
    )
    soft = f", with {slowing['title']} in place" if slowing else ""
    aims = "; ".join(worst)
    return [
        f"Build the panel of used parts as it will be, on its real supports{soft}; mark each rod "
        f"at its hub with a fine line.",
        f"Let the heaviest ball fall {mm(height)} from rest, from a tube or a magnet, not from the "
        f"hand; one at a time, the panel at rest before each.",
        f"Aim one drop in turn at each of these places: {aims}.",
        "A drop has failed when a mark has moved by 0.5 mm or more, a rod has left its seat, "
        "cracked or split, the panel has left a support, or the ball has left the floor.",
        f"Make {drops} drops; write down place and failure of each. Look at all marks after each.",
        stop,
        "Afterwards read all marks once more: slip that grows from drop to drop wears out, and no "
        "number of good drops excuses it.",
    ]


def aims(study: Study) -> list[Hit]:
    """The worst place of each kind, worst first: where a drop test should aim."""
    ranked = sorted(study.hits, key=lambda hit: -round(hit.used_high, 9))
    first: dict[str, Hit] = {}
    for hit in ranked:
        first.setdefault(hit.place.kind, hit)
    return list(first.values())


def opening_mm(spec: PanelSpec) -> float:
    """Narrower side of the clear opening between rods without a deck; 0 where there is none."""
    along = spec.bay.pitch_mm - spec.cross.diameter_mm
    across = spec.cross.pitch_mm - spec.bay.diameter_mm
    return max(0.0, min(along, across))
