"""What may be done to the bays of one section along one axis."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations_with_replacement, islice

KEPT = "kept"
BAY_OUT = "bay-out"
BAY_IN = "bay-in"
EXCHANGED = "rod-exchanged"
MOVED = "joint-moved"
SPLIT = "split"
KINDS = (BAY_OUT, BAY_IN, EXCHANGED, MOVED, SPLIT)

#: Planes at which a long row may be split: those nearest its middle.
MOST_CUTS = 40
#: Rows of many kinds of rod can lose bays in many ways; the first ones are looked at.
MOST_INNER = 60

Row = tuple[str, ...]
#: for each old plane, the (segment, plane) it becomes: none where it is handed over, two at a cut
#: or where bays are put in
Planes = tuple[tuple[tuple[int, int], ...], ...]


#: by rod, bays that are first or last in a row, and others
Tally = Mapping[str, tuple[int, int]]
#: normal, station along it, and place in its plane of a face
FacePlace = tuple[int, int, int, int]


@dataclass(frozen=True, eq=False)
class RowEdit:
    """`segments`: the rods of each piece the row becomes, one rod a bay.

    `received`: bays taken over from the neighbour at the low and at the high end; below 0: given.
    `out` and `into`: rods whose bays are taken out, put in or exchanged.
    """

    kind: str
    segments: tuple[Row, ...]
    planes: Planes
    out: Row = ()
    into: Row = ()
    received: tuple[int, int] = (0, 0)

    @cached_property
    def tallies(self) -> tuple[Tally, ...]:
        """Each segment's bays by rod: how many are first or last, and how many others."""
        return tuple(_tally(segment) for segment in self.segments)

    def tally(self, part: int) -> Tally:
        """The tally of the row in a piece of the section."""
        return self.tallies[part if self.is_split else 0]

    @cached_property
    def bays_changed(self) -> int:
        """How many bays it touches; a cut counts as one."""
        moved = sum(map(abs, self.received))
        return moved + max(len(self.out), len(self.into)) + (len(self.segments) - 1)

    @property
    def is_split(self) -> bool:
        return len(self.segments) > 1

    def segment(self, part: int) -> Row:
        """Rods of a piece of the section; all pieces share a row that is not cut."""
        return self.segments[part if self.is_split else 0]

    def plane(self, old: int, part: int) -> int | None:
        """Where an old plane lies in a piece of the section, None where it does not."""
        segment = part if self.is_split else 0
        return next((plane for where, plane in self.planes[old] if where == segment), None)

    def bay(self, old: int, part: int) -> int | None:
        """Where an old bay lies in a piece of the section; None where it is gone."""
        segment = part if self.is_split else 0
        lows = [plane for where, plane in self.planes[old] if where == segment]
        return next((low for low in lows if (segment, low + 1) in self.planes[old + 1]), None)

    def bays_out(self) -> list[int]:
        """Bays that are gone, as they can be taken out one after another."""
        ends = [self.plane(old, 0) for old in range(len(self.planes))]
        gone = [k for k in range(len(ends) - 1) if ends[k] is not None and ends[k] == ends[k + 1]]
        return [k - number for number, k in enumerate(gone)]


Edits = tuple[RowEdit, RowEdit, RowEdit]


def split_axis(edits: Edits) -> int | None:
    """The axis along which a section is cut in two, None where it stays whole."""
    return next((k for k, edit in enumerate(edits) if edit.is_split), None)


@dataclass(frozen=True)
class Rules:
    """What may be done to a row.

    `new_rods`: kinds that may be put in; `longer`: also in exchange for shorter ones. `low`,
    `high`: rods of the neighbour across the one joint at that end, nearest first (None: no joint
    to be moved).
    """

    allow: frozenset[str]
    most_bays: int
    new_rods: tuple[str, ...] = ()
    longer: bool = False
    low: Row | None = None
    high: Row | None = None
    fewest_bays: int = 1
    pitch_um: Mapping[str, int] = field(default_factory=dict)


def _tally(row: Row) -> Tally:
    found: dict[str, tuple[int, int]] = {}
    for index, rod in enumerate(row):
        outer, inner = found.get(rod, (0, 0))
        ends = index in (0, len(row) - 1)
        found[rod] = (outer + ends, inner + (not ends))
    return found


@dataclass(frozen=True)
class RowEdits:
    """What may be done to a row, first of all nothing; `complete` where nothing is left out."""

    edits: tuple[RowEdit, ...]
    complete: bool = True


