"""Bars: what each improvement leaves of the minutes short, and what is most often to blame."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Drawing, Ink, Label, Legend, Line, Polygon, Shape

Value = Mapping[str, Any]
NOW = Ink(width=0.3, fill="#d9e2ec", hatched=True)
AFTER = Ink(width=0.3, fill="#9fb3c8")
PLAIN = Ink(width=0.15, stroke="#52606d", dash=(0.5, 0.7))
NOTHING = Ink(stroke="none", width=0.0)
WIDE, STEP, HIGH, WORDS = 100.0, 9.0, 5.0, 104.0
MOST_BARS = 24


def draw_improvements(inputs: Mapping[str, Any], value: Value) -> Drawing:
    """A bar for now and one for each improvement, best first."""
    rows = value.get("improvements", [])
    if not rows:
        text = "No improvements were compared: failure times are missing, or states too many."
        return Drawing("Improvements", text, ())
    now = value["measures_now"]["minutes_short_min"]
    bars = [("Now", now, NOW)]
    bars += [(row["text"], row["minutes_short_min"], AFTER) for row in rows]
    best = rows[0]
    title = f"Minutes short in {inputs['hours_per_day_h']:.4g} running hours a day"
    told = (
        f"Now {now:.3g} minutes a day too few balls come round. Best: {best['text']} Then "
        f"{best['minutes_short_min']:.3g} minutes."
    )
    legend = (Legend(NOW, "Hatched: as it is now"), Legend(AFTER, "After this one improvement"))
    return Drawing(title, told, _bars(bars, "min"), legend)


def draw_importance(inputs: Mapping[str, Any], value: Value) -> Drawing:
    """A bar for each part: minutes short a day that go away if it never stopped."""
    rows = value.get("importance", [])
    if not rows:
        return Drawing("What matters most", "No failure times are given for what can stop.", ())
    bars = [(f"{row['rank']}. {row['id']}", row["gain_min"], AFTER) for row in rows[:MOST_BARS]]
    rest = len(rows) - len(bars)
    told = (
        f"Most is gained if {rows[0]['id']} never stopped: {rows[0]['gain_min']:.3g} minutes a day."
    )
    if rest:
        told += f" {rest} more are not drawn."
    legend = (Legend(AFTER, "Minutes short a day that go away if this part never stopped"),)
    return Drawing("What makes the flow fall short, by part", told, _bars(bars, "min"), legend)


def _bars(bars: Sequence[tuple[str, float, Ink]], unit: str) -> list[Shape]:
    most = max([*(value for _, value, _ in bars), 1e-12])
    shapes: list[Shape] = [
        Line(((-WORDS, 0.0), (WIDE + 24.0, 0.0)), NOTHING),
        Line(((0.0, STEP), (0.0, -STEP * len(bars) + 2.0)), Ink(width=0.25)),
    ]
    for place, (words, value, ink) in enumerate(bars):
        y = -STEP * place
        long = WIDE * max(value, 0.0) / most
        lines = _wrapped(words, 60)
        for k, line in enumerate(lines):
            at = y + 1.7 + (len(lines) - 1) * 1.9 - 3.8 * k
            shapes.append(Label((-3.0, at), line, 1.5, "end"))
        shapes.append(Polygon(((0.0, y), (long, y), (long, y + HIGH), (0.0, y + HIGH)), ink))
        shapes.append(Label((long + 2.0, y + 1.6), f"{value:.3g} {unit}", 1.5))
    return shapes


def _wrapped(words: str, most: int) -> list[str]:
    lines = [""]
    for word in words.split():
        if lines[-1] and len(lines[-1]) + len(word) >= most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines[:2] if len(lines) <= 2 else [lines[0], lines[1] + " …"]


VIEWS: Mapping[str, Callable[[Mapping[str, Any], Value], Drawing]] = {
    "improvements": draw_improvements,
    "importance": draw_importance,
}
