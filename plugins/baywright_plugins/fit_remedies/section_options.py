"""What one section may become: rows edited along one axis or two, and what that takes."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product
from typing import Any

import numpy as np

from ..frame import LayoutFault
from ..frame.bracing import brace
from ..frame.grid import AXES, axis_rods, grid_of
from ..grid_fit.sections import rods_along
from ..kit import Kit
from .box_parts import BoxCounter, Parts, Patterns, patterns_of
from .edited_sections import pieces_of
from .journey import Journey, Size
from .listed_diagonals import Listed, as_loaded, listed_of
from .rows import KEPT, Edits, Row, RowEdit, RowEdits, split_axis

Triple = tuple[float, float, float]


@dataclass(frozen=True)
class Subject:
    """A section as it is; `hub_mm` is the reach of its hubs along each axis, `low_mm` and
    `high_mm` what sticks out beyond them at either end."""

    spec: Mapping[str, Any]
    rows: tuple[Row, Row, Row]
    listed: Listed
    patterns: Patterns
    hub_mm: Triple
    low_mm: Triple
    high_mm: Triple

    @property
    def id(self) -> str:
        return str(self.spec["id"])


@dataclass(frozen=True, eq=False)
class Option:
    """Edits of a section and what they take.

    `hubs` and `rods` are those it then has, coupling rods of a cut and pairs in line included;
    `hubs_out` and the like count what is taken away and put in, one row after another. `bare` faces
    have lost their diagonal, `in_line` are closed by two rods on a mid-hub. `lost_mm` is how much
    less long its rows are, all three together.
    """

    edits: Edits
    sizes_mm: tuple[Size, ...]
    hubs: int
    rods: tuple[int, ...]
    hubs_out: int
    hubs_in: int
    rods_out: int
    rods_in: int
    bare: int
    in_line: int
    lost_mm: float

    @property
    def parts_changed(self) -> int:
        return self.hubs_out + self.hubs_in + self.rods_out + self.rods_in + self.in_line

    @property
    def kinds(self) -> frozenset[tuple[str, str]]:
        """(axis, kind) of each row that is changed."""
        return frozenset(
            (axis, edit.kind)
            for axis, edit in zip(AXES, self.edits, strict=True)
            if edit.kind != KEPT
        )


def shape_key(option: Option) -> tuple[tuple[tuple[str, ...], ...], ...]:
    """What two twins must share to stay alike."""
    return tuple(edit.segments for edit in option.edits)


def subject_of(
    spec: Mapping[str, Any],
    kit: Kit,
    hub_mm: Mapping[str, float],
    protruding_mm: Mapping[tuple[str, str], float],
) -> Subject:
    """A section as on the wire. `protruding_mm` by (id, side such as "z-minus")."""
    rows = [tuple(rods_along(spec, axis)) for axis in AXES]
    hubs, low, high = (
        [
            hub_mm[axis] if end is None else protruding_mm.get((spec["id"], f"{axis}-{end}"), 0.0)
            for axis in AXES
        ]
        for end in (None, "minus", "plus")
    )
    return Subject(
        spec=spec,
        rows=(rows[0], rows[1], rows[2]),
        listed=listed_of(spec, kit),
        patterns=patterns_of(spec),
        hub_mm=(hubs[0], hubs[1], hubs[2]),
        low_mm=(low[0], low[1], low[2]),
        high_mm=(high[0], high[1], high[2]),
    )


class OptionMaker:
    """Makes the options of sections of one kit on one route.

    `split_rod` is the place of the rod that couples two pieces.
    """

    def __init__(
        self,
        kit: Kit,
        journey: Journey,
        *,
        split_rod: int,
        allow_unbraced: bool,
        allow_in_line: bool,
    ) -> None:
        self._kit, self._journey, self._split_rod = kit, journey, split_rod
        self._unbraced, self._in_line = allow_unbraced, allow_in_line
        self._boxes = BoxCounter(kit)
        self._known: dict[Edits, Parts | None] = {}
        self._lengths: dict[Row, int] = {}
        self._pitch_um = {rod.id: rod.pitch_um for rod in kit.rods}

    def options(
        self, subject: Subject, choices: Sequence[RowEdits], *, most: int
    ) -> tuple[list[Option], bool]:
        """All combinations that pass the route and may be built, and whether none is left out.

        At most two rows of a section are changed (one where its beams are given one by one), and
        at most one is cut. Beyond `most` those that touch most bays are left out.
        """
        rows = [choice.edits for choice in choices]
        combined = list(_combinations(rows, most_axes=1 if "beams" in subject.spec else 2))
        combined.sort(key=lambda edits: sum(edit.bays_changed for edit in edits))
        base = self._parts(subject, (rows[0][0], rows[1][0], rows[2][0]))
        if base is None:
            raise ValueError("the section cannot be built as it is")
        found = []
        for edits in combined[:most]:
            sizes = self._sizes_mm(subject, edits)
            if all(self._journey.passes(size) for size in sizes):
                stages = [self._parts(subject, stage) for stage in _stages(edits, rows)]
                option = self._option(subject, edits, sizes, [base, *stages])
                if option and (option.bare == 0 or self._unbraced):
                    found.append(option)
        complete = len(combined) <= most and all(choice.complete for choice in choices)
        return found, complete

    def _sizes_mm(self, subject: Subject, edits: Edits) -> tuple[Size, ...]:
        """Outside sizes of each piece; what sticks out of an end goes with the piece there."""
        axis = split_axis(edits)
        sizes = []
        for part in range(1 if axis is None else 2):
            size = []
            for k, edit in enumerate(edits):
                length = self._length_um(edit.segment(part)) / 1000
                low = 0.0 if k == axis and part == 1 else subject.low_mm[k]
                high = 0.0 if k == axis and part == 0 else subject.high_mm[k]
                size.append(length + 2 * subject.hub_mm[k] + low + high)
            sizes.append((size[0], size[1], size[2]))
        return tuple(sizes)

    def _option(
        self,
        subject: Subject,
        edits: Edits,
        sizes: tuple[Size, ...],
        stages: Sequence[Parts | None],
    ) -> Option | None:
        """`stages`: parts before, and after each row that is changed; None where that fails."""
        known = [parts for parts in stages if parts is not None]
        if len(known) < len(stages):
            return None
        base, last = known[0], known[-1]
        rods = [self._rods(parts, base) for parts in known]
        rod_steps = [b - a for one, two in pairwise(rods) for a, b in zip(one, two, strict=True)]
        hub_steps = [after.hubs - before.hubs for before, after in pairwise(known)]
        in_line = max(last.in_line - base.in_line, 0) if self._in_line else 0
        before_um = sum(map(self._length_um, subject.rows))
        after_um = sum(self._length_um(segment) for edit in edits for segment in edit.segments)
        return Option(
            edits=edits,
            sizes_mm=sizes,
            hubs=last.hubs,
            rods=rods[-1],
            hubs_out=sum(-step for step in hub_steps if step < 0),
            hubs_in=sum(step for step in hub_steps if step > 0),
            rods_out=sum(-step for step in rod_steps if step < 0),
            rods_in=sum(step for step in rod_steps if step > 0),
            bare=max(last.bare - base.bare - in_line, 0),
            in_line=in_line,
            lost_mm=(before_um - after_um) / 1000,
        )

    def _length_um(self, row: Row) -> int:
        if row not in self._lengths:
            self._lengths[row] = sum(self._pitch_um[rod] for rod in row)
        return self._lengths[row]

    def _rods(self, parts: Parts, base: Parts) -> tuple[int, ...]:
        """Rods by kind, with the pairs in line that take the place of diagonals lost."""
        if not self._in_line:
            return parts.rods
        pairs = zip(parts.rods, parts.pair_rods, base.pair_rods, strict=True)
        return tuple(rods + max(now - before, 0) for rods, now, before in pairs)

    def _parts(self, subject: Subject, edits: Edits) -> Parts | None:
        """Parts of all pieces together; None where the edits cannot be made."""
        if edits not in self._known:
            count = self._built_parts if "beams" in subject.spec else self._box_parts
            self._known[edits] = count(subject, edits)
        return self._known[edits]

    def _box_parts(self, subject: Subject, edits: Edits) -> Parts:
        axis = split_axis(edits)
        pieces = [
            self._boxes.count(edits, part, subject.patterns, subject.listed.in_piece(edits, part))
            for part in range(1 if axis is None else 2)
        ]
        if axis is None:
            return pieces[0]
        one, two = pieces
        rods = _sum(one.rods, two.rods)
        across = [len(edit.segments[0]) for k, edit in enumerate(edits) if k != axis]
        rods[self._split_rod] += coupling_rods(across[0], across[1])
        return Parts(
            one.hubs + two.hubs,
            tuple(rods),
            one.bare + two.bare,
            one.in_line + two.in_line,
            tuple(_sum(one.pair_rods, two.pair_rods)),
        )

    def _built_parts(self, subject: Subject, edits: Edits) -> Parts | None:
        try:
            made = pieces_of(subject.spec, edits, [subject.id], subject.listed, self._kit)
            spec = as_loaded(made.specs[0])
            grid = grid_of(spec, self._kit, "")
            faces = brace(spec, grid, self._kit, "")
        except LayoutFault:
            return None
        rods = np.zeros(len(self._kit.rods), dtype=np.int64)
        np.add.at(rods, axis_rods(grid)[:, 2], 1)
        bare = 0
        for item in faces:
            if item.rod is None:
                bare += any(item.face.wanted)
            else:
                rods[item.rod] += len(item.chosen) + len(item.added)
        return Parts(len(grid.places), tuple(rods.tolist()), bare, 0, (0,) * len(rods))


def _sum(one: Sequence[int], two: Sequence[int]) -> list[int]:
    return [a + b for a, b in zip(one, two, strict=True)]


def coupling_rods(bays_one: int, bays_other: int) -> int:
    """Rods that couple the two faces of a cut: between hubs of the outermost two rows and columns.

    >>> coupling_rods(6, 12), coupling_rods(1, 2)
    (16, 6)
    """
    return min(bays_one + 1, 4) * min(bays_other + 1, 4)


def _stages(edits: Edits, rows: Sequence[Sequence[RowEdit]]) -> list[Edits]:
    """The section after its first row is changed, then after the second: what is taken out of one
    row and put into another is work twice."""
    x, y, z = (row[0] for row in rows)
    steps = [(edits[0], y, z), (edits[0], edits[1], z), edits]
    return [step for step, edit in zip(steps, edits, strict=True) if edit.kind != KEPT]


def _combinations(rows: Sequence[Sequence[RowEdit]], *, most_axes: int) -> Iterator[Edits]:
    """Each way to change up to `most_axes` rows and keep the others, cutting one at most."""
    for count in range(most_axes + 1):
        for axes in combinations(range(3), count):
            changed = [rows[k][1:] if k in axes else rows[k][:1] for k in range(3)]
            for x, y, z in product(*changed):
                if x.is_split + y.is_split + z.is_split <= 1:
                    yield x, y, z
