"""The plan as rows below those of the parts, one a step."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

_COLUMNS = (
    "step", "bays_count", "hubs_count", "rods_count", "diagonals_count", "snaps_count",
    "hubs_done_count", "rods_done_count", "ladders_count", "steady", "person", "start_min",
    "end_min", "day",
)  # fmt: skip


def order_table(parts: TableData, plan: Mapping[str, Any]) -> TableData:
    """The table of parts with a row of the kind "step" for each step below, and columns that only
    these fill: the steps waited for, the bags to fetch (numbers in the list of bags), the pieces.

    Args:
        parts: has the columns item, title, kind and total_count. plan: follows `BuildPlanOut`.
    """
    more = [*_COLUMNS, "waits_for", "bags", "pieces"]
    blank = [None] * len(more)
    rows = [[*row, *blank] for row in parts.rows]
    for row in plan["steps"]:
        known = {
            "item": f"{row['section']} step {row['step']}",
            "title": row["where"],
            "kind": "step",
            "total_count": sum(row["parts"].values()),
        }
        rows.append(
            [
                *(known.get(name) for name in parts.columns),
                *(row.get(name) for name in _COLUMNS),
                " ".join(str(step) for step in row["waits_for"]),
                _bags(plan, row),
                ", ".join(f"{count} {item}" for item, count in row["parts"].items()),
            ]
        )
    return TableData([*parts.columns, *more], rows)


def _bags(plan: Mapping[str, Any], row: Mapping[str, Any]) -> str:
    return " ".join(
        str(number + 1)
        for number, bag in enumerate(plan["bags"])
        if bag["section"] == row["section"] and row["step"] in bag["steps"]
    )
