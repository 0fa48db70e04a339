"""Parallel coordinates: an axis for each objective, a line for each machine."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Drawing, Label, Legend, Line, Shape

from .drawing_scale import (
    AXIS,
    FINE,
    LOST,
    SET,
    Scale,
    drawn_machines,
    kept_apart,
    scale_of,
)

Json = Mapping[str, Any]

_APART, _HIGH, _GAP = 26.0, 60.0, 2.6


def parallel(value: Json) -> Drawing:
    """Every machine that will do as a line; those that no other one beats drawn strong."""
    best, others = drawn_machines(value)
    if not best:
        return Drawing("Design search", "No machine will do, so there is nothing to compare.", [])
    scales = [scale_of(row["id"], [*best, *others]) for row in value["objectives"]]
    shapes: list[Shape] = []
    for place, scale in enumerate(scales):
        shapes += _axis(place * _APART, scale)
    for one in others:
        shapes.append(Line(_run(one, scales), LOST))
    for one in best:
        shapes.append(Line(_run(one, scales), SET))
    shapes += _names(best, scales)
    left_out = value["machines_left_out_count"]
    count = len(best) + left_out
    title = f"Machines that no other one beats: {count}"
    words = (
        f"{len(best)} machines of the set as strong lines and {len(others)} others as dashed ones "
        f"over {len(scales)} axes; the better end of every axis is on top."
    )
    legend = [Legend(SET, "no other machine beats it")]
    if others:
        legend.append(Legend(LOST, "would do, but is beaten by one of those"))
    return Drawing(title, words, shapes, tuple(legend))


def _axis(x: float, scale: Scale) -> list[Shape]:
    better, worse = scale.ends
    return [
        Line(((x, 0.0), (x, _HIGH)), AXIS),
        Line(((x - 0.8, _HIGH - 1.6), (x, _HIGH), (x + 0.8, _HIGH - 1.6)), AXIS),
        Label((x, _HIGH + 6.2), scale.title, 1.9, "middle", bold=True),
        Label((x, _HIGH + 3.6), scale.objective.best_words, 1.5, "middle"),
        Label((x, _HIGH + 1.2), better, 1.6, "middle"),
        Label((x, -2.8), worse, 1.6, "middle"),
    ]


def _run(machine: Json, scales: Sequence[Scale]) -> tuple[tuple[float, float], ...]:
    points = [
        (k * _APART, _HIGH * scale.better(machine[scale.objective.field]))
        for k, scale in enumerate(scales)
    ]
    return tuple(points) if len(points) > 1 else (points[0], (points[0][0] + 2.0, points[0][1]))


def _names(best: Sequence[Json], scales: Sequence[Scale]) -> list[Shape]:
    """The machines' names beside the last axis, kept apart."""
    x = (len(scales) - 1) * _APART
    ends = [_run(one, scales)[-1][1] for one in best]
    shapes: list[Shape] = []
    for one, end, place in zip(best, ends, _below(kept_apart(ends, _GAP)), strict=True):
        shapes.append(Line(((x, end), (x + 4.0, place)), FINE))
        shapes.append(Label((x + 4.6, place - 0.6), one["id"], 1.6))
    return shapes


def _below(places: Sequence[float]) -> list[float]:
    """The places, moved down as far as the top of the axes asks for, and still kept apart."""
    order = sorted(range(len(places)), key=lambda k: -places[k])
    found = list(places)
    ceiling = _HIGH
    for k in order:
        found[k] = min(found[k], ceiling)
        ceiling = found[k] - _GAP
    return found
