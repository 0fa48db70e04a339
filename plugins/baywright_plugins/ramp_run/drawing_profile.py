"""The ramp from the side, with speeds above it and trouble marked."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Circle, Drawing, Ink, Label, Legend, Line, Segments, Shape

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
        *_speeds(value["slow"], floor, scale, _SLOW),
        *_speeds(value["fast"], floor, scale, _FAST),
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


def _speeds(ball: Given, floor: float, scale: float, ink: Ink) -> list[Shape]:
    points = [
        (x, floor + v * scale) for x, v in zip(ball["run_mm"], ball["speed_m_per_s"], strict=True)
    ]
    return [Line(points, ink)] if len(points) > 1 else []


def _names(
    segments: Sequence[Given], y: Callable[[float], float], wide: float, floor: float
) -> list[Shape]:
    """Numbers along the track, names where there is room; the speed at which balls leave."""
    shapes: list[Shape] = []
    free = free_above = float("-inf")
    for k, segment in enumerate(segments):
        first, last = segment["outline_mm"][0], segment["outline_mm"][-1]
        x, h = (first[0] + last[0]) / 2, max(point[1] for point in segment["outline_mm"])
        text = f"{k + 1} {segment['name']}"
        room = 0.011 * wide * len(text)
        if x - room / 2 < free:
            text, room = f"{k + 1}", 0.025 * wide
        if x - room / 2 >= free:
            shapes.append(Label((x, y(h) + 0.022 * wide), text, 1.6, "middle"))
            free = x + room / 2
        shapes += _leaving(segment, last, floor, wide, free_above)
        if shapes and isinstance(shapes[-1], Label) and shapes[-1].colour == _MUTED:
            free_above = last[0] + 0.01 * wide
    return shapes


def _leaving(
    segment: Given, last: Sequence[float], floor: float, wide: float, free: float
) -> list[Shape]:
    if "speed_out_high_m_per_s" not in segment or last[0] - 0.13 * wide < free:
        return []
    low, high = segment["speed_out_low_m_per_s"], segment["speed_out_high_m_per_s"]
    text = f"{low:.2f} to {high:.2f} m/s"
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
