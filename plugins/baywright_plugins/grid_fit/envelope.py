"""From a wanted envelope to rods along each axis, section by section, and on to a layout."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from ..kit import Kit
from .bracing import Diagonal
from .closing_rows import ClosingRow, ClosingRows, closing_rows
from .layout_edits import runs_of
from .passages import AXES
from .sections import bracing_of

_MOST_OF_A_FAMILY = 3
_MOST_FAMILIES = 12
_MOST_IN_POOL = 40


@dataclass(frozen=True)
class AxisRows:
    """What spans one axis: wanted between outer nodes, joints taken off, and the rows."""

    axis: str
    wanted_um: int
    joints_um: int
    sections_count: int
    rows: ClosingRows
    #: the rows a solution may choose from: the best, and the best of each braceable family
    pool: tuple[ClosingRow, ...]


@dataclass(frozen=True)
class Solution:
    """One row for each axis; `sections` holds for each axis the rods of each section in order."""

    rows: tuple[ClosingRow, ClosingRow, ClosingRow]
    sections: tuple[tuple[tuple[str, ...], ...], ...]
    unbraceable_pairs_count: int
    in_line_pairs_count: int
    kind_count: int
    #: what the envelope allows to be off; within it fewer parts go before a nearer size
    tolerance_um: int

    @property
    def identical_axes(self) -> tuple[bool, bool, bool]:
        x, y, z = (len(set(parts)) == 1 for parts in self.sections)
        return x, y, z

    @property
    def rank(self) -> tuple[Any, ...]:
        """Braced by one rod first, by two in line next; then least misfit (where the size is to be
        met within play), fewest kinds, fewest rods, sections alike, least misfit."""
        misfit = sum(abs(row.misfit_um) for row in self.rows)
        return (
            self.unbraceable_pairs_count,
            self.in_line_pairs_count,
            0 if self.tolerance_um else misfit,
            self.kind_count,
            sum(row.rod_count for row in self.rows),
            3 - sum(self.identical_axes),
            misfit,
            tuple(row.counts for row in self.rows),
        )


def axis_rows(
    axis: str,
    wanted_um: int,
    *,
    sections_count: int,
    joint_um: int,
    kit: Kit,
    rods: Sequence[int],
    limits: Sequence[int],
    most_rods: int,
    most_results: int,
    tolerance_um: int,
) -> AxisRows:
    """Rows for one axis of the envelope.

    Args:
        wanted_um: between the outer nodes of the whole machine.
        sections_count: how many sections stand in this row, with a joint between neighbours.
        rods: places in the kit of the rods that bays may use; `limits` pieces of each.
        most_rods: in the row of one section.

    Raises TooManyWays as `closing_rows`.

    Leaves out: the play of the joints' own rods; it is on the safe side to leave it out.
    Source: `closing_rows`.
    """
    joints = (sections_count - 1) * joint_um
    play = round(2000 * kit.frame_hub.seat.play_mm)

    def rows(allowed: Sequence[int], most: int) -> ClosingRows:
        """The rows of some of the rods, counts written for all of them."""
        found = closing_rows(
            [kit.rods[rods[k]].pitch_um for k in allowed],
            wanted_um - joints,
            play_um=play,
            limits=[limits[k] for k in allowed],
            most_rods=most_rods * sections_count,
            most_results=most,
            tolerance_um=tolerance_um,
        )
        return replace(
            found,
            rows=tuple(_spread(row, allowed, len(rods)) for row in found.rows),
            nearest=_spread(found.nearest, allowed, len(rods)) if found.nearest else None,
        )

    places = range(len(rods))
    best = rows(places, most_results)
    pool = [row for k in places for row in rows([k], _MOST_OF_A_FAMILY).rows]
    for family in _families(rods, kit):
        pool += rows(family, _MOST_OF_A_FAMILY).rows
    pool += best.rows
    alike = [row for row in dict.fromkeys(pool) if row.rod_count >= sections_count]
    return AxisRows(axis, wanted_um, joints, sections_count, best, tuple(alike[:_MOST_IN_POOL]))


def solutions(
    axes: Sequence[AxisRows],
    kit: Kit,
    rods: Sequence[int],
    *,
    most_results: int,
    tolerance_um: int,
) -> list[Solution]:
    """The best choices of one row for each axis out of their pools, best first.

    The pools hold the best rows of each axis, of each rod alone, and of the rods that each rod
    makes a braced bay with.
    """
    ids = [kit.rods[k].id for k in rods]
    pitches = [kit.rods[k].pitch_um for k in rods]
    best = {(a, b): bracing_of((a, b), kit).best for a in ids for b in ids}
    parts = [
        [split_in_sections(row.counts, ids, pitches, axis.sections_count) for row in axis.pool]
        for axis in axes
    ]
    used = [
        [frozenset(rod for rod, n in zip(ids, row.counts, strict=True) if n) for row in axis.pool]
        for axis in axes
    ]
    faults = _Faults(best)
    found = []
    for x, y, z in product(*(range(len(axis.pool)) for axis in axes)):
        mine = (used[0][x], used[1][y], used[2][z])
        bare, in_line = faults.of(mine)
        found.append(
            Solution(
                rows=(axes[0].pool[x], axes[1].pool[y], axes[2].pool[z]),
                sections=(parts[0][x], parts[1][y], parts[2][z]),
                unbraceable_pairs_count=bare,
                in_line_pairs_count=in_line,
                kind_count=len(frozenset().union(*mine)),
                tolerance_um=tolerance_um,
            )
        )
    return sorted(found, key=lambda solution: solution.rank)[:most_results]


class _Faults:
    """Pairs of rods that no rod braces, or only two in line, over the three axes."""

    def __init__(self, best: Mapping[tuple[str, str], Diagonal | None]) -> None:
        self.best = best
        self.known: dict[tuple[frozenset[str], ...], tuple[int, int]] = {}

    def of(self, used: tuple[frozenset[str], ...]) -> tuple[int, int]:
        if used not in self.known:
            pairs = {
                (min(a, b), max(a, b))
                for one, two in ((0, 1), (0, 2), (1, 2))
                for a in used[one]
                for b in used[two]
            }
            diagonals = [self.best[pair] for pair in sorted(pairs)]
            bare = sum(d is None for d in diagonals)
            in_line = sum(d is not None and d.in_line_count == 2 for d in diagonals)
            self.known[used] = (bare, in_line)
        return self.known[used]


def _spread(row: ClosingRow, allowed: Sequence[int], kinds: int) -> ClosingRow:
    counts = [0] * kinds
    for k, n in zip(allowed, row.counts, strict=True):
        counts[k] = n
    return replace(row, counts=tuple(counts))


def _families(rods: Sequence[int], kit: Kit) -> list[list[int]]:
    """For each rod those it makes a braced bay with, where they are several; each set once."""
    ids = [kit.rods[k].id for k in rods]
    sets = [
        [k for k in range(len(ids)) if bracing_of((first, ids[k]), kit).best is not None]
        for first in ids
    ]
    distinct = [list(family) for family in dict.fromkeys(tuple(s) for s in sets) if len(family) > 1]
    return distinct[:_MOST_FAMILIES]


def split_in_sections(
    counts: Sequence[int], ids: Sequence[str], pitches_um: Sequence[int], sections_count: int
) -> tuple[tuple[str, ...], ...]:
    """The rods of a row shared out over its sections: alike where every count divides, otherwise
    as equal in length as the longest-first rule makes them.

    >>> split_in_sections([4, 2], ["R120", "R85"], [120_000, 84_800], 2)
    (('R120', 'R85', 'R120'), ('R120', 'R85', 'R120'))
    """
    shares = [[n // sections_count for n in counts] for _ in range(sections_count)]
    left = [
        kind
        for kind in sorted(range(len(counts)), key=lambda k: -pitches_um[k])
        for _ in range(counts[kind] % sections_count)
    ]
    for kind in left:
        lengths = [sum(n * p for n, p in zip(s, pitches_um, strict=True)) for s in shares]
        shares[lengths.index(min(lengths))][kind] += 1
    return tuple(in_line(share, ids) for share in shares)


def in_line(counts: Sequence[int], ids: Sequence[str]) -> tuple[str, ...]:
    """The rods of one section in order: the most frequent outside, the others in the middle, where
    fewest faces meet them.

    >>> in_line([3, 1], ["R120", "R85"])
    ('R120', 'R120', 'R85', 'R120')
    """
    order = sorted(range(len(counts)), key=lambda k: (-counts[k], k))
    row: list[str] = []
    for kind in reversed(order):
        half = counts[kind] // 2
        row = [ids[kind]] * (counts[kind] - half) + row + [ids[kind]] * half
    return tuple(row)


def layout_of(solution: Solution, envelope: Mapping[str, Any]) -> dict[str, Any]:
    """The layout of a solution, as on the wire: sections numbered along x, then y, then z.

    `envelope` is the raw input: its joint rod and brace patterns are taken over.
    """
    xs, ys, zs = solution.sections
    own = {name: envelope[name] for name in ("side_faces", "cross_faces") if name in envelope}
    sections, joints = [], []
    number: dict[tuple[int, ...], str] = {}
    for k, j, i in product(range(len(zs)), range(len(ys)), range(len(xs))):
        number[i, j, k] = f"S{len(number) + 1}"
        rods = {"x": runs_of(xs[i]), "y": runs_of(ys[j]), "z": runs_of(zs[k])}
        sections.append({"id": number[i, j, k], "rods": rods, **own})
    for axis in range(3):
        for place, name in number.items():
            beyond = tuple(n + (axis == a) for a, n in enumerate(place))
            if beyond in number:
                between = [name, number[beyond]]
                joint = {"between": between, "axis": AXES[axis], "rod": envelope["joint_rod"]}
                joints.append(joint)
    layout: dict[str, Any] = {"sections": sections}
    return {**layout, "joints": joints} if joints else layout
