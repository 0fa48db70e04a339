"""Inputs that show what can be asked."""

from typing import Any

from baywright_service.contract import Example

_ROD = {"diameter_mm": 8, "modulus_n_per_mm2": 12_000}
_AXES = [[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]]
_SLANTS = [
    place
    for a in (-1, 1)
    for b in (-1, 1)
    for place in ([a, b, 0], [a, 0, b], [0, a, b])
]  # fmt: skip
_KIT: dict[str, Any] = {
    "title": "Rods of 8 mm",
    "rods": [
        {"id": "R60", "pitch_mm": 60, "mass_g": 1.5, **_ROD},
        {"id": "R120", "pitch_mm": 120, "mass_g": 3.6, **_ROD},
        {"id": "R170", "pitch_mm": 169.6, "mass_g": 5.3, **_ROD},
    ],
    "hubs": [
        {
            "id": "H18",
            "ports": [*_AXES, *_SLANTS],
            "mass_g": 11,
            "overhang_mm": 17,
            "seat_inset_mm": 10,
            "seat_play_mm": 0.15,
            "seat_stiffness_n_per_mm": 250,
            "tension_n": {"held": 60, "free": 60},
            "compression_n": 300,
        }
    ],
}


def _box(name: str, x: int, y: int, z: int, low_kg: float) -> dict[str, Any]:
    return {
        "id": name,
        "rods": {
            axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", (x, y, z), strict=True)
        },
        "fittings": [{"title": "lifts and panels", "mass_kg": low_kg, "levels": [0, 1]}],
    }


EXAMPLES = (
    Example(
        "Two sections stated by mass and size: a tower on a trolley, and a low desk",
        {
            "sections": [
                {
                    "id": "tower",
                    "mass_kg": 21,
                    "size_mm": [640, 640, 1900],
                    "centre_mm": [320, 320, 760],
                    "base_mm": [600, 600],
                },
                {"id": "desk", "mass_kg": 13, "size_mm": [900, 640, 1100]},
            ],
            "loose_kg": 3.2,
            "trolley": {"raised_mm": 150, "rated_kg": 20, "sections": ["tower"]},
        },
    ),
    Example(
        "A frame of two coupled sections, and a crew of four on a way without stairs",
        {
            "kit": _KIT,
            "frame": {
                "layout": {
                    "sections": [_box("A", 3, 3, 8, 5.0), _box("B", 4, 3, 5, 4.0)],
                    "joints": [{"between": ["A", "B"], "rod": "R60"}],
                }
            },
            "first_node_plane_mm": 42,
            "crew_kg": [25, 25, 16, 16],
            "journey": {"distance_m": 80, "stairs": False},
        },
    ),
    Example(
        "A heavy cabinet on a sloping floor, held by ballast and outriggers",
        {
            "sections": [{"id": "cabinet", "mass_kg": 60, "size_mm": [700, 600, 1600]}],
            "slope_deg": 3,
            "holding": {"ballast_kg": 60, "outrigger_mm": 250},
            "crew_kg": [25, 25, 16],
        },
    ),
)
