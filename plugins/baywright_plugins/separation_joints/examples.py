"""Inputs that show one use each."""

from typing import Any

from baywright_service.contract import Example

_SIX = [[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]]
_TWELVE = [
    [a if k == i else b if k == j else 0 for k in range(3)]
    for i, j in ((0, 1), (0, 2), (1, 2))
    for a in (1, -1)
    for b in (1, -1)
]

KIT: dict[str, Any] = {
    "title": "Invented: 8 mm rods and hubs with eighteen seats",
    "rods": [
        {
            "id": f"R{pitch:.0f}", "pitch_mm": pitch, "diameter_mm": 8, "mass_g": mass,
            "modulus_n_per_mm2": 12000,
        }
        for pitch, mass in ((60, 1.4), (84.8, 2.3), (120, 3.6), (169.6, 5.3))
    ],
    "hubs": [
        {
            "id": "H18", "ports": [*_SIX, *_TWELVE], "mass_g": 11, "overhang_mm": 17,
            "seat_inset_mm": 10, "seat_play_mm": 0.15, "seat_stiffness_n_per_mm": 250,
            "tension_n": {"held": 60, "free": 60}, "compression_n": 300,
        }
    ],
}  # fmt: skip


def _section(name: str, x: int, y: int, z: int, **more: Any) -> dict[str, Any]:
    rods = {axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", (x, y, z), strict=True)}
    return {"id": name, "rods": rods, "side_faces": {"default": "lean-in"}, **more}


EXAMPLES = (
    Example(
        "Two sections, and a floor strip and a chain across the joint",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "sections": [
                        _section(
                            "left", 3, 2, 5,
                            fittings=[{"title": "lift", "mass_kg": 6, "levels": [0, 1]}],
                        ),
                        _section("right", 3, 2, 3),
                    ],
                    "joints": [{"between": ["left", "right"], "axis": "x", "rod": "R60"}],
                }
            },
            "bridges": [
                {
                    "id": "floor", "title": "floor strip", "kind": "floor", "length_mm": 64,
                    "width_mm": 300, "count": 1, "mass_kg": 0.2, "height_mm": 240,
                },
                {
                    "id": "cable", "title": "cable", "kind": "cable", "how": "loose",
                    "rests_on": "hub-ends", "length_mm": 60, "tolerance_mm": 20,
                },
            ],
            "wanted": {"clear_gap_min_mm": 20, "clear_gap_max_mm": 40, "alignment_mm": 2},
        },
    ),
    Example(
        "A beam whose ends were left open, because the neighbour would brace them",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "sections": [
                        _section(
                            "post", 1, 1, 6,
                            side_faces={"default": "alternating", "z_plus": "none"},
                            cross_faces={"every": 0},
                        ),
                        _section("head", 1, 1, 3),
                    ],
                    "joints": [{"between": ["post", "head"], "axis": "z", "rod": "R60"}],
                }
            },
        },
    ),
    Example(
        "A section too heavy to carry, cut where both pieces stay rigid",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "sections": [
                        _section(
                            "long", 8, 2, 2,
                            fittings=[{"title": "tracks", "mass_kg": 8, "levels": [-1]}],
                        )
                    ]
                }
            },
            "look_for_cuts": [{"section": "long", "axis": "x", "rod": "R60"}],
            "wanted": {"section_mass_max_kg": 7},
        },
    ),
    Example(
        "Two cubes given rod by rod, coupled by four rods",
        {
            "kit": KIT,
            "frame": {
                "nodes_mm": [
                    [x + shift, y, z]
                    for shift in (0, 180)
                    for x in (0, 120)
                    for y in (0, 120)
                    for z in (0, 120)
                ],
                "members": {
                    "start": [
                        0, 0, 0, 1, 1, 2, 2, 3, 4, 4, 5, 6, 0, 4, 0, 2, 0, 1,
                        8, 8, 8, 9, 9, 10, 10, 11, 12, 12, 13, 14, 8, 12, 8, 10, 8, 9,
                        4, 5, 6, 7,
                    ],
                    "end": [
                        1, 2, 4, 3, 5, 3, 6, 7, 5, 6, 7, 7, 3, 7, 5, 7, 6, 7,
                        9, 10, 12, 11, 13, 11, 14, 15, 13, 14, 15, 15, 11, 15, 13, 15, 14, 15,
                        8, 9, 10, 11,
                    ],
                    "rod": [
                        *(["R120"] * 12 + ["R170"] * 6) * 2, *["R60"] * 4,
                    ],
                    "section": [*["one"] * 18, *["two"] * 18, *["joint"] * 4],
                },
            },
        },
    ),
)  # fmt: skip
