"""Panels laid over a run: running through from end to end, or starting anew in every stretch."""

import heapq
import itertools
import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np

from .run import Gap, Run
from .starts import Ground, Ints, Scores, order, scores, starts_that_matter, trade_offs

#: Whole numbers above this are not summed up exactly by the search any more.
_FINEST = 10**6


@dataclass(frozen=True)
class Laying:
    """How panels are wanted: their pitch, how far an edge may lie off the middle of its bearer,
    the narrowest strip worth cutting, how far the floor reaches beyond the outer planes, spans
    without strips (mm from the front plane), one of PREFERENCES, and whether panels are loose."""

    panel: Fraction
    play: Fraction
    least_strip: Fraction
    overhang_front: Fraction = Fraction(0)
    overhang_back: Fraction = Fraction(0)
    clear: Sequence[tuple[Fraction, Fraction]] = ()
    prefer: str = "least-work"
    loose: bool = False


@dataclass(frozen=True)
class Piece:
    """One piece along the direction. `cut`: less than a panel. `gaps`: separation joints that it
    lies across, so that it is taken off before the sections part."""

    start: Fraction
    end: Fraction
    cut: bool
    gaps: tuple[int, ...] = ()

    @property
    def comes_off(self) -> bool:
        return bool(self.gaps)

    @property
    def width(self) -> Fraction:
        return self.end - self.start


@dataclass(frozen=True)
class Sheet:
    """One way to lay the panels. `starts`: where whole panels begin, one for each stretch laid by
    itself; `edges` of panels in all, of these on bearers and on nodes without one."""

    way: str
    starts: tuple[Fraction, ...]
    pieces: tuple[Piece, ...]
    edges: int
    on_bearers: int
    on_nodes: int
    bad_strips: int

    @property
    def whole(self) -> int:
        return sum(not piece.cut for piece in self.pieces)

    @property
    def cuts(self) -> int:
        return sum(piece.cut for piece in self.pieces)

    @property
    def coming_off(self) -> int:
        return sum(piece.comes_off for piece in self.pieces)

    @cached_property
    def joints(self) -> tuple[Fraction, ...]:
        """All edges of pieces, ascending, each once."""
        starts = (piece.start for piece in self.pieces)
        both = heapq.merge(starts, (piece.end for piece in self.pieces))
        return tuple(x for x, _ in itertools.groupby(both))


@dataclass(frozen=True)
class Search:
    """The unbeaten ways to run through, best first, and how many starts were compared."""

    sheets: tuple[Sheet, ...]
    compared: int


def run_through(run: Run, laying: Laying, *, most: int = 6) -> Search:
    """One grid of panels from the front edge to the back edge, from every start that can matter.

    A panel without an edge in a separation joint lies across it and comes off.
    """
    front, back = -laying.overhang_front, run.length + laying.overhang_back
    everything = range(len(run.stretches))
    ground, scale = _ground(run, laying, front, back, everything, run.gaps)
    found, ranked = _ranked(ground, laying)
    sheets = []
    for place in trade_offs(found, ranked, most=most):
        start = Fraction(int(found.starts[place]), scale)
        pieces = _pieces(front, back, start, laying)
        sheets.append(
            Sheet(
                "run-through",
                (start,),
                _marked(pieces, run.gaps, laying.play),
                int(found.edges[place]),
                int(found.on_bearers[place]),
                int(found.on_nodes[place]),
                int(found.bad_strips[place]),
            )
        )
    return Search(tuple(sheets), len(found.starts))


def start_anew(run: Run, laying: Laying) -> Search:
    """Panels of each stretch by themselves, and pieces over the joints that come off."""
    pieces: list[Piece] = []
    starts, compared = [], 0
    counts = np.zeros(4, dtype=np.int64)
    for number, stretch in enumerate(run.stretches):
        last = number == len(run.stretches) - 1
        front = stretch.start - (Fraction(0) if number else laying.overhang_front)
        back = stretch.end + (laying.overhang_back if last else Fraction(0))
        ground, scale = _ground(run, laying, front, back, (number,), ())
        found, ranked = _ranked(ground, laying)
        best = int(ranked[0])
        start = Fraction(int(found.starts[best]), scale)
        starts.append(start)
        compared += len(found.starts)
        columns = (found.edges, found.on_bearers, found.on_nodes, found.bad_strips)
        counts += np.array([column[best] for column in columns])
        pieces += _pieces(front, back, start, laying)
        if not last:
            pieces += _bridge(run.gaps[number], number, laying)
    edges, on_bearers, on_nodes, bad = (int(count) for count in counts)
    sheet = Sheet("start-anew", tuple(starts), tuple(pieces), edges, on_bearers, on_nodes, bad)
    return Search((sheet,), compared)


