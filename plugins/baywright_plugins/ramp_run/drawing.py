"""The ramp from the side, its landing, and its supports cut across. Shapes in millimetres."""

from collections.abc import Callable, Mapping
from typing import Any

from baywright_service.contract import Drawing

from .drawing_landing import landing
from .drawing_profile import profile
from .drawing_section import section

VIEWS: Mapping[str, Callable[[Mapping[str, Any], Mapping[str, Any]], Drawing]] = {
    "profile": profile,
    "landing": landing,
    "section": section,
}
