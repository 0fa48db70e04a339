"""Pictures of a result. Computes no number."""

from collections.abc import Callable, Mapping
from typing import Any

from baywright_service.contract import Drawing

from .drawing_circuit import draw_circuit
from .drawing_timeline import draw_timeline

VIEWS: Mapping[str, Callable[[Mapping[str, Any], Mapping[str, Any]], Drawing]] = {
    "circuit": draw_circuit,
    "timeline": draw_timeline,
}
