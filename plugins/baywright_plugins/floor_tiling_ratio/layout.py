"""A whole floor laid out: panels, what is left over and where it goes, adjusters, meetings, parts.

Exact millimetres (`Fraction`) throughout. Each direction is laid out by itself; a floor is two of
them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

WISHES = ("choose", "spread", "back", "front", "two-halves")


@dataclass(frozen=True)
class Ratio:
    """`bays` of the frame against `panels` of the floor; `bays` may count half bays."""

    bays: Fraction
    panels: int


@dataclass(frozen=True)
class Span:
    """A stretch along one direction, mm from the front edge."""

    start: Fraction
    end: Fraction

    def overlaps(self, other: "Span") -> bool:
        return self.start < other.end and other.start < self.end


@dataclass(frozen=True)
class Wanted:
    """One direction of a floor as asked for. `joint_play` is how far a panel joint may lie off
    the middle of its bearer; `keep_clear` must hold no strip; `wish` one of WISHES."""

    length: Fraction
    bay: Fraction
    panel: Fraction
    joint_play: Fraction
    keep_clear: Sequence[Span] = ()
    wish: str = "choose"
    least_strip: Fraction = Fraction(10)


@dataclass(frozen=True)
class Meeting:
    """A bearer at `at` with a panel joint `off` beyond it (negative: short of it)."""

    at: Fraction
    off: Fraction


@dataclass(frozen=True)
class Row:
    """One direction laid out. `left_over` after all panels and adjusters; `action` is none,
    spread, back, front, two-halves, or blocked; `joints` are panel edges."""

    panels: int
    left_over: Fraction
    action: str
    strips: tuple[Span, ...]
    adjusters: tuple[Span, ...]
    gap_per_joint: Fraction
    joints: tuple[Fraction, ...]
    panel_spans: tuple[Span, ...]
    meetings: tuple[Meeting, ...]
    repeats: int
    accumulated: Fraction
    repeats_per_adjuster: int | None


def repeats_before_adjuster(ratio: Ratio, wanted: Wanted) -> int | None:
    """How many repeats can be laid loose before the misfit reaches the joint play; None: for ever.

    At least 1: where one repeat already exceeds it, every repeat needs an adjuster.
    """
    misfit = abs(ratio.bays * wanted.bay - ratio.panels * wanted.panel)
    return max(1, math.floor(wanted.joint_play / misfit)) if misfit else None


def lay_row(wanted: Wanted, ratio: Ratio | None) -> Row:
    """Lay panels from the front edge, adjusters where the misfit would pass the joint play.

    Where the misfit is positive (panels too short) an adjuster fills; where negative the panel
    before it is trimmed, which the adjuster shows as a span that runs backwards.
    """
    every = repeats_before_adjuster(ratio, wanted) if ratio else None
    misfit = ratio.bays * wanted.bay - ratio.panels * wanted.panel if ratio else Fraction(0)
    block = ratio.panels * every if ratio and every else 0
    spans, adjusters = _walk(wanted, block, misfit * (every or 0))
    end = spans[-1].end if spans else Fraction(0)
    left = wanted.length - end
    action, strips = _place(wanted, len(spans), left)
    gap = left / max(1, len(spans) - 1) if action == "spread" else Fraction(0)
    front = strips[0].end if action in ("front", "two-halves") else Fraction(0)
    spans = tuple(_moved(span, front + k * gap) for k, span in enumerate(spans))
    adjusters = tuple(
        _moved(span, front + (k + 1) * block * gap) for k, span in enumerate(adjusters)
    )
    joints = tuple(sorted({x for span in spans for x in (span.start, span.end)}))
    repeat = ratio.bays * wanted.bay if ratio else Fraction(0)
    repeats = math.floor((wanted.length + wanted.joint_play) / repeat) if ratio else 0
    return Row(
        panels=len(spans),
        left_over=left,
        action=action,
        strips=strips,
        adjusters=adjusters,
        gap_per_joint=gap,
        joints=joints,
        panel_spans=spans,
        meetings=_meetings(wanted, joints),
        repeats=repeats,
        accumulated=(repeats - len(adjusters) * (every or 0)) * misfit,
        repeats_per_adjuster=every,
    )


def _walk(wanted: Wanted, block: int, step: Fraction) -> tuple[tuple[Span, ...], tuple[Span, ...]]:
    """Panels from 0 on; after each `block` of them an adjuster of `step`, if a panel follows."""
    spans: list[Span] = []
    adjusters: list[Span] = []
    x, last_start = Fraction(0), wanted.length + wanted.joint_play - wanted.panel
    while x <= last_start:
        spans.append(Span(x, x + wanted.panel))
        x += wanted.panel
        if block and len(spans) % block == 0 and x + step <= last_start:
            adjusters.append(Span(x, x + step))
            x += step
    return tuple(spans), tuple(adjusters)


def _moved(span: Span, by: Fraction) -> Span:
    return Span(span.start + by, span.end + by)


def _place(wanted: Wanted, panels: int, left: Fraction) -> tuple[str, tuple[Span, ...]]:
    """Where the left-over goes. What the joints' play takes needs no place."""
    if left <= wanted.joint_play:
        return "none", ()
    length, half = wanted.length, left / 2
    choices = {
        "back": (Span(length - left, length),),
        "front": (Span(Fraction(0), left),),
        "two-halves": (Span(Fraction(0), half), Span(length - half, length)),
        "spread": (),
    }
    if wanted.wish != "choose":
        strips = choices[wanted.wish]
        clear = _are_clear(strips, wanted.keep_clear)
        return (wanted.wish if clear else "blocked"), strips
    for action in ("back", "front", "two-halves"):
        strips = choices[action]
        wide = all(strip.end - strip.start >= wanted.least_strip for strip in strips)
        if wide and _are_clear(strips, wanted.keep_clear):
            return action, strips
    if left < wanted.least_strip and panels > 1:
        return "spread", ()
    return "blocked", choices["back"]


