"""Pictures."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Drawing, Label

VIEWS = {
    "sections": "Each section from the front, with dimensions over the hub ends",
    "passages": "Each section in each opening, in the position that works or misses by least",
    "rows": "The best row of rods of each span or axis as a chain of dimensions",
    "corner": "Each section in the corner of two corridors, seen from above",
}


def draw_view(value: Mapping[str, Any], view: str) -> Drawing:
    return Drawing(view, "x", [Label((0, 0), "x")])
