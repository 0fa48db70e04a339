"""Inputs that show one use each."""

from baywright_service.contract import Example

EXAMPLES = (
    Example(
        "Square tiles under a play section of nine by six bays",
        {
            "gravity_m_s2": 9.81,
            "pitches": [
                {"id": "bay", "pitch_mm": 120, "play_per_seat_mm": 0.15},
                {"id": "tile", "pitch_mm": 51.4},
            ],
            "floor": {
                "along_mm": 1080,
                "across_mm": 720,
                "panels_on_hand_count": 900,
                "keep_clear": [
                    {
                        "name": "landing",
                        "along_from_mm": 40,
                        "along_to_mm": 160,
                        "across_from_mm": 280,
                        "across_to_mm": 440,
                    }
                ],
            },
            "ball": {"diameter_mm": 48, "mass_kg": 0.041, "restitution_ratio": 0.45},
            "rolling": {"slope_percent": 1.5, "groove_mm": 6},
            "drop": {
                "height_mm": 480,
                "wall_mm": 150,
                "balls_per_min": 60,
                "share_ratio": 0.4,
                "hours_per_day": 6,
                "panel_mass_kg": 0.02,
                "stiffness_min_n_per_mm": 2,
                "stiffness_max_n_per_mm": 8,
                "seat_design_n": 60,
                "seats_sharing_count": 2,
            },
        },
    ),
    Example(
        "Panels of five sixths of a short rod under bays of two short rods: why they meet",
        {
            "pitches": [
                {
                    "id": "bay",
                    "parts": [{"item": "R60", "pitch_mm": 60, "count": 2}],
                    "play_per_seat_mm": 0.15,
                    "seats_count": 4,
                },
                {
                    "id": "panel",
                    "parts": [{"item": "R60", "pitch_mm": 60, "count": 5, "divided_by": 6}],
                },
            ],
            "floor": {"along_mm": 1200, "across_mm": 620},
        },
    ),
    Example(
        "Two frame pitches over one tile: each has its own ratio",
        {
            "pitches": [
                {"id": "R120", "pitch_mm": 120, "play_per_seat_mm": 0.15},
                {"id": "R85", "pitch_mm": 84.8, "play_per_seat_mm": 0.15},
                {"id": "tile", "pitch_mm": 51.4},
            ],
            "most_repeats_count": 12,
        },
    ),
    Example(
        "A panel built of rods, hit by falling balls: on edge or flat",
        {
            "pitches": [
                {"id": "bay", "pitch_mm": 240, "play_per_seat_mm": 0.15},
                {"id": "panel", "pitch_mm": 60, "play_per_seat_mm": 0.15},
            ],
            "ball": {"diameter_mm": 48, "mass_kg": 0.041, "restitution_ratio": 0.45},
            "drop": {"height_mm": 200, "wall_mm": 60, "balls_per_min": 60, "share_ratio": 0.25},
            "panel_truss": {
                "bays_count": 4,
                "bay_mm": 60,
                "depth_mm": 60,
                "mass_kg": 0.14,
                "rod_diameter_mm": 8,
                "elastic_modulus_n_per_mm2": 12000,
                "seat_inset_mm": 10,
                "seat_pull_out_n": 60,
                "seat_bearing_n": 300,
                "seat_stiffness_n_per_mm": 250,
                "seat_turning_n_mm_per_rad": 1200,
            },
        },
    ),
)
