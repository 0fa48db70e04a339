"""From inputs to comb, loading, hinge and guard: what must keep clear of what."""

from collections.abc import Mapping
from typing import Any

from ..cautions import CHILD, GROWN, DriveGuard, pinches
from ..floor_tiling_ratio.grooves import sink
from . import comb as combs
from . import hinge as hinges
from . import loading as loads

Value = Mapping[str, Any]
STEEPEST_DEG = 60.0


def waiting_push(inputs: Value) -> float:
    """Push in N of the row of balls that waits on the tongue."""
    given = inputs["loading"]
    return loads.waiting_push(
        given["waiting_balls_count"],
        inputs["ball"]["mass_kg"],
        given["slope_deg"],
        inputs["gravity_m_s2"],
    )


def comb_of(given: Value, hinge_mm: float) -> combs.Comb:
    """The comb with what the cage adds."""
    return combs.Comb(
        ribs=given["ribs_count"],
        rib_pitch=given["rib_pitch_mm"],
        rib_width=given["rib_width_mm"],
        teeth=given.get("teeth_count", given["ribs_count"] - 1 - given["first_gap"]),
        tooth_pitch=given.get("tooth_pitch_mm", given["rib_pitch_mm"]),
        tooth_width=given["tooth_width_mm"],
        first_gap=given["first_gap"],
        datum_rib=given["datum_rib"],
        offset=given["offset_mm"],
        rib_pitch_tol=given["rib_pitch_tolerance_mm"],
        rib_width_tol=given["rib_width_tolerance_mm"],
        tooth_pitch_tol=given["tooth_pitch_tolerance_mm"],
        tooth_width_tol=given["tooth_width_tolerance_mm"],
        shared_tols=(
            given["hook_place_tolerance_mm"],
            given["chain_wander_mm"],
            given["sprocket_run_out_mm"],
            hinge_mm,
        ),
    )


def comb_result(given: Value, hinge_mm: float, ball: Value | None) -> dict[str, Any]:
    """Clearances, what binds, and what would still pass."""
    comb = comb_of(given, hinge_mm)
    found = combs.clearances(comb)
    tooth, side = found.binding()
    worst, likely = float(found.worst.min()), float(found.likely.min())
    wanted = given["clearance_wanted_mm"]
    shift = float(found.worst[:, 1].min() - found.worst[:, 0].min()) / 2.0
    datum, at_datum = combs.best_datum(comb)
    names = ("left", "right")
    out: dict[str, Any] = {
        "gap_mm": comb.rib_pitch - comb.rib_width,
        "teeth_count": comb.teeth,
        "least_nominal_mm": float(found.nominal.min()),
        "least_likely_mm": likely,
        "least_worst_mm": worst,
        "binding_tooth": tooth,
        "binding_rib": int(found.ribs[tooth, side]),
        "binding_side": names[side],
        "widest_tooth_mm": combs.widest_tooth(comb, worst, wanted),
        "widest_tooth_likely_mm": combs.widest_tooth(comb, likely, wanted),
        "narrowest_gap_mm": combs.narrowest_gap(comb, worst, wanted),
        "narrowest_gap_likely_mm": combs.narrowest_gap(comb, likely, wanted),
        "best_offset_mm": shift,
        "best_worst_mm": worst + abs(shift),
        "best_datum_rib": datum,
        "best_datum_worst_mm": at_datum,
        "clearances": [
            {
                "tooth": i,
                "side": names[s],
                "rib": int(found.ribs[i, s]),
                "nominal_mm": float(found.nominal[i, s]),
                "likely_mm": float(found.likely[i, s]),
                "worst_mm": float(found.worst[i, s]),
            }
            for i in range(comb.teeth)
            for s in (0, 1)
        ],
    }
    if ball is not None and ball["diameter_mm"] > out["gap_mm"]:
        out["ball_sink_mm"] = 1000.0 * sink(ball["diameter_mm"] / 1000.0, out["gap_mm"] / 1000.0)
    return out


