"""Places as rows for CSV."""

from collections.abc import Mapping
from typing import Any

_SETTLED = (
    "id",
    "kind",
    "rate_per_min",
    "capacity_per_min",
    "used_ratio",
    "hold_up_count",
    "overflow_per_min",
)
_SIMULATED = ("rate_per_min", "mean_count", "stay_s", "peak_count", "lost_ratio")
COLUMNS = _SETTLED + tuple(f"simulated_{key}" for key in _SIMULATED)


def rows_of(value: Mapping[str, Any]) -> list[list[Any]]:
    """One row a place, in the order of the machine."""
    return [
        [place.get(key, "") for key in _SETTLED]
        + [place.get("simulated", {}).get(key, "") for key in _SIMULATED]
        for place in value["places"]
    ]
