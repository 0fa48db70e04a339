"""The result as rows for CSV."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

COLUMNS = (
    "section", "passage", "passes", "upright", "spare_mm", "attitude", "how", "carried", "obstacle",
    "governs", "needed_mm", "allowed_mm", "travel_axis", "angle_deg", "exactness",
)  # fmt: skip

#: where a thing stands in the vehicle: from its front wall, its left wall, its floor
PLACE = ("vehicle_order", "vehicle_along_mm", "vehicle_across_mm", "vehicle_up_mm")


def rows_table(value: Mapping[str, Any]) -> TableData:
    """One row for each section or box at each passage, then one for each in the vehicle."""
    rows = [[row[c] for c in COLUMNS] + [""] * len(PLACE) for row in value["passages"]]
    for row in value.get("vehicle", {}).get("placements", ()):
        known = {
            "section": row["id"],
            "passage": "vehicle",
            "passes": True,
            "upright": row["attitude"] == "upright",
            "attitude": row["attitude"],
            "obstacle": "load",
            "travel_axis": row["along_axis"],
        }
        place = [row["order"], *(float(mm) for mm in row["at_mm"])]
        rows.append([known.get(c, "") for c in COLUMNS] + place)
    return TableData((*COLUMNS, *PLACE), rows)
