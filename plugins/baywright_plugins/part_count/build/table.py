"""The plan as rows, one a step."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

_COLUMNS = (
    "section", "step", "where", "bays_count", "hubs_count", "rods_count", "diagonals_count",
    "snaps_count", "hubs_done_count", "rods_done_count", "ladders_count", "ladder_rods_count",
    "joining_rods_count", "steady", "person", "start_min", "end_min", "day",
)  # fmt: skip


def order_table(plan: Mapping[str, Any]) -> TableData:
    """Rows for CSV of a result that follows `BuildPlanOut`; a column for each part."""
    items = list(dict.fromkeys(item for row in plan["steps"] for item in row["parts"]))
    return TableData(
        [*_COLUMNS, "waits_for", *(f"{item}_count" for item in items), "bags"],
        [
            [
                *(row.get(name) for name in _COLUMNS),
                " ".join(str(step) for step in row["waits_for"]),
                *(row["parts"].get(item, 0) for item in items),
                _bags(plan, row),
            ]
            for row in plan["steps"]
        ],
    )


def _bags(plan: Mapping[str, Any], row: Mapping[str, Any]) -> str:
    """Numbers of the bags that serve the step, as they are listed, from 1."""
    return " ".join(
        str(number + 1)
        for number, bag in enumerate(plan["bags"])
        if bag["section"] == row["section"] and row["step"] in bag["steps"]
    )
