"""The result as rows for CSV."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

Value = Mapping[str, Any]


def rows_table(value: Value) -> TableData:
    """One row per section and passage; without passages the rods of spans and axes; else loops."""
    if value.get("passages"):
        return _passages(value)
    if value.get("spans") or value.get("axes"):
        return _rows(value)
    if value.get("bays"):
        return _bays(value)
    return _loops(value)


def _passages(value: Value) -> TableData:
    columns = (
        "section", "passage", "passes", "upright", "attitude", "travel_axis", "angle_deg",
        "tight_side", "needed_mm", "allowed_mm", "spare_mm",
    )  # fmt: skip
    rows = [[row.get(column, "") for column in columns] for row in value["passages"]]
    return TableData(columns, rows)


def _rows(value: Value) -> TableData:
    columns = (
        "for", "wanted_mm", "rods", "length_mm", "misfit_mm", "play_mm", "play_used_ratio",
        "rod_count", "closes",
    )  # fmt: skip
    rows = []
    for record in (*value.get("spans", ()), *value.get("axes", ())):
        nearest = [record["nearest"]] if "nearest" in record else []
        for row in (*record["rows"], *nearest):
            rods = " + ".join(f"{run['count']} {run['rod']}" for run in row["rods"])
            rows.append(
                [
                    record.get("id", record.get("axis")), record["wanted_mm"], rods,
                    row["length_mm"], row["misfit_mm"], row["play_mm"],
                    row.get("play_used_ratio", ""), row["rod_count"], row["closes"],
                ]
            )  # fmt: skip
    return TableData(columns, rows)


def _bays(value: Value) -> TableData:
    columns = ("rods", "needed_mm", "closes", "rod", "misfit_mm", "nearest_rod",
               "nearest_misfit_mm", "faces_count")  # fmt: skip
    rows = [
        [" x ".join(row["rods"]), *(row.get(column, "") for column in columns[1:])]
        for row in value["bays"]
    ]
    return TableData(columns, rows)


def _loops(value: Value) -> TableData:
    columns = ("loop", "gap_mm", "play_used_ratio", "closes")
    rows = [
        [row["id"], row["gap_mm"], row.get("play_used_ratio", ""), row["closes"]]
        for row in value.get("loops", ())
    ]
    return TableData(columns, rows)
