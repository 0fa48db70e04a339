"""Each section from the front."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import (
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Polygon,
    Segments,
    Shape,
)

from .findings import mm
from .panels import FINE, OUTLINE, Panel, empty, rectangle, sheet

Row = Mapping[str, Any]

_NODES = Ink("#52606d", 0.2, (0.6, 0.4))
_OUT = Ink("#6b4e00", 0.2, (), "none", hatched=True)


def sections_drawing(value: Mapping[str, Any]) -> Drawing:
    """Front view of every section; twins share a panel."""
    sections = value.get("sections", ())
    firsts = [section for section in sections if "twin_of" not in section]
    if not firsts:
        return empty("Sections", "No layout was given.")
    alike = {
        one["id"]: [one["id"], *(s["id"] for s in sections if s.get("twin_of") == one["id"])]
        for one in firsts
    }
    step = 0.05 * max(max(one["outside_mm"]["z"], one["outside_mm"]["x"]) for one in firsts)
    panels = [_front(one, ", ".join(alike[one["id"]]), step) for one in firsts[:12]]
    return sheet(
        "Sections from the front, over the hub ends",
        "Each section to scale, with width and height over the hub ends and its depth in words.",
        [panels],
        [
            Legend(OUTLINE, "over the hub ends"),
            Legend(_NODES, "outer node planes, rods along the lines between"),
            Legend(_OUT, "feet and other parts that stick out"),
        ],
        gap=0.14,
    )


def _front(section: Row, names: str, step: float) -> Panel:
    hubs, planes = section["over_hubs_mm"], section["node_planes_mm"]
    width, height = hubs["x"], hubs["z"]
    edge = (width - section["centreline_mm"]["x"]) / 2
    foot = (height - section["centreline_mm"]["z"]) / 2
    reach = {row["side"]: row["mm"] for row in section["protrusions"]}
    low, high = reach.get("z-minus", 0.0), reach.get("z-plus", 0.0)
    base = 4.2 * step
    x = [edge + p for p in planes["x"]]
    z = [base + low + foot + p for p in planes["z"]]
    grid = [((p, z[0]), (p, z[-1])) for p in x] + [((x[0], p), (x[-1], p)) for p in z]
    shapes: list[Shape] = [
        Segments(grid, FINE),
        Polygon(rectangle(x[0], z[0], x[-1] - x[0], z[-1] - z[0]), _NODES),
        Polygon(rectangle(0.0, base + low, width, height), OUTLINE),
    ]
    outs = {
        "z-minus": (0.0, base, width, low),
        "z-plus": (0.0, base + low + height, width, high),
        "x-minus": (-reach.get("x-minus", 0.0), base + low, reach.get("x-minus", 0.0), height),
        "x-plus": (width, base + low, reach.get("x-plus", 0.0), height),
    }
    shapes += [Polygon(rectangle(*outs[side]), _OUT) for side in reach if side in outs]
    top = base + low + height
    tall = section["outside_mm"]["z"]
    shapes.append(Dimension((0.0, top + high), (width, top + high), mm(width), 0.9 * step, 1.6))
    shapes.append(Dimension((0.0, base + low), (0.0, top), mm(height), 0.9 * step, 1.6))
    if tall != height:
        shapes.append(Dimension((width, top + high), (width, base), mm(tall), 1.5 * step, 1.6))
    bays = section["bays"]
    words = (
        (names, True),
        (f"{bays['x']} x {bays['y']} x {bays['z']} bays", False),
        (f"{mm(section['outside_mm']['y'])} mm deep", False),
    )
    shapes += [
        Label((width / 2, base - step * (1.1 + k)), text, 1.8, "middle", bold=bold)
        for k, (text, bold) in enumerate(words)
    ]
    return Panel(shapes, width + step, top + high + 2 * step)
