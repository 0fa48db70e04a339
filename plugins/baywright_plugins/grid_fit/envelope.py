"""From a wanted envelope to rods along each axis, section by section, and on to a layout."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from ..kit import Kit
from .closing_rows import ClosingRow, ClosingRows, closing_rows
from .layout_edits import runs_of
from .passages import AXES
from .sections import bracing_of


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
    kind_count: int

    @property
    def identical_axes(self) -> tuple[bool, bool, bool]:
        x, y, z = (len(set(parts)) == 1 for parts in self.sections)
        return x, y, z

    @property
    def rank(self) -> tuple[Any, ...]:
        """Braceable first; then least misfit, fewest kinds, fewest rods, sections alike."""
        return (
            self.unbraceable_pairs_count,
            sum(abs(row.misfit_um) for row in self.rows),
            self.kind_count,
            sum(row.rod_count for row in self.rows),
            3 - sum(self.identical_axes),
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

    def rows(allowed: Sequence[bool], most: int) -> ClosingRows:
        return closing_rows(
            [kit.rods[k].pitch_um for k in rods],
            wanted_um - joints,
            play_um=play,
            limits=[n if ok else 0 for n, ok in zip(limits, allowed, strict=True)],
            most_rods=most_rods * sections_count,
            most_results=most,
            tolerance_um=tolerance_um,
        )

    best = rows([True] * len(rods), most_results)
    pool = list(best.rows)
    for first in rods:
        friends = [bracing_of((kit.rods[first].id, kit.rods[k].id), kit).best for k in rods]
        pool += rows([friend is not None for friend in friends], most_results).rows
        pool += rows([k == first for k in rods], 1).rows
    alike = [row for row in dict.fromkeys(pool) if row.rod_count >= sections_count]
    return AxisRows(axis, wanted_um, joints, sections_count, best, tuple(alike))


def solutions(axes: Sequence[AxisRows], kit: Kit, rods: Sequence[int], most: int) -> list[Solution]:
    """The best choices of one row for each axis out of their pools, best first."""
    ids = [kit.rods[k].id for k in rods]
    braced = {
        frozenset((a, b)): bracing_of((a, b), kit).best is not None for a in ids for b in ids
    }
    found = []
    for rows in product(*(axis.pool for axis in axes)):
        used = [
            {rod for rod, n in zip(ids, row.counts, strict=True) if n} for row in rows
        ]
        bare = {
            frozenset((a, b))
            for one, two in ((0, 1), (0, 2), (1, 2))
            for a in used[one]
            for b in used[two]
            if not braced[frozenset((a, b))]
        }
        split = tuple(
            split_in_sections(row.counts, ids, [kit.rods[k].pitch_um for k in rods], axis.sections_count)
            for row, axis in zip(rows, axes, strict=True)
        )
        found.append(
            Solution((rows[0], rows[1], rows[2]), split, len(bare), len(set().union(*used)))
        )
    return sorted(found, key=lambda solution: solution.rank)[:most]


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
    number = {}
    for k, j, i in product(range(len(zs)), range(len(ys)), range(len(xs))):
        number[i, j, k] = f"S{len(number) + 1}"
        rods = {"x": runs_of(xs[i]), "y": runs_of(ys[j]), "z": runs_of(zs[k])}
        sections.append({"id": number[i, j, k], "rods": rods, **own})
    for axis in range(3):
        for place, name in number.items():
            beyond = tuple(n + (axis == a) for a, n in enumerate(place))
            if beyond in number:
                between = [name, number[beyond[0], beyond[1], beyond[2]]]
                joint = {"between": between, "axis": AXES[axis], "rod": envelope["joint_rod"]}
                joints.append(joint)
    layout: dict[str, Any] = {"sections": sections}
    return {**layout, "joints": joints} if joints else layout
