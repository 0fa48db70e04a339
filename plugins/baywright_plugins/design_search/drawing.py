"""The views, and what they share: scales with the better end marked."""

from collections.abc import Callable, Mapping
from typing import Any

from baywright_service.contract import Drawing

from .drawing_parallel import parallel
from .drawing_scatter import scatter

Json = Mapping[str, Any]

VIEWS: Mapping[str, str] = {
    "parallel": "Every machine as a line over one axis for each objective, the better end on top.",
    "scatter": "Two objectives against each other, with the machines that no other one beats.",
}

_DRAW: Mapping[str, Callable[[Json], Drawing]] = {"parallel": parallel, "scatter": scatter}


def draw_view(value: Json, view: str) -> Drawing:
    """The picture named `view`. Computes nothing but places on paper."""
    return _DRAW[view](value)
