"""Uses of design-search, each with valid inputs."""

from typing import Any

from baywright_service.contract import Example

from ..grid_fit.examples import KIT

_STOCK: dict[str, Any] = {
    "title": "Workshop shelf",
    "counts": [
        {"item": "R60", "on_hand_count": 60},
        {"item": "R85", "on_hand_count": 300},
        {"item": "R120", "on_hand_count": 260},
        {"item": "R170", "on_hand_count": 130},
        {"item": "H18", "on_hand_count": 160},
    ],
}

EXAMPLES = (
    Example(
        "A wall piece in one section: which rods, how many bays, one diagonal or two?",
        {
            "kit": KIT,
            "stock": _STOCK,
            "envelope": {
                "length_min_mm": 480, "length_max_mm": 560,
                "width_min_mm": 260, "width_max_mm": 400,
                "height_min_mm": 600, "height_max_mm": 720,
            },
            "bay_rods": ["R120", "R170"],
            "bracings": [
                {"id": "lean-in", "side_faces": {"default": "lean-in"}},
                {"id": "crossed", "title": "both diagonals", "side_faces": {"default": "crossed"}},
            ],
        },
    ),
    Example(
        "Two sections through a side door, with a floor and lifts of which one may stop",
        {
            "kit": KIT,
            "stock": _STOCK,
            "envelope": {
                "length_min_mm": 900, "length_max_mm": 1000,
                "width_min_mm": 360, "width_max_mm": 520,
                "height_min_mm": 700, "height_max_mm": 760,
            },
            "bay_rods": ["R120"],
            "joint_rod": "R60",
            "splits": [
                {"id": "two-alike", "alike_count": 2},
                {
                    "id": "tower-and-tray",
                    "sections": [
                        {"id": "tower", "length_min_mm": 260, "length_max_mm": 400,
                         "fittings": [{"title": "lifts", "mass_kg": 4, "levels": [0, -1]}]},
                        {"id": "tray", "length_min_mm": 480, "height_min_mm": 260,
                         "height_max_mm": 400},
                    ],
                },
            ],
            "bracings": [
                {"id": "lean-in", "side_faces": {"default": "lean-in"}},
                {"id": "at-grips", "title": "lean-in, second diagonals at the grips",
                 "side_faces": {"default": "lean-in"}, "second_at_grips": "below-lower"},
            ],
            "passages": [
                {"id": "side-door", "title": "Side door", "width_mm": 500, "height_mm": 740}
            ],
            "floor": {"panels": [{"id": "tile", "pitch_mm": 51.4}, {"id": "slab", "pitch_mm": 72}]},
            "lifts": {"required_balls_per_min": 40, "capacity_per_min": 18, "most_count": 5},
            "most_to_buy_count": 400,
            "strength": {"handling": {"cases": ["stand", "carry-upright", "carry-on-back"]}},
        },
    ),
    Example(
        "Too narrow an envelope: what is the nearest miss?",
        {
            "kit": KIT,
            "envelope": {
                "length_min_mm": 380, "length_max_mm": 520, "width_min_mm": 380,
                "width_max_mm": 520, "height_min_mm": 380, "height_max_mm": 520,
            },
            "bay_rods": ["R120"],
            "passages": [{"id": "hatch", "title": "Hatch", "width_mm": 400, "height_mm": 500}],
        },
    ),
)  # fmt: skip
