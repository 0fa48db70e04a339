"""The way through the requirements that cannot hold together, as stairs."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Arrow, Drawing, Ink, Label, Legend, Line, Polygon, Shape

from .drawing_text import Text, cut_short, sized
from .kinds import number

Value = Mapping[str, Any]

_START = Ink("#1f2933", 0.5)
_STEP = Ink("#1f2933", 0.4)
_LOST = Ink("#7a3e00", 0.2, hatched=True)
_LEVEL = Ink("#9aa5b1", 0.15)
_MISSING = Ink("#9b1c1c", 0.6, (1.0, 0.6))
_HIGH = 55.0
_MOST = 30


def conflict(value: Value) -> Drawing:
    """The first conflict: each requirement a step up or down, and what is missing at the end."""
    if not value["conflicts"]:
        words = "Everything holds together: there is no conflict to show."
        return Drawing("No conflict", words, [])
    shown = value["conflicts"][0]
    members = shown["members"]
    tops = [0.0, *(m["reached_mm"] for m in members)]
    low, high = min(tops), max(tops)
    unit = (high - low or 1000.0) / _HIGH
    room = _HIGH / max(len(members), 22)
    text = Text(unit, 0.72 * room, room)
    width = min(5.0, 52 / len(members)) * unit
    end = (len(members) + 0.5) * width
    listed, edge = _listed(members, end + 10 * unit, (low + high) / 2, text)
    shapes: list[Shape] = [
        Line(((-width, 0.0), (end + width, 0.0)), _START),
        Line(((end + width, 0.0), (edge, 0.0)), _LEVEL),
        Label(
            (-width, -0.6 * unit - text.size * unit),
            f"{shown['starts_at']}: start and end",
            text.size,
        ),
    ]
    for k, (before, member) in enumerate(zip(tops, members, strict=False)):
        shapes += _step(k, before, member, width, text)
    shapes += _missing(shown, members, end, text)
    shapes += listed
    others = len(value["conflicts"]) - 1
    more = f" {others} more in the result." if others else ""
    named = (
        f"“{_wished(value, shown)}” cannot be had" if "wish" in shown else "Cannot hold together"
    )
    return Drawing(
        f"{named}: {number(shown['missing_mm'])} mm missing",
        shown["words"] + more,
        sized(shapes, unit, edge + width, high - low),
        [
            Legend(_STEP, "what a requirement asks, from level to level"),
            Legend(_LOST, "lost by rounding to the grid"),
            Legend(_MISSING, "missing: the way should end at or below where it started"),
        ],
    )


def _wished(value: Value, shown: Value) -> str:
    title = next(r["title"] for r in value["requirements"] if r["id"] == shown["wish"])
    return cut_short(title, 60)


def _step(k: int, before: float, member: Value, width: float, text: Text) -> list[Shape]:
    """One arrow up or down, the rounding above it, and the level it leads to."""
    x, asked = (k + 0.5) * width, before + member["asked_mm"]
    shapes: list[Shape] = []
    if abs(asked - before) > 2.6 * text.unit:
        shapes.append(Arrow((x, before), (x, asked), _STEP))
    elif asked != before:
        shapes.append(Line(((x, before), (x, asked)), _STEP))
    reached = member["reached_mm"]
    if member["lost_mm"]:
        half = 0.14 * width
        box = ((x - half, asked), (x + half, asked), (x + half, reached), (x - half, reached))
        shapes.append(Polygon(box, _LOST))
    shapes.append(Line(((x - 0.3 * width, reached), (x + 1.2 * width, reached)), _LEVEL))
    high, middle = max(before, reached), (before + asked) / 2
    at = (x - 0.1 * width, high + 0.5 * text.unit)
    if abs(asked - before) > 5 * text.unit:
        at = (x + 0.18 * width, middle - text.half)
    shapes.append(Label(at, str(k + 1), text.size, bold=True))
    return shapes


def _missing(shown: Value, members: Sequence[Value], x: float, text: Text) -> list[Shape]:
    reached = members[-1]["reached_mm"]
    words = f"{number(shown['missing_mm'])} mm missing"
    at = (x + text.unit, reached / 2 - text.half)
    return [Line(((x, 0.0), (x, reached)), _MISSING), Label(at, words, text.size, bold=True)]


def _listed(
    members: Sequence[Value], x: float, middle: float, text: Text
) -> tuple[list[Shape], float]:
    """What each number is and asks, from the bottom up as drawn."""
    lines = [
        f"{k + 1}  {cut_short(member['title'], 48)}: {_asked(member)}"
        for k, member in enumerate(members[:_MOST])
    ]
    start = middle - text.pitch * (len(lines) - 1) / 2
    shapes: list[Shape] = [
        Label((x, start + k * text.pitch), words, text.size) for k, words in enumerate(lines)
    ]
    return shapes, x + text.width(max(map(len, lines)))


def _asked(member: Value) -> str:
    word = "at least" if member["end"] == "least" else "at most"
    lost = f", rounding {number(member['lost_mm'])}" if member["lost_mm"] else ""
    return f"{word} {number(abs(member['asked_mm']))}{lost}"
