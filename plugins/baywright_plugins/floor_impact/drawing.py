"""Pictures of a result: the hit from the side, force over time, the panel from above, the test."""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import (
    Arrow,
    Circle,
    Dimension,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

from .drawing_charts import force, protocol
from .words import BUILT, mm, newton, where

_ROD = Ink("#1f2933", 0.5)
_HUB = Ink("#1f2933", 0.2, fill="#1f2933")
_DECK = Ink("#7a5c2e", 0.25, fill="#f3e6cf")
_BALL = Ink("#1f2933", 0.4, fill="#ffffff")
_SUNK = Ink("#9b1c1c", 0.45, (1.0, 0.7))
_REST = Ink("#52606d", 0.3, hatched=True)
_OVER = Ink("#9b1c1c", 0.35, hatched=True)
_MAYBE = Ink("#b45309", 0.5, (0.8, 0.5))
_FINE = Ink("#1f2933", 0.3)


def hit(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> Drawing:
    """The panel from the side under the worst hit; deflections are drawn larger."""
    panel, asked = _built(value), inputs["panel"]
    worst, long = panel["worst"], value["length_mm"]
    bays = asked["bays_along_count"]
    step, height = long / bays, panel["height_mm"]
    ball = inputs["ball"]["diameter_mm"]
    shapes: list[Shape] = [*_side(asked, bays, step, height)]
    top = 0.0
    hub = 0.012 * long
    if "deck" in asked:
        thick = max(asked["deck"]["thickness_mm"], 0.008 * long)
        box = ((0, hub), (long, hub), (long, hub + thick), (0, hub + thick))
        shapes.append(Polygon(box, _DECK))
        top = hub + thick
    x = worst["along_mm"]
    deep = worst["deflection_max_mm"]
    scale = 0.12 * long / deep if deep > 0 else 1.0
    shapes.append(Line(_bent(x, long, deep * scale), _SUNK))
    fall = max(0.35 * long, 1.6 * ball)
    centre = (x, top + fall + ball / 2)
    shapes += [
        Circle(centre, ball / 2, _BALL),
        Arrow((x, top + fall - 0.02 * long), (x, top + 0.015 * long), Ink("#9b1c1c", 0.6)),
    ]
    side = 1.0 if x <= long / 2 else -1.0
    anchor = "start" if side > 0 else "end"
    words = [
        f"falls {mm(inputs['drop']['height_mm'])}, lands at "
        f"{value['ball']['fall_speed_m_per_s']:.2f} m/s with {value['ball']['energy_j']:.3g} J",
        f"pushes the panel with {newton(worst['force_min_n'])} to {newton(worst['force_max_n'])}",
        f"uses {worst['utilisation_min_ratio']:.2f} to {worst['utilisation_max_ratio']:.2f} of "
        f"what may be repeated",
        f"first to give: {worst['gives_first']}",
        f"sinks {worst['deflection_min_mm']:.2g} to {worst['deflection_max_mm']:.2g} mm",
    ]
    if "slowing" in inputs:
        slowing = inputs["slowing"]
        words.append(f"on top: {slowing['title']} that gives {mm(slowing['travel_mm'])}")
    at_x = x + side * (0.05 * long + ball / 2)
    for row, text in enumerate(words):
        y = top + fall + ball / 2 - row * 0.045 * long
        shapes.append(Label((at_x, y), text, 2.0, anchor))
    low = -height - 0.17 * long
    shapes += [
        Dimension((0, low), (long, low), f"{bays} × {step:g} = {long:g} mm", -0.02 * long),
    ]
    if height:
        far = long if side > 0 else 0.0
        shapes.append(Dimension((far, -height), (far, 0), mm(height), -side * 0.05 * long))
    legend = [Legend(_ROD, "rods"), Legend(_SUNK, f"panel at its lowest, {scale:.0f} times larger")]
    if "deck" in asked:
        legend.append(Legend(_DECK, "deck"))
    legend.append(Legend(_REST, "what it rests on"))
    title = f"Worst hit: {where(worst)}"
    return Drawing(
        title, f"{title}, panel {BUILT[panel['orientation']]}. {words[1]}.", shapes, legend
    )


def _side(asked: Mapping[str, Any], bays: int, step: float, height: float) -> list[Shape]:
    """Rods, hubs and supports of one line of the panel."""
    long = bays * step
    pairs = [((0.0, 0.0), (long, 0.0))]
    if height:
        pairs.append(((0.0, -height), (long, -height)))
        pairs += [((k * step, -height), (k * step, 0.0)) for k in range(bays + 1)]
        pairs += _diagonals(asked["diagonals"], bays, step, height)
    levels = (0.0, -height) if height else (0.0,)
    size = 0.012 * long
    shapes: list[Shape] = [Segments(pairs, _ROD)]
    shapes += [Circle((k * step, y), size, _HUB) for k in range(bays + 1) for y in levels]
    wide = 0.03 * long
    for k in _bearers(asked["supports"], bays):
        x, y = k * step, -height - size
        shapes.append(
            Polygon(
                ((x - wide, y - wide), (x + wide, y - wide), (x + wide, y), (x - wide, y)), _REST
            )
        )
    return shapes


def _diagonals(
    pattern: str, bays: int, step: float, height: float
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    found = []
    for k in range(bays):
        rising = ((k * step, -height), ((k + 1) * step, 0.0))
        falling = (((k + 1) * step, -height), (k * step, 0.0))
        up = 2 * k < bays if pattern == "lean-in" else k % 2 == 0
        if pattern == "crossed" or pattern != "none" and up:
            found.append(rising)
        if pattern == "crossed" or pattern != "none" and not up:
            found.append(falling)
    return found


def _bearers(supports: Mapping[str, Any], bays: int) -> list[int]:
    if supports["rests_on"] == "bearers":
        every = supports["bearer_every_bays_count"]
        return sorted({*range(0, bays + 1, every), bays})
    return [0, bays]


def _bent(x: float, long: float, deep: float) -> list[tuple[float, float]]:
    """A line that sinks by `deep` at x; at an end it sinks there alone."""
    if x <= 0:
        return [(0.0, -deep), (long, 0.0)]
    if x >= long:
        return [(0.0, 0.0), (long, -deep)]
    curve = [(x * k / 12, -deep * math.sin(math.pi / 2 * k / 12)) for k in range(13)]
    rest = long - x
    back = [(x + rest * k / 12, -deep * math.cos(math.pi / 2 * k / 12)) for k in range(1, 13)]
    return [*curve, *back]


def places(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> Drawing:
    """Each landing place with its utilisation at most; beyond the middle stand mirror images."""
    panel, asked = _built(value), inputs["panel"]
    long, wide = value["length_mm"], value["width_mm"]
    bays, across = asked["bays_along_count"], asked["bays_across_count"]
    step_x, step_y = long / bays, wide / across
    pairs = [((0.0, k * step_y), (long, k * step_y)) for k in range(across + 1)]
    pairs += [((k * step_x, 0.0), (k * step_x, wide)) for k in range(bays + 1)]
    shapes: list[Shape] = [Segments(pairs, _ROD)]
    unit = max(long, wide) / 100
    spacing = min(step_x, step_y) / 2
    radius = min(0.42 * spacing, 3.2 * unit)
    size = min(1.9, 0.62 * radius / unit)
    for x, y, one in _everywhere(panel, long, wide):
        used = one["utilisation_max_ratio"]
        sure = one["utilisation_min_ratio"] > 1
        ink = _OVER if sure else _MAYBE if used > 1 else _FINE
        plain = Ink(ink.stroke, ink.width, ink.dash, fill="#ffffff")
        shapes.append(Circle((x, y), radius, plain))
        if sure:
            shapes.append(Circle((x, y), radius, _OVER))
            inner = Ink("#ffffff", 0.1, fill="#ffffff")
            shapes.append(Circle((x, y), 0.66 * radius, inner))
        shapes.append(
            Label(
                (x, y - 0.35 * size * unit),
                f"{used:.2f}" if used < 10 else f"{used:.3g}",
                size,
                "middle",
            )
        )
    worst, away = panel["worst"], 1.3 * radius
    ring = Ink("#9b1c1c", 0.7)
    shapes.append(Circle((worst["along_mm"], worst["across_mm"]), 1.25 * radius, ring))
    shapes += [
        Dimension((0, -away), (long, -away), f"{long:g} mm along", -4 * unit),
        Dimension((-away, 0), (-away, wide), f"{wide:g} mm across", 2 * unit),
    ]
    title = f"Share of strength used at each place, {BUILT[panel['orientation']]}"
    told = (
        f"{title}: at most {worst['utilisation_max_ratio']:.2f}, {where(worst)}. Above 1 the hit "
        f"is too much to be repeated."
    )
    legend = [
        Legend(_FINE, "number: at most; below 1 it may come again and again"),
        Legend(_MAYBE, "above 1 if the hit is hard"),
        Legend(_OVER, "above 1 even if the hit is mild"),
        Legend(ring, f"worst place: {worst['gives_first']}"),
    ]
    return Drawing(title, told, shapes, legend)


def _everywhere(
    panel: Mapping[str, Any], long: float, wide: float
) -> Sequence[tuple[float, float, Mapping[str, Any]]]:
    seen: dict[tuple[float, float], tuple[float, float, Mapping[str, Any]]] = {}
    for one in panel["hits"]:
        xs = {one["along_mm"]}
        if panel["mirrored_along"]:
            xs.add(long - one["along_mm"])
        for x in sorted(xs):
            for y in sorted({one["across_mm"], wide - one["across_mm"]}):
                seen.setdefault((round(x, 3), round(y, 3)), (x, y, one))
    return list(seen.values())


def _built(value: Mapping[str, Any]) -> Mapping[str, Any]:
    built = value["comparison"]["built"]
    panels: Sequence[Mapping[str, Any]] = value["panels"]
    return next(panel for panel in panels if panel["orientation"] == built)


VIEWS: Mapping[str, Callable[[Mapping[str, Any], Mapping[str, Any]], Drawing]] = {
    "hit": hit,
    "force": force,
    "places": places,
    "protocol": protocol,
}
