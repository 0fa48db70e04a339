"""Frames of box trusses: from beams on a module grid to nodes and members, merged where beams meet.

The same `Frame` feeds strength, counting and drawing, so that they can never disagree.
"""

from .build import build_frame
from .drawing import FRAME_VIEWS, frame_drawing
from .explicit import frame_from_members
from .faults import LayoutFault
from .inputs import frame_of
from .masses import centre_of_mass_mm, node_masses_kg
from .model import ROLES, Face, Frame, Section
from .projection import VIEWS, axonometric, projected
from .scene import frame_scene, over_hub_ends
from .schemas import FrameField, LayoutSchema, SectionSchema

__all__ = [
    "FRAME_VIEWS",
    "ROLES",
    "VIEWS",
    "Face",
    "Frame",
    "FrameField",
    "LayoutFault",
    "LayoutSchema",
    "Section",
    "SectionSchema",
    "axonometric",
    "build_frame",
    "centre_of_mass_mm",
    "frame_drawing",
    "frame_from_members",
    "frame_of",
    "frame_scene",
    "node_masses_kg",
    "over_hub_ends",
    "projected",
]
