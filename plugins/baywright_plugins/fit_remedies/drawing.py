"""Pictures of a result: every number in them stands in the result."""

import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Drawing, Ink, Label, Legend, Line, Polygon, Shape

from ..grid_fit.findings import mm
from ..grid_fit.panels import (
    FITS,
    OUTLINE,
    ROOM,
    STICKS,
    Panel,
    empty,
    moved,
    rectangle,
    sheet,
)

Row = Mapping[str, Any]

#: What each picture shows; the first is the default.
VIEWS = {
    "options": "Each way with the parts it changes and the room it leaves, cheapest first",
    "sections": "Sections that stick in the opening that governs, before and after the best way",
}

_BARE = Ink("#9a031e", 0.3, (0.9, 0.5), "none", hatched=True)
_NOTHING = Ink("#52606d", 0.25, (0.6, 0.4), "#ffffff")
_OPENING_LEGEND = (
    Legend(OUTLINE, "clear opening"),
    Legend(ROOM, "what hands, lifting and headroom leave of it"),
)
_WIDE = 1000.0
_LINE = 21.0
_MOST_GROUPS, _MOST_IN_ROW = 8, 6


def draw_view(value: Row, view: str) -> Drawing:
    """The picture named `view`."""
    return options_drawing(value) if view == "options" else sections_drawing(value)


def options_drawing(value: Row) -> Drawing:
    """A ladder: one rung for each way, then for what leaves the grid alone."""
    rungs = [_way_words(way, twins="identity" in value) for way in value["ways"]]
    rungs += [_alternative_words(one) for one in value["alternatives"][:4]]
    if not rungs:
        words = "Everything gets through as it is." if value["passes"] else "No way was found."
        return empty("Ways through", words)
    longest = max([way["parts_changed_count"] for way in value["ways"]], default=0) or 1
    shapes: list[Shape] = []
    y = 0.0
    for head, parts, ink, foot in rungs:
        lines = textwrap.wrap(head, 78)
        for text in lines:
            y -= _LINE
            shapes.append(Label((0.0, y), text, 1.7, bold=True))
        bar = max(_WIDE * 0.98 * parts / longest, 8.0)
        y -= 1.35 * _LINE
        shapes.append(Polygon(rectangle(0.0, y, bar, 0.9 * _LINE), ink))
        for text in textwrap.wrap(foot, 92):
            y -= 0.95 * _LINE
            shapes.append(Label((0.0, y), text, 1.5))
        y -= 0.9 * _LINE
    shapes.append(Line(((0.0, 0.0), (_WIDE, 0.0)), ROOM))
    return Drawing(
        "Ways through, by parts changed",
        f"{len(value['ways'])} ways to bring every section through, and what can be done without "
        "touching the grid. Each bar is as long as the number of parts taken out and put in.",
        shapes,
        [
            Legend(FITS, "parts taken out and put in; everything passes and is braced"),
            Legend(_BARE, "leaves faces without a diagonal, or does not pass"),
            Legend(_NOTHING, "changes no part of the grid"),
        ],
    )


def _way_words(way: Row, *, twins: bool) -> tuple[str, int, Ink, str]:
    parts = way["parts_changed_count"]
    saved = [(way["hubs_saved_count"], "hubs")]
    saved += [(row["count"], row["rod"]) for row in way["rods_saved"]]
    counts = ", ".join(f"{abs(n)} {what} {'fewer' if n > 0 else 'more'}" for n, what in saved if n)
    rest = [
        f"{parts} parts changed" + (f" ({counts})" if counts else ""),
        f"{mm(way['cleared_spare_mm'])} mm spare for what stuck",
        *(["twins kept" if way["identity_kept"] else "twins broken"] if twins else []),
        "faces couple" if way["coupling_faces_match"] else "faces no longer flush",
    ]
    bare = sum(row["faces_count"] for row in way["left_without_diagonal"])
    if bare:
        rest.append(f"{bare} faces without a diagonal")
    if not way["proven_best"]:
        rest.append(f"not proven best: bound {way['bound']:.0f}")
    ink = _BARE if bare else FITS
    return f"{way['rank']}. {way['message']}", parts, ink, "; ".join(rest) + "."


def _alternative_words(one: Row) -> tuple[str, int, Ink, str]:
    spare = one["spare_mm"]
    how = f"passes, {mm(spare)} mm spare" if one["passes"] else f"still {mm(-spare)} mm over"
    ink = _NOTHING if one["passes"] else _BARE
    return one["message"], 0, ink, f"No bay changed; {how} for {one['section']}."


