"""Examples: the lift of The Returns Desk as planned and as changed, unequal sprockets alone."""

from typing import Any

from baywright_service.contract import Example

_CHAIN: dict[str, Any] = {
    "pitch_mm": 12.7,
    "size": "08B",
    "teeth_count": 15,
    "centre_distance_mm": 1680,
    "mass_kg_per_m": 0.7,
}
_DESK: dict[str, Any] = {
    "chain": _CHAIN,
    "adjuster": {"apart_mm": 30, "together_mm": 10},
    "hooks": {"spacing_links_count": 14, "hooks_per_min": 20, "fill_ratio": 0.9},
    "ball": {"diameter_mm": 48, "mass_kg": 0.041},
    "lift": {"loaded_height_mm": 1620},
    "frame": {"own_frequencies_hz": [3.93, 4.3, 5.57, 11.97]},
    "gravity_m_s2": 9.81,
}
_COMB: dict[str, Any] = {
    "ribs_count": 5,
    "rib_pitch_mm": 12,
    "rib_width_mm": 4,
    "tooth_width_mm": 3,
    "rib_pitch_tolerance_mm": 0.15,
    "rib_width_tolerance_mm": 0.1,
    "tooth_pitch_tolerance_mm": 0.1,
    "tooth_width_tolerance_mm": 0.1,
    "hook_place_tolerance_mm": 0.3,
    "chain_wander_mm": 0.4,
    "sprocket_run_out_mm": 0.2,
    "clearance_wanted_mm": 0.3,
}

EXAMPLES = (
    Example("The Returns Desk as planned: hooks every 14 links", _DESK),
    Example(
        "The Returns Desk as changed: comb, motor, clutch, backstop, swinging cage and guard",
        {
            **_DESK,
            "adjuster": {"apart_mm": 45, "together_mm": 10},
            "hooks": {"spacing_links_count": 28, "hooks_per_min": 20, "fill_ratio": 0.9},
            "comb": {**_COMB, "datum_rib": 2},
            "loading": {"slope_deg": 4, "roll_mm": 60, "waiting_balls_count": 12},
            "motors": [
                {"id": "small", "torque_n_m": 0.2, "turns_per_min": 37, "stall_torque_n_m": 0.6},
                {"id": "geared", "torque_n_m": 0.6, "turns_per_min": 38, "stall_torque_n_m": 3},
            ],
            "weak_points": [
                {"id": "hook", "kind": "chain", "breaks_at_n": 90},
                {"id": "sprocket-seat", "kind": "shaft", "breaks_at_n_m": 4},
                {
                    "id": "frame-seat",
                    "kind": "lever",
                    "breaks_at_n": 60,
                    "sharing_count": 2,
                    "lever_mm": 60,
                },
            ],
            "fuse": {"setting_n_m": 0.8, "tolerance_percent": 20},
            "backstop": {"holding_torque_n_m": 0.5},
            "hinge": {
                "hinge_spread_mm": 1200,
                "tongue_above_mm": -500,
                "tongue_reach_mm": 180,
                "latch_reach_mm": 240,
                "play_mm": 0.5,
                "latch_play_mm": 0.3,
                "cone_repeats_mm": 0.1,
                "depth_clearance_mm": 3,
            },
            "guard": {
                "height_mm": 60,
                "shape": "square",
                "opening_mm": 10,
                "behind_mm": 70,
                "closing_gaps": [{"id": "hook-over-tongue", "gap_mm": 3}],
            },
        },
    ),
    Example(
        "Unequal sprockets, and hooks of one tooth that wander in a wide grid",
        {
            "chain": {
                "pitch_mm": 12.7,
                "teeth_count": 17,
                "tail_teeth_count": 51,
                "centre_distance_mm": 508,
                "size": "ANSI-40",
            },
            "comb": {
                **_COMB,
                "ribs_count": 12,
                "teeth_count": 4,
                "first_gap": 6,
                "chain_wander_mm": 0.6,
            },
        },
    ),
)
