"""Inputs that show one use each."""

from typing import Any

from baywright_service.contract import Example

_AXES = [[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]]
_XY = [[1, 1, 0], [1, -1, 0], [-1, 1, 0], [-1, -1, 0]]
_XZ = [[1, 0, 1], [1, 0, -1], [-1, 0, 1], [-1, 0, -1]]
_YZ = [[0, 1, 1], [0, 1, -1], [0, -1, 1], [0, -1, -1]]

_SEAT: dict[str, Any] = {
    "seat_inset_mm": 10.0,
    "seat_play_mm": 0.15,
    "seat_stiffness_n_per_mm": 250.0,
    "tension_n": {"held": 60.0, "free": 24.0},
    "compression_n": 300.0,
}

KIT: dict[str, Any] = {
    "title": "Dowels of 8 mm with printed hubs",
    "rods": [
        {"id": rod, "pitch_mm": pitch, "diameter_mm": 8.0, "modulus_n_per_mm2": 12000.0,
         "mass_g": mass, "price": price}
        for rod, pitch, mass, price in (
            ("R60", 60.0, 1.43, 0.05), ("R85", 84.8, 2.31, 0.06), ("R120", 120.0, 3.57, 0.08),
            ("R170", 169.6, 5.34, 0.11),
        )
    ],
    "hubs": [
        {"id": "H18", "title": "one-piece hub", "ports": [*_AXES, *_XY, *_XZ, *_YZ],
         "mass_g": 11.0, "overhang_mm": 17.0, "price": 0.4, **_SEAT},
        {"id": "H2P", "title": "two sliding halves", "ports": [*_AXES, *_XZ, *_YZ],
         "mass_g": 11.0, "overhang_mm": 17.0, "price": 0.3, "two_part": True,
         "slides_along": [0, 0, 1], **_SEAT},
        {"id": "MID", "title": "flat mid-hub", "ports": _AXES[:4], "mass_g": 6.0,
         "overhang_mm": 9.0, "role": "middle", "price": 0.2,
         "rotational_stiffness_n_mm_per_rad": 1200.0, **_SEAT},
    ],
    "items": [
        {"id": "floor-tile", "title": "floor tile", "kind": "panel", "mass_g": 9.0},
        {"id": "ball-48", "title": "wooden ball of 48 mm", "kind": "ball", "mass_g": 41.0},
    ],
}  # fmt: skip


def _box(name: str, x: int, y: int, z: int) -> dict[str, Any]:
    runs = {"x": x, "y": y, "z": z}
    rods = {axis: [{"rod": "R120", "count": count}] for axis, count in runs.items()}
    return {"id": name, "rods": rods, "side_faces": {"default": "alternating"}}


