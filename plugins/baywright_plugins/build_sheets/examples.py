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

_HUB: dict[str, Any] = {
    "id": "H18", "title": "one-piece hub", "ports": [*_SIX, *_TWELVE], "mass_g": 11,
    "overhang_mm": 17, "seat_inset_mm": 10, "seat_play_mm": 0.15, "seat_stiffness_n_per_mm": 250,
    "tension_n": {"held": 60, "free": 60}, "compression_n": 300,
}  # fmt: skip

KIT: dict[str, Any] = {
    "title": "Invented: 8 mm rods and hubs with eighteen seats",
    "rods": [
        {
            "id": f"R{pitch:.0f}", "pitch_mm": pitch, "diameter_mm": 8, "mass_g": mass,
            "modulus_n_per_mm2": 12000,
        }
        for pitch, mass in ((60, 1.4), (84.8, 2.3), (120, 3.6), (169.6, 5.3))
    ],
    "hubs": [_HUB],
}  # fmt: skip


def _section(name: str, x: int, y: int, z: int, **more: Any) -> dict[str, Any]:
    rods = {axis: [{"rod": "R120", "count": n}] for axis, n in zip("xyz", (x, y, z), strict=True)}
    return {"id": name, "rods": rods, "side_faces": {"default": "lean-in"}, **more}


_TWO = {
    "layout": {
        "title": "two sections",
        "sections": [_section("left", 4, 3, 6), _section("right", 4, 3, 4)],
        "joints": [{"between": ["left", "right"], "axis": "x", "rod": "R60"}],
    }
}

EXAMPLES = (
    Example("Two sections, the sheet of the first", {"kit": KIT, "frame": _TWO}),
    Example(
        "One level of the second section, right for A3",
        {"kit": KIT, "frame": _TWO, "sheet": "layer-right-1", "paper": "a3", "kinds": ["layer"]},
    ),
    Example(
        "A single beam, unfolded",
        {
            "kit": KIT,
            "frame": {"layout": {"sections": [_section("beam", 8, 1, 1)]}},
            "sheet": "beam-beam-1",
        },
    ),
    Example(
        "A frame given node by node",
        {
            "kit": KIT,
            "frame": {
                "nodes_mm": [[0, 0, 0], [120, 0, 0], [0, 120, 0], [0, 0, 120]],
                "members": {
                    "start": [0, 0, 0, 1, 1, 2],
                    "end": [1, 2, 3, 2, 3, 3],
                    "rod": ["R120", "R120", "R120", "R170", "R170", "R170"],
                },
            },
        },
    ),
)
