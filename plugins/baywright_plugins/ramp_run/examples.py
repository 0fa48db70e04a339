"""Inputs that show one use each."""

from typing import Any

from baywright_service.contract import Example

_BALL: dict[str, Any] = {
    "diameter_mm": 48,
    "mass_kg": 0.041,
    "restitution_min_ratio": 0.45,
}

EXAMPLES = (
    Example(
        "The long track of a touring machine: 24 m at 4 % on two rods, then a fall onto the floor",
        {
            "gravity_m_s2": 9.81,
            "ball": _BALL,
            "rolling_resistance": {"pair": "wood-on-wood"},
            "supports": [
                {"id": "rods", "kind": "rails", "gauge_mm": 30, "rod_diameter_mm": 8},
            ],
            "slope_error_percent": 0.2,
            "end_height_mm": 222,
            "segments": [
                {"kind": "straight", "name": "long track", "run_mm": 24000, "slope_percent": 4},
                {
                    "kind": "drop",
                    "name": "drop feature",
                    "drop_mm": 480,
                    "wall_mm": 150,
                    "catch_from_mm": 0,
                    "catch_to_mm": 1080,
                },
            ],
            "balls_per_min": 15,
        },
    ),
    Example(
        "The return lane and the floor before it: 1.5 % over gaps of 6 mm, then 2.5 % on two rods",
        {
            "gravity_m_s2": 9.81,
            "ball": _BALL,
            "rolling_resistance": {
                "tests": [
                    {"fall_mm": 12, "run_mm": 400, "level_mm": 1500},
                    {"fall_mm": 12, "run_mm": 400, "level_mm": 1150},
                ]
            },
            "supports": [
                {"id": "floor", "kind": "plane"},
                {"id": "rods", "kind": "rails", "gauge_mm": 30, "rod_diameter_mm": 8},
            ],
            "start_speed_min_m_per_s": 0.2,
            "start_speed_max_m_per_s": 0.6,
            "segments": [
                {
                    "kind": "ribs",
                    "name": "floor",
                    "run_mm": 1080,
                    "slope_percent": 1.5,
                    "pitch_mm": 51.4,
                    "gap_mm": 6,
                },
                {
                    "kind": "straight",
                    "name": "return lane",
                    "support": "rods",
                    "run_mm": 3000,
                    "slope_percent": 2.5,
                },
            ],
            "balls_per_min": 60,
        },
    ),
    Example(
        "A play track: rail joint, banked curve with a guard, crest, steep straight, jump",
        {
            "ball": {**_BALL, "restitution_max_ratio": 0.6},
            "rolling_resistance": {"min_ratio": 0.004, "max_ratio": 0.012},
            "supports": [
                {"id": "rods", "kind": "rails", "gauge_mm": 30, "rod_diameter_mm": 8},
                {"id": "chute", "kind": "u-channel", "radius_mm": 40, "depth_mm": 40},
            ],
            "segments": [
                {"kind": "straight", "length_mm": 800, "slope_percent": 6},
                {"kind": "joint", "name": "rail joint", "gap_mm": 2, "step_mm": 0.5},
                {
                    "kind": "curve",
                    "name": "U-turn",
                    "radius_mm": 300,
                    "turn_deg": 180,
                    "slope_percent": 4,
                    "bank_deg": 10,
                    "guard_mm": 30,
                },
                {"kind": "crest", "radius_mm": 400, "turn_deg": 12},
                {"kind": "straight", "support": "chute", "length_mm": 350, "slope_percent": 26},
                {"kind": "dip", "support": "chute", "radius_mm": 300, "turn_deg": 14.574},
                {
                    "kind": "drop",
                    "name": "jump",
                    "drop_mm": 300,
                    "caught": True,
                    "catch_from_mm": 300,
                    "catch_to_mm": 600,
                    "wall_distance_mm": 650,
                    "wall_mm": 250,
                },
            ],
            "balls_per_min": 20,
            "transit_most_s": 10,
        },
    ),
    Example(
        "A loop: how high to start, and whether the slowest ball holds on",
        {
            "ball": {"diameter_mm": 16, "mass_kg": 0.0167, "restitution_min_ratio": 0.6},
            "rolling_resistance": {"pair": "steel-ball-on-steel"},
            "supports": [{"id": "rails", "kind": "rails", "gauge_mm": 10, "rod_diameter_mm": 3}],
            "segments": [
                {"kind": "straight", "run_mm": 700, "slope_percent": 60},
                {"kind": "dip", "radius_mm": 150, "turn_deg": 30.964},
                {"kind": "loop", "name": "loop", "radius_mm": 120},
                {"kind": "level", "name": "run-out", "length_mm": 500},
            ],
        },
    ),
)
