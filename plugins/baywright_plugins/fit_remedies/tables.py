"""The result as rows for CSV: ways first, then what can be done without touching the grid."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

COLUMNS = (
    "rank", "what", "cost", "proven_best", "parts_changed_count", "hubs_saved_count", "rods_saved",
    "identity_kept", "coupling_faces_match", "braced_by", "governing_section",
    "governing_passage", "spare_mm", "passes",
)  # fmt: skip


def ways_table(value: Mapping[str, Any]) -> TableData:
    """One row for each way and each alternative."""
    rows = []
    for way in value.get("ways", ()):
        saved = " ".join(f"{row['count']:+d} {row['rod']}" for row in way["rods_saved"])
        rows.append(
            [
                way["rank"], way["message"], way["cost"], way["proven_best"],
                way["parts_changed_count"], way["hubs_saved_count"], saved,
                way["identity_kept"], way["coupling_faces_match"], way["braced_by"],
                way["governing_section"], way["governing_passage"], way["spare_mm"], True,
            ]
        )  # fmt: skip
    for one in value.get("alternatives", ()):
        rows.append(
            ["", one["message"], "", "", 0, 0, "", True, True, "", one["section"],
             one["passage"], one["spare_mm"], one["passes"]]
        )  # fmt: skip
    return TableData(COLUMNS, rows)
