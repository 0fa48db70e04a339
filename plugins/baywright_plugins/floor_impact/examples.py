"""Inputs that show one use each."""

from baywright_service.contract import Example

_KIT = {
    "title": "Beech rods of 8 mm with printed hubs",
    "rods": [
        {"id": "R60", "pitch_mm": 60, "diameter_mm": 8, "modulus_n_per_mm2": 12000, "mass_g": 1.43},
        {
            "id": "R85",
            "pitch_mm": 84.8,
            "diameter_mm": 8,
            "modulus_n_per_mm2": 12000,
            "mass_g": 2.31,
        },
        {
            "id": "R120",
            "pitch_mm": 120,
            "diameter_mm": 8,
            "modulus_n_per_mm2": 12000,
            "mass_g": 3.57,
        },
        {
            "id": "R170",
            "pitch_mm": 169.6,
            "diameter_mm": 8,
            "modulus_n_per_mm2": 12000,
            "mass_g": 5.34,
        },
    ],
    "hubs": [
        {
            "id": "H18",
            "ports": [[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]],
            "mass_g": 11,
            "overhang_mm": 17,
            "seat_inset_mm": 10,
            "seat_play_mm": 0.15,
            "seat_stiffness_n_per_mm": 250,
            "tension_n": {"held": 60, "free": 60},
            "compression_n": 300,
            "rotational_stiffness_n_mm_per_rad": 1200,
        }
    ],
}
_BALL = {
    "diameter_mm": 48,
    "mass_kg": 0.041,
    "restitution_min_ratio": 0.45,
    "restitution_max_ratio": 0.45,
}

EXAMPLES = (
    Example(
        "The floor of a play section: plywood on trusses of short rods, beech balls from above",
        {
            "gravity_m_s2": 9.81,
            "kit": _KIT,
            "ball": _BALL,
            "drop": {
                "height_mm": 480,
                "balls_per_min": 60,
                "share_ratio": 0.4,
                "hours_per_day": 6,
                "wall_mm": 150,
            },
            "panel": {
                "bays_along_count": 4,
                "bays_across_count": 2,
                "bay_rod": "R60",
                "cross_rod": "R120",
                "deck": {"thickness_mm": 4, "modulus_n_per_mm2": 7000},
                "supports": {"rests_on": "ends", "clipped": True},
            },
        },
    ),
    Example(
        "Bare rods under a steel ball, flat: too much, and what would do",
        {
            "kit": _KIT,
            "ball": {
                "diameter_mm": 30,
                "mass_kg": 0.11,
                "restitution_min_ratio": 0.3,
                "restitution_max_ratio": 0.6,
                "material": {"known": "steel"},
            },
            "drop": {"height_mm": 250, "balls_per_min": 30, "share_ratio": 0.5},
            "panel": {
                "bays_along_count": 2,
                "bays_across_count": 2,
                "bay_rod": "R60",
                "built": "flat",
                "supports": {"rests_on": "edges"},
            },
        },
    ),
    Example(
        "A net that stops the ball softly, and a drop test that bears one failure",
        {
            "kit": _KIT,
            "ball": {**_BALL, "restitution_min_ratio": 0.1, "restitution_max_ratio": 0.3},
            "drop": {"height_mm": 900, "horizontal_speed_m_per_s": 0.8, "share_ratio": 0.2},
            "panel": {
                "bays_along_count": 3,
                "bays_across_count": 2,
                "bay_rod": "R120",
                "deck": {"thickness_mm": 3, "modulus_n_per_mm2": 7000},
                "supports": {"rests_on": "net", "stiffness_n_per_mm": 2},
            },
            "slowing": {"title": "net", "travel_mm": 60, "stiffness_n_per_mm": 0.3},
            "test": {
                "reliability_ratio": 0.9,
                "confidence_ratio": 0.95,
                "failures_allowed_count": 1,
                "drops_done_count": 46,
                "failures_seen_count": 1,
            },
        },
    ),
)
