"""Pictures of a result: every number in them stands in the result."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Drawing

from ..frame import FRAME_VIEWS, LayoutSchema, build_frame, frame_drawing
from ..kit import Kit
from .drawing_passages import corner_drawing, passages_drawing
from .drawing_rows import rows_drawing
from .drawing_sections import sections_drawing

#: What each picture shows; the first is the default.
VIEWS = {
    "passages": "Each section in each opening, in the position that works or misses by least",
    "sections": "Each section from the front, with dimensions over the hub ends",
    "rows": "The best row of rods of each span or axis, as a chain of dimensions",
    "corner": "Each section in the corner of two corridors, seen from above",
    **FRAME_VIEWS,
}

_DRAWN = {
    "passages": passages_drawing,
    "sections": sections_drawing,
    "rows": rows_drawing,
    "corner": corner_drawing,
}


def draw_view(value: Mapping[str, Any], view: str, kit: Kit) -> Drawing:
    """The picture named `view`; one line of words where the result holds nothing of the kind."""
    if view not in FRAME_VIEWS:
        return _DRAWN[view](value)
    if "frame" not in value:
        words = "No frame: give a layout, or an envelope that closes."
        return Drawing("Frame", words, [])
    return frame_drawing(build_frame(LayoutSchema().load(value["frame"]["layout"]), kit), kit, view)
