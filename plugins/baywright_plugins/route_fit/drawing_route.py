"""The whole route as a strip: passages from left to right, sections beneath them."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Arrow, Drawing, Ink, Label, Legend, Polygon, Shape

from ..grid_fit.findings import mm
from ..grid_fit.panels import FITS, STICKS, empty, rectangle
from .words import attitude_words, spare_words

Row = Mapping[str, Any]

WIDE, HIGH, HEAD, SIDE = 300.0, 110.0, 190.0, 320.0
MOST_PASSAGES, MOST_ROWS = 10, 20

_LITTLE = Ink("#6b4e00", 0.3, (0.4, 0.4), "#fdf3dc")
_MARK = Ink("#1f2933", 0.6)


def route_drawing(value: Row, little_mm: float) -> Drawing:
    """A cell for each section at each passage: attitude, room left; governing cell framed."""
    openings, sections = value["openings"], value["sections"]
    rows = {(row["section"], row["passage"]): row for row in value["passages"]}
    firsts = [one for one in sections if "twin_of" not in one]
    shown, stops = firsts[:MOST_ROWS], openings[:MOST_PASSAGES]
    if not shown:
        return empty("The route", "Nothing to carry.")
    size = 100 * 30.0 / max(SIDE + WIDE * len(stops), HEAD + HIGH * len(shown))
    shapes: list[Shape] = []
    for k, opening in enumerate(stops):
        shapes += _head(opening, SIDE + WIDE * k, size, last=k == len(stops) - 1)
    for n, one in enumerate(shown):
        y = -HEAD - HIGH * (n + 1)
        names = [one["id"], *(s["id"] for s in sections if s.get("twin_of") == one["id"])]
        label = ", ".join(names[:3]) + (" .." if len(names) > 3 else "")
        shapes.append(Label((0.0, y + 0.55 * HIGH), label, size, "start", bold=True))
        sides = " x ".join(mm(one["outside_mm"][axis]) for axis in "xyz")
        shapes.append(Label((0.0, y + 0.2 * HIGH), f"{sides} mm", 0.8 * size))
        for k, opening in enumerate(stops):
            row = rows[one["id"], opening["id"]]
            shapes += _cell(row, SIDE + WIDE * k, y, size, little_mm)
            governing = value["governing"]
            if (row["section"], row["passage"]) == (governing["section"], governing["passage"]):
                shapes.append(
                    Polygon(rectangle(SIDE + WIDE * k + 4, y + 4, WIDE - 8, HIGH - 8), _MARK)
                )
    left_out = len(firsts) > len(shown) or len(openings) > len(stops)
    words = " Not all of them are shown." if left_out else ""
    return Drawing(
        "The route at a glance",
        "From left to right the passages, from top to bottom the sections; in each cell the "
        f"attitude and the room left.{words}",
        shapes,
        (
            Legend(FITS, "gets through"),
            Legend(_LITTLE, f"gets through with less than {mm(little_mm)} mm to spare"),
            Legend(STICKS, "sticks, with the mm it is over"),
            Legend(_MARK, "governs the whole machine"),
        ),
    )


def _head(opening: Row, x: float, size: float, *, last: bool) -> list[Shape]:
    middle = x + WIDE / 2
    shapes: list[Shape] = [
        Label(
            (middle, -0.3 * HEAD), _short(opening["title"], 18), 0.85 * size, "middle", bold=True
        ),
        Label((middle, -0.52 * HEAD), _sizes(opening), 0.8 * size, "middle"),
    ]
    if not last:
        shapes.append(Arrow((x + 0.3 * WIDE, -0.82 * HEAD), (x + 1.25 * WIDE, -0.82 * HEAD)))
    return shapes


def _sizes(opening: Row) -> str:
    if "flight" in opening:
        flight = opening["flight"]
        return f"stairs {mm(flight['width_mm'])}, headroom {mm(flight['headroom_mm'])}"
    if "clear_width_mm" in opening:
        text = f"{mm(opening['clear_width_mm'])} x {mm(opening['clear_height_mm'])}"
        return text + (", corner" if "corridors_mm" in opening else "")
    return "corridors " + ", ".join(mm(w) for w in opening["corridors_mm"][:4])


def _cell(row: Row, x: float, y: float, size: float, little_mm: float) -> list[Shape]:
    spare = row["spare_mm"]
    ink = STICKS if not row["passes"] else (_LITTLE if spare < little_mm else FITS)
    middle = x + WIDE / 2
    words = attitude_words(row)
    manner = {"on-skid": ", on a skid"}.get(row["carried"], "")
    plate = Ink("none", 0.0, (), "#ffffff")
    shapes: list[Shape] = [Polygon(rectangle(x + 10, y + 10, WIDE - 20, HIGH - 20), ink)]
    if not row["passes"]:
        shapes.append(Polygon(rectangle(x + 22, y + 20, WIDE - 44, HIGH - 40), plate))
    return [
        *shapes,
        Label((middle, y + 0.55 * HIGH), spare_words(spare), size, "middle", bold=spare < 0),
        Label((middle, y + 0.25 * HIGH), words + manner, 0.75 * size, "middle"),
    ]


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"
