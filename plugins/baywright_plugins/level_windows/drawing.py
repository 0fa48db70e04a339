"""Two pictures of a result: the ladder of levels, and the way through a conflict."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import (
    Arrow,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

from .drawing_conflict import conflict
from .drawing_text import Text, cut_short, sized, spread
from .kinds import number

Value = Mapping[str, Any]

_RAIL = Ink("#52606d", 0.3)
_RUNG = Ink("#1f2933", 0.6)
_LEADER = Ink("#9aa5b1", 0.12)
_WINDOW = Ink("#1f2933", 0.2, fill="#d9e2ec")
_FREE = Ink("#52606d", 0.2, (0.6, 0.5))
_TAKEN = Ink("#1f2933", 0.7)
_CHAIN = Ink("#0b5c8a", 0.75)
_BRACKET = Ink("#52606d", 0.2)
_MOST = 30
_RAILS = 6.0
_HIGH = 62.0  # of the picture's width of about 100


def ladder(value: Value) -> Drawing:
    """Levels as rungs, windows as bars beside them, requirements as brackets, chains thick."""
    if "order" not in value:
        return conflict(value)
    levels, requirements = _shown_levels(value), _shown_requirements(value)
    heights = {level["id"]: level["height_mm"] for level in value["levels"]}
    ends = [0.0, *heights.values()]
    ends += [level[key] for level in value["levels"] for key in _ENDS if key in level]
    low, high = min(ends), max(ends)
    unit = (high - low or 1000.0) / _HIGH
    room = _HIGH / max(len(levels), len(requirements), 24)
    text = Text(unit, 0.72 * room, room)
    left = -2 * unit - text.width(max(len(_name(level)) for level in levels))
    bars, edge = _bars(levels, text, low, high)
    brackets, edge = _brackets(heights, requirements, text, edge + 3 * unit)
    listed, right = _listed(requirements, text, edge + 2 * unit, (low + high) / 2)
    shapes = [
        Line(((left, 0.0), (right, 0.0)), _LEADER),
        Label(
            (edge + 2 * unit, -0.6 * unit - text.size * unit),
            "hall floor",
            text.size,
            colour="#52606d",
        ),
        Line(((0.0, low), (0.0, high)), _RAIL),
        Line(((_RAILS * unit, low), (_RAILS * unit, high)), _RAIL),
        *_rungs(levels, text),
        *bars,
        *brackets,
        *listed,
    ]
    hidden = len(value["levels"]) - len(levels), len(value["requirements"]) - len(requirements)
    more = f" {hidden[0]} levels and {hidden[1]} requirements are not drawn." if any(hidden) else ""
    top = value.get("top_mm")
    words = f", top at {number(top)} mm" if top is not None else ""
    return Drawing(
        f"{len(value['levels'])} levels{words}",
        f"Smallest slack {number(value.get('least_slack_mm', 0.0))} mm.{more}",
        sized(shapes, unit, right - left, high - low),
        [
            Legend(_RUNG, "level at the height taken"),
            Legend(_WINDOW, "window: heights that are possible"),
            Legend(_FREE, "window if nothing had to lie on the grid"),
            Legend(_CHAIN, "thick bracket: sets the lowest top"),
            Legend(_BRACKET, "other requirement, with what it keeps"),
        ],
    )


def _name(level: Value) -> str:
    return f"{cut_short(level['title'], 28)}  {number(level['height_mm'])}"


_ENDS = ("low_mm", "high_mm", "free_low_mm", "free_high_mm")


def _shown_levels(value: Value) -> Sequence[Value]:
    """All levels; of many, those decided first. From the bottom up."""
    ids = [step["level"] for step in value["order"][:_MOST]]
    chosen = [level for level in value["levels"] if level["id"] in ids]
    return sorted(chosen, key=lambda level: float(level["height_mm"]))


def _shown_requirements(value: Value) -> list[Value]:
    """Those on the chain, then those with the least slack; from the bottom up."""
    kept = [r for r in value["requirements"] if r["kept"]]
    first = sorted(kept, key=lambda r: (not r["sets_top"], r["slack_mm"]))[:_MOST]
    heights = {level["id"]: level["height_mm"] for level in value["levels"]}
    return sorted(first, key=lambda r: (_foot(r, heights), r["distance_mm"]))


def _foot(requirement: Value, heights: Mapping[str, float]) -> float:
    return heights[requirement["below"]] if "below" in requirement else 0.0


def _rungs(levels: Sequence[Value], text: Text) -> list[Shape]:
    places = spread([level["height_mm"] for level in levels], text.pitch)
    shapes: list[Shape] = []
    for level, y in zip(levels, places, strict=True):
        at = level["height_mm"]
        shapes += [
            Line(((0.0, at), (_RAILS * text.unit, at)), _RUNG),
            Line(((0.0, at), (-1.5 * text.unit, y)), _LEADER),
            Label((-2 * text.unit, y - text.half), _name(level), text.size, "end"),
        ]
    return shapes


def _bars(
    levels: Sequence[Value], text: Text, low: float, high: float
) -> tuple[list[Shape], float]:
    """A bar for each level in a column of its own; open ends are arrows to the edge."""
    unit = text.unit
    step = min(2.4, 36 / len(levels)) * unit
    shapes: list[Shape] = []
    x = (_RAILS + 3) * unit
    for level in levels:
        bottom, top = level.get("low_mm", low), level.get("high_mm", high)
        thick = max((top - bottom), 0.5 * unit)
        middle, half = (bottom + top) / 2, 0.3 * step
        free = level.get("free_low_mm", low), level.get("free_high_mm", high)
        shapes += [
            Segments([((x, free[0]), (x, free[1]))], _FREE),
            Polygon(_box(x - half, x + half, middle - thick / 2, middle + thick / 2), _WINDOW),
        ]
        at = level["height_mm"]
        shapes.append(Line(((x - 0.45 * step, at), (x + 0.45 * step, at)), _TAKEN))
        for end, start, goal in (("low_mm", at, low), ("high_mm", at, high)):
            if end not in level and abs(goal - start) > 3 * unit:
                shapes.append(Arrow((x, start), (x, goal), Ink("#52606d", 0.2)))
        x += step
    return shapes, x


def _box(x0: float, x1: float, y0: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def _brackets(
    heights: Mapping[str, float], requirements: Sequence[Value], text: Text, left: float
) -> tuple[list[Shape], float]:
    """Brackets from level to level, packed into as few columns as they need."""
    unit, step = text.unit, 2.2 * text.unit + text.width(2)
    ends_at: list[float] = []
    shapes: list[Shape] = []
    for k, requirement in enumerate(requirements):
        below = _foot(requirement, heights)
        above = below + requirement["distance_mm"]
        start, end = min(below, above), max(below, above)
        column = next((c for c, top in enumerate(ends_at) if top <= start), len(ends_at))
        ends_at[column : column + 1] = [end + 0.4 * unit]
        x = left + column * step
        ink = _CHAIN if requirement["sets_top"] else _BRACKET
        tick = 0.7 * unit
        shapes += [
            Line(((x - tick, start), (x, start), (x, end), (x - tick, end)), ink),
            Label(
                (x + 0.5 * unit, (start + end) / 2 - text.half),
                str(k + 1),
                text.size,
                bold=bool(requirement["sets_top"]),
            ),
        ]
    return shapes, left + len(ends_at) * step


def _listed(
    requirements: Sequence[Value], text: Text, x: float, middle: float
) -> tuple[list[Shape], float]:
    """What each number is, what it asks and what it keeps, from the bottom up as drawn."""
    lines = [
        f"{k + 1}  {cut_short(requirement['title'], 38)}: {_asked(requirement)}"
        for k, requirement in enumerate(requirements)
    ]
    start = middle - text.pitch * (len(lines) - 1) / 2
    shapes: list[Shape] = [
        Label((x, start + k * text.pitch), words, text.size, bold=bool(requirement["sets_top"]))
        for k, (words, requirement) in enumerate(zip(lines, requirements, strict=True))
    ]
    return shapes, x + text.width(max(map(len, lines), default=0))


def _asked(requirement: Value) -> str:
    keeps = f"keeps {number(requirement['slack_mm'])}"
    if "least_mm" not in requirement:
        return f"at most {number(requirement['most_mm'])}, {keeps}"
    asked = number(requirement["least_mm"])
    if "most_mm" not in requirement:
        return f"{asked} or more, {keeps}"
    if requirement["least_mm"] == requirement["most_mm"]:
        return asked
    return f"{asked} to {number(requirement['most_mm'])}, {keeps}"


VIEWS: Mapping[str, Callable[[Value], Drawing]] = {"ladder": ladder, "conflict": conflict}
