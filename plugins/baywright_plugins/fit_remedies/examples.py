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


_DOOR = {"id": "side-door", "title": "Side door", "width_mm": 745, "height_mm": 1960}

EXAMPLES = (
    Example(
        "Two sections too deep for the side door",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "sections": [_section("left", 7, 6, 7), _section("right", 7, 6, 7)],
                    "joints": [_joint("left", "right")],
                }
            },
            "passages": [{**_DOOR, "leaf_off_width_mm": 780}],
            "protrusions": [{"side": "z-minus", "mm": 25, "title": "feet"}],
            "most_ways": 3,
        },
    ),
    Example(
        "A lift car too short: move the joint, and keep the length of the machine",
        {
            "kit": KIT,
            "frame": {
                "layout": {
                    "sections": [_section("long", 9, 4, 8), _section("short", 5, 4, 8)],
                    "joints": [_joint("long", "short")],
                }
            },
            "passages": [
                {"id": "lift", "title": "Goods lift", "kind": "lift", "width_mm": 900,
                 "height_mm": 1100, "depth_mm": 1060}
            ],
            "allow": ["joint-moved", "bay-out", "bay-in"],
            "keep_length": ["x"],
            "most_ways": 3,
        },
    ),
    Example(
        "One long section and a tight corner: cut it in two",
        {
            "kit": KIT,
            "frame": {"layout": {"sections": [_section("bridge", 14, 3, 4)]}},
            "passages": [
                {"id": "hall", "title": "Hall corner", "kind": "corridor-corner",
                 "corner_mm": [800, 800], "ceiling_mm": 1500}
            ],
            "allow": ["split"],
            "fewest_bays": 5,
            "split_rod": "R60",
        },
    ),
)  # fmt: skip
