"""Examples: The Returns Desk with two lifts stopped, lanes and a basket, a network, a queue."""

from typing import Any

from baywright_service.contract import Example

_DESK: dict[str, Any] = {
    "required_balls_per_min": 60,
    "lifts": [{"id": "lift", "count": 4, "hooks_per_min": 20, "fill_ratio": 0.9}],
    "lift_transit_s": 27.33,
    "stations": {
        "collector_per_min": 110,
        "top_basin_per_min": 200,
        "floor_per_min": 200,
        "return_lane_per_min": 110,
        "divider_per_min": 100,
    },
    "paths": [
        {"id": "short", "transit_s": 14, "share_ratio": 0.4, "capacity_per_min": 60},
        {"id": "middle", "transit_s": 32, "share_ratio": 0.35, "capacity_per_min": 60},
        {"id": "long", "transit_s": 75, "share_ratio": 0.25, "capacity_per_min": 30},
    ],
    "queue": {"usual_count": 12, "free_places_count": 8, "basin_count": 8},
    "balls_count": 96,
    "ball_diameter_mm": 48,
}

EXAMPLES = (
    Example(
        "The Returns Desk: two of four lifts stop for three minutes",
        {
            **_DESK,
            "incidents": [
                {"lift": "lift-1", "stops_at_s": 0, "back_at_s": 180},
                {"lift": "lift-2", "stops_at_s": 0, "back_at_s": 180},
            ],
            "marks": [{"id": "bend-in-the-return-lane", "waiting_count": 5}],
            "put_back_s": 5,
            "runs_count": 8,
        },
    ),
    Example(
        "The same with two divider lanes that fill in order; all lifts on one motor",
        {
            **{key: part for key, part in _DESK.items() if key != "queue"},
            "lifts": [
                {"id": "left", "count": 2, "hooks_per_min": 20, "fill_ratio": 0.9, "motor": "m1"},
                {"id": "right", "count": 2, "hooks_per_min": 20, "fill_ratio": 0.9, "motor": "m1"},
            ],
            "divider_lanes": [
                {"id": "first-lane", "feeds": ["left"], "places_count": 10},
                {"id": "second-lane", "feeds": ["right"], "places_count": 10},
            ],
            "incidents": [{"lift": "m1", "stops_at_s": 10, "back_at_s": 60}],
            "routing": "random",
            "runs_count": 6,
        },
    ),
    Example(
        "A machine of one's own: a loop of two tracks, a gong that takes time, one lift",
        {
            "required_balls_per_min": 20,
            "network": {
                "entry": "top",
                "places": [
                    {"id": "top", "kind": "split", "routing": "rotation"},
                    {"id": "fast", "kind": "path", "transit_min_s": 8, "transit_max_s": 11},
                    {"id": "slow", "kind": "path", "transit_s": 40},
                    {"id": "gong", "kind": "station", "service_s": 2, "places_count": 3},
                    {"id": "foot", "kind": "line", "places_count": 12, "standing_count": 3},
                    {"id": "lift", "kind": "lift", "hooks_per_min": 30, "transit_s": 20},
                    {"id": "basket", "kind": "basket"},
                ],
                "links": [
                    {"start": "top", "end": "fast", "share_ratio": 0.75},
                    {"start": "top", "end": "slow", "share_ratio": 0.25},
                    {"start": "fast", "end": "gong"},
                    {"start": "gong", "end": "foot"},
                    {"start": "gong", "end": "foot", "overflow": True},
                    {"start": "slow", "end": "foot"},
                    {"start": "foot", "end": "lift"},
                    {"start": "foot", "end": "basket", "overflow": True},
                    {"start": "lift", "end": "top"},
                ],
            },
            "incidents": [{"lift": "lift", "stops_at_s": 30, "back_at_s": 60}],
            "runs_count": 8,
        },
    ),
    Example(
        "Visitors put balls in by chance: one server, two places to wait, the rest walk on",
        {
            "network": {
                "places": [
                    {
                        "id": "visitors",
                        "kind": "feed",
                        "rate_per_min": 8,
                        "times": "exponential",
                    },
                    {
                        "id": "counter",
                        "kind": "station",
                        "service_s": 6.6667,
                        "times": "exponential",
                        "places_count": 2,
                    },
                    {"id": "out", "kind": "drain"},
                    {"id": "away", "kind": "drain"},
                ],
                "links": [
                    {"start": "visitors", "end": "counter"},
                    {"start": "counter", "end": "out"},
                    {"start": "counter", "end": "away", "overflow": True},
                ],
            },
            "routing": "random",
            "runs_count": 10,
            "duration_s": 7200,
        },
    ),
)
