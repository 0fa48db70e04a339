"""Inputs that show one use each."""

from typing import Any

from baywright_service.contract import Example

BEECH_KIT: dict[str, Any] = {
    "title": "Beech rods of 8 mm, one hub",
    "rods": [
        {"id": "R120", "pitch_mm": 120, "diameter_mm": 8, "modulus_n_per_mm2": 12000,
         "mass_g": 3.57},
        {"id": "R170", "pitch_mm": 169.6, "diameter_mm": 8, "modulus_n_per_mm2": 12000,
         "mass_g": 5.34},
    ],
    "hubs": [
        {
            "id": "H18",
            "title": "hub in one piece",
            "ports": [[x, y, z] for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1)
                      if 0 < abs(x) + abs(y) + abs(z) < 3],
            "mass_g": 11,
            "overhang_mm": 17,
            "seat_inset_mm": 10,
            "seat_play_mm": 0.15,
            "seat_stiffness_n_per_mm": 250,
            "tension_n": {"held": 60, "free": 60},
            "compression_n": 300,
        }
    ],
}  # fmt: skip


def _section(**faces: Any) -> dict[str, Any]:
    return {
        "id": "A",
        "title": "small shelf",
        "rods": {axis: [{"rod": "R120", "count": n}] for axis, n in (("x", 4), ("y", 3), ("z", 6))},
        "side_faces": {"default": "lean-in"},
        "cross_faces": {"every": 3},
        "fittings": [{"title": "equipment low down", "mass_kg": 4, "levels": [0, 1]}],
        **faces,
    }  # fmt: skip


HANGER: dict[str, Any] = {
    "nodes_mm": [[-1000, 0, 0], [0, 0, 0], [1000, 0, 0], [0, -1200, 0]],
    "members": {
        "start": [0, 1, 2],
        "end": [3, 3, 3],
        "axial_stiffness_n": [2.5e6, 2.5e6, 2.5e6],
        "tension_n": [1000, 1500, 1000],
        "compression_n": [400, 400, 400],
    },
    "supports": [
        {"node": 0, "fixed": ["x", "y", "z"]},
        {"node": 1, "fixed": ["x", "y", "z"]},
        {"node": 2, "fixed": ["x", "y", "z"]},
        {"node": 3, "fixed": ["z"]},
    ],
    "load_cases": [{"id": "down", "forces": [{"node": 3, "n": [0, -900, 0]}]}],
}

#: The same kit with a hub in two halves that slide along x, and how stiffly its seats turn.
SLIDING_KIT: dict[str, Any] = {
    **BEECH_KIT,
    "title": "Beech rods of 8 mm, a hub in one piece and one in two halves",
    "hubs": [
        {**BEECH_KIT["hubs"][0], "rotational_stiffness_n_mm_per_rad": 4000},
        {
            **BEECH_KIT["hubs"][0],
            "id": "H2P",
            "title": "hub in two halves",
            "two_part": True,
            "slides_along": [1, 0, 0],
            "tension_n": {"held": 60, "free": 24},
        },
    ],
}

#: A hinged frame of two posts and a beam, that only stiff joints keep from falling over.
PORTAL: dict[str, Any] = {
    "nodes_mm": [[0, 0, 0], [600, 0, 0], [0, 0, 600], [600, 0, 600]],
    "members": {
        "start": [0, 1, 2],
        "end": [2, 3, 3],
        "axial_stiffness_n": [6e5, 6e5, 6e5],
        "bending_stiffness_n_mm2": [2.4e6, 2.4e6, 2.4e6],
    },
    "supports": [
        {"node": 0, "fixed": ["x", "y", "z"]},
        {"node": 1, "fixed": ["x", "y", "z"]},
        {"node": 2, "fixed": ["y"]},
        {"node": 3, "fixed": ["y"]},
    ],
    "load_cases": [{"id": "leaning", "forces": [{"node": 2, "n": [0.5, 0, -2]}]}],
}

