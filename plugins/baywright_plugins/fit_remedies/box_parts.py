"""Hubs, rods and bare faces of a box-shaped section, counted from its rows without building it."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..frame.grid import AXES
from ..frame.patterns import STRENGTH, braced_station
from ..grid_fit.bracing import brace
from ..kit import Kit
from .listed_diagonals import Listed
from .rows import Edits

Bays = tuple[int, int, int]


@dataclass(frozen=True)
class Patterns:
    """Strength of the brace pattern by side (0 none, 1 one diagonal, 2 both) and diaphragms."""

    minus: tuple[int, int, int]
    plus: tuple[int, int, int]
    every: int
    cross: int

    def wants(self, normal: int) -> bool:
        """Whether faces across an axis want diagonals, on the sides or within."""
        return bool(self.minus[normal] or self.plus[normal] or (self.every and self.cross))

    def on_face(self, normal: int, station: int, bays: int, others: int) -> int:
        """Diagonals wanted on a face across an axis, -1 where there is none.

        Args:
            bays: of the section along that axis.
            others: how many of the face's two indices are first or last.
        """
        below = station > 0 and _is_outer(station - 1, bays) + others >= 2
        above = station < bays and _is_outer(station, bays) + others >= 2
        if below and above:
            return self.cross * braced_station(station, bays, self.every)
        if below or above:
            return self.plus[normal] if below else self.minus[normal]
        return -1


@dataclass(frozen=True)
class Parts:
    """`rods` in the order of the kit. `bare` faces want a diagonal that no rod closes; of these
    two rods in line on a mid-hub close `in_line`, and take `pair_rods` (not among `rods`)."""

    hubs: int
    rods: tuple[int, ...]
    bare: int
    in_line: int
    pair_rods: tuple[int, ...]


def patterns_of(spec: Mapping[str, Any]) -> Patterns:
    """The brace patterns of a section as on the wire."""
    sides = spec.get("side_faces", {})
    default = sides.get("default", "alternating")
    minus, plus = (
        [STRENGTH[sides.get(f"{axis}_{end}", default)] for axis in AXES]
        for end in ("minus", "plus")
    )
    cross = spec.get("cross_faces", {})
    return Patterns(
        (minus[0], minus[1], minus[2]),
        (plus[0], plus[1], plus[2]),
        int(cross.get("every", 3)),
        STRENGTH[cross.get("pattern", "alternating")],
    )


def hubs_count(bays: Bays) -> int:
    """Hubs of a box with a beam on every edge.

    A hub is there where at least two of its three places are among the first two or last two.

    Source: counted out; the tests hold it against frames that are built.

    >>> hubs_count((9, 6, 12)), hubs_count((1, 1, 1))
    (352, 8)
    """
    (a, p), (b, q), (c, r) = (_planes(n) for n in bays)
    return a * b * c + p * b * c + a * q * c + a * b * r


class BoxCounter:
    """Counts boxes of one kit, remembering what spans which bay."""

    def __init__(self, kit: Kit) -> None:
        self._kit = kit
        self._spans: dict[tuple[str, str], tuple[int | None, int | None]] = {}
        self._faces: dict[tuple[int, int, Patterns], list[tuple[int, int]]] = {}

    def count(self, edits: Edits, part: int, patterns: Patterns, listed: Listed) -> Parts:
        """Parts of one piece of a section with its rows edited.

        `listed` faces (of the piece) that are no faces of this box are passed over.
        """
        rows = [edit.segment(part) for edit in edits]
        tallies = [edit.tally(part) for edit in edits]
        bays = (len(rows[0]), len(rows[1]), len(rows[2]))
        rods = [0] * len(self._kit.rods)
        pairs = [0] * len(self._kit.rods)
        bare = in_line = 0
        for axis, b, c in ((0, 1, 2), (1, 0, 2), (2, 0, 1)):
            (near, far), (close, away) = _planes(bays[b]), _planes(bays[c])
            at_ends, between = near * close + near * away + far * close, near * close
            for rod, (outer, inner) in tallies[axis].items():
                rods[self._kit.rod_index[rod]] += outer * at_ends + inner * between
            none, one, both = self._by_others(axis, bays[axis], patterns)
            for p, (p_outer, p_inner) in tallies[b].items():
                for q, (q_outer, q_inner) in tallies[c].items():
                    n, m, k = (
                        p_inner * q_inner, p_outer * q_inner + p_inner * q_outer, p_outer * q_outer
                    )  # fmt: skip
                    single, pair = self._span(p, q)
                    if single is not None:
                        rods[single] += n * none[0] + m * one[0] + k * both[0]
                        continue
                    faces = n * none[1] + m * one[1] + k * both[1]
                    bare += faces
                    if pair is not None:
                        in_line += faces
                        pairs[pair] += 2 * faces
        if listed.count:
            self._add_listed(rods, rows, patterns, listed)
        return Parts(hubs_count(bays), tuple(rods), bare, in_line, tuple(pairs))

    def _by_others(self, normal: int, bays: int, patterns: Patterns) -> list[tuple[int, int]]:
        """(diagonals wanted, faces that want any) over all stations, where none, one or both of
        a face's indices are first or last."""
        key = (normal, bays, patterns)
        if key not in self._faces:
            wanted = [
                [patterns.on_face(normal, station, bays, others) for station in range(bays + 1)]
                for others in range(3)
            ]
            self._faces[key] = [
                (sum(max(n, 0) for n in row), sum(n > 0 for n in row)) for row in wanted
            ]
        return self._faces[key]

    def _span(self, first: str, second: str) -> tuple[int | None, int | None]:
        """Places of the rod that closes across a bay, and of the one that does so in pairs."""
        key = (first, second)
        if key not in self._spans:
            kit = self._kit
            a, b = (kit.rods[kit.rod_index[rod]].pitch_mm for rod in key)
            found = brace(
                (a, b),
                [rod.pitch_mm for rod in kit.rods],
                play_mm=2 * kit.frame_hub.seat.play_mm,
                mid_hubs=kit.middle_hub is not None,
            )
            single, pair = found.single, found.pair
            self._spans[key] = (
                single.rod if single.closes else None,
                pair.rod if pair is not None and pair.closes else None,
            )
        return self._spans[key]

    def _add_listed(
        self,
        rods: list[int],
        rows: Sequence[Sequence[str]],
        patterns: Patterns,
        listed: Listed,
    ) -> None:
        added, taken = Counter(listed.second), Counter(listed.left_out)
        for place in dict.fromkeys([*listed.second, *listed.left_out]):
            normal, station, u, v = place
            b, c = (k for k in range(3) if k != normal)
            bays = len(rows[normal])
            if station > bays or u >= len(rows[b]) or v >= len(rows[c]):
                continue
            others = _is_outer(u, len(rows[b])) + _is_outer(v, len(rows[c]))
            there = patterns.on_face(normal, station, bays, others)
            single, _ = self._span(rows[b][u], rows[c][v])
            if there >= 0 and single is not None:
                now = min(max(there - taken[place], 0) + added[place], 2)
                rods[single] += now - there


def _is_outer(index: int, bays: int) -> bool:
    return index in (0, bays - 1)


def _planes(bays: int) -> tuple[int, int]:
    """Planes of hubs that are among the first two or last two, and the others."""
    outer = min(bays + 1, 4)
    return outer, bays + 1 - outer
