"""What is free on the shelf."""

from collections.abc import Mapping
from typing import Any


def available_counts(stock: Mapping[str, Any]) -> dict[str, int]:
    """Free pieces by part id: on hand less reserved, never below zero."""
    return {
        row["item"]: max(row["on_hand_count"] - row["reserved_count"], 0) for row in stock["counts"]
    }
