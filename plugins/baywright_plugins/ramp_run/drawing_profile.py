"""The ramp from the side, with speeds above it and trouble marked."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Circle, Drawing, Ink, Label, Legend, Line, Segments, Shape

from .wording import span

Given = Mapping[str, Any]

_TRACK = Ink("#1f2933", 0.5)
_DROP = Ink("#1f2933", 0.3, (0.8, 0.6))
_BASE = Ink("#9aa5b1", 0.15)
_SLOW = Ink("#0b7285", 0.35, (1.6, 0.8))
_FAST = Ink("#c2410c", 0.35)
_TICK = Ink("#9aa5b1", 0.12, (0.3, 0.6))
_MARK = Ink("#b91c1c", 0.35)
_MUTED = "#52606d"


def profile(value: Given, inputs: Given) -> Drawing:
    """Side view over level distance, heights stretched where the ramp is long and low; above it
    the speeds of the slowest and of the fastest ball over the same distance."""
    segments = value["segments"]
    outline: list[Sequence[float]] = [
        point for segment in segments for point in segment["outline_mm"]
    ]
    left, right = min(x for x, _ in outline), max(x for x, _ in outline)
    low, high = min(y for _, y in outline), max(y for _, y in outline)
    wide = max(right - left, high - low, 1.0)
    stretch = _stretch(high - low, wide)

    def y(height: float) -> float:
        return (height - low) * stretch

    floor = y(high) + 0.12 * wide
    quick = max([0.1, *value["slow"]["speed_m_per_s"], *value["fast"]["speed_m_per_s"]])
    scale = 0.2 * wide / quick
    shapes: list[Shape] = [
        Line(((left, 0.0), (right, 0.0)), _BASE),
        *_track(segments, y),
        _axis(left, right, floor, quick, scale),
        Label((left, floor + quick * scale + 0.012 * wide), f"{quick:.2f} m/s", 1.6, "start"),
        Label((left, floor - 0.024 * wide), "0 m/s", 1.6, "start", colour=_MUTED),
        *_speeds(value["slow"], segments, floor, scale, _SLOW),
        *_speeds(value["fast"], segments, floor, scale, _FAST),
        *_names(segments, y, wide, floor),
        *_troubles(segments, y, wide),
        Label((left, -0.03 * wide), f"{segments[-1]['height_end_mm']:.0f} mm up at the end", 1.6),
    ]
    said = "Drawn to scale." if stretch == 1 else f"Heights drawn {stretch:.2g} times as tall."
    return Drawing(
        f"Ramp: {value['run_mm']:.0f} mm long, falls {value['fall_mm']:.0f} mm",
        f"{said} {_ending(value)}",
        shapes,
        [
            Legend(_TRACK, f"track from the side, numbered. {said}"),
            Legend(_FAST, "speed of the fastest ball at that place, above"),
            Legend(_SLOW, "speed of the slowest ball at that place, above"),
            Legend(_MARK, "ring with a cross: here a ball stops, slides or leaves"),
        ],
    )


def _stretch(tall: float, wide: float) -> float:
    if tall <= 0:
        return 1.0
    factor = 0.24 * wide / tall
    return 1.0 if 0.3 < factor < 2 else factor


def _ending(value: Given) -> str:
    if "transit_high_s" in value:
        low, high = value["transit_low_s"], value["transit_high_s"]
        return f"Every ball gets to the end, in {low:.1f} to {high:.1f} s."
    if value["arrives"] == "never":
        return "No ball gets to the end."
    return "The slowest ball does not get to the end."


def _track(segments: Sequence[Given], y: Callable[[float], float]) -> list[Shape]:
    return [
        Line([(x, y(h)) for x, h in segment["outline_mm"]], _ink(segment["kind"]))
        for segment in segments
    ]


def _ink(kind: str) -> Ink:
    return _DROP if kind == "drop" else _TRACK


def _axis(left: float, right: float, floor: float, quick: float, scale: float) -> Segments:
    lines = [((left, floor + v), (right, floor + v)) for v in (0.0, quick * scale)]
    return Segments(lines, _TICK)


def _speeds(
    ball: Given, segments: Sequence[Given], floor: float, scale: float, ink: Ink
) -> list[Shape]:
    """Over level distance; inside a loop, which turns back, only how slow it gets."""
    loops = [
        (segment["start_mm"], segment["start_mm"] + segment["length_mm"])
        for segment in segments
        if segment["kind"] == "loop"
    ]
    points, dips = [], []
    for along, x, v in zip(ball["distance_mm"], ball["run_mm"], ball["speed_m_per_s"], strict=True):
        inside = [k for k, (start, end) in enumerate(loops) if start < along < end]
        if inside:
            dips.append((inside[0], v))
        else:
            points.append((x, floor + v * scale))
    shapes: list[Shape] = [Line(points, ink)] if len(points) > 1 else []
    for k, (start, _) in enumerate(loops):
        speeds = [v for loop, v in dips if loop == k]
        entry = [x for s, x in zip(ball["distance_mm"], ball["run_mm"], strict=True) if s <= start]
        if speeds and entry:
            low, high = min(speeds), max(speeds)
            line = ((entry[-1], floor + low * scale), (entry[-1], floor + high * scale))
            shapes.append(Line(line, ink))
    return shapes


def _names(
    segments: Sequence[Given], y: Callable[[float], float], wide: float, floor: float
) -> list[Shape]:
    """Numbers along the track, names where there is room; the speed at which balls leave."""
    shapes: list[Shape] = []
    taken: list[tuple[float, float, float]] = []
    free = float("-inf")
    for k, segment in enumerate(segments):
        points = segment["outline_mm"]
        x = (min(p[0] for p in points) + max(p[0] for p in points)) / 2
        height = y(max(point[1] for point in points)) + 0.022 * wide
        name = segment["name"] if segment["name"].endswith(f" {k + 1}") else ""
        for text in (name or f"{k + 1} {segment['name']}", f"{k + 1}"):
            half = 0.0055 * wide * (len(text) + 1)
            if _clear(taken, x, half, height, wide):
                taken.append((x, half, height))
                shapes.append(Label((x, height), text, 1.6, "middle"))
                break
        leaving = _leaving(segment, points[-1], floor, wide, free)
        free = points[-1][0] + 0.01 * wide if leaving else free
        shapes += leaving
    return shapes


def _clear(
    taken: Sequence[tuple[float, float, float]], x: float, half: float, height: float, wide: float
) -> bool:
    return not any(
        abs(x - other) < half + reach and abs(height - level) < 0.02 * wide
        for other, reach, level in taken
    )


def _leaving(
    segment: Given, last: Sequence[float], floor: float, wide: float, free: float
) -> list[Shape]:
    if not segment.get("speed_out_high_m_per_s") or last[0] - 0.13 * wide < free:
        return []
    low, high = segment["speed_out_low_m_per_s"], segment["speed_out_high_m_per_s"]
    text = span(low, high, "m/s")
    return [Label((last[0], floor - 0.024 * wide), text, 1.5, "end", colour=_MUTED)]


def _troubles(segments: Sequence[Given], y: Callable[[float], float], wide: float) -> list[Shape]:
    shapes: list[Shape] = []
    for segment in segments:
        word = trouble(segment)
        if not word:
            continue
        x, h = _where(segment)
        radius = 0.012 * wide
        arm = radius * 0.7
        middle = y(h)
        cross = [
            ((x - arm, middle - arm), (x + arm, middle + arm)),
            ((x - arm, middle + arm), (x + arm, middle - arm)),
        ]
        shapes += [
            Circle((x, middle), radius, _MARK),
            Segments(cross, _MARK),
            Label((x, middle - 0.034 * wide), word, 1.6, "middle", bold=True, colour="#b91c1c"),
        ]
    return shapes


def trouble(segment: Given) -> str:
    """In a word or two, what goes wrong on a segment; empty where nothing does."""
    if segment.get("ends"):
        return {
            "stalls": "stops",
            "stuck": "stays in joint",
            "falls-through": "falls through",
            "thrown-back": "stops at the kink",
        }[segment["ends"]]
    for part in ("curve", "arc"):
        if not segment.get(part, {}).get("holds", True):
            return "leaves"
    return "slides" if segment["slips"] != "never" else ""


def _where(segment: Given) -> tuple[float, float]:
    """The place on the outline where the slowest ball stops, else its middle."""
    points = segment["outline_mm"]
    share = 0.5
    if "stops_at_mm" in segment and segment["length_mm"] > 0:
        share = min(1.0, segment["stops_at_mm"] / segment["length_mm"])
    at = share * (len(points) - 1)
    k = min(int(at), len(points) - 2)
    (x0, h0), (x1, h1) = points[k], points[k + 1]
    return x0 + (x1 - x0) * (at - k), h0 + (h1 - h0) * (at - k)
