"""The order of building as a picture: each kind of section with its steps numbered."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from baywright_service.contract import (
    Circle,
    Drawing,
    Ink,
    Label,
    Legend,
    Segments,
    Shape,
)

from ...frame import axonometric
from ...frame.model import Floats

#: Lines of step after step take turns, so that neighbours tell apart without colour.
_INKS = (
    Ink("#1f2933", 0.16),
    Ink("#0b5394", 0.16, (1.0, 0.5)),
    Ink("#6b4e00", 0.22, (0.25, 0.45)),
)
_DOT = Ink("#1f2933", 0.14, (), "#ffffff")
_SWAYS = Ink("#9a031e", 0.45, (), "#ffffff")

Row = Mapping[str, Any]


def draw_order(plan: Row, title: str) -> Drawing:
    """Every section that has no twin before it, side by side from the front left and above, each
    step in the lines of its bays with its number. Computes nothing but places on the page."""
    heading = f"Order of building: {title}"
    shown = [section for section in plan.get("sections", ()) if "twin_of" not in section]
    if not shown:
        return Drawing(heading, "No build order: state a team, and a frame with hubs.", ())
    flats = [_flat(plan, section) for section in shown]
    width = sum(float(np.ptp(flat.reshape(-1, 2)[:, 0])) for _, flat in flats)
    gap = 0.08 * width
    unit = _unit(flats, width + gap * (len(flats) - 1))
    shapes: list[Shape] = []
    left = 0.0
    for section, (mine, flat) in zip(shown, flats, strict=True):
        low = flat.reshape(-1, 2).min(axis=0)
        moved = flat - low + np.array([left, 0.0])
        shapes += _section(plan, section, mine, moved, unit)
        left += float(np.ptp(flat.reshape(-1, 2)[:, 0])) + gap
    legend = [Legend(ink, words) for ink, words in zip(_INKS, _LEGEND, strict=True)]
    legend.append(Legend(_DOT, "number of the step, at the middle of its bays"))
    if any(not row["steady"] for row in plan["steps"]):
        legend.append(Legend(_SWAYS, "heavy ring: what then stands can still sway, hold it"))
    return Drawing(heading, _words(plan, shown), shapes, legend)


_LEGEND = (
    "first step, fourth, seventh ...",
    "second step, fifth, eighth ...",
    "third step, sixth, ninth ...",
)


def _flat(plan: Row, section: Row) -> tuple[list[Row], Floats]:
    """Steps of a section, and the corners of all their boxes on the page: (boxes, 8, 2)."""
    mine = [row for row in plan["steps"] if row["section"] == section["section"]]
    boxes = np.array([box for row in mine for box in row["boxes_mm"]], dtype=np.float64)
    corners = np.array(
        [
            [boxes[:, 3 * a], boxes[:, 1 + 3 * b], boxes[:, 2 + 3 * c]]
            for a in (0, 1)
            for b in (0, 1)
            for c in (0, 1)
        ]
    )
    places = np.moveaxis(corners, (0, 1, 2), (1, 2, 0))
    return mine, np.asarray(axonometric(places.reshape(-1, 3)).reshape(-1, 8, 2))


def _unit(flats: Sequence[tuple[list[Row], Floats]], width: float) -> float:
    """A hundredth of the longer side of the picture."""
    height = max(float(np.ptp(flat.reshape(-1, 2)[:, 1])) for _, flat in flats)
    return max(width, height, 1.0) / 100.0


#: The twelve edges of a box whose corners are numbered by x, y, z.
_EDGES = tuple((a, b) for a in range(8) for b in range(a + 1, 8) if (a ^ b) in (1, 2, 4))


def _section(
    plan: Row, section: Row, mine: Sequence[Row], corners: Floats, unit: float
) -> list[Shape]:
    shapes: list[Shape] = []
    dots: list[Shape] = []
    drawn: set[tuple[float, ...]] = set()
    start = 0
    taken: list[tuple[float, float]] = []
    for row in mine:
        boxes = corners[start : start + len(row["boxes_mm"])]
        start += len(boxes)
        pairs = [pair for pair in _edges(boxes) if pair not in drawn]
        drawn |= set(pairs)
        ink = _INKS[(row["step"] - 1) % len(_INKS)]
        if pairs:
            shapes.append(Segments([((a, b), (c, d)) for a, b, c, d in pairs], ink))
        at = _clear(boxes.mean(axis=1), taken, 2.6 * unit)
        taken.append(at)
        dots.append(Circle(at, 1.3 * unit, _DOT if row["steady"] else _SWAYS))
        number = str(row["step"])
        dots.append(Label((at[0], at[1] - 0.55 * unit), number, 1.5, "middle", bold=True))
    everywhere = corners.reshape(-1, 2)
    middle = float(everywhere[:, 0].mean())
    twins = [row["section"] for row in plan["sections"] if row.get("twin_of") == section["section"]]
    name = ", ".join([section["section"], *twins])
    top = float(everywhere[:, 1].max())
    words = f"{section['steps_count']} steps, {section['bags_count']} bags"
    return [
        *shapes,
        *dots,
        Label((middle, top + 4.2 * unit), name, 2.4, "middle", bold=True),
        Label((middle, top + 1.8 * unit), words, 1.7, "middle"),
    ]


def _edges(boxes: Floats) -> list[tuple[float, float, float, float]]:
    found = dict.fromkeys(
        (*sorted((tuple(box[a].round(1).tolist()), tuple(box[b].round(1).tolist()))),)
        for box in boxes
        for a, b in _EDGES
    )
    return [(a[0] + 0.0, a[1] + 0.0, b[0] + 0.0, b[1] + 0.0) for a, b in found]


def _clear(
    middles: Floats, taken: Sequence[tuple[float, float]], apart: float
) -> tuple[float, float]:
    """The middle of the bay nearest the step's own middle that keeps clear of other numbers."""
    centre = middles.mean(axis=0)
    order = np.argsort(((middles - centre) ** 2).sum(axis=1), kind="stable")
    places = [(float(x), float(y)) for x, y in middles[order]]
    for x, y in places:
        if all((x - a) ** 2 + (y - b) ** 2 >= apart**2 for a, b in taken):
            return x, y
    return places[0]


def _words(plan: Row, shown: Sequence[Row]) -> str:
    sections = "; ".join(
        f"{section['section']} in {section['steps_count']} steps and {section['bags_count']} bags"
        for section in shown
    )
    first = plan["steps"][0]
    return f"{sections}. Begin with {first['section']}: {first['where']}. Twins are drawn once."