def row_edits(row: Row, rules: Rules) -> RowEdits:
    """Everything that may be done to a row of bays.

    One kind of change at a time: up to `most_bays` bays taken out, put in, or of one kind
    exchanged for another; or bays handed over at one end or both; or the row cut in two. Inside
    the row the bay nearest the middle is taken, where the fewest faces are disturbed. Of very many
    ways those that touch fewest bays, and cuts nearest the middle, are kept.

    >>> rules = Rules(frozenset({"bay-out", "split"}), 1)
    >>> [edit.segments for edit in row_edits(("A", "A"), rules).edits]
    [(('A', 'A'),), (('A',),), (('A',), ('A',))]
    """
    inner: list[RowEdit] = []
    makers = ((BAY_OUT, _bays_out), (EXCHANGED, _exchanges), (BAY_IN, _bays_in))
    for kind, maker in makers:
        if kind in rules.allow:
            inner += islice(maker(row, rules), MOST_INNER + 1)
    inner.sort(key=lambda edit: edit.bays_changed)
    ends = list(_hand_overs(row, rules)) if MOVED in rules.allow else []
    cuts = list(_cuts(row, rules.fewest_bays)) if SPLIT in rules.allow else []
    cuts.sort(key=lambda edit: max(map(len, edit.segments)))
    kept = RowEdit(KEPT, (row,), _same(len(row)))
    return RowEdits(
        (kept, *inner[:MOST_INNER], *ends, *cuts[:MOST_CUTS]),
        len(inner) <= MOST_INNER and len(cuts) <= MOST_CUTS,
    )


def nearest_middle(places: Sequence[int], count: int) -> int:
    """The place nearest the middle of `count` bays, the later of two.

    >>> nearest_middle(range(6), 6)
    3
    """
    return min(places, key=lambda k: (abs(k - count // 2), -k))


def _same(bays: int) -> Planes:
    return tuple(((0, plane),) for plane in range(bays + 1))


def _bays_out(row: Row, rules: Rules) -> Iterator[RowEdit]:
    kinds = sorted(set(row))
    most = min(rules.most_bays, len(row) - rules.fewest_bays)
    for count in range(1, most + 1):
        for taken in combinations_with_replacement(kinds, count):
            if any(taken.count(kind) > row.count(kind) for kind in kinds):
                continue
            rest, planes = list(row), list(range(len(row) + 1))
            for kind in taken:
                at = nearest_middle([k for k, rod in enumerate(rest) if rod == kind], len(rest))
                del rest[at]
                planes = [p - (p > at) for p in planes]
            where = tuple(((0, plane),) for plane in planes)
            yield RowEdit(BAY_OUT, (tuple(rest),), where, out=taken)


def _bays_in(row: Row, rules: Rules) -> Iterator[RowEdit]:
    middle = (len(row) + 1) // 2
    for count in range(1, rules.most_bays + 1):
        for rod in rules.new_rods:
            grown = row[:middle] + (rod,) * count + row[middle:]
            where = tuple(
                ((0, p),) * (p <= middle) + ((0, p + count),) * (p >= middle)
                for p in range(len(row) + 1)
            )
            yield RowEdit(BAY_IN, (grown,), where, into=(rod,) * count)


def _exchanges(row: Row, rules: Rules) -> Iterator[RowEdit]:
    pitch = rules.pitch_um
    for count in range(1, rules.most_bays + 1):
        for old in sorted(set(row)):
            for new in rules.new_rods:
                longer = new != old and pitch[new] > pitch[old]
                if new == old or (longer and not rules.longer) or row.count(old) < count:
                    continue
                changed = list(row)
                for _ in range(count):
                    left = [k for k, rod in enumerate(changed) if rod == old]
                    changed[nearest_middle(left, len(row))] = new
                out, into = (old,) * count, (new,) * count
                yield RowEdit(EXCHANGED, (tuple(changed),), _same(len(row)), out, into)


def _hand_overs(row: Row, rules: Rules) -> Iterator[RowEdit]:
    def reach(neighbour: Row | None) -> range:
        if neighbour is None:
            return range(1)
        most = min(rules.most_bays, len(neighbour))
        return range(-min(rules.most_bays, max(len(row) - 1, 0)), most + 1)

    for low in reach(rules.low):
        for high in reach(rules.high):
            kept = row[max(-low, 0) : len(row) - max(-high, 0)]
            kept_count = len(row) + min(low, 0) + min(high, 0)
            too_few = kept_count < (1 if min(low, high) >= 0 else rules.fewest_bays)
            if too_few or not 0 < abs(low) + abs(high) <= rules.most_bays:
                continue
            before = (rules.low or ())[: max(low, 0)][::-1]
            after = (rules.high or ())[: max(high, 0)]
            first, last = max(-low, 0), len(row) - max(-high, 0)
            where = tuple(
                ((0, p + low),) if first <= p <= last else () for p in range(len(row) + 1)
            )
            yield RowEdit(MOVED, (before + kept + after,), where, received=(low, high))


def _cuts(row: Row, fewest: int) -> Iterator[RowEdit]:
    for cut in range(fewest, len(row) - fewest + 1):
        where = tuple(
            (((0, p),) if p <= cut else ()) + (((1, p - cut),) if p >= cut else ())
            for p in range(len(row) + 1)
        )
        yield RowEdit(SPLIT, (row[:cut], row[cut:]), where)