EXAMPLES = (
    Example(
        "A small box with a shelf that lacks some long rods",
        {
            "kit": KIT,
            "frame": {"layout": {"title": "small box", "sections": [_box("A", 3, 3, 4)]}},
            "stock": {
                "counts": [
                    {"item": "R85", "on_hand_count": 60, "reserved_count": 12},
                    {"item": "R120", "on_hand_count": 250},
                    {"item": "R170", "on_hand_count": 100},
                    {"item": "H18", "on_hand_count": 60},
                    {"item": "H2P", "on_hand_count": 80},
                    {"item": "MID", "on_hand_count": 40},
                ]
            },
            "pieces_per_bag": 50,
            "reserve_ratio": 0.02,
        },
    ),
    Example(
        "Two play sections coupled by short rods, with shelves and balls, pairs built in",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "title": "two play sections",
                    "sections": [_box("P1", 9, 5, 12), _box("P2", 9, 5, 12)],
                    "joints": [{"between": ["P1", "P2"], "axis": "x", "rod": "R60"}],
                }
            },
            "stock": {
                "counts": [
                    {"item": "R60", "on_hand_count": 100},
                    {"item": "R85", "on_hand_count": 90},
                    {"item": "R120", "on_hand_count": 1400},
                    {"item": "R170", "on_hand_count": 750},
                    {"item": "H18", "on_hand_count": 250},
                    {"item": "H2P", "on_hand_count": 600},
                    {"item": "MID", "on_hand_count": 50},
                    {"item": "ball-48", "on_hand_count": 60},
                ]
            },
            "accessories": [
                {"item": "R60", "count": 24, "title": "half-level shelf", "section": "P1"},
                {"item": "ball-48", "count": 48, "title": "balls with spares"},
            ],
            "use_substitutes": True,
            "light_positions": [
                {"section": "P1", "rod": "R170", "light_positions_count": 250},
                {"section": "P2", "rod": "R170", "light_positions_count": 250},
            ],
        },
    ),
    Example(
        "An assembly of any kind: ten lifts with shared sub-assemblies",
        {
            "assembly": {
                "tree": {
                    "lift": {"sprocket-set": 2, "chain-link": 280, "hook": 10},
                    "sprocket-set": {"sprocket": 1, "bearing": 2, "bolt": 4},
                    "hook": {"chain-link": 1, "bolt": 1},
                },
                "top": "lift",
                "units": 10,
            },
            "stock": {
                "counts": [
                    {"item": "bearing", "on_hand_count": 60},
                    {"item": "bolt", "on_hand_count": 200},
                    {"item": "chain-link", "on_hand_count": 3000},
                    {"item": "sprocket", "on_hand_count": 24},
                ]
            },
        },
    ),
    Example(
        "A team of three builds a tower and two wings: steps, bags, days and the push of its seats",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "title": "tower and two wings",
                    "sections": [
                        _box("W1", 4, 2, 3),
                        _box("T", 2, 2, 8),
                        {**_box("W2", 4, 2, 3), "cross_faces": {"every": 0}},
                    ],
                    "joints": [
                        {"between": ["W1", "T"], "axis": "x", "rod": "R60"},
                        {"between": ["T", "W2"], "axis": "x", "rod": "R60"},
                    ],
                }
            },
            "build": {"first_bay_min": 10.0, "learning_ratio": 0.85, "floor_min": 3.0},
            "team": {
                "people_count": 3,
                "bays_before_count": 4,
                "day_h": 2.0,
                "bays_per_step_count": 4,
                "snap": {
                    "deflection_n": 25.0,
                    "friction_ratio": 0.4,
                    "lead_angle_deg": 30.0,
                    "return_angle_deg": 55.0,
                },
            },
        },
    ),
    Example(
        "Two touring towers and a stand from two shelves: pairs in line, packs, sawing, spares and "
        "an old machine to take apart",
        {
            "kit": KIT,
            "machines": [
                {
                    "id": "tower",
                    "count": 2,
                    "frame": {"layout": {"title": "tower", "sections": [_box("T", 3, 3, 5)]}},
                    "accessories": [{"item": "ball-48", "count": 30, "title": "balls"}],
                },
                {
                    "id": "stand",
                    "frame": {"layout": {"title": "stand", "sections": [_box("S", 4, 3, 2)]}},
                },
            ],
            "stock": {
                "counts": [
                    {"item": "R60", "on_hand_count": 14},
                    {"item": "R85", "on_hand_count": 60},
                    {"item": "R120", "on_hand_count": 520},
                    {"item": "R170", "on_hand_count": 270},
                    {"item": "H18", "on_hand_count": 120},
                    {"item": "H2P", "on_hand_count": 120},
                    {"item": "MID", "on_hand_count": 30},
                    {"item": "ball-48", "on_hand_count": 60},
                ]
            },
            "more_shelves": [
                {
                    "id": "club-cellar",
                    "piece_cost": 0.02,
                    "stock": {"counts": [{"item": "R170", "on_hand_count": 10}]},
                }
            ],
            "programme": {
                "ways": ["pairs", "leave-out"],
                "offers": [
                    {"item": "R170", "pieces_count": 25, "price": 2.4},
                    {"item": "H2P", "pieces_count": 20, "price": 5.0},
                ],
                "pair_cost": 0.05,
                "minute_cost": 0.1,
                "sawing": {
                    "kerf_mm": 2.0,
                    "cut_cost": 0.02,
                    "bars": [
                        {"id": "dowel-1000", "length_mm": 1000, "diameter_mm": 8, "price": 0.6}
                    ],
                },
                "breakage": {
                    "shows_count": 30,
                    "parts": [
                        {"item": "R120", "broken_per_1000_pieces_per_show": 0.3},
                        {"item": "H18", "share_ratio": 0.02},
                    ],
                },
                "salvage": [
                    {
                        "id": "old-tower",
                        "groups": [
                            {
                                "id": "top",
                                "dismantle_min": 12,
                                "parts": [
                                    {"item": "R170", "count": 24},
                                    {"item": "H2P", "count": 16},
                                ],
                            },
                            {
                                "id": "base",
                                "dismantle_min": 25,
                                "parts": [{"item": "R120", "count": 60}],
                            },
                        ],
                    }
                ],
            },
        },
    ),
)
