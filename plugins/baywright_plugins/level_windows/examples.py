"""Inputs that show one use each."""

from typing import Any

from baywright_service.contract import Example

_BALL = {"ball_diameter_mm": 48, "margin_mm": 10}


def returns_desk(*, slope_percent: float, trolley_must: bool) -> dict[str, Any]:
    """The heights of the Returns Desk: from the tail of the lift to the top of its tower."""
    return {
        "grid": {"module_mm": 60, "first_plane_mm": 42},
        "levels": [
            {"id": "first-plane", "title": "First node plane", "pinned_mm": 42},
            {"id": "tail-sprocket", "title": "Tail sprocket of the lift"},
            {"id": "lane-end", "title": "Low end of the return lane"},
            {"id": "lane-start", "title": "High end of the return lane"},
            {"id": "play-floor", "title": "Play floor, low edge"},
            {"id": "track-end", "title": "End of the long track"},
            {"id": "track-start", "title": "Start of the long track"},
            {"id": "basin", "title": "Top basin"},
            {"id": "discharge", "title": "Discharge of the lift"},
            {"id": "head-sprocket", "title": "Head sprocket of the lift"},
            {"id": "tower-top", "title": "Top of the tower", "snapped": False},
        ],
        "requirements": [
            {
                "id": "tail-bay",
                "title": "One bay of R120 under the tail sprocket",
                "below": "first-plane",
                "above": "tail-sprocket",
                "module_step": {"modules_count": 2, "rule": "at-least"},
                "fixed": True,
            },
            {
                "id": "pick-up",
                "title": "Hooks pick balls up, half a ball above the tail sprocket",
                "below": "tail-sprocket",
                "above": "lane-end",
                "hook_reach": {"reach_min_mm": 24, "reach_max_mm": 72},
                "fixed": True,
            },
            {
                "id": "return-lane",
                "title": "Return lane",
                "below": "lane-end",
                "above": "lane-start",
                "run": {"length_mm": 3000, "slope_min_percent": 2.5, "slope_max_percent": 5},
            },
            {
                "id": "lane-under-floor",
                "title": "Balls pass between return lane and play floor",
                "below": "lane-start",
                "above": "play-floor",
                "ball_clearance": _BALL,
                "fixed": True,
            },
            {
                "id": "drop-feature",
                "title": "Drop feature with a ball above it",
                "below": "play-floor",
                "above": "track-end",
                "ball_clearance": {"ball_diameter_mm": 48, "thickness_mm": 240},
            },
            {
                "id": "drop-limit",
                "title": "Balls fall no deeper onto the floor",
                "below": "play-floor",
                "above": "track-end",
                "drop_limit": {"drop_max_mm": 480},
            },
            {
                "id": "long-track",
                "title": "Long track",
                "below": "track-end",
                "above": "track-start",
                "run": {
                    "length_mm": 24000,
                    "slope_min_percent": slope_percent,
                    "slope_max_percent": 5,
                },
            },
            {
                "id": "basin-run",
                "title": "Run from the basin to the long track",
                "below": "track-start",
                "above": "basin",
                "run": {"length_mm": 1200, "slope_min_percent": 2.5, "slope_max_percent": 8},
            },
            {
                "id": "into-basin",
                "title": "Balls drop into the basin",
                "below": "basin",
                "above": "discharge",
                "ball_clearance": _BALL,
                "fixed": True,
            },
            {
                "id": "tip-out",
                "title": "Hooks tip balls out, half a ball below the head sprocket",
                "below": "discharge",
                "above": "head-sprocket",
                "hook_reach": {"reach_min_mm": 24, "reach_max_mm": 72},
                "fixed": True,
            },
            {
                "id": "tower-head",
                "title": "Hub overhang 17 and sprocket 44 above the head sprocket",
                "below": "head-sprocket",
                "above": "tower-top",
                "equal": {"difference_mm": 61},
            },
            {
                "id": "chapel-door",
                "title": "Tower upright through the door of Old Chapel",
                "above": "tower-top",
                "door": {"door_height_mm": 1960, "clearance_mm": 15},
            },
            {
                "id": "chapel-trolley",
                "title": "Tower on its trolley through the door of Old Chapel",
                "above": "tower-top",
                "door": {"door_height_mm": 1960, "clearance_mm": 15, "trolley_mm": 150},
                "wish": not trolley_must,
            },
        ],
    }


EXAMPLES = (
    Example(
        "The Returns Desk: how high is the tower, and does it pass a door on its trolley?",
        returns_desk(slope_percent=4, trolley_must=False),
    ),
    Example(
        "The same with a flatter long track: the trolley fits",
        returns_desk(slope_percent=3.5, trolley_must=True),
    ),
    Example(
        "Two drops and a lift that is too short: five millimetres missing, without a grid",
        {
            "levels": [
                {"id": "lift-foot", "title": "Foot of the lift", "pinned_mm": 100},
                {"id": "landing", "title": "Landing"},
                {"id": "lift-top", "title": "Top of the lift"},
            ],
            "requirements": [
                {
                    "id": "first-drop",
                    "title": "First drop",
                    "below": "landing",
                    "above": "lift-top",
                    "gap": {"gap_min_mm": 40},
                },
                {
                    "id": "second-drop",
                    "title": "Second drop",
                    "below": "lift-foot",
                    "above": "landing",
                    "gap": {"gap_min_mm": 25},
                },
                {
                    "id": "lift",
                    "title": "Lift",
                    "below": "lift-foot",
                    "above": "lift-top",
                    "lift": {"rise_max_mm": 60},
                },
            ],
        },
    ),
    Example(
        "What if the deck is pinned, and do the heights in mind hold?",
        {
            "grid": {"module_mm": 50, "first_plane_mm": 30},
            "levels": [
                {"id": "floor", "title": "Floor", "at_least_mm": 130, "at_most_mm": 430},
                {"id": "ramp-foot", "title": "Foot of the ramp", "snapped": False},
                {"id": "deck", "title": "Deck", "at_most_mm": 830},
            ],
            "requirements": [
                {
                    "id": "landing",
                    "title": "Balls drop onto the floor",
                    "below": "floor",
                    "above": "ramp-foot",
                    "drop_limit": {"drop_min_mm": 60, "drop_max_mm": 120},
                },
                {
                    "id": "ramp",
                    "title": "Ramp",
                    "below": "ramp-foot",
                    "above": "deck",
                    "run": {"fall_min_mm": 170, "fall_max_mm": 230},
                },
            ],
            "pins": [{"level": "deck", "at_mm": 530}],
            "proposal": [
                {"level": "floor", "at_mm": 230},
                {"level": "ramp-foot", "at_mm": 320},
                {"level": "deck", "at_mm": 530},
            ],
            "slack_wanted_mm": 5,
        },
    ),
)
