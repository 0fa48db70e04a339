"""One repeat of a netting wall, seen from inside."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import (
    Circle,
    Dimension,
    Drawing,
    Ink,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

from ..findings import many

Record = Mapping[str, Any]
_POST = Ink("#1f2933", 0.8)
_NET = Ink("#52606d", 0.25, fill="#f5f7fa")
_MESH = Ink("#9aa5b1", 0.08)
_SPACER = Ink("#1f2933", 0.2, hatched=True)
_BALL = Ink("#0b5c8a", 0.4)
_NEEDED = Ink("#7a3e00", 0.35, (1.2, 0.8))
_MOST_SHOWN = 40
_LEAST_BAYS = 4
_MOST_MESH = 60


def wall(value: Record, inputs: Record) -> Drawing:
    """Posts, net panels, spacers between them, the ball, the height that is needed."""
    if "netting" not in value:
        return Drawing("Netting wall", "Give netting to see one repeat of its wall.", [])
    record, given = value["netting"], inputs["netting"]
    if not record["fits"]:
        words = "No repeat of net panels ends on a post: see the findings."
        return Drawing("Netting wall", words, [])
    fit = record["fits"][0]
    net, rows = given["net"], record["rows_count"]
    repeats = max(1, -(-_LEAST_BAYS // fit["bays_count"]))
    gaps = (fit["gaps_mm"] * repeats)[:_MOST_SHOWN]
    low, high = given["bottom_gap_mm"], record["wall_mm"]
    shapes: list[Shape] = []
    x = 0.0
    for gap in gaps:
        for row in range(rows):
            y = low + row * net["height_mm"]
            shapes.append(Polygon(_box(x, x + net["pitch_mm"], y, y + net["height_mm"]), _NET))
        shapes += _mesh(x, low, high, net)
        x += net["pitch_mm"]
        if gap:
            shapes.append(Polygon(_box(x, x + gap, low, high), _SPACER))
        x += gap
    bay = record["bay_mm"]
    bays = min(repeats * fit["bays_count"], round(x / bay))
    posts = [k * bay for k in range(bays + 1)]
    every = given["post_every_bays_count"]
    shapes.append(Segments([((p, 0.0), (p, high)) for p in posts[::every]], _POST))
    unit = max(x, high) / 100
    shapes.append(Line(((-2 * unit, 0.0), (x + 2 * unit, 0.0)), Ink("#1f2933", 0.4)))
    legend = [
        Legend(_POST, "post"),
        Legend(_NET, "net panel"),
        *([Legend(_SPACER, "spacers")] if any(fit["gaps_mm"]) else []),
    ]
    if "ball" in inputs:
        radius = inputs["ball"]["diameter_mm"] / 2
        shapes.append(Circle((bay / 2, radius), radius, _BALL))
        legend.append(Legend(_BALL, "ball"))
    if "wall_needed_mm" in record:
        at = record["wall_needed_mm"]
        shapes.append(Line(((-2 * unit, at), (x + 2 * unit, at)), _NEEDED))
        legend.append(Legend(_NEEDED, f"height that is needed, {at:.0f} mm"))
    shapes += [
        Dimension((0.0, 0.0), (posts[-1], 0.0), f"{bays} × {bay:g} mm", -4 * unit),
        Dimension((0.0, 0.0), (0.0, high), f"{high:g}", 4 * unit),
    ]
    used = ", ".join(
        f"{n} × {item}" for item, n in zip(fit["spacers"], fit["spacers_count"], strict=True) if n
    )
    hold = (
        f"{many(fit['bays_count'], 'bay')} of {bay:g} mm for "
        f"{many(fit['panels_count'], 'net panel')}"
    )
    return Drawing(
        f"Netting wall: {hold}",
        f"Spacers in one repeat: {used or 'none'}; widest gap {fit['widest_gap_mm']:g} mm; "
        f"{rows} rows of net, {high:g} mm high.",
        shapes,
        legend,
    )


def _mesh(x: float, low: float, high: float, net: Record) -> list[Shape]:
    """The openings of one panel, none where they would be too fine to see."""
    wide, tall = net["opening_mm"], net.get("opening_height_mm", net["opening_mm"])
    columns, rows = int(net["pitch_mm"] // wide), int((high - low) // tall)
    if max(columns, rows) > _MOST_MESH:
        return []
    pairs = [
        *(((x + k * wide, low), (x + k * wide, high)) for k in range(1, columns + 1)),
        *(((x, low + k * tall), (x + net["pitch_mm"], low + k * tall)) for k in range(1, rows + 1)),
    ]
    return [Segments(pairs, _MESH)]


def _box(x0: float, x1: float, y0: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
