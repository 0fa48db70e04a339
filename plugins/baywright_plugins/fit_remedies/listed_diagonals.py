"""Diagonals given one by one: they go along with their faces when rows are edited."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..frame import SectionSchema
from ..frame.bracing import BayFace, faces_of, grid_lines, ordered
from ..frame.grid import Grid, grid_of
from ..kit import Kit
from .rows import Edits, FacePlace

LISTS = ("second_diagonals", "left_out_diagonals")
Spec = dict[str, Any]


@dataclass(frozen=True)
class Listed:
    """Faces that carry a diagonal beyond those of the pattern, and faces that lack one of them; a
    face stands twice where it is two."""

    second: tuple[FacePlace, ...] = ()
    left_out: tuple[FacePlace, ...] = ()

    @property
    def count(self) -> int:
        return len(self.second) + len(self.left_out)

    def in_piece(self, edits: Edits, part: int) -> "Listed":
        """Where they lie in one piece once the rows are edited."""
        return Listed(_carried(self.second, edits, part), _carried(self.left_out, edits, part))


def as_loaded(spec: Mapping[str, Any]) -> Spec:
    """A section as on the wire, with the defaults that the frame's functions look for."""
    loaded: Spec = SectionSchema().load(spec)
    return loaded


def listed_of(spec: Mapping[str, Any], kit: Kit) -> Listed:
    """The faces of the diagonals a section lists; lists that change nothing are passed over.

    Raises LayoutFault where one lies on no face.
    """
    if not any(spec.get(name) for name in LISTS):
        return Listed()
    grid = grid_of(spec, kit, "")
    second, left_out = ({_pair(ends, grid) for ends in spec.get(name, ())} for name in LISTS)
    found: tuple[list[FacePlace], list[FacePlace]] = ([], [])
    for face in faces_of(as_loaded(spec), grid, ""):
        wanted = _wanted(face)
        gone = [pair for pair in wanted if pair in left_out]
        more = [p for p in face.pairs if p in second and (p not in wanted or p in gone)]
        place = (face.normal, face.station, *face.place)
        found[0].extend([place] * len(more))
        found[1].extend([place] * len(gone))
    return Listed(tuple(found[0]), tuple(found[1]))


def with_listed(spec: Mapping[str, Any], listed: Listed, kit: Kit) -> tuple[Spec, int]:
    """The section with these faces' diagonals on its lists, and how many found their place.

    A second diagonal crosses the one that the pattern gives the face now.
    """
    new: Spec = {name: value for name, value in spec.items() if name not in LISTS}
    if not listed.count:
        return new, 0
    grid = grid_of(new, kit, "")
    more, less = Counter(listed.second), Counter(listed.left_out)
    pairs: dict[str, list[Any]] = {name: [] for name in LISTS}
    for face in faces_of(as_loaded(new), grid, ""):
        place = (face.normal, face.station, *face.place)
        if not (more[place] or less[place]) or not _closes(face, grid, kit):
            continue
        wanted = _wanted(face)
        gone = wanted[: less[place]]
        there = [pair for pair in wanted if pair not in gone]
        free = sorted((p for p in face.pairs if p not in there), key=lambda p: p in gone)
        pairs["second_diagonals"] += [_places(p, grid) for p in free[: more[place]]]
        pairs["left_out_diagonals"] += [_places(p, grid) for p in gone]
    new |= {name: found for name, found in pairs.items() if found}
    return new, sum(map(len, pairs.values()))


def _carried(faces: Sequence[FacePlace], edits: Edits, part: int) -> tuple[FacePlace, ...]:
    found = []
    for normal, station, u, v in faces:
        b, c = (k for k in range(3) if k != normal)
        places = [
            edits[normal].plane(station, part),
            edits[b].bay(u, part),
            edits[c].bay(v, part),
        ]
        if None not in places:
            found.append((normal, *places))
    return tuple(found)  # type: ignore[arg-type]


def _wanted(face: BayFace) -> list[tuple[int, int]]:
    return [pair for pair, want in zip(face.pairs, face.wanted, strict=True) if want]


def _closes(face: BayFace, grid: Grid, kit: Kit) -> bool:
    a, b = (kit.rods[rod].pitch_mm for rod in grid_lines(face, grid))
    return kit.rod_spanning((a * a + b * b) ** 0.5) is not None


def _pair(ends: Sequence[Sequence[int]], grid: Grid) -> tuple[int, int]:
    a, b = (int(grid.number_of[tuple(int(x) for x in end)]) for end in ends)
    return ordered(a, b)


def _places(pair: tuple[int, int], grid: Grid) -> list[list[int]]:
    places: list[list[int]] = grid.places[list(pair)].tolist()
    return places
