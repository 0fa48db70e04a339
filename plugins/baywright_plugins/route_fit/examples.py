"""Uses of route-fit, each with valid inputs."""

from typing import Any

from baywright_service.contract import Example

from ..grid_fit.examples import KIT


def _row(rod: str, count: int) -> list[dict[str, Any]]:
    return [{"rod": rod, "count": count}]


def _section(id: str, x: int, y: int, z: int) -> dict[str, Any]:
    return {"id": id, "rods": {"x": _row("R120", x), "y": _row("R120", y), "z": _row("R120", z)}}


EXAMPLES = (
    Example(
        "Two sections from the workshop over a passage, stairs and a lift into the hall",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "sections": [_section("tower", 4, 5, 15), _section("play", 8, 5, 11)],
                    "joints": [{"between": ["tower", "play"], "axis": "x", "rod": "R60"}],
                }
            },
            "protrusions": [
                {"side": "z-minus", "mm": 25, "title": "feet", "place": "four-corners",
                 "pad_mm": 40},
                {"sections": ["tower"], "side": "y-plus", "mm": 90, "title": "drive sprocket",
                 "place": "patches", "patches_mm": [[150, 1500, 330, 1700]]},
            ],
            "passages": [
                {"id": "workshop", "title": "Workshop door", "width_mm": 900, "height_mm": 2050},
                {"id": "yard-stairs", "title": "Yard stairs", "kind": "stairs",
                 "flight": {"going_mm": 280, "rise_mm": 170, "width_mm": 1200,
                            "headroom_mm": 2900},
                 "landings": [{"turn": "half", "length_mm": 2400, "width_mm": 2600}]},
                {"id": "goods-lift", "title": "Goods lift", "kind": "lift", "width_mm": 1200,
                 "height_mm": 2100, "depth_mm": 2000, "inside_width_mm": 1400,
                 "inside_height_mm": 2200},
                {"id": "hall", "title": "Hall door", "width_mm": 800, "height_mm": 2030,
                 "before_mm": 1800, "reveal_mm": 200, "leaf_off_width_mm": 840},
            ],
            "vehicle": {"length_mm": 2600, "width_mm": 1600, "height_mm": 1700,
                        "door_width_mm": 1500, "door_height_mm": 1600,
                        "items": [{"id": "play", "do_not_stack": True}]},
        },
    ),
    Example(
        "A flight case and a plank through a published door, a lift and two corners",
        {
            "boxes": [
                {"id": "case", "outside_mm": {"x": 1200, "y": 600, "z": 900}, "keep_upright": True},
                {"id": "plank", "outside_mm": {"x": 3000, "y": 300, "z": 40}},
            ],
            "passages": [
                {"id": "entrance", "title": "Entrance", "library": "ada-clear-door"},
                {"id": "lift", "title": "Lift", "kind": "lift", "library": "lift-1000",
                 "height_mm": 2000, "inside_height_mm": 2200},
                {"id": "corridor", "title": "Back corridor", "kind": "corridor-corner",
                 "corridors_mm": [1400, 1200, 1300], "legs_mm": [3400], "ceiling_mm": 2400},
            ],
        },
    ),
    Example(
        "A box with a motor on one side, past a crash bar",
        {
            "boxes": [
                {
                    "id": "drive",
                    "outside_mm": {"x": 900, "y": 760, "z": 1500},
                    "outline": [
                        {"low_mm": [0, 0, 0], "high_mm": [900, 640, 1500]},
                        {"low_mm": [300, 640, 1300], "high_mm": [500, 760, 1500]},
                    ],
                }
            ],
            "passages": [
                {"id": "stage-door", "title": "Stage door", "width_mm": 800, "height_mm": 2040,
                 "hardware": [{"side": "right", "projects_mm": 90, "from_mm": 850, "to_mm": 1100,
                               "title": "crash bar", "removable": True}]},
            ],
        },
    ),
)  # fmt: skip
