"""Two charts in a frame of 160 by 90: force over time, and reliability over drops."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import (
    Circle,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

from .words import newton, percent

_WIDE, _HIGH = 160.0, 90.0
_AXIS = Ink("#1f2933", 0.3)
_GRID = Ink("#cbd2d9", 0.15)
_TOUCH = Ink("#1f2933", 0.35)
_PANEL = Ink("#9b1c1c", 0.6)
_LIMIT = Ink("#0b5c8a", 0.45, (1.2, 0.8))


def force(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> Drawing:
    """Touch and answer of the panel over time, softest above, hardest below."""
    worst = next(
        panel["worst"]
        for panel in value["panels"]
        if panel["orientation"] == value["comparison"]["built"]
    )
    shapes: list[Shape] = []
    kinds = (("hardest", "stiff dent, springy bounce"), ("softest", "soft dent, dull bounce"))
    for row, (name, words) in enumerate(kinds):
        shapes += _course(value[name], words, worst["allowed_n"], row * (_HIGH + 28))
    peaks = [value[name]["panel_peak_n"] for name in ("softest", "hardest")]
    top = max(
        max(max(value[name]["touch_n"]), peak)
        for name, peak in zip(("softest", "hardest"), peaks, strict=True)
    )
    off = " (off the chart)" if worst["allowed_n"] > top else ""
    title = "Force over time at the worst place"
    told = (
        f"{title}: the panel answers with {newton(min(peaks))} to {newton(max(peaks))}; a steady "
        f"{newton(worst['allowed_n'])} may come again and again."
    )
    return Drawing(
        title,
        told,
        shapes,
        [
            Legend(_TOUCH, "between ball and panel: short knocks as both meet again"),
            Legend(_PANEL, "with which the panel answers, as one mass on one spring"),
            Legend(_LIMIT, f"steady force that may be repeated: {newton(worst['allowed_n'])}{off}"),
        ],
    )


def _course(curve: Mapping[str, Any], words: str, allowed_n: float, bottom: float) -> list[Shape]:
    times = [float(t) for t in curve["time_ms"]]
    touch, panel = ([float(f) for f in curve[key]] for key in ("touch_n", "panel_n"))
    top = max(*touch, *panel, 1e-9)
    least = min(*panel, 0.0)
    span, last = top - least, times[-1]

    def at(t: float, f: float) -> tuple[float, float]:
        return t / last * _WIDE, bottom + (f - least) / span * _HIGH

    shapes = _frame(bottom)
    for tick in _ticks(least, top):
        y = at(0, tick)[1]
        shapes.append(Line(((0, y), (_WIDE, y)), _GRID if tick else _AXIS))
        shapes.append(Label((-2, y - 1), f"{tick:g}", 1.7, "end"))
    for tick in _ticks(0, last):
        x = tick / last * _WIDE
        shapes.append(Label((x, bottom - 5), f"{tick:g}", 1.7, "middle"))
    shapes += [
        Label((_WIDE, bottom - 9.5), "milliseconds since the first touch", 1.7, "end"),
        Label((0, bottom + _HIGH + 3), f"N   {words}", 2.0, bold=True),
        Line([at(t, f) for t, f in zip(times, touch, strict=True)], _TOUCH),
        Line([at(t, f) for t, f in zip(times, panel, strict=True)], _PANEL),
    ]
    if least <= allowed_n <= top:
        shapes.append(Line((at(0, allowed_n), at(last, allowed_n)), _LIMIT))
    peaks = f"touch {newton(curve['touch_peak_n'])}, panel {newton(curve['panel_peak_n'])} at most"
    shapes.append(Label((_WIDE, bottom + _HIGH + 3), peaks, 1.9, "end"))
    return shapes


def protocol(value: Mapping[str, Any], inputs: Mapping[str, Any]) -> Drawing:
    """What so many drops without failure show, on a scale of tens."""
    test = value["test"]
    points = [(p["drops_count"], p["shown_ratio"]) for p in test["shown_by_drops"]]
    most = math.log10(points[-1][0])

    def at(drops: float, shown: float) -> tuple[float, float]:
        return math.log10(drops) / most * _WIDE, shown * _HIGH

    shapes = _frame(0.0)
    for tick in (0.2, 0.4, 0.6, 0.8, 1.0):
        y = tick * _HIGH
        shapes.append(Line(((0, y), (_WIDE, y)), _GRID))
        shapes.append(Label((-2, y - 1), percent(tick), 1.7, "end"))
    for power in range(math.floor(most) + 1):
        x = power / most * _WIDE
        shapes.append(Line(((x, 0), (x, _HIGH)), _GRID))
        shapes.append(Label((x, -5), f"{10**power:,}", 1.7, "middle"))
    wanted, sure = test["reliability_ratio"], test["confidence_ratio"]
    needed = test["plans"][0]["drops_count"]
    mark = at(needed, wanted)
    shapes += [
        Label((_WIDE, -10), "drops in a row without failure", 1.7, "end"),
        Line([at(*point) for point in points], Ink("#1f2933", 0.6)),
        *(Circle(at(*point), 0.8, Ink("#1f2933", 0.3, fill="#ffffff")) for point in points),
        Segments((((0, mark[1]), mark), (mark, (mark[0], 0))), _LIMIT),
        Circle(mark, 1.6, Ink("#0b5c8a", 0.4, fill="#0b5c8a")),
    ]
    box_x = 0.52 * _WIDE
    lines = [
        f"{needed} drops without failure show {percent(wanted)}",
        *(
            f"or {plan['drops_count']} with at most {plan['failures_allowed_count']}"
            for plan in test["plans"][1:4]
        ),
    ]
    if "for_a_day_count" in test:
        lines.append(f"for a whole day {test['for_a_day_count']:,.0f} in a row")
    corners = ((box_x - 3, 6), (_WIDE - 2, 6), (_WIDE - 2, 38), (box_x - 3, 38))
    shapes.append(Polygon(corners, Ink("#52606d", 0.2, fill="#ffffff")))
    shapes += [Label((box_x, 33 - 6 * k), text, 1.9) for k, text in enumerate(lines)]
    title = f"What drops show, with {percent(sure)} confidence"
    return Drawing(
        title,
        f"{title}: {'; '.join(lines)}.",
        shapes,
        [
            Legend(Ink("#1f2933", 0.6), "share of drops that pass, at least"),
            Legend(_LIMIT, "plan without failure"),
        ],
    )


def _frame(bottom: float) -> list[Shape]:
    corners = ((0, bottom), (_WIDE, bottom), (_WIDE, bottom + _HIGH), (0, bottom + _HIGH))
    return [Polygon(corners, _AXIS)]


def _ticks(low: float, high: float) -> Sequence[float]:
    """Round numbers between two bounds, about five."""
    raw = (high - low) / 5
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]
