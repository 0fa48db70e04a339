"""Results as rows for CSV."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from baywright_service.contract import TableData

SECTION_COLUMNS = (
    "section", "case", "kind", "first_slip_factor", "required_factor", "collapse_factor",
    "member", "role", "rod", "from", "to", "force_n", "mode",
)  # fmt: skip


def section_table(value: Mapping[str, Any]) -> TableData:
    """One row for each section and case; a section that folds has one row that says so."""
    rows: list[list[Any]] = []
    for section in value["sections"]:
        if not section["cases"]:
            count = section["stability"]["mechanisms"]
            words = f"{count} mechanisms" if count else "no case"
            rows.append([section["section"], words, *[None] * (len(SECTION_COLUMNS) - 2)])
        for case in section["cases"]:
            bar = case.get("governing", {})
            ends = bar.get("between", bar.get("nodes", (None, None)))
            rows.append(
                [
                    section["section"], case["id"], case["kind"], case.get("first_slip_factor"),
                    case["required_factor"], case.get("collapse_factor"), bar.get("member"),
                    bar.get("role"), bar.get("rod"), _place(ends[0]), _place(ends[1]),
                    bar.get("force_n"), bar.get("mode"),
                ]
            )  # fmt: skip
    return TableData(SECTION_COLUMNS, rows)


def _place(end: Any) -> str | None:
    if end is None:
        return None
    return " ".join(str(x) for x in end) if isinstance(end, list) else str(end)


def structure_table(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> TableData:
    """One row for each member and load case."""
    members = inputs["structure"]["members"]
    columns = ["load_case", "member", "start_node", "end_node", "force_n"]
    capable = "tension_n" in members and "compression_n" in members
    rows: list[list[Any]] = []
    for case in value["load_cases"]:
        force = np.asarray(case["member_force_n"])
        for member, (a, b, n) in enumerate(
            zip(members["start"].tolist(), members["end"].tolist(), force.tolist(), strict=True)
        ):
            row = [case["id"], member, a, b, n]
            if capable:
                limit = members["tension_n"] if n > 0 else members["compression_n"]
                row.append(abs(n) / float(limit[member]))
            rows.append(row)
    return TableData([*columns, "utilisation_ratio"] if capable else columns, rows)


def column_table(value: Mapping[str, Any]) -> TableData:
    """One row for each number of a column."""
    rows = [[name, number] for name, number in value.items() if not isinstance(number, str)]
    return TableData(("quantity", "value"), rows)
