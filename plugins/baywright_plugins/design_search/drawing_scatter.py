"""Two objectives against each other, with the staircase of machines that no other one beats."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Arrow, Circle, Drawing, Ink, Label, Legend, Line, Shape

from .drawing_scale import AXIS, FINE, SET, Scale, drawn_machines, kept_apart, scale_of

Json = Mapping[str, Any]
Point = tuple[float, float]

_WIDE, _HIGH, _ROOM = 100.0, 62.0, 5.0
_STAIRS = Ink("#9a031e", 0.24, (1.2, 0.5))
_IN_SET = Ink(SET.stroke, 0.25, (), "#0b5394")
_OTHER = Ink("#52606d", 0.15, (), "#ffffff")
_TICKS = 5


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
    """Steps through the machines, from left to right; each corner lies where what is seen of the
    two machines beside it ends."""
    points = [_point(x, y, across, up) for x, y in stairs]
    run: list[Point] = [points[0]]
    for (x0, y0), (x1, y1) in zip(points[:-1], points[1:], strict=True):
        corner = (x1, y0) if not across.objective.more_is_better else (x0, y1)
        run += [corner, (x1, y1)]
    if len(run) == 1:
        run.append((run[0][0] + 0.01, run[0][1]))
    return tuple(run)


def _frame(across: Scale, up: Scale) -> list[Shape]:
    shapes: list[Shape] = [
        Line(((0.0, _HIGH), (0.0, 0.0), (_WIDE, 0.0)), AXIS),
        Label((_WIDE / 2, -8.0), f"{across.title}{_unit(across)}, {across.objective.best_words}",
              1.9, "middle", bold=True),
        Label((-9.5, _HIGH / 2), f"{up.title}{_unit(up)}, {up.objective.best_words}", 1.9,
              "middle", 90.0, bold=True),
    ]  # fmt: skip
    for k in range(_TICKS):
        share = k / (_TICKS - 1)
        x, y = _ROOM + (_WIDE - 2 * _ROOM) * share, _ROOM + (_HIGH - 2 * _ROOM) * share
        shapes += [
            Line(((x, 0.0), (x, _HIGH)), FINE),
            Line(((0.0, y), (_WIDE, y)), FINE),
        ]
        if across.high > across.low or k == _TICKS // 2:
            shapes.append(Label((x, -3.2), _number(across, share), 1.6, "middle"))
        if up.high > up.low or k == _TICKS // 2:
            shapes.append(Label((-1.2, y - 0.6), _number(up, share), 1.6, "end"))
    return [*shapes, _better(across, up)]


def _better(across: Scale, up: Scale) -> Arrow:
    """Where the better machines are."""
    right, top = across.objective.more_is_better, up.objective.more_is_better
    x, y = (_WIDE - 1.5 if right else 1.5), (_HIGH - 1.5 if top else 1.5)
    return Arrow((x + (-6 if right else 6), y + (-6 if top else 6)), (x, y))


def _unit(scale: Scale) -> str:
    return f" in {scale.objective.unit}" if scale.objective.unit else ""


def _number(scale: Scale, share: float) -> str:
    value = scale.low + (scale.high - scale.low) * share
    return f"{value:.0f}" if scale.high - scale.low > 20 else f"{value:.2f}"


def _names(best: Sequence[Json], across: Scale, up: Scale) -> list[Shape]:
    """Names beside the points; where points lie close, names are moved up or down."""
    points = [_at(one, across, up) for one in best]
    columns: dict[int, list[int]] = {}
    for k, (x, _) in enumerate(points):
        columns.setdefault(int(x // 5), []).append(k)
    shapes: list[Shape] = []
    for mine in columns.values():
        places = kept_apart([points[k][1] for k in mine], 2.4)
        for k, y in zip(mine, places, strict=True):
            x = points[k][0]
            shapes.append(Label((x + 1.4, y + 0.5), best[k]["id"], 1.5))
    return shapes
