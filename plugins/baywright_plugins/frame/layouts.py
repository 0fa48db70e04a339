"""Frames of layouts, built once for all layouts that differ in words and fittings only."""

import pickle
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from ..kit import Kit
from .build import build_frame, fittings_of
from .model import Frame
from .shared_work import Shared, key_of, unchangeable

#: What a section says beside where its rods are.
_BESIDE = ("title", "fittings")
#: About: a face, and its place in a frame.
_FACE_BYTES = 600
_frames: Shared[Frame] = Shared(limit_mib=16)


def frame_of_layout(layout: Mapping[str, Any], kit: Kit) -> Frame:
    """As `build_frame`; the frame must not be changed."""
    specs = layout["sections"]
    bare = [{name: spec[name] for name in spec if name not in _BESIDE} for spec in specs]
    rods = [(rod.id, rod.pitch_mm) for rod in kit.rods]
    play_mm = kit.frame_hub.seat.play_mm
    # Equal bytes are equal things; equal things of other bytes are built again, no more.
    key = key_of(pickle.dumps((bare, layout["joints"], rods, play_mm)))
    frame = _frames.of(key, lambda: build_frame(layout, kit), _size)
    sections = tuple(
        replace(section, title=spec["title"], fittings=fittings_of(spec))
        for section, spec in zip(frame.sections, specs, strict=True)
    )
    return replace(frame, sections=sections)


def _size(frame: Frame) -> int:
    columns = (
        frame.nodes_mm, frame.lattice, frame.node_section, frame.start, frame.end, frame.rod,
        frame.section, frame.role,
    )  # fmt: skip
    return unchangeable(*columns) + _FACE_BYTES * len(frame.faces)
