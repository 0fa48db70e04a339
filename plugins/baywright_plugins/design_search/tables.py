"""Machines as rows: those of the set first, then the others with why they lost."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import TableData

COLUMNS = (
    "id", "in_set", "pieces_count", "mass_kg", "strength_reserve_ratio", "build_hours_h",
    "to_buy_count", "reason", "check", "beaten_by", "words", "message",
)  # fmt: skip


def machines_table(value: Mapping[str, Any]) -> TableData:
    """Every machine that was worked out."""
    rows = [
        [machine["id"], listed, *(machine.get(name, "") for name in COLUMNS[2:])]
        for listed, machines in ((True, value["machines"]), (False, value["lost"]))
        for machine in machines
    ]
    return TableData(COLUMNS, rows)
