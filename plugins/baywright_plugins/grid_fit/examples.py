"""Uses of grid-fit, each with valid inputs."""

from typing import Any

from baywright_service.contract import Example

_AXES = [[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]]
_SLANTS = [[a, b, 0] for a in (-1, 1) for b in (-1, 1)]
_SLANTS += [[a, 0, b] for a in (-1, 1) for b in (-1, 1)]
_SLANTS += [[0, a, b] for a in (-1, 1) for b in (-1, 1)]


def _rod(name: str, pitch_mm: float, mass_g: float) -> dict[str, Any]:
    return {
        "id": name,
        "pitch_mm": pitch_mm,
        "cut_mm": round(pitch_mm - 20, 3),
        "diameter_mm": 8,
        "modulus_n_per_mm2": 12000,
        "mass_g": mass_g,
    }


KIT: dict[str, Any] = {
    "title": "Beech rods of 8 mm with printed hubs",
    "rods": [
        _rod("R60", 60.0, 1.43),
        _rod("R85", 84.8, 2.31),
        _rod("R120", 120.0, 3.57),
        _rod("R170", 169.6, 5.34),
        _rod("R240", 240.0, 7.85),
    ],
    "hubs": [
        {
            "id": "H18",
            "title": "one-piece hub",
            "ports": _AXES + _SLANTS,
            "mass_g": 11,
            "overhang_mm": 17,
            "blank_overhang_mm": 9,
            "seat_inset_mm": 10,
            "seat_play_mm": 0.15,
            "seat_stiffness_n_per_mm": 250,
            "tension_n": {"held": 60, "free": 60},
            "compression_n": 300,
        }
    ],
}


def _row(rod: str, count: int) -> list[dict[str, Any]]:
    return [{"rod": rod, "count": count}]


EXAMPLES = (
    Example(
        "A machine for a corner of 1600 x 640 x 1240 mm, in two sections",
        {
            "kit": KIT,
            "envelope": {
                "size_mm": {"x": 1600, "y": 640, "z": 1240},
                "sections": {"x": 2},
                "joint_rod": "R60",
                "tolerance_mm": 70,
            },
            "passages": [{"id": "lift", "title": "Lift", "kind": "lift", "width_mm": 800,
                          "height_mm": 2000, "depth_mm": 1400}],
        },
    ),
    Example(
        "Two play sections and a side door that is too narrow",
        {
            "kit": KIT,
            "layout": {
                "sections": [
                    {"id": name, "rods": {"x": _row("R120", 6), "y": _row("R120", 6),
                                          "z": _row("R120", 8)}}
                    for name in ("left", "right")
                ],
                "joints": [{"between": ["left", "right"], "axis": "x", "rod": "R60"}],
            },
            "passages": [
                {"id": "side-door", "title": "Side door", "width_mm": 760, "height_mm": 2000,
                 "leaf_off_width_mm": 790},
                {"id": "hall", "title": "Hall corner", "kind": "corridor-corner",
                 "corner_mm": [1200, 1100]},
            ],
        },
    ),
    Example(
        "Does a ring of rods with one slanting side close?",
        {
            "kit": KIT,
            "loops": [
                {
                    "id": "gable",
                    "steps": [
                        {"rod": "R120", "direction": [1, 0, 0], "count": 2},
                        {"rod": "R170", "direction": [-1, 0, 1]},
                        {"rod": "R170", "direction": [-1, 0, -1]},
                    ],
                }
            ],
        },
    ),
    Example(
        "A bridge of 700 mm from the rods that are left, and a bay to be braced",
        {
            "kit": KIT,
            "spans": [
                {
                    "id": "bridge",
                    "wanted_mm": 700,
                    "most_rods": 24,
                    "counts": [{"rod": "R60", "count": 4}, {"rod": "R85", "count": 4},
                               {"rod": "R120", "count": 9}, {"rod": "R170", "count": 6},
                               {"rod": "R240", "count": 6}],
                }
            ],
            "bays": [{"rods": ["R120", "R120"]}, {"rods": ["R120", "R85"]}],
        },
    ),
    Example(
        "A flight case through a low hatch, leaning",
        {
            "kit": KIT,
            "boxes": [{"id": "case", "title": "flight case",
                       "outside_mm": {"x": 2500, "y": 50, "z": 2050}}],
            "passages": [{"id": "hatch", "width_mm": 2000, "height_mm": 900}],
            "clearances": {"each_side_mm": 0, "above_mm": 0, "lifted_mm": 0},
        },
    ),
)  # fmt: skip
