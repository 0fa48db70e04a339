"""The frame of the layout in space."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Scene

from ..frame import frame_scene
from .answer_frame import built
from .context import AXES, Context


def scene_of(context: Context, value: Mapping[str, Any]) -> Scene:
    """The layout given, or the best one found for the envelope."""
    if "frame" not in value:
        words = "No layout was given or found, so there is no frame to see."
        return Scene("Frame", words)
    raw = value["frame"]["layout"]
    x, y, z = (value["overall_outside_mm"][axis] for axis in AXES)
    frame = built(context, raw).frame
    return frame_scene(frame, context.kit, title=raw.get("title") or "Frame", size_mm=(x, y, z))
