"""The joints as rows."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

COLUMNS = (
    "first",
    "second",
    "axis",
    "rod",
    "rods_count",
    "possible_count",
    "gap_mm",
    "rod_misfit_mm",
    "clear_gap_mm",
    "play_mm",
    "sideways_mm",
    "mechanisms_count",
    "unseat_force_n",
    "unseat_slide_mm",
    "loose_mass_kg",
)


def joints_table(value: Mapping[str, Any]) -> TableData:
    """One row for each joint."""
    rows = [
        [*row["between"], *(row.get(column) for column in COLUMNS[2:])] for row in value["joints"]
    ]
    return TableData(COLUMNS, rows)
