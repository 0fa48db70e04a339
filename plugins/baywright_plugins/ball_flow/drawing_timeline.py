"""Balls waiting and balls off the machine over time, with the spread of the runs."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Arrow, Drawing, Ink, Label, Legend, Line, Polygon, Shape

from .wording import plain, routing

Value = Mapping[str, Any]
Point = tuple[float, float]

WIDE, HIGH, APART = 200.0, 62.0, 26.0
BAND = Ink(stroke="#9aa5b1", width=0.1, fill="#dde3ea")
STOPPED = Ink(stroke="#9aa5b1", width=0.1, hatched=True)
FLUID = Ink(width=0.35, dash=(0.4, 0.8))
LINES = {"rotation": Ink(width=0.35, dash=(2.4, 1.2)), "random": Ink(width=0.55)}
THIN = Ink("#52606d", 0.15)


def draw_timeline(inputs: Value, value: Value) -> Drawing:
    """Above the balls that wait, below those off the machine; a hatched bar where lifts stand."""
    stops = [(s["routing"], s["stop"]) for s in value["simulations"] if "stop" in s]
    title = "Balls waiting after lifts stop"
    if not stops:
        text = "No lift stops in these inputs: give incidents, or random failures."
        return Drawing(title, text, ())
    end = value["duration_s"]
    base = HIGH + APART
    shapes: list[Shape] = []
    top = max(float(stop["timeline"]["waiting_high_count"].max()) for _, stop in stops)
    if "fluid" in value:
        usual = value["simulations"][-1]["usual_waiting_count"]
        top = max(top, usual + value["fluid"]["peak_extra_count"])
    off = max(float(stop["timeline"]["off_high_count"].max()) for _, stop in stops)
    upper = _Panel(base, end, max(top, 1.0))
    lower = _Panel(0.0, end, max(off, 1.0))
    spans = _spans(inputs, end)
    shapes += [upper.strip(a, b) for a, b in spans]
    for routing_word, stop in stops:
        if routing_word == "random":
            line = stop["timeline"]
            shapes.append(upper.band(line, "waiting"))
            shapes.append(lower.band(line, "off"))
    legend = []
    for routing_word, stop in stops:
        line, ink = stop["timeline"], LINES[routing_word]
        shapes.append(upper.line(line["time_s"], line["waiting_mean_count"], ink))
        shapes.append(lower.line(line["time_s"], line["off_mean_count"], ink))
        legend.append(
            Legend(ink, f"Balls parting {routing(routing_word)}{_runs(value, routing_word)}")
        )
    if any(word == "random" for word, _ in stops):
        legend.append(Legend(BAND, "Nine runs in ten lie in this band"))
    if "fluid" in value:
        shapes.append(_fluid(value, stops, upper))
        legend.append(Legend(FLUID, "Balls as a fluid, nothing overflows and no lift comes back"))
    if spans:
        legend.append(Legend(STOPPED, "Hatched bar: a lift stands"))
    shapes += upper.axes("balls waiting") + lower.axes("balls off the machine")
    shapes.append(Label((WIDE, -10.0), "seconds", 1.6, "end"))
    said = " ".join(
        f"Parting {routing(word)}: at most {stop['peak_extra_count']:.3g} more than usual wait, "
        f"{stop['balls_off_count']:.3g} off the machine."
        for word, stop in stops
    )
    lifts = sorted({plain(name) for _, stop in stops for name in stop["lifts_stopped"]})
    who = f" ({', '.join(lifts[:4])}{' …' if len(lifts) > 4 else ''})" if lifts else ""
    return Drawing(f"{title}{who}", said, shapes, tuple(legend))


def _runs(value: Value, word: str) -> str:
    count = next(s["runs_count"] for s in value["simulations"] if s["routing"] == word)
    return "" if count == 1 else f", mean of {count} runs"


def _spans(inputs: Value, end: float) -> list[tuple[float, float]]:
    """When any lift stands as told, spans that touch made one."""
    found: list[tuple[float, float]] = []
    told = sorted((i["stops_at_s"], min(i.get("back_at_s", end), end)) for i in inputs["incidents"])
    for start, back in told:
        if start >= end:
            continue
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], back))
        else:
            found.append((start, back))
    return found


def _fluid(value: Value, stops: Sequence[tuple[str, Value]], panel: "_Panel") -> Shape:
    """The fluid's extra balls on top of what usually waits in the runs shown last."""
    usual = value["simulations"][-1]["usual_waiting_count"]
    first = stops[-1][1]["first_stop_s"]
    fluid = value["fluid"]
    pairs = [
        (first + float(t), usual + float(extra))
        for t, extra in zip(fluid["time_s"], fluid["extra_count"], strict=True)
    ]
    inside = [panel.at(t, n) for t, n in pairs if t <= panel.end]
    return Line(tuple(inside if len(inside) > 1 else [panel.at(0, 0), panel.at(0, 0)]), FLUID)


class _Panel:
    """One diagram: its foot, the time it spans, the count at its top."""

    def __init__(self, foot: float, end: float, top: float) -> None:
        self.foot, self.end, self.top = foot, end, top

    def at(self, t: float, count: float) -> Point:
        return (WIDE * t / self.end, self.foot + HIGH * count / self.top)

    def line(self, times: Any, counts: Any, ink: Ink) -> Line:
        return Line(
            tuple(self.at(float(t), float(n)) for t, n in zip(times, counts, strict=True)), ink
        )

    def band(self, line: Value, what: str) -> Polygon:
        times = line["time_s"].tolist()
        low, high = line[f"{what}_low_count"].tolist(), line[f"{what}_high_count"].tolist()
        there = [self.at(t, n) for t, n in zip(times, high, strict=True)]
        back = [self.at(t, n) for t, n in zip(times, low, strict=True)]
        return Polygon((*there, *reversed(back)), BAND)

    def strip(self, start: float, end: float) -> Polygon:
        """A bar above the diagram from one time to another."""
        (x0, y), (x1, _) = self.at(start, self.top), self.at(end, self.top)
        return Polygon(((x0, y + 12.0), (x1, y + 12.0), (x1, y + 16.0), (x0, y + 16.0)), STOPPED)

    def axes(self, name: str) -> list[Shape]:
        shapes: list[Shape] = [
            Arrow((0.0, self.foot), (WIDE + 6.0, self.foot), Ink(width=0.25)),
            Arrow((0.0, self.foot), (0.0, self.foot + HIGH + 8.0), Ink(width=0.25)),
            Label((3.0, self.foot + HIGH + 5.0), name, 1.7),
        ]
        for t in _steps(self.end):
            x, y = self.at(t, 0.0)
            shapes += [
                Line(((x, y), (x, y - 1.2)), THIN),
                Label((x, y - 5.0), f"{t:g}", 1.4, "middle"),
            ]
        for n in _steps(self.top):
            x, y = self.at(0.0, n)
            shapes += [
                Line(((x, y), (x - 1.2, y)), THIN),
                Label((x - 2.2, y - 1.0), f"{n:g}", 1.4, "end"),
            ]
        return shapes


def _steps(most: float) -> list[float]:
    """Multiples of 1, 2 or 5 times a power of ten up to `most`, at most six."""
    power = 10.0 ** math.floor(math.log10(most / 5.0))
    step = next(power * k for k in (1, 2, 5, 10) if most / (power * k) <= 6.0)
    return [step * k for k in range(1, int(most / step + 1e-9) + 1)]
