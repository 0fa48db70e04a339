"""The one way from a calculator's `frame` input to a frame."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Fault, InvalidInputs

from ..kit import Kit
from .explicit import frame_from_members
from .faults import LayoutFault
from .layouts import frame_of_layout
from .model import Frame


def frame_of(frame: Mapping[str, Any], kit: Kit, *, pointer: str = "/frame") -> Frame:
    """The frame that inputs loaded by `FrameField` describe.

    Raises InvalidInputs with the JSON Pointer of what does not fit.
    """
    try:
        if "layout" in frame:
            return frame_of_layout(frame["layout"], kit)
        return frame_from_members(frame, kit)
    except LayoutFault as fault:
        where = f"{pointer}{fault.pointer}"
        raise InvalidInputs([(where, Fault(fault.code, fault.detail))]) from fault
