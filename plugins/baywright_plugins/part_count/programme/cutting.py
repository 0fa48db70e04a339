"""Sawing: what can be cut from one length, and the fewest lengths for so many pieces."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from .sheet import Sheet, Solved, in_order

#: Ways to cut one length that are tried; said where there are more.
MOST_PATTERNS = 600
#: Patterns that are generated one by one where there are more.
MOST_GENERATED = 150
#: A pattern this near to the most valuable one will do.
PRICING_GAP = 0.01


@dataclass(frozen=True)
class Pattern:
    """One way to cut a length: `pieces[k]` of each wanted length, and what is left over."""

    pieces: tuple[int, ...]
    offcut_um: int

    @property
    def count(self) -> int:
        return sum(self.pieces)


@dataclass(frozen=True)
class Patterns:
    """Ways to cut one length that hold as much as they can; `complete` where these are all."""

    ways: tuple[Pattern, ...]
    complete: bool


def pieces_per_length(length_um: int, piece_um: int, kerf_um: int) -> int:
    """How many equal pieces one length gives.

        floor((L + k) / (p + k))

    In whole micrometres, so that no piece is lost to rounding. The last cut is free where the
    last piece ends the length.

    Source: common practice, no source.

    >>> pieces_per_length(2_400_000, 190_000, 3_000)
    12
    """
    return (length_um + kerf_um) // (piece_um + kerf_um)


def cut_patterns(
    length_um: int, pieces_um: Sequence[int], kerf_um: int, *, most: int = MOST_PATTERNS
) -> Patterns:
    """Every way to cut a length that leaves no room for one piece more, longest pieces first.

    Where there are more ways than `most`, those that hold as many as they can of one length
    stand before the rest, so that every piece can be had without much waste.

    Args:
        pieces_um: wanted lengths, above 0, none twice.
        kerf_um: width of the saw cut between two pieces.
        most: stop after so many ways.

    Leaves out: trimming of ends, the grip that a saw needs, grain and knots.
    Source: Gilmore and Gomory, A linear programming approach to the cutting-stock problem,
    Operations Research 9 (1961): patterns.

    >>> [way.pieces for way in cut_patterns(10, [6, 3], 0).ways]
    [(1, 1), (0, 3)]
    """
    order = sorted(range(len(pieces_um)), key=lambda k: -pieces_um[k])
    sizes = [pieces_um[k] + kerf_um for k in order]
    found: list[tuple[int, ...]] = []

    def fill(place: int, room: int, taken: list[int]) -> bool:
        """False where the bound is reached."""
        if place == len(sizes):
            if not any(taken):
                return True
            if len(found) == most:
                return False
            found.append(tuple(taken))
            return True
        top = room // sizes[place]
        # The shortest piece fills what is left: anything less would hold one more.
        least = top if place == len(sizes) - 1 else 0
        return all(
            fill(place + 1, room - number * sizes[place], [*taken, number])
            for number in range(top, least - 1, -1)
        )

    complete = fill(0, length_um + kerf_um, []) if sizes else True
    if not complete:
        found = list(dict.fromkeys([*_mostly_one(length_um + kerf_um, sizes), *found]))
    ways = []
    for taken in found:
        pieces = [0] * len(order)
        for number, k in enumerate(order):
            pieces[k] = taken[number]
        used = sum(number * size for number, size in zip(taken, sizes, strict=True))
        ways.append(Pattern(tuple(pieces), max(length_um - used, 0)))
    return Patterns(tuple(ways), complete)


def _mostly_one(room: int, sizes: Sequence[int]) -> list[tuple[int, ...]]:
    """As many of each length as a length holds, the rest filled with the longest that fit."""
    ways = []
    for first in range(len(sizes)):
        if sizes[first] > room:
            continue
        taken, left = [0] * len(sizes), room
        for place in (first, *range(len(sizes))):
            taken[place] += left // sizes[place]
            left %= sizes[place]
        ways.append(tuple(taken))
    return ways


@dataclass(frozen=True)
class Cut:
    """How many lengths are cut which way."""

    count: int
    pattern: Pattern


@dataclass(frozen=True)
class CutPlan:
    """The fewest lengths; `at_least` is proven. `complete` as in `Patterns`."""

    cuts: tuple[Cut, ...]
    lengths: int
    at_least: int
    complete: bool


def fewest_lengths(
    length_um: int, demand: Mapping[int, int], kerf_um: int, *, most_nodes: int | None = None
) -> CutPlan:
    """The fewest equal lengths for `demand` pieces of each size: the cutting-stock problem.

    Every pattern is a column of one integer programme; where there are too many, those that column
    generation finds are, and its bound is given.

    Args:
        demand: pieces by size in micrometres; each must fit the length.

    Raises ValueError where a piece is longer than the length; sheet.NoWholeAnswer.
    Source: Gilmore and Gomory 1961.

    >>> fewest_lengths(100, {48: 1, 42: 2, 36: 3, 30: 2, 27: 1, 24: 1, 19: 1}, 0).lengths
    4
    """
    sizes = [size for size, count in demand.items() if count]
    if sizes and max(sizes) > length_um:
        raise ValueError("a piece is longer than the length")
    patterns = cut_patterns(length_um, sizes, kerf_um)
    counts = [demand[size] for size in sizes]
    total = sum((size + kerf_um) * count for size, count in zip(sizes, counts, strict=True))
    at_least = -(-total // (length_um + kerf_um))
    if not patterns.complete:
        ways, bound = generated(length_um, sizes, counts, kerf_um)
        patterns, at_least = Patterns(ways, complete=False), max(at_least, bound)
    sheet = Sheet()
    columns = [sheet.variable(lengths=1.0) for _ in patterns.ways]
    for place, count in enumerate(counts):
        terms = {
            column: float(way.pieces[place])
            for column, way in zip(columns, patterns.ways, strict=True)
            if way.pieces[place]
        }
        sheet.row(terms, least=float(count))
    sheet.row(dict.fromkeys(columns, 1.0), least=float(at_least))
    solved: Solved = in_order(sheet, ["lengths"], most_nodes=most_nodes)
    cuts = tuple(
        Cut(number, way) for number, way in zip(solved.x, patterns.ways, strict=True) if number
    )
    if patterns.complete:
        at_least = max(at_least, ceil(solved.bounds["lengths"] - 1e-6))
    return CutPlan(cuts, sum(cut.count for cut in cuts), at_least, patterns.complete)


def generated(
    length_um: int, sizes: Sequence[int], counts: Sequence[int], kerf_um: int
) -> tuple[tuple[Pattern, ...], int]:
    """Patterns worth having where there are too many to list, and a bound on the lengths.

    Column generation: the linear programme over the patterns so far prices each piece; the most
    valuable pattern at these prices is added, until none is worth more than one length. Then the
    linear optimum, rounded up, bounds any plan from below; before that the optimum over the value
    of the best pattern does (Farley's bound).

    Args:
        sizes: each at most `length_um`; counts: pieces wanted, above 0.

    Source: Gilmore and Gomory 1961; Farley, Operations Research 38 (1990), bound, from memory.
    """
    room = length_um + kerf_um
    widths = np.array([size + kerf_um for size in sizes], dtype=np.float64)
    want = np.array(counts, dtype=np.float64)
    order = sorted(range(len(sizes)), key=lambda k: -sizes[k])
    columns: dict[tuple[int, ...], None] = {}
    for taken in _mostly_one(room, [sizes[k] + kerf_um for k in order]):
        pieces = [0] * len(order)
        for number, k in enumerate(order):
            pieces[k] = taken[number]
        columns[tuple(pieces)] = None
    bound = 0.0
    for _ in range(MOST_GENERATED):
        matrix = np.array(list(columns), dtype=np.float64).T
        linear = linprog(np.ones(len(columns)), A_ub=-matrix, b_ub=-want, method="highs")
        price = np.maximum(-linear.ineqlin.marginals, 0.0)
        fill = LinearConstraint(widths[None, :], ub=float(room))
        best = milp(
            -price, integrality=np.ones(len(sizes), dtype=np.int64), constraints=fill,
            bounds=Bounds(0, room // widths), options={"mip_rel_gap": PRICING_GAP},
        )  # fmt: skip
        if best.x is None or best.mip_dual_bound is None:
            break
        pattern = tuple(round(float(x)) for x in best.x)
        worth = float(price @ np.array(pattern))
        most = max(worth, -float(best.mip_dual_bound), 1.0)
        bound = max(bound, float(price @ want) / most)
        if worth <= 1 + 1e-9 or pattern in columns:
            break
        columns[pattern] = None
    ways = tuple(
        Pattern(
            pieces,
            max(length_um - sum(n * (s + kerf_um) for n, s in zip(pieces, sizes, strict=True)), 0),
        )
        for pieces in columns
    )
    return ways, ceil(bound - 1e-6)
