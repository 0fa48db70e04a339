"""Segments as rows."""

from collections.abc import Mapping
from typing import Any

COLUMNS = (
    "name",
    "kind",
    "support",
    "start_mm",
    "length_mm",
    "run_mm",
    "fall_mm",
    "height_start_mm",
    "height_end_mm",
    "passed",
    "ends",
    "speed_in_low_m_per_s",
    "speed_in_high_m_per_s",
    "speed_out_low_m_per_s",
    "speed_out_high_m_per_s",
    "speed_most_m_per_s",
    "time_low_s",
    "time_high_s",
    "slope_min_percent",
    "fall_min_mm",
    "slips",
)


def rows(value: Mapping[str, Any]) -> list[list[Any]]:
    """One row a segment; what does not apply is empty."""
    return [[segment.get(column) for column in COLUMNS] for segment in value["segments"]]
