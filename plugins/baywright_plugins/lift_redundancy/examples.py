"""Examples: The Returns Desk as planned and as changed, a chain alone, a network of one's own."""

from typing import Any

from baywright_service.contract import Example

_AROUND: dict[str, Any] = {
    "required_balls_per_min": 60,
    "hours_per_day_h": 6,
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
    "gravity_m_s2": 9.81,
}
_CHAIN: dict[str, Any] = {
    "pitch_mm": 12.7,
    "teeth_count": 15,
    "centre_distance_mm": 1680,
    "hook_spacing_links_count": 14,
    "hooks_per_min": 20,
    "fill_ratio": 0.9,
    "ball_mass_kg": 0.041,
    "loaded_height_mm": 1620,
    "efficiency_ratio": 0.5,
    "service_factor": 2.0,
    "frame_frequencies_hz": [3.93, 4.3, 5.57, 11.97],
}


def _lifts(count: int) -> list[dict[str, Any]]:
    return [{"id": "lift", "count": count, "mtbf_h": 16, "mttr_h": 0.25}]


EXAMPLES = (
    Example(
        "The Returns Desk as planned: four lifts, each of them needed",
        {**_AROUND, "lifts": _lifts(4), "chain": _CHAIN},
    ),
    Example(
        "The Returns Desk as changed: five lifts, hooks every 28 links",
        {**_AROUND, "lifts": _lifts(5), "chain": {**_CHAIN, "hook_spacing_links_count": 28}},
    ),
    Example(
        "A chain alone, on sprockets of 17 and 51 teeth",
        {
            "chain": {
                "pitch_mm": 12.7,
                "teeth_count": 17,
                "tail_teeth_count": 51,
                "centre_distance_mm": 508,
                "shaft_turns_per_min": 30,
            }
        },
    ),
    Example(
        "Three unlike lifts, two on one motor, fed by two divider lanes",
        {
            "required_balls_per_min": 30,
            "lifts": [
                {"id": "left", "capacity_per_min": 20, "mtbf_h": 20, "mttr_h": 0.3, "motor": "M1"},
                {"id": "right", "capacity_per_min": 20, "mtbf_h": 20, "mttr_h": 0.3, "motor": "M1"},
                {"id": "screw", "capacity_per_min": 30, "mtbf_h": 40, "mttr_h": 1},
            ],
            "stations": {"divider_per_min": 80, "return_lane_per_min": 60},
            "divider_lanes": [
                {"id": "first-lane", "capacity_per_min": 25, "feeds": ["left", "right"]},
                {"id": "last-lane", "capacity_per_min": 40, "feeds": ["right", "screw"]},
            ],
        },
    ),
    Example(
        "A network of your own: a bridge of five links that each work nine tenths of the time",
        {
            "network": {
                "source": "s",
                "sink": "t",
                "links": [
                    {"id": "1", "start": "s", "end": "a", "availability_ratio": 0.9},
                    {"id": "2", "start": "s", "end": "b", "availability_ratio": 0.9},
                    {"id": "3", "start": "a", "end": "t", "availability_ratio": 0.9},
                    {"id": "4", "start": "b", "end": "t", "availability_ratio": 0.9},
                    {
                        "id": "5",
                        "start": "a",
                        "end": "b",
                        "both_ways": True,
                        "availability_ratio": 0.9,
                    },
                ],
            }
        },
    ),
    Example(
        "The Returns Desk on tour: one power strip, planned work, a box of spares, what to do next",
        {
            **_AROUND,
            "lifts": [{**_lifts(5)[0], "power_supply": "strip", "hooks_per_min": 20}],
            "shared_causes": [{"id": "strip", "mtbf_h": 400, "mttr_h": 0.5}],
            "station_parts": [{"id": "divider", "mtbf_h": 120, "mttr_h": 0.1}],
            "common_cause": {"beta_ratio": 0.05},
            "lift_transit_s": 27.3,
            "repair_order": "important-first",
            "maintenance": {"duration_h": 0.25, "interval_h": 40},
            "tour": {
                "running_hours_h": 120,
                "confidence_ratio": 0.95,
                "parts": [
                    {"id": "motor", "in_machine_count": 5, "mtbf_h": 2000, "in_box_count": 1},
                    {
                        "id": "chain",
                        "in_machine_count": 5,
                        "mtbf_h": 600,
                        "in_box_count": 2,
                        "renewed_after_h": 12,
                    },
                ],
            },
            "ball_diameter_mm": 25,
        },
    ),
)
