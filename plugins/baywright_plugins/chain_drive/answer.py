"""From inputs to torque, motors, fuse, comb, loading, hinge and guard."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..cautions import CHILD, GROWN, DriveGuard, pinches
from ..floor_tiling_ratio.grooves import sink
from ..lift_redundancy import chain as chains
from . import comb as combs
from . import hinge as hinges
from . import loading as loads
from .chain_sizes import SIZES
from .study import loaded_hooks, power_w
from .torque import WeakPoint, jam_force, reverse_efficiency, window

Value = Mapping[str, Any]
SPEED_SHORT_RATIO = 0.9
STEEPEST_DEG = 60.0


def breaking_load(chain: Value) -> float | None:
    """As given, or the size's; None where neither is."""
    if "breaking_load_n" in chain:
        return float(chain["breaking_load_n"])
    return SIZES[chain["size"]].breaking_n if "size" in chain else None


def torque_result(inputs: Value, loop: Value, motion: Value) -> dict[str, Any]:
    """Torque, power and pull with every hook of the rising run full."""
    chain, hooks, lift, ball = (inputs[key] for key in ("chain", "hooks", "lift", "ball"))
    gravity, diameter = inputs["gravity_m_s2"], loop["head_pitch_diameter_mm"]
    count = loaded_hooks(chain, hooks, lift)
    mass = ball["mass_kg"] * hooks["balls_per_hook_count"]
    rubbed = _waiting_push(inputs) * inputs["loading"]["rubbing_ratio"] if waits(inputs) else 0.0
    drag = lift["drag_n"] + rubbed
    dragging = drag * diameter / 2000.0 / lift["efficiency_ratio"]
    running = dragging + chains.head_torque(
        count, mass * gravity, diameter, efficiency=lift["efficiency_ratio"]
    )
    needed = running * lift["service_factor"]
    back = chains.head_torque(count, mass * gravity, diameter, efficiency=1.0)
    per_s = hooks["per_min"] / 60.0
    hanging = _hanging_n(inputs, loop)
    out: dict[str, Any] = {
        "loaded_hooks_count": count,
        "lift_s": lift["loaded_height_mm"] / motion["chain_speed_mm_s"],
        "running_torque_n_m": running,
        "needed_torque_n_m": needed,
        "needed_power_w": power_w(needed, motion["shaft_turns_per_min"]),
        "lifting_power_w": (
            chains.lifting_power(
                mass * hooks["fill_ratio"], lift["loaded_height_mm"] / 1000.0, per_s, gravity
            )
            + drag * motion["chain_speed_mm_s"] / 1000.0
        )
        / lift["efficiency_ratio"],
        "chain_pull_n": jam_force(needed, diameter) + hanging + chain["preload_n"],
        "run_back_torque_n_m": back,
        "run_back_after_friction_n_m": back * reverse_efficiency(lift["efficiency_ratio"]),
    }
    if "backstop" in inputs:
        out["hold_needed_n_m"] = back * inputs["backstop"]["margin"]
    if waits(inputs):
        out["waiting_drag_n"] = rubbed
    return out | _allowed(chain)


def _allowed(chain: Value) -> dict[str, float]:
    """Breaking load over its factor, and not above the working load that a table prints."""
    broken = breaking_load(chain)
    if broken is None:
        return {}
    allowed = broken / chain["load_factor"]
    printed = SIZES[chain["size"]].working_n if "size" in chain else None
    if printed is None or "breaking_load_n" in chain:
        return {"breaking_load_n": broken, "allowed_pull_n": allowed}
    return {
        "breaking_load_n": broken,
        "allowed_pull_n": min(allowed, printed),
        "printed_working_load_n": printed,
    }


def waits(inputs: Value) -> bool:
    """Whether a row of balls waits on the tongue."""
    return "loading" in inputs and inputs["loading"]["waiting_balls_count"] > 0


def _waiting_push(inputs: Value) -> float:
    given = inputs["loading"]
    return loads.waiting_push(
        given["waiting_balls_count"],
        inputs["ball"]["mass_kg"],
        given["slope_deg"],
        inputs["gravity_m_s2"],
    )


