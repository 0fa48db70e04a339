"""The result as rows for CSV."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

COLUMNS = (
    "section", "passage", "passes", "upright", "spare_mm", "attitude", "how", "carried", "obstacle",
    "governs", "needed_mm", "allowed_mm", "travel_axis", "angle_deg", "exactness",
)  # fmt: skip


def rows_table(value: Mapping[str, Any]) -> TableData:
    """One row for each section or box at each passage."""
    return TableData(COLUMNS, [[row[column] for column in COLUMNS] for row in value["passages"]])
