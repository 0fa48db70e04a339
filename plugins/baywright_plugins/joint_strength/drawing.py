"""Pictures of a result: probability paper, losses, test sheet. They compute nothing."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import (
    Arrow,
    Circle,
    Drawing,
    Ink,
    Label,
    Legend,
    Line,
    Polygon,
    Segments,
    Shape,
)

from .axes import Axes, Scale, dashed, labelled

Value = Mapping[str, Any]

SOLID = Ink("#1f2933", 0.35)
DASHED = Ink("#1f2933", 0.3, (2.0, 1.2))
DOTTED = Ink("#9b1c31", 0.35, (0.5, 0.9))
STRENGTH = Ink("#1f2933", 0.2, (), "#1f2933")
PROOF = Ink("#0b5394", 0.4)
STYLE = {"normal": SOLID, "log-normal": DASHED}
PERCENTS = ((-2.326, "1 %"), (-1.645, "5 %"), (-1.282, "10 %"), (-0.674, "25 %"), (0.0, "50 %"))
HIGH_PERCENTS = ((0.674, "75 %"), (1.282, "90 %"), (1.645, "95 %"), (2.326, "99 %"))


def draw_probability_plot(value: Value) -> Drawing:
    """Strengths against the share that is weaker, on normal probability paper."""
    title = "Strengths on probability paper"
    if "probability_plot" not in value:
        return Drawing(title, "There are no readings yet.", _empty("No readings yet."))
    plot, k = value["probability_plot"], value["characteristic_n"]
    low = min(k, float(plot["force_n"][0]))
    high = float(plot["force_n"][-1])
    room = max(high - low, 0.02 * high)
    axes = Axes(
        Scale(max(low - 0.15 * room, 0.0), high + 0.12 * room, 0, 160), Scale(-2.6, 2.6, 0, 100)
    )
    shapes = axes.frame(
        x_ticks=labelled(axes.x.ticks()),
        y_ticks=(*PERCENTS, *HIGH_PERCENTS),
        x_title="Force at the first slip, N",
        y_title="Share of joints that are weaker",
    )
    for line in plot["lines"]:
        shapes += dashed(axes.run(line["force_n"], line["quantile"]), STYLE[line["distribution"]])
    shapes += _markers(plot, axes)
    shapes += _characteristic(value, axes)
    legend = [Legend(SOLID, "normal, fitted"), Legend(DASHED, "log-normal, fitted")]
    if value["sample"]["proofs_count"]:
        legend.append(Legend(PROOF, "arrow at the top: proof value, the joint held at least this"))
    percent = f"{100 * value['fraction_ratio']:.2f}".rstrip("0").rstrip(".")
    legend.append(Legend(DOTTED, f"characteristic value, below the fitted {percent} % value"))
    sample = value["sample"]
    about = (
        f"{sample['count']} joints from {sample['weakest_n']:.1f} to {sample['strongest_n']:.1f} "
        f"N, mean {sample['mean_n']:.1f} N. {value['method_title']}: {k:.1f} N."
    )
    return Drawing(title, about, shapes, legend)


def _markers(plot: Value, axes: Axes) -> list[Shape]:
    shapes: list[Shape] = [
        Circle(axes.point(force, quantile), 1.1, STRENGTH)
        for force, quantile in zip(plot["strength_n"], plot["quantile"], strict=True)
    ]
    top = axes.y.start + axes.y.length
    pairs = zip(plot["force_n"], plot["gave_way"], strict=True)
    held = [force for force, gave_way in pairs if not gave_way]
    for place, force in enumerate(held):
        x, y = axes.x.at(force), top - 3 - 3.2 * (place % 8)
        shapes += [Circle((x, y), 1.0, PROOF), Arrow((x + 1, y), (x + 8, y), PROOF)]
    return shapes


def _characteristic(value: Value, axes: Axes) -> list[Shape]:
    k, quantile = value["characteristic_n"], value["probability_plot"]["fraction_quantile"]
    x, y = axes.point(k, quantile)
    text = f"{k:.1f} N"
    return [
        Line(((x, axes.y.start), (x, axes.y.start + axes.y.length)), DOTTED),
        Line(((axes.x.start, y), (x, y)), DOTTED),
        Label((x + 1.5, axes.y.start + axes.y.length - 6), text, 2.0, bold=True),
    ]


def draw_losses(value: Value) -> Drawing:
    """Strength over assemblies (both scales logarithmic) and over days (days logarithmic)."""
    wear, standing = value["wear"], value["standing"]
    shapes: list[Shape] = []
    if wear["fitted"]:
        shapes += _loss_panel(
            Axes(_along(wear["curve_assemblies"], 0), _up(wear, logarithmic=True)),
            (wear["assemblies"], wear["strength"]),
            (wear["curve_assemblies"], wear["curve_strength"]),
            ("Assemblies", f"Wear: strength ~ assemblies^-{wear['exponent_ratio']:.3f}"),
            _mark(wear, "assemblies_count", "assemblies"),
        )
    else:
        shapes += _empty("No re-assembly series.", 0)
    if standing["fitted"]:
        shapes += _loss_panel(
            Axes(_along(standing["curve_days"], 110), _up(standing, logarithmic=False)),
            (standing["days"], standing["strength"]),
            (standing["curve_days"], standing["curve_strength"]),
            (
                "Days under load",
                f"Standing: 1 - {standing['loss_per_decade_ratio']:.4f} log10(days)",
            ),
            _mark(standing, "standing_days", "days"),
        )
    else:
        shapes += _empty("No standing series.", 110)
    about = (
        f"Share left after wear {wear['factor_ratio']:.3f}, after standing "
        f"{standing['factor_ratio']:.3f}."
    )
    legend = [
        Legend(SOLID, "fitted line; dots are what was tested"),
        Legend(DOTTED, "what the joints must last"),
    ]
    return Drawing("What use takes away", about, shapes, legend)


def _along(curve: Any, start: float) -> Scale:
    return Scale(float(min(curve)) * 0.9, float(max(curve)) * 1.12, start, 85, logarithmic=True)


def _up(part: Value, *, logarithmic: bool) -> Scale:
    every = [*map(float, part["strength"]), *map(float, part["curve_strength"])]
    low, high = min(every), max(every)
    room = max(high - low, 0.02 * high)
    return Scale(max(low - 0.2 * room, low * 0.5), high + 0.2 * room, 0, 85, logarithmic)


def _mark(part: Value, at: str, what: str) -> tuple[float, str] | None:
    if at not in part:
        return None
    return part[at], f"{part['factor_ratio']:.3f} left after {part[at]:g} {what}"


def _loss_panel(
    axes: Axes,
    points: tuple[Any, Any],
    curve: tuple[Any, Any],
    words: tuple[str, str],
    mark: tuple[float, str] | None,
) -> list[Shape]:
    shapes = axes.frame(
        x_ticks=labelled(axes.x.ticks()),
        y_ticks=labelled(axes.y.ticks(about=5)),
        x_title=words[0],
        y_title=words[1],
        size=1.6,
    )
    shapes += dashed(axes.run(*curve), SOLID)
    if mark is not None:
        x = axes.x.at(mark[0])
        y0, y1 = axes.y.start, axes.y.start + axes.y.length
        shapes.append(Line(((x, y0), (x, y1)), DOTTED))
        left = x > axes.x.start + axes.x.length / 2
        away, anchor = (-1.5, "end") if left else (1.5, "start")
        shapes.append(Label((x + away, y0 + 3), mark[1], 1.6, anchor, bold=True))
    shapes += [Circle(axes.point(x, y), 1.1, STRENGTH) for x, y in zip(*points, strict=True)]
    return shapes


def _empty(words: str, start: float = 0.0) -> list[Shape]:
    corners = ((start, 0.0), (start + 85, 0.0), (start + 85, 85.0), (start, 85.0))
    return [
        Polygon(corners, Ink("#52606d", 0.2, (1.0, 1.0))),
        Label((start + 42.5, 42.5), words, 1.8, "middle"),
    ]


# The drawing's own margins (12 % of the longer side across, 17 % up) make A4 of this: 210 x 297.
SHEET_WIDTH, SHEET_HEIGHT = 179.5, 253.85
THIN = Ink("#1f2933", 0.08)
ROW_MM = 6.3


def draw_test_sheet(value: Value) -> Drawing:
    """A sheet of A4 to print: steps, tables to fill in, how many tests."""
    sheet = value["test_sheet"]
    y = SHEET_HEIGHT
    shapes: list[Shape] = [_corner(0.0, 0.0), _corner(SHEET_WIDTH, SHEET_HEIGHT)]
    shapes.append(Label((0.0, y - 1), sheet["tested"], 1.5, bold=True))
    shapes += _blanks(("Date", "Who", "Batch of rods", "Hubs"), y - 9)
    y -= 17
    for number, step in enumerate(sheet["steps"], start=1):
        shapes.append(Label((0.0, y), f"{number}", 1.25, bold=True))
        y = _paragraph(shapes, step, 5.0, y)
    pulls, wear, standing, factors = sheet["tables"]
    y -= 4
    shapes += _table(pulls, 0.0, y, (12, 30, 30, 30, 16, 30, 31.5))
    y -= (len(pulls["rows"]) + 1) * ROW_MM + 8
    shapes += _table(wear, 0.0, y, (20, 16, 16, 16, 18))
    shapes += _table(standing, 93.5, y, (20, 16, 16, 16, 18))
    y -= (len(wear["rows"]) + 1) * ROW_MM + 8
    columns = len(factors["columns"]) - 1
    shapes += _table(factors, 0.0, y, (39.5, *[14.0] * columns))
    y -= 2 * ROW_MM + 5
    for text in sheet["advice"]:
        y = _paragraph(shapes, text, 0.0, y)
    about = "A sheet to fill in: " + " ".join(sheet["steps"])
    return Drawing(sheet["title"], about, shapes)


def _corner(x: float, y: float) -> Line:
    """Holds the sheet's size; too short to be seen."""
    return Line(((x, y), (x, y)), Ink("#ffffff", 0.01))


