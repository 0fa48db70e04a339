"""Uses of fit-remedies, each with valid inputs."""

from typing import Any

from baywright_service.contract import Example

from ..grid_fit.examples import KIT


def _row(rod: str, count: int) -> list[dict[str, Any]]:
    return [{"rod": rod, "count": count}]


def _section(name: str, x: int, y: int, z: int) -> dict[str, Any]:
    return {
        "id": name,
        "rods": {"x": _row("R120", x), "y": _row("R120", y), "z": _row("R120", z)},
        "side_faces": {"default": "lean-in"},
    }


def _joint(first: str, second: str) -> dict[str, Any]:
    return {"between": [first, second], "axis": "x", "rod": "R60"}


EXAMPLES = (
    Example(
        "Two sections too deep for a side hatch",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "sections": [_section("left", 4, 4, 5), _section("right", 4, 4, 5)],
                    "joints": [_joint("left", "right")],
                }
            },
            "passages": [
                {"id": "hatch", "title": "Side hatch", "width_mm": 510, "height_mm": 1200,
                 "leaf_off_width_mm": 545}
            ],
            "allow": ["bay-out", "split"],
            "protrusions": [{"side": "z-minus", "mm": 25, "title": "feet"}],
            "most_ways": 2,
        },
    ),
    Example(
        "A lift car too short: move the joint, and keep the length of the machine",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "sections": [_section("long", 6, 3, 4), _section("short", 3, 3, 4)],
                    "joints": [_joint("long", "short")],
                }
            },
            "passages": [
                {"id": "lift", "title": "Goods lift", "kind": "lift", "width_mm": 600,
                 "height_mm": 700, "depth_mm": 690}
            ],
            "allow": ["joint-moved", "bay-out", "bay-in"],
            "keep_length": ["x"],
            "most_ways": 2,
        },
    ),
    Example(
        "One long section and a tight corner: cut it in two",
        {
            "kit": KIT,
            "frame": {"layout": {"sections": [_section("bridge", 10, 2, 2)]}},
            "passages": [
                {"id": "hall", "title": "Hall corner", "kind": "corridor-corner",
                 "corner_mm": [550, 550], "ceiling_mm": 1100}
            ],
            "allow": ["split"],
            "fewest_bays": 4,
            "split_rod": "R60",
        },
    ),
)  # fmt: skip