def loading_result(inputs: Value, motion: Value) -> dict[str, Any]:
    """Time to roll against time between two hooks."""
    given, ball, comb = inputs["loading"], inputs["ball"], inputs.get("comb")
    gap = comb["rib_pitch_mm"] - comb["rib_width_mm"] if comb is not None else 0.0
    spacing = inputs["hooks"]["spacing_links_count"] * inputs["chain"]["pitch_mm"]
    size, gravity = ball["diameter_mm"], inputs["gravity_m_s2"]
    free = loads.free_seconds(spacing, given["hook_height_mm"], size, motion["chain_speed_mm_s"])
    out: dict[str, Any] = {"free_s": free, "waiting_push_n": waiting_push(inputs)}

    def seconds(slope: float) -> float | None:
        resistance = given["rolling_resistance_ratio"]
        pull = loads.rolling_acceleration(slope, size, gap, resistance, gravity)
        return loads.seconds_to_roll(given["roll_mm"], pull)

    roll = seconds(given["slope_deg"])
    if roll is not None:
        out["roll_s"] = roll
        way = spacing - given["hook_height_mm"] - size
        out["fastest_chain_mm_s"] = max(0.0, way / (roll * given["time_margin"]))
    steep = loads.least_slope(seconds, free / given["time_margin"], STEEPEST_DEG)
    if steep is not None:
        out["steepness_needed_deg"] = steep
    return out


def cage_of(given: Value) -> hinges.Cage:
    return hinges.Cage(
        spread=given["hinge_spread_mm"],
        above=given["tongue_above_mm"],
        reach=given["tongue_reach_mm"],
        play=given["play_mm"],
        latch_reach=given["latch_reach_mm"],
        latch_play=given["latch_play_mm"],
    )


def sideways_repeat(hinge: Value | None) -> float:
    """What the cage adds across the ribs: the cone's repeat where there is one."""
    if hinge is None:
        return 0.0
    if "cone_repeats_mm" in hinge:
        return float(hinge["cone_repeats_mm"])
    return hinges.displacement(cage_of(hinge)).sideways


def hinge_result(given: Value, comb: Value | None) -> dict[str, Any]:
    """How far the closed cage repeats, and what the comb allows."""
    cage = cage_of(given)
    moved = hinges.displacement(cage)
    out: dict[str, Any] = {
        "sideways_mm": sideways_repeat(given),
        "depth_mm": moved.depth,
        "droop_mm": moved.droop,
        "stop_needed": "depth_clearance_mm" in given and moved.depth > given["depth_clearance_mm"],
    }
    if comb is not None:
        still = combs.clearances(comb_of(comb, 0.0))
        room = max(0.0, float(still.worst.min()) - comb["clearance_wanted_mm"])
        out |= {
            "room_sideways_mm": room,
            "most_play_mm": hinges.most_play(cage, room),
            "stop_needed": out["stop_needed"] or sideways_repeat(given) > room + 1e-9,
        }
    return out


def guard_of(given: Value) -> DriveGuard:
    return DriveGuard(
        height_mm=given["height_mm"],
        shape=given.get("shape"),
        opening_mm=given.get("opening_mm"),
        behind_mm=given.get("behind_mm"),
        slot_length_mm=given.get("slot_length_mm"),
    )


def guard_result(given: Value) -> dict[str, Any]:
    """What the openings ask for, and the gaps that pinch."""
    guard = guard_of(given)
    ages = {"needed_child_mm": guard.needed_mm(CHILD), "needed_grown_mm": guard.needed_mm(GROWN)}
    out: dict[str, Any] = {key: value for key, value in ages.items() if value is not None}
    out["pinching_gaps"] = [gap["id"] for gap in given["closing_gaps"] if pinches(gap["gap_mm"])]
    return out