def _blanks(names: Sequence[str], y: float) -> list[Shape]:
    """Names with a line each to write on, side by side."""
    shapes: list[Shape] = []
    width = SHEET_WIDTH / len(names)
    for place, name in enumerate(names):
        x = place * width
        shapes.append(Label((x, y), name, 1.2))
        shapes.append(Line(((x + 2.0 * len(name) + 3, y - 1), (x + width - 3, y - 1)), THIN))
    return shapes


def _paragraph(shapes: list[Shape], text: str, x: float, y: float) -> float:
    """Sets `text` from `y` downwards; returns where the next line goes."""
    for line in _wrapped(text, 102):
        shapes.append(Label((x, y), line, 1.25))
        y -= 4.2
    return y


def _table(table: Value, x0: float, top: float, widths: Sequence[float]) -> list[Shape]:
    rows = [table["columns"], *table["rows"]]
    edges = [x0]
    for width in widths:
        edges.append(edges[-1] + width)
    bottom = top - len(rows) * ROW_MM
    across = [((x0, top - k * ROW_MM), (edges[-1], top - k * ROW_MM)) for k in range(len(rows) + 1)]
    down = [((x, top), (x, bottom)) for x in edges]
    shapes: list[Shape] = [Segments([*across, *down], THIN)]
    shapes.append(Label((x0, top + 1.6), table["title"], 1.3, bold=True))
    for k, row in enumerate(rows):
        for x, cell in zip(edges[:-1], row, strict=True):
            if cell:
                place = (x + 1.2, top - (k + 1) * ROW_MM + 2.0)
                shapes.append(Label(place, cell, 1.2, bold=k == 0))
    return shapes


def _wrapped(text: str, most: int) -> list[str]:
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > most:
            lines.append("")
        lines[-1] = f"{lines[-1]} {word}".strip()
    return lines