def _hanging_n(inputs: Value, loop: Value) -> float:
    """Weight of one run of chain and its hooks, N: the head carries it."""
    run_m = loop["centre_distance_mm"] / 1000.0
    hooks = inputs["hooks"]
    gap_m = hooks["spacing_links_count"] * inputs["chain"]["pitch_mm"] / 1000.0
    per_m = inputs["chain"]["mass_kg_per_m"] + hooks["hook_mass_kg"] / gap_m
    return float(run_m * per_m * inputs["gravity_m_s2"])


def motors_result(motors: Sequence[Value], torque: Value, motion: Value) -> list[dict[str, Any]]:
    """Each motor brought to the head shaft."""
    rows = []
    for motor in motors:
        gear = motor["gear_ratio"] * motor["gear_efficiency_ratio"]
        at_shaft = motor["torque_n_m"] * gear * motor["duty_ratio"]
        turns = motor["turns_per_min"] / motor["gear_ratio"]
        speed = turns / motion["shaft_turns_per_min"]
        row = {
            "id": motor["id"],
            "shaft_torque_n_m": at_shaft,
            "margin_ratio": at_shaft / torque["needed_torque_n_m"],
            "shaft_turns_per_min": turns,
            "balls_per_min": motion["balls_per_min"] * speed,
            "fits": at_shaft >= torque["needed_torque_n_m"] and speed >= SPEED_SHORT_RATIO,
        }
        if "stall_torque_n_m" in motor:
            row["stall_torque_n_m"] = motor["stall_torque_n_m"] * gear
        rows.append(row)
    return rows


def best_motor(rows: Sequence[Value]) -> str | None:
    """The weakest of those that fit, nearest in speed among equals."""
    fitting = [row for row in rows if row["fits"]]
    if not fitting:
        return None
    best = min(fitting, key=lambda row: (row["margin_ratio"], row["shaft_turns_per_min"]))
    return str(best["id"])


def fuse_result(inputs: Value, loop: Value, torque: Value) -> dict[str, Any]:
    """The window, and the fuse given held against it."""
    diameter, fuse = loop["head_pitch_diameter_mm"], inputs.get("fuse")
    still = _hanging_n(inputs, loop) + inputs["chain"]["preload_n"]
    weak = [WeakPoint(p["id"], _at_shaft(p, diameter, still)) for p in inputs["weak_points"]]
    if "breaking_load_n" in torque:
        pull = max(0.0, torque["breaking_load_n"] - still)
        weak.append(WeakPoint("chain itself", pull * diameter / 2000.0))
    weak.sort(key=lambda point: (point.torque_n_m, point.name))
    margin = fuse["break_margin"] if fuse is not None else 1.5
    found = window(torque["needed_torque_n_m"], weak, margin)
    assert found is not None
    out: dict[str, Any] = {
        "low_n_m": found.low_n_m,
        "high_n_m": found.high_n_m,
        "open": found.is_open,
        "weakest": found.weakest,
        "weak_points": [{"id": p.name, "torque_n_m": p.torque_n_m} for p in weak],
        "jam_force_n": jam_force(found.high_n_m, diameter),
    }
    if found.is_open:
        out["best_setting_n_m"] = found.setting_n_m
        out["scatter_allowed_percent"] = 100.0 * found.tolerance_ratio
    if fuse is not None and "setting_n_m" in fuse:
        share = fuse["tolerance_percent"] / 100.0
        out["setting_low_n_m"] = fuse["setting_n_m"] * (1.0 - share)
        out["setting_high_n_m"] = fuse["setting_n_m"] * (1.0 + share)
        out["jam_force_n"] = jam_force(out["setting_high_n_m"], diameter)
    return out


def _at_shaft(point: Value, diameter: float, still_n: float) -> float:
    """Torque at the head shaft at which a weak point lets go, N m; not below 0."""
    share = point["sharing_count"]
    match point["kind"]:
        case "shaft":
            return float(point["breaks_at_n_m"] * share)
        case "lever":
            return float(point["breaks_at_n"] * share * point["lever_mm"] / 1000.0)
        case "bearing":
            left = max(0.0, point["breaks_at_n"] * share - 2.0 * still_n)
            return float(left * diameter / 2000.0)
        case _:
            return float(point["breaks_at_n"] * share * diameter / 2000.0)


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
    out: dict[str, Any] = {"free_s": free, "waiting_push_n": _waiting_push(inputs)}

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
