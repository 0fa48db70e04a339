"""From inputs to torque, motors and the window for a fuse."""

from collections.abc import Mapping, Sequence
from typing import Any

from ..lift_redundancy.chain import (
    head_torque,
    lifting_power,
)
from .answer_space import waiting_push
from .chain_sizes import SIZES
from .study import loaded_hooks, power_w
from .torque import WeakPoint, jam_force, reverse_efficiency, window

Value = Mapping[str, Any]
SPEED_SHORT_RATIO = 0.9


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
    rubbed = waiting_push(inputs) * inputs["loading"]["rubbing_ratio"] if waits(inputs) else 0.0
    drag = lift["drag_n"] + rubbed
    dragging = drag * diameter / 2000.0 / lift["efficiency_ratio"]
    running = dragging + head_torque(
        count, mass * gravity, diameter, efficiency=lift["efficiency_ratio"]
    )
    needed = running * lift["service_factor"]
    back = head_torque(count, mass * gravity, diameter, efficiency=1.0)
    per_s = hooks["hooks_per_min"] / 60.0
    hanging = _hanging_n(inputs, loop)
    out: dict[str, Any] = {
        "loaded_hooks_count": count,
        "lift_s": lift["loaded_height_mm"] / motion["chain_speed_mm_s"],
        "running_torque_n_m": running,
        "needed_torque_n_m": needed,
        "needed_power_w": power_w(needed, motion["shaft_turns_per_min"]),
        "lifting_power_w": (
            lifting_power(
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