def _are_clear(strips: Sequence[Span], keep_clear: Sequence[Span]) -> bool:
    return not any(strip.overlaps(span) for strip in strips for span in keep_clear)


def _meetings(wanted: Wanted, joints: Sequence[Fraction]) -> tuple[Meeting, ...]:
    found = []
    nearest = 0
    for k in range(math.floor(wanted.length / wanted.bay) + 1):
        bearer = k * wanted.bay
        while nearest + 1 < len(joints) and abs(joints[nearest + 1] - bearer) <= abs(
            joints[nearest] - bearer
        ):
            nearest += 1
        if joints and abs(joints[nearest] - bearer) <= wanted.joint_play:
            found.append(Meeting(bearer, joints[nearest] - bearer))
    return tuple(found)


def extra_bearers(wanted: Wanted, row: Row) -> tuple[Fraction, ...]:
    """Panel joints to put a bearer under where no ratio holds, never farther apart than a bay
    (or a panel, if that is longer)."""
    step = max(1, math.floor(wanted.bay / wanted.panel))
    edges = [span.end for span in row.panel_spans]
    return tuple(edges[step - 1 :: step])


@dataclass(frozen=True)
class FloorPart:
    """One line of what the floor needs; size in mm, 0 where it has none."""

    item: str
    count: int
    along_mm: Fraction
    across_mm: Fraction
    use: str


def floor_parts(
    along: Row, across: Row, wanted: tuple[Wanted, Wanted], item: str
) -> tuple[FloorPart, ...]:
    """Whole panels, strips and corner pieces cut from further panels, shims, fixings.

    Strips are cut panel by panel, so that joints run through. A shim is one adjuster, as long as
    the floor; where panels are trimmed instead there is none. Fixings stand where a panel corner
    meets the frame in both directions.
    """
    a, b = (w.panel for w in wanted)
    strips_a = [s.end - s.start for s in along.strips]
    strips_b = [s.end - s.start for s in across.strips]
    parts = [FloorPart(item, along.panels * across.panels, a, b, "whole panels")]
    cut = 0
    pieces = [
        *((width, b, across.panels, "strips across the floor") for width in strips_a),
        *((a, width, along.panels, "strips along the floor") for width in strips_b),
        *((u, v, 1, "corner pieces") for u in strips_a for v in strips_b),
    ]
    for u, v, count, use in pieces:
        parts.append(FloorPart(f"{item}-cut", count, u, v, use))
        cut += math.ceil(count / max(1, math.floor(a / u) * math.floor(b / v)))
    if cut:
        parts.append(FloorPart(item, cut, a, b, "panels to cut strips and corners from"))
    long, wide = (w.length for w in wanted)
    parts += [
        *(FloorPart("shim", 1, s.end - s.start, wide, "adjusters") for s in along.adjusters),
        *(FloorPart("shim", 1, long, s.end - s.start, "adjusters") for s in across.adjusters),
    ]
    parts = [part for part in parts if part.along_mm > 0 and part.across_mm > 0]
    fixings = len(along.meetings) * len(across.meetings)
    if fixings:
        zero = Fraction(0)
        parts.append(FloorPart("fixing", fixings, zero, zero, "where panel corners meet the frame"))
    return _merged(parts)


def _merged(parts: Sequence[FloorPart]) -> tuple[FloorPart, ...]:
    counts: dict[tuple[str, Fraction, Fraction, str], int] = {}
    for part in parts:
        key = (part.item, part.along_mm, part.across_mm, part.use)
        counts[key] = counts.get(key, 0) + part.count
    return tuple(FloorPart(k[0], n, k[1], k[2], k[3]) for k, n in counts.items() if n)
