"""A passage as plain numbers: opening, inside, passages in front and behind, corridors, stairs."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from ..grid_fit.route import Clearances
from .published_openings import with_library

#: depth of a wall that nobody measured, for turning into a door (common practice, no source)
USUAL_REVEAL_MM = 150.0


@dataclass(frozen=True)
class RouteClearances(Clearances):
    """Room kept free in mm; on stairs to the sides, off the steps and above (plumb)."""

    stairs_each_side_mm: float = 30.0
    stairs_lifted_mm: float = 50.0
    stairs_above_mm: float = 50.0


@dataclass(frozen=True)
class Hardware:
    """What stands into an opening from its left or right side, between two heights."""

    side: str
    projects_mm: float
    from_mm: float
    to_mm: float


@dataclass(frozen=True)
class Doorway:
    """An opening as measured: clear sizes, height of the threshold, what stands into it.

    `reveal_mm` is None where nobody measured it. `before_mm` and `behind_mm` are the widths of
    passages along the wall; None where there is room to come straight on.
    """

    width_mm: float
    height_mm: float
    threshold_mm: float = 0.0
    hardware: tuple[Hardware, ...] = ()
    reveal_mm: float | None = None
    before_mm: float | None = None
    behind_mm: float | None = None


@dataclass(frozen=True)
class Inside:
    """Room inside a lift car, a van or a trailer; None where it was not measured."""

    depth_mm: float | None
    width_mm: float | None
    height_mm: float | None


@dataclass(frozen=True)
class Landing:
    turn: str
    length_mm: float
    width_mm: float
    headroom_mm: float


@dataclass(frozen=True)
class Flight:
    """A flight: going and rise of a step, clear width, headroom measured plumb."""

    going_mm: float
    rise_mm: float
    width_mm: float
    headroom_mm: float
    landings: tuple[Landing, ...] = ()

    @property
    def slope(self) -> float:
        """Angle of the line through the step edges, radians."""
        return math.atan2(self.rise_mm, self.going_mm)


@dataclass(frozen=True)
class RoutePassage:
    """A stop on the route; each part is None (or empty) where it does not occur."""

    id: str
    title: str
    kind: str = "door"
    doorway: Doorway | None = None
    inside: Inside | None = None
    corridors_mm: tuple[float, ...] = ()
    legs_mm: tuple[float, ...] = ()
    flight: Flight | None = None
    ceiling_mm: float | None = None
    library: str = ""


def clearances_from_inputs(clearances: Mapping[str, Any] | None) -> RouteClearances:
    """Clearances loaded by grid-fit's or this calculator's schema; what is absent is as usual."""
    known = {field.name for field in fields(RouteClearances)}
    return RouteClearances(**{k: v for k, v in (clearances or {}).items() if k in known})


def passages_from_inputs(
    passages: Sequence[Mapping[str, Any]], clearances: RouteClearances | None = None
) -> tuple[RoutePassage, ...]:
    """Passages as loaded by `RoutePassageSchema` or by grid-fit's `PassageSchema`, in order.

    `clearances` are not needed to make passages; the argument stands for symmetry with `cross`.
    """
    return tuple(passage_from_inputs(passage) for passage in passages)


def passage_from_inputs(loaded: Mapping[str, Any]) -> RoutePassage:
    """One passage; its library entry supplies what is left out."""
    data = with_library(loaded)
    corridors = data.get("corridors_mm", data.get("corner_mm", ()))
    return RoutePassage(
        id=data["id"],
        title=data.get("title") or data["id"],
        kind=data.get("kind", "door"),
        doorway=_doorway(data) if "width_mm" in data and "height_mm" in data else None,
        inside=_inside(data),
        corridors_mm=tuple(float(w) for w in corridors),
        legs_mm=tuple(float(length) for length in data.get("legs_mm", ())),
        flight=_flight(data) if "flight" in data else None,
        ceiling_mm=data.get("ceiling_mm"),
        library=data.get("library", ""),
    )


def _doorway(data: Mapping[str, Any]) -> Doorway:
    height, top = data["height_mm"], 0.0
    sides = []
    for part in data.get("hardware", ()):
        if part.get("removable") and part.get("taken_off"):
            continue
        if part["side"] == "top":
            top = max(top, part["projects_mm"])
        else:
            upper = part.get("to_mm", height)
            sides.append(Hardware(part["side"], part["projects_mm"], part["from_mm"], upper))
    return Doorway(
        width_mm=data["leaf_off_width_mm"] if data.get("leaf_off") else data["width_mm"],
        height_mm=height - top,
        threshold_mm=data.get("threshold_mm", 0.0),
        hardware=tuple(sides),
        reveal_mm=data.get("reveal_mm"),
        before_mm=data.get("before_mm"),
        behind_mm=data.get("behind_mm"),
    )


def _inside(data: Mapping[str, Any]) -> Inside | None:
    names = ("depth_mm", "inside_width_mm", "inside_height_mm")
    sizes = [data.get(name) for name in names]
    return None if sizes == [None] * 3 else Inside(*sizes)


def _flight(data: Mapping[str, Any]) -> Flight:
    flight = data["flight"]
    width, headroom = flight["width_mm"], flight["headroom_mm"]
    landings = tuple(
        Landing(
            turn=landing.get("turn", "straight"),
            length_mm=landing["length_mm"],
            width_mm=landing.get("width_mm", 2 * width if landing.get("turn") == "half" else width),
            headroom_mm=landing.get("headroom_mm", headroom),
        )
        for landing in data.get("landings", ())
    )
    return Flight(flight["going_mm"], flight["rise_mm"], width, headroom, landings)
