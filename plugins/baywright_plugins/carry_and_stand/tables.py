"""Sections as rows."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

_COLUMNS = (
    "section", "mass_kg", "size_x_mm", "size_y_mm", "size_z_mm", "centre_height_mm",
    "grip_height_mm", "people_count", "people_stairs_count", "people_set_by", "lifting_index_ratio",
    "stairs_low_end_kg", "tip_standing_deg", "tip_on_castors_deg", "tips_to", "lean_most_n",
    "castor_design_kg", "van_ratio", "van_upright", "rests_count", "trip_min", "set_up_number",
)  # fmt: skip


def sections_table(value: Mapping[str, Any]) -> TableData:
    """One row for each section; empty where there is no number."""
    order = [step["section"] for step in value["set_up"]["steps"]]
    return TableData(_COLUMNS, [_row(row, order) for row in value["sections"]])


def _row(row: Mapping[str, Any], order: list[str]) -> tuple[Any, ...]:
    standing, lifting = row["standing"], row["lifting"]
    indices = [lifting[end].get("index_ratio") for end in ("origin", "destination")]
    return (
        row["id"],
        row["mass_kg"],
        *row["size_mm"],
        row["centre_mm"][2],
        row["grips"]["height_mm"],
        row.get("people_count", ""),
        row.get("people_stairs_count", ""),
        row["why"],
        "" if None in indices else max(indices),
        row["ways"][2]["ends"][0]["share_kg"] if len(row["ways"]) > 2 else "",
        standing[0]["tip_deg"],
        standing[1]["tip_deg"] if len(standing) > 1 else "",
        standing[0]["toward"],
        standing[0]["lean_most_n"],
        row["castors"]["design_kg"] if "castors" in row else "",
        row["van"]["ratio"],
        row["van"]["upright_ok"],
        row["rests_count"],
        row["trip_s"] / 60,
        order.index(row["id"]) + 1,
    )
