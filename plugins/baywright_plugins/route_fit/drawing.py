"""Pictures of a result: every number in them stands in the result."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Drawing

from .drawing_elevation import elevation_drawing
from .drawing_plan import plan_drawing
from .drawing_route import route_drawing
from .vehicle import VEHICLE_VIEW, draw_vehicle

#: What each picture shows; the first is the default.
VIEWS = {
    "route": "The whole route at a glance: each section at each passage, and what governs",
    "plan": "Each passage from above, with the section it leaves least room",
    "elevation": "Each passage from the side, with the section it leaves least room",
    "vehicle": VEHICLE_VIEW,
}


def draw_view(value: Mapping[str, Any], view: str, little_mm: float) -> Drawing:
    """The picture named `view`; less than `little_mm` to spare is marked."""
    if view == "vehicle":
        if "vehicle" not in value:
            return Drawing("Vehicle", "No vehicle was given.", [])
        return draw_vehicle(value["vehicle"])
    if view == "route":
        return route_drawing(value, little_mm)
    return plan_drawing(value) if view == "plan" else elevation_drawing(value)
