"""A sloping floor from the side, heights drawn larger than lengths."""

from collections.abc import Mapping
from typing import Any

from baywright_service.contract import Circle, Drawing, Ink, Label, Legend, Line, Segments, Shape

Record = Mapping[str, Any]
_SUPPORT = Ink("#52606d", 0.5)
_BASE = Ink("#1f2933", 0.3)
_FLOOR = Ink("#1f2933", 0.5)
_WANTED = Ink("#0b5c8a", 0.25, (1.2, 0.8))
_LEVEL = Ink("#7a3e00", 1.0, (0.5, 0.9))
_KINK = Ink("#7a3e00", 0.3)
_TIMES = (1, 2, 5, 10, 20, 50, 100, 200, 500)
_MOST_LABELS = 14


def slope(value: Record, inputs: Record) -> Drawing:
    """The first line of supports: what is wanted, what is built, the fall of each span."""
    if "slope_steps" not in value:
        words = "Give slope_steps (fall, module step, pieces) to see the floor from the side."
        return Drawing("Slope of the floor", words, [])
    record = value["slope_steps"]
    side = record["supports"]["across_mm"][0]
    places = record["supports"]
    columns = (places[key] for key in ("along_mm", "across_mm", "wanted_mm", "height_mm"))
    rows = [(x, wanted, h) for x, y, wanted, h in zip(*columns, strict=True) if y == side]
    low = min(min(wanted, height) for _, wanted, height in rows)
    high = max(max(wanted, height) for _, wanted, height in rows)
    long = rows[-1][0] - rows[0][0]
    times = max(n for n in _TIMES if n == 1 or (high - low) * n <= long * 0.22)
    unit = long / 100
    foot = -5 * unit

    def up(height: float) -> float:
        return float((height - low) * times)

    falls = [fall for fall in record["falls"] if fall["across_mm"] == side]
    heights = {x: height for x, _, height in rows}
    shapes: list[Shape] = [
        Line(((rows[0][0] - unit, foot), (rows[-1][0] + unit, foot)), _BASE),
        Segments([((x, foot), (x, up(height))) for x, _, height in rows], _SUPPORT),
        Line([(x, up(wanted)) for x, wanted, _ in rows], _WANTED),
        Line([(x, up(height)) for x, _, height in rows], _FLOOR),
    ]
    tops = [
        (
            (fall["start_mm"], up(heights[fall["start_mm"]])),
            (fall["end_mm"], up(heights[fall["end_mm"]])),
        )
        for fall in falls
    ]
    level = [top for top, fall in zip(tops, falls, strict=True) if fall["percent"] <= 0]
    if level and inputs["slope_steps"]["along_percent"]:
        shapes.append(Segments(level, _LEVEL))
    kinks = [kink for kink in record["kinks"] if kink["across_mm"] == side]
    shapes += [
        Circle((kink["at_mm"], up(heights[kink["at_mm"]])), 0.8 * unit, _KINK) for kink in kinks
    ]
    every = max(1, -(-len(falls) // _MOST_LABELS))
    shapes += [
        Label(
            ((a[0] + b[0]) / 2, max(a[1], b[1]) + 1.2 * unit),
            f"{fall['percent']:.2f}",
            1.5,
            "middle",
        )
        for (a, b), fall in list(zip(tops, falls, strict=True))[::every]
    ]
    every = max(1, -(-len(rows) // _MOST_LABELS))
    shapes += [
        Label((x + 0.5 * unit, foot - unit), f"{height:.1f}", 1.5, "end", 60.0)
        for x, _, height in rows[::every]
    ]
    words = "Above the floor: its fall in %. Below: the height of a support in mm."
    shapes.append(Label((rows[0][0], up(high) + 5 * unit), words, 1.6))
    shown = f"heights drawn {times} times larger" if times > 1 else "drawn to scale"
    least, most = record.get("fall_min_percent", 0), record.get("fall_max_percent", 0)
    return Drawing(
        f"Slope built from steps, {shown}",
        f"{len(rows)} supports; the floor falls {least:.2f} to {most:.2f} % between them; the "
        f"largest error is {record['error_max_mm']:.2f} mm. The front edge is on the left.",
        shapes,
        [
            Legend(_FLOOR, "floor as built"),
            Legend(_WANTED, "slope wanted"),
            Legend(_SUPPORT, "support, cut short below"),
            *([Legend(_LEVEL, "level or rising: a ball can stop")] if level else []),
            *([Legend(_KINK, "kink beyond the one allowed (rings)")] if kinks else []),
        ],
    )
