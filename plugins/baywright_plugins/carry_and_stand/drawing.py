"""Pictures: what stands, what is carried, what is tied to it. Every number is the result's."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from baywright_service.contract import (
    Arrow,
    Circle,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Shape,
)

from ..grid_fit.panels import FITS, OUTLINE, STICKS, rectangle
from ..route_fit.drawing_panels import Cell, cells
from .drawing_carry import carry_panels
from .drawing_labels import labels_drawing
from .drawing_marks import CENTRE, HAND, LEANS, PLUMB, STAIRS, centre_mark

Row = Mapping[str, Any]

VIEWS = {
    "stand": "Each section and the machine from the side they tip to: base, centre of mass, tip "
    "angle, push",
    "carry": "Each section with its carriers and what each end bears, level and on stairs",
    "labels": "A label for each section, to print and tie on",
}

#: Sections that are drawn; the table holds all.
MOST_DRAWN = 16
_WHEEL = Ink("#1f2933", 0.2, (), "#ffffff")


def draw_view(value: Row, view: str) -> Drawing:
    if view == "carry":
        return _carry(value)
    return labels_drawing(value) if view == "labels" else _stand(value)


def _stand(value: Row) -> Drawing:
    machine = value["machine"]
    panels = [_panel("The machine, coupled", machine, machine["standing"])]
    panels += [
        _panel(f"{row['id']}, {state['state']}", row, state)
        for row in value["sections"][:MOST_DRAWN]
        for state in row["standing"]
    ]
    picture = cells(
        "Does it stand?",
        "The machine and each section, each to its own scale, seen along the edge it tips over "
        "first: the angle between the plumb line at that edge and the line to the centre of mass "
        f"is the tip angle.{_more(value)}",
        panels,
        "Nothing stands.",
    )
    legend = (
        Legend(FITS, "outside, tip angle 10 degrees or more"),
        Legend(STICKS, "outside, tip angle below 10 degrees"),
        Legend(PLUMB, "plumb line at the edge it tips over"),
        Legend(CENTRE, "centre of mass, and its line to that edge"),
        Legend(LEANS, "push that tips it, no factors; in brackets the most with factors"),
    )
    return replace(picture, legend=legend)


def _panel(name: str, thing: Row, state: Row) -> Cell:
    axis = 0 if state["toward"] in ("left", "right") else 1
    size, high = thing["size_mm"], thing["size_mm"][2]
    raised = max(state["centre_mm"] - thing["centre_mm"][2], 0.0)
    raised = raised if state["state"] == "on castors" else 0.0
    sign = -1.0 if state["toward"] in ("left", "front") else 1.0
    x = thing["centre_mm"][axis]
    edge = (x + sign * state["lever_mm"], 0.0)
    centre = (x, state["centre_mm"])
    far = min(max(edge[0] - sign * size[axis], -size[axis]), 2 * size[axis])
    reach = 0.34 * max(size[axis], high)
    at = state["lean_at_mm"]
    side = -0.02 * size[axis] if sign > 0 else 1.02 * size[axis]
    ink = FITS if state["ten_degree_ok"] else STICKS
    shapes: list[Shape] = [
        Polygon(rectangle(0.0, raised, size[axis], high), ink),
        Line(((min(0.0, edge[0]) - reach, 0.0), (max(size[axis], edge[0]) + reach, 0.0)), OUTLINE),
        *_wheels(thing, axis, raised),
        Line((edge, (edge[0], 1.06 * (raised + high))), PLUMB),
        Line((edge, centre), CENTRE),
        *centre_mark(centre, 0.035 * max(size[axis], high)),
        Arrow((side - sign * 0.9 * reach, at), (side, at), LEANS),
        Label((side - sign * 0.5 * reach, at + 0.08 * high), f"{state['lean_tips_n']:.0f} N",
              anchor="middle"),
    ]  # fmt: skip
    if raised == 0.0 and abs(far - edge[0]) > 1:
        shapes.append(_foot(edge[0], 0.03 * max(size[axis], high)))
    words = [
        f"{name}: {state['tip_deg']:.1f}° to the {state['toward']}",
        f"{state['mass_kg']:.1f} kg, centre {state['centre_mm']:.0f} mm up, {state['lever_mm']:.0f}"
        " mm inside its edge",
        f"Pushed at {at:.0f} mm it tips at {state['lean_tips_n']:.0f} N "
        f"({state['lean_most_n']:.0f} N)",
    ]
    return Cell(shapes, words)


def _foot(x: float, size: float) -> Shape:
    return Polygon(((x, 0.0), (x - size, -1.4 * size), (x + size, -1.4 * size)), OUTLINE)


def _wheels(thing: Row, axis: int, raised: float) -> list[Shape]:
    """Two wheels under the base; between them and the frame the trolley."""
    if raised <= 0 or "base_mm" not in thing:
        return []
    low = thing["base_at_mm"][axis]
    radius = raised / 2
    return [
        Circle((x, radius), radius, _WHEEL)
        for x in (low + radius, low + thing["base_mm"][axis] - radius)
    ]


def _carry(value: Row) -> Drawing:
    picture = cells(
        "Who carries what?",
        "Each section with its carriers, level and on stairs; the lower end is on the left. "
        f"Arrows are hands, with what each end bears.{_more(value)}",
        carry_panels(value["sections"][:MOST_DRAWN]),
        "Nothing is carried.",
    )
    legend: Sequence[Legend] = (
        Legend(FITS, "section that the people named can carry"),
        Legend(STICKS, "section that is more than the crew should carry this way"),
        Legend(HAND, "hands, with the load of that end"),
        Legend(CENTRE, "centre of mass"),
        Legend(STAIRS, "floor, stairs"),
    )
    return replace(picture, legend=legend)


def _more(value: Row) -> str:
    rest = len(value["sections"]) - MOST_DRAWN
    return f" {rest} more sections are in the table." if rest > 0 else ""


__all__ = ["VIEWS", "draw_view"]