EXAMPLES = (
    Example(
        "A small box frame: does it stand, and can it be turned over?",
        {"kit": BEECH_KIT, "frame": {"layout": {"sections": [_section()]}}},
    ),
    Example(
        "The same with one face left bare and no diaphragms: where does it fold?",
        {
            "kit": BEECH_KIT,
            "frame": {
                "layout": {
                    "sections": [
                        _section(
                            cross_faces={"every": 0},
                            side_faces={"default": "lean-in", "y_minus": "none"},
                        )
                    ]
                }
            },
        },
    ),
    Example(
        "A hanger of three bars: forces, first failure and collapse",
        {"structure": HANGER, "node_mass_kg": [0, 0, 0, 10]},
    ),
    Example(
        "A pressed rod: when does it bow, straight and crooked?",
        {
            "column": {
                "length_mm": 149.6, "diameter_mm": 8, "modulus_n_per_mm2": 12000,
                "compression_strength_n_per_mm2": 40, "axial_load_n": 300,
            }
        },
    ),
    Example(
        "A laced column with posts: does it bow as a whole, or its chords between lacing points?",
        {
            "built_up_column": {
                "system": "posts", "panel_mm": 200, "panels_count": 36, "chord_distance_mm": 150,
                "modulus_n_per_mm2": 70000, "chord_area_mm2": 35, "chord_inertia_mm4": 480,
                "diagonal_area_mm2": 2, "post_area_mm2": 2, "axial_load_n": 1000,
            }
        },
    ),
    Example(
        "Hubs in two halves, crossed on two faces: which slide apart, and how to put them in?",
        {
            "kit": SLIDING_KIT,
            "frame": {
                "layout": {
                    "sections": [
                        {
                            "id": "A",
                            "rods": {axis: [{"rod": "R120", "count": n}]
                                     for axis, n in (("x", 6), ("y", 1), ("z", 1))},
                            "side_faces": {"default": "single", "y_minus": "crossed",
                                           "y_plus": "crossed", "z_minus": "alternating",
                                           "z_plus": "alternating"},
                            "cross_faces": {"every": 0},
                        }
                    ]
                }
            },
            "two_part_hubs": {"axis": "x"},
            "seat_after_slip_ratio": 0.6,
            "handling": {"cases": ["stand"]},
        },
    ),
    Example(
        "A box without a diagonal: do its hubs alone hold it, and how far does it sway?",
        {
            "kit": SLIDING_KIT,
            "frame": {
                "layout": {
                    "sections": [
                        _section(side_faces={"default": "none"}, cross_faces={"every": 0})
                    ]
                }
            },
            "joints": {"model": "semi-rigid"},
        },
    ),
    Example(
        "A frame of two posts and a beam whose joints turn stiffly: sway, moments and buckling",
        {
            "structure": PORTAL,
            "joints": {"model": "semi-rigid", "rotational_stiffness_n_mm_per_rad": 20000},
            "analyses": ["linear", "frame-buckling"],
        },
    ),
    Example(
        "The small box on the way: dropped, over a threshold, leaned on, with its balls in",
        {
            "kit": BEECH_KIT,
            "frame": {"layout": {"sections": [_section()]}},
            "analyses": ["linear"],
            "handling": {"cases": ["stand", "carry-upright"]},
            "partial_factors": {"set": "en-1990-like"},
            "travel": {
                "ball_loads": [{"balls_count": 30, "ball_mass_kg": 0.04, "levels": [2]}],
                "resting": ["rest-on-back"],
                "grips": {"A": [[[i, j, 3]] for i in (0, 4) for j in (0, 3)]},
                "drop": {
                    "height_mm": 20,
                    "foot_stiffness_min_n_per_mm": 4,
                    "foot_stiffness_max_n_per_mm": 15,
                },
                "threshold": {"wheel_radius_mm": 50, "step_mm": 20, "toward": ["x+"]},
                "leaning": {"category": "crowd-light", "person_n": 300, "guarded": True},
            },
        },
    ),
    Example(
        "Which diagonals can the small box spare, and does a lift shake it?",
        {
            "kit": BEECH_KIT,
            "frame": {"layout": {"sections": [_section()]}},
            "analyses": ["linear"],
            "handling": {"cases": ["stand", "carry-upright"]},
            "suggest": {"leave_out": True, "most_left_out": 4},
            "excitation": {"hooks_per_min": 20, "links_per_hook_count": 21, "teeth_count": 15},
        },
    ),
)  # fmt: skip
