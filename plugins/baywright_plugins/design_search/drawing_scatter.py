"""Two objectives against each other, with the staircase of machines that no other one beats."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Arrow, Circle, Drawing, Ink, Label, Legend, Line, Shape

from .drawing_scale import AXIS, FINE, SET, Scale, drawn_machines, kept_apart, scale_of, ticks

Json = Mapping[str, Any]
Point = tuple[float, float]

_WIDE, _HIGH, _ROOM = 100.0, 62.0, 8.0
_STAIRS = Ink("#9a031e", 0.24, (1.2, 0.5))
_IN_SET = Ink(SET.stroke, 0.25, (), "#0b5394")
_OTHER = Ink("#52606d", 0.15, (), "#ffffff")


def scatter(value: Json) -> Drawing:
    """Machines of the set as full points, others as hollow ones, and the staircase."""
    best, others = drawn_machines(value)
    if not best or "scatter" not in value:
        return Drawing("Design search", "No machine will do, so there is nothing to compare.", [])
    chosen = value["scatter"]
    stairs = list(zip(chosen["across_values"], chosen["up_values"], strict=True))
    across, up = (scale_of(chosen[name], [*best, *others]) for name in ("across", "up"))
    shapes: list[Shape] = [*_frame(across, up)]
    for one in others:
        shapes.append(Circle(_at(one, across, up), 0.55, _OTHER))
    shapes.append(Line(_staircase(stairs, across, up), _STAIRS))
    for one in best:
        shapes.append(Circle(_at(one, across, up), 0.8, _IN_SET))
    shapes += _names(best, across, up)
    words = (
        f"{across.title} across and {up.title.lower()} up for {len(best)} machines of the set "
        f"(full points) and {len(others)} others (hollow); the dashed staircase joins the "
        f"{len(stairs)} that no other one beats in these two alone."
    )
    legend = [Legend(_IN_SET, "no other machine beats it in all that is compared")]
    if others:
        legend.append(Legend(_OTHER, "would do, but is beaten"))
    legend.append(Legend(_STAIRS, "staircase: beaten by none in these two alone"))
    return Drawing(f"{up.title} against {across.title.lower()}", words, shapes, tuple(legend))


def _at(machine: Json, across: Scale, up: Scale) -> Point:
    return _point(machine[across.objective.field], machine[up.objective.field], across, up)


def _point(x: float, y: float, across: Scale, up: Scale) -> Point:
    inner = (_WIDE - 2 * _ROOM, _HIGH - 2 * _ROOM)
    return _ROOM + inner[0] * across.share(x), _ROOM + inner[1] * up.share(y)


def _staircase(stairs: Sequence[Point], across: Scale, up: Scale) -> tuple[Point, ...]:
    """Steps through the machines, from left to right, on to the edges of the picture: beyond it
    in the better direction there is none."""
    points = [_point(x, y, across, up) for x, y in stairs]
    worse = 0.0 if up.objective.more_is_better else _HIGH
    more = across.objective.more_is_better
    run: list[Point] = [(0.0, points[0][1]) if more else (points[0][0], worse), points[0]]
    for (x0, y0), (x1, y1) in zip(points[:-1], points[1:], strict=True):
        run += [(x0, y1) if more else (x1, y0), (x1, y1)]
    last = points[-1]
    return (*run, (last[0], worse) if more else (_WIDE, last[1]))


def _frame(across: Scale, up: Scale) -> list[Shape]:
    shapes: list[Shape] = [
        Line(((0.0, _HIGH), (0.0, 0.0), (_WIDE, 0.0)), AXIS),
        Label((_WIDE / 2, -8.0), f"{across.title}{_unit(across)}, {across.objective.best_words}",
              1.9, "middle", bold=True),
        Label((-9.5, _HIGH / 2), f"{up.title}{_unit(up)}, {up.objective.best_words}", 1.9,
              "middle", 90.0, bold=True),
    ]  # fmt: skip
    for value in ticks(across):
        x = _ROOM + (_WIDE - 2 * _ROOM) * across.share(value)
        shapes.append(Line(((x, 0.0), (x, _HIGH)), FINE))
        shapes.append(Label((x, -3.2), f"{value:g}", 1.6, "middle"))
    for value in ticks(up):
        y = _ROOM + (_HIGH - 2 * _ROOM) * up.share(value)
        shapes.append(Line(((0.0, y), (_WIDE, y)), FINE))
        shapes.append(Label((-1.2, y - 0.6), f"{value:g}", 1.6, "end"))
    return [*shapes, _better(across, up)]


def _better(across: Scale, up: Scale) -> Arrow:
    """Where the better machines are."""
    right, top = across.objective.more_is_better, up.objective.more_is_better
    x, y = (_WIDE - 0.8 if right else 0.8), (_HIGH - 0.8 if top else 0.8)
    return Arrow((x + (-4 if right else 4), y + (-4 if top else 4)), (x, y))


def _unit(scale: Scale) -> str:
    return f" in {scale.objective.unit}" if scale.objective.unit else ""


def _names(best: Sequence[Json], across: Scale, up: Scale) -> list[Shape]:
    """Names on the better side of the points, where no other machine is; where points lie close,
    names are moved up or down."""
    points = [_at(one, across, up) for one in best]
    side, anchor = (1.3, "start") if across.objective.more_is_better else (-1.3, "end")
    lift = 0.7 if up.objective.more_is_better else -1.9
    columns: dict[int, list[int]] = {}
    for k, (x, _) in enumerate(points):
        columns.setdefault(int(x // 5), []).append(k)
    shapes: list[Shape] = []
    for mine in columns.values():
        places = kept_apart([points[k][1] for k in mine], 2.4)
        for k, y in zip(mine, places, strict=True):
            shapes.append(Label((points[k][0] + side, y + lift), best[k]["id"], 1.5, anchor))
    return shapes