def _ranked(ground: Ground, laying: Laying) -> tuple[Scores, Ints]:
    found = scores(ground, starts_that_matter(ground))
    return found, order(ground, found, laying.prefer)


def _ground(
    run: Run,
    laying: Laying,
    front: Fraction,
    back: Fraction,
    stretches: Sequence[int],
    gaps: Sequence[Gap],
) -> tuple[Ground, int]:
    """The floor in even whole numbers; `scale` of them to a millimetre.

    The finest unit that all lengths share; where that is below a millionth of a millimetre (typed
    so, or a pitch divided oddly), lengths are rounded to the nearest such unit.
    """
    planes = [plane for plane in run.planes if plane.stretch in stretches]
    lengths = [front, back, laying.panel, laying.play, laying.least_strip]
    lengths += [plane.at for plane in planes]
    lengths += [x for gap in gaps for x in (gap.start, gap.end)]
    lengths += [x for span in laying.clear for x in span]
    scale = 2 * min(math.lcm(*{x.denominator for x in lengths}), _FINEST)

    def whole(x: Fraction) -> int:
        return 2 * round(x * scale / 2)

    def column(values: Sequence[Fraction]) -> Ints:
        return np.array([whole(x) for x in values], dtype=np.int64)

    ground = Ground(
        whole(front),
        whole(back),
        whole(laying.panel),
        whole(laying.play),
        whole(laying.least_strip),
        column([plane.at for plane in planes if plane.carries]),
        column([plane.at for plane in planes if not plane.carries]),
        column([x for gap in gaps for x in (gap.start, gap.end)]).reshape(-1, 2),
        column([x for span in laying.clear for x in span]).reshape(-1, 2),
        laying.loose,
    )
    return ground, scale


def _pieces(front: Fraction, back: Fraction, start: Fraction, laying: Laying) -> list[Piece]:
    """Strip, whole panels, strip; what play takes at either end stays open or is pressed in."""
    panel, play = laying.panel, laying.play
    count = math.floor((back + play - start) / panel)
    if count < 0:
        return [Piece(front, back, True)]
    end = start + count * panel
    whole = [Piece(start + k * panel, start + (k + 1) * panel, False) for k in range(count)]
    first = [Piece(front, start, True)] if start - front > play else []
    last = [Piece(end, back, True)] if back - end > play else []
    return [*first, *whole, *last]


def _marked(pieces: Sequence[Piece], gaps: Sequence[Gap], play: Fraction) -> tuple[Piece, ...]:
    """Pieces that reach over a whole separation joint get its number."""
    marked = list(pieces)
    inner = [piece.end for piece in pieces[:-1]]
    for number, gap in enumerate(gaps):
        place = bisect_left(inner, gap.start - play)
        if place == len(inner) or inner[place] > gap.end + play:
            piece = marked[place]
            marked[place] = Piece(piece.start, piece.end, piece.cut, (*piece.gaps, number))
    return tuple(marked)


def _bridge(gap: Gap, number: int, laying: Laying) -> list[Piece]:
    """Panels and a strip over a joint, from plane to plane."""
    count = math.floor((gap.end - gap.start + laying.play) / laying.panel)
    ends = [gap.start + k * laying.panel for k in range(count + 1)]
    whole = [Piece(a, b, False, (number,)) for a, b in itertools.pairwise(ends)]
    rest = [Piece(ends[-1], gap.end, True, (number,))] if gap.end - ends[-1] > laying.play else []
    return [*whole, *rest]


def parting_edge(sheet: Sheet, gap: Gap, play: Fraction) -> Fraction | None:
    """The panel edge at which the floor comes apart in a joint: the one nearest to its middle;
    None where a piece lies across."""
    inner = sheet.joints[1:-1]
    first, last = bisect_left(inner, gap.start - play), bisect_right(inner, gap.end + play)
    middle = (gap.start + gap.end) / 2
    return min(inner[first:last], key=lambda x: (abs(x - middle), x), default=None)
