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
    Example(
        "Panels over three sections with two bay pitches: where to start, what comes off",
        {
            "pitches": [
                {"id": "long-bay", "pitch_mm": 120, "play_per_seat_mm": 0.15},
                {"id": "short-bay", "pitch_mm": 84.8, "play_per_seat_mm": 0.15},
                {"id": "panel", "pitch_mm": 100},
            ],
            "ball": {"diameter_mm": 48, "mass_kg": 0.041, "restitution_ratio": 0.45},
            "lay": {
                "along": {
                    "stretches": [
                        {"id": "S1", "bays": [{"pitch": "long-bay", "count": 5}]},
                        {"id": "S2", "bays": [{"pitch": "short-bay", "count": 9}]},
                        {"id": "S3", "planes_mm": [0, 120, 240, 360, 480], "bare_planes": [1, 3]},
                    ],
                    "joints": [
                        {"pitch_mm": 60, "clear_gap_mm": 26},
                        {"pitch_mm": 60, "clear_gap_mm": 26},
                    ],
                },
                "across": {
                    "stretches": [{"id": "width", "bays": [{"pitch": "long-bay", "count": 5}]}]
                },
                "panels_are": "loose",
                "joint_play_mm": 2,
                "edges": [
                    {"side": "front", "wall_mm": 30},
                    {"side": "back", "wall_mm": 20, "overhang_mm": 5},
                    {"side": "near", "wall_mm": 20},
                    {"side": "far", "wall_mm": 20},
                ],
                "bearer_item": "lath",
            },
        },
    ),
    Example(
        "A slope of spacers on shelves, and netting walls whose spacers make the pitches meet",
        {
            "pitches": [
                {"id": "bay", "pitch_mm": 120, "play_per_seat_mm": 0.15},
                {"id": "tile", "pitch_mm": 51.4},
            ],
            "ball": {"diameter_mm": 48, "mass_kg": 0.041, "restitution_ratio": 0.45},
            "drop": {"height_mm": 480},
            "floor": {"along_mm": 1080, "across_mm": 600},
            "slope_steps": {
                "along_percent": 1.5,
                "low_edge_min_mm": 400,
                "low_edge_max_mm": 405,
                "base_mm": 42,
                "module_mm": 60,
                "pieces": [
                    {"item": "spacer-10", "height_mm": 10, "most_per_support_count": 5},
                    {"item": "spacer-4", "height_mm": 4, "most_per_support_count": 2},
                    {"item": "spacer-1", "height_mm": 1, "most_per_support_count": 3},
                ],
                "most_pieces_per_support_count": 6,
            },
            "netting": {
                "net": {"item": "net", "pitch_mm": 78, "height_mm": 52, "opening_mm": 40},
                "spacers": [
                    {"item": "washer-1", "length_mm": 1},
                    {"item": "washer-3", "length_mm": 3},
                ],
                "bottom_gap_mm": 10,
            },
        },
    ),
)