def sections_drawing(value: Row) -> Drawing:
    """Each section that sticks (twins share a panel): now, then its pieces afterwards."""
    stuck = [one for one in value["sections"] if not one["passes"]]
    if not stuck:
        return empty("Before and after", "Everything gets through as it is.")
    groups: dict[str, list[Row]] = {}
    for one in stuck:
        groups.setdefault(one.get("twin_of", one["id"]), []).append(one)
    best = value["ways"][0] if value["ways"] else None
    passages = {row["id"]: row for row in value["passages"]}
    shown: list[list[tuple[Row, str]]] = []
    for group in list(groups.values())[:_MOST_GROUPS]:
        first = group[0]
        names = ", ".join(one["id"] for one in group)
        row = [(first, f"{names} now")]
        if best is not None:
            pieces = [one for one in best["sections"] if one["of_section"] == first["id"]]
            row += [(piece, f"{piece['id']} afterwards") for piece in pieces]
        if shown and len(shown[-1]) + len(row) <= _MOST_IN_ROW:
            shown[-1] += row
        else:
            shown.append(row)
    unit = _text_line(shown, passages)
    rows = [[_panel(one, name, passages, unit) for one, name in row] for row in shown]
    words = best["message"] if best is not None else "No way was found."
    return sheet(
        "Sections in the opening that governs, before and after",
        f"Seen along the way through, to scale. {words}",
        rows,
        [
            *(_OPENING_LEGEND if any(_in_opening(one) for row in shown for one, _ in row) else ()),
            Legend(STICKS, "section that sticks, with the mm it is over"),
            Legend(FITS, "section that passes, with the mm it has to spare"),
        ],
    )


def _text_line(shown: Sequence[Sequence[tuple[Row, str]]], passages: Mapping[str, Row]) -> float:
    """Height of a line of text, by the size the sheet will have about."""
    sizes = [_extent(one, passages[one["passage"]]) for row in shown for one, _ in row]
    wide, high = (max(size[k] for size in sizes) for k in range(2))
    columns = max(len(row) for row in shown)
    return 0.0125 * max(1.4 * high * len(shown), 1.6 * wide * columns)


def _in_opening(one: Row) -> bool:
    """Whether an opening decides; else the section is shown from above."""
    return one["obstacle"] in ("opening", "inside")


def _seen_mm(one: Row) -> tuple[float, float]:
    """Width and height of a section as it is shown."""
    if _in_opening(one):
        return one["width_mm"], one["height_mm"]
    return one["length_mm"], one["width_mm"]


def _extent(one: Row, passage: Row) -> tuple[float, float]:
    width, height = _seen_mm(one)
    if not _in_opening(one):
        return width, height
    return max(width, passage["clear_width_mm"]), max(height, passage["clear_height_mm"])


def _panel(one: Row, name: str, passages: Mapping[str, Row], unit: float) -> Panel:
    """A section, or a piece of one, at the passage that governs for it."""
    passage = passages[one["passage"]]
    width, height = _seen_mm(one)
    broad, tall = _extent(one, passage)
    middle, opening = broad / 2, _in_opening(one)
    floor = passage["lifted_mm"] if opening else 0.0
    ink = FITS if one["passes"] else STICKS
    shapes: list[Shape] = [Polygon(rectangle(middle - width / 2, floor, width, height), ink)]
    if opening:
        shapes += _opening(passage, middle)
        shapes.append(Line(((-0.1 * broad, 0.0), (1.1 * broad, 0.0)), OUTLINE))
    shapes += [
        Label((middle, -unit * (1.7 + 1.6 * k)), text, 1.35, "middle", bold=bold)
        for k, (text, bold) in enumerate(_words(one, name, passage))
    ]
    lowest = 10.0 * unit
    whole = max(1.2 * broad, 16 * unit)
    shift = (whole - broad) / 2
    return Panel([moved(shape, shift, lowest) for shape in shapes], whole, tall + lowest + unit)


def _opening(passage: Row, middle: float) -> list[Shape]:
    width, height = passage["clear_width_mm"], passage["clear_height_mm"]
    left, right = middle - width / 2, middle + width / 2
    room = max(passage["allowed_width_mm"], 0.0), max(passage["allowed_height_mm"], 0.0)
    return [
        Polygon(rectangle(middle - room[0] / 2, passage["lifted_mm"], *room), ROOM),
        Line(((left, 0.0), (left, height), (right, height), (right, 0.0)), OUTLINE),
    ]


def _words(one: Row, name: str, passage: Row) -> list[tuple[str, bool]]:
    """What stands below a section, and whether in bold."""
    width, height = _seen_mm(one)
    spare = one["spare_mm"]
    how = f"{mm(-spare)} mm over" if spare < 0 else f"{mm(spare)} mm spare"
    lean = f", {one['angle_deg']:.0f} degrees" if one["attitude"] == "tilted" else ""
    above = "" if _in_opening(one) else ", seen from above"
    return [
        (name, True),
        (f"{mm(width)} x {mm(height)} mm{above}", False),
        (f"at {passage['title']}", False),
        (f"{one['attitude'].replace('-', ' ')}{lean}", False),
        (f"{how} in {one['tight']}", spare < 0),
    ]
