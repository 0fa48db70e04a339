"""The timetable as a picture: a row a person, a bar a step, a line a night."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Drawing, Ink, Label, Legend, Line, Polygon, Shape

#: Sections take turns; fills differ in lightness, outlines in dashes.
_INKS = (
    Ink("#1f2933", 0.12, (), "#ffffff"),
    Ink("#1f2933", 0.12, (), "#cbd2d9"),
    Ink("#1f2933", 0.2, (0.7, 0.4), "#ffffff"),
    Ink("#1f2933", 0.2, (0.7, 0.4), "#cbd2d9"),
)
_NIGHT = Ink("#9a031e", 0.3, (1.2, 0.5))
_RULE = Ink("#9aa5b1", 0.1)

_WIDTH = 200.0
_ROW = 11.0
_BAR = 8.0
_NAME = 20.0
_LEAST_LABEL = 4.4
_MOST_NIGHTS = 40

Row = Mapping[str, Any]


def draw_timetable(plan: Row, title: str) -> Drawing:
    """Who builds which step when, pauses and nights left out of the scale; a result that follows
    `BuildPlanOut`."""
    heading = f"Who builds what when: {title}"
    if not plan.get("people") or not plan["elapsed_h"]:
        return Drawing(heading, "No hours: state a team, and how many bays there are.", ())
    people = [row for row in plan["people"] if row["steps_count"]]
    place = {row["person"]: number for number, row in enumerate(people)}
    names = [row["section"] for row in plan["sections"]]
    scale = _WIDTH / (plan["elapsed_h"] * 60)
    shapes: list[Shape] = []
    for row in plan["steps"]:
        y = -_ROW * (place[row["person"]] + 1)
        ink = _INKS[names.index(row["section"]) % len(_INKS)]
        shapes += _bar(row, y, scale, ink)
    for row in people:
        y = -_ROW * (place[row["person"]] + 1)
        shapes.append(Label((0.0, y + 4.6), f"Person {row['person']}", 1.5, bold=True))
        shapes.append(Label((0.0, y + 1.6), f"{row['work_min'] / 60:.1f} h", 1.3))
    shapes += _axis(plan, scale, -_ROW * len(people))
    nights = min(plan["days_count"] - 1, _MOST_NIGHTS)
    shapes += _nights(plan, scale, -_ROW * len(people), nights)
    legend = [
        Legend(_INKS[k], f"bars like this: {', '.join(names[k :: len(_INKS)][:12])}")
        for k in range(min(len(names), len(_INKS)))
    ]
    if nights:
        legend.append(Legend(_NIGHT, "end of a day"))
    words = (
        f"{len(people)} people, {plan['elapsed_h']:.1f} h from begin to end without pauses, "
        f"{plan['days_count']} days. Each bar holds its section and the number of the step."
    )
    return Drawing(heading, words, shapes, legend)


def _bar(row: Row, y: float, scale: float, ink: Ink) -> list[Shape]:
    left, right = (_NAME + row[name] * scale for name in ("start_min", "end_min"))
    corners = ((left, y), (right, y), (right, y + _BAR), (left, y + _BAR))
    shapes: list[Shape] = [Polygon(corners, ink)]
    if right - left >= _LEAST_LABEL:
        middle = (left + right) / 2
        shapes.append(Label((middle, y + 4.5), str(row["section"])[:5], 1.2, "middle"))
        shapes.append(Label((middle, y + 1.3), str(row["step"]), 1.4, "middle", bold=True))
    return shapes


def _axis(plan: Row, scale: float, y: float) -> list[Shape]:
    hours = plan["elapsed_h"]
    every = next((step for step in (0.25, 0.5, 1, 2, 5, 10, 20, 50) if hours / step <= 14), None)
    every = every or float(int(hours / 14) + 1)
    shapes: list[Shape] = [Line([(_NAME, y - 1.0), (_NAME + _WIDTH, y - 1.0)], _RULE)]
    for tick in range(int(hours / every) + 1):
        x = _NAME + tick * every * 60 * scale
        shapes.append(Line([(x, y - 1.0), (x, y - 2.2)], _RULE))
        shapes.append(Label((x, y - 5.0), f"{tick * every:g}", 1.3, "middle"))
    return [*shapes, Label((0.0, y - 5.0), "hours worked", 1.2)]


def _nights(plan: Row, scale: float, y: float, nights: int) -> list[Shape]:
    """A line at the end of each day that is followed by another."""
    work = plan["day_work_min"]
    return [
        Line([(x, y - 1.0), (x, 1.5)], _NIGHT)
        for number in range(1, nights + 1)
        if (x := _NAME + number * work * scale) <= _NAME + _WIDTH
    ]
