"""The faces of a section's bays, and the diagonals they carry."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..kit import Kit
from .faults import unknown
from .grid import AXES, Grid, beam_bays, both_sides
from .patterns import STRENGTH, braced_station, diagonals

Pair = tuple[int, int]


@dataclass(frozen=True)
class BayFace:
    """One face before it is numbered into a frame; `wanted` is (rising, falling)."""

    kind: str
    normal: int
    station: int
    place: tuple[int, int]
    corners: tuple[int, int, int, int]
    wanted: tuple[bool, bool]

    @property
    def pairs(self) -> tuple[Pair, Pair]:
        """The hubs that its rising and its falling diagonal join."""
        low, right, up, far = self.corners
        return ordered(low, far), ordered(right, up)


@dataclass(frozen=True)
class Braced:
    """A face with its diagonals: those of the pattern, the second ones, and the rod for both."""

    face: BayFace
    rod: int | None
    chosen: tuple[Pair, ...]
    added: tuple[Pair, ...]


def brace(spec: Mapping[str, Any], grid: Grid, kit: Kit, pointer: str) -> list[Braced]:
    """Every face of a section with its diagonals.

    A face that no rod closes within the play of its seats stays bare.

    Raises LayoutFault: a diagonal that lies on no face, or on one that no rod closes.
    """
    left_out = _pairs(spec, "left_out_diagonals", grid, pointer)
    second = _pairs(spec, "second_diagonals", grid, pointer)
    spans = _diagonal_rods(grid, kit)
    faces = faces_of(spec, grid, pointer)
    rods = [spans[grid_lines(face, grid)] for face in faces]
    rod_of = {pair: rod for face, rod in zip(faces, rods, strict=True) for pair in face.pairs}
    for place, pair in enumerate((*second, *left_out)):
        if rod_of.get(pair) is None:
            field = "second_diagonals" if place < len(second) else "left_out_diagonals"
            number = place if place < len(second) else place - len(second)
            known = pair in rod_of
            detail = "No rod of the kit closes it." if known else "It crosses no face here."
            raise unknown(f"{pointer}/{field}/{number}", detail)
    braced = []
    for face, rod in zip(faces, rods, strict=True):
        wanted = [pair for pair, want in zip(face.pairs, face.wanted, strict=True) if want]
        chosen = tuple(p for p in wanted if rod is not None and p not in left_out)
        added = tuple(p for p in face.pairs if p in second and p not in chosen)
        braced.append(Braced(face, rod, chosen, added))
    return braced


def faces_of(spec: Mapping[str, Any], grid: Grid, pointer: str) -> list[BayFace]:
    """All faces in the order of their normals and places, with the diagonals they want."""
    crosses = {"every": 3, "pattern": "alternating", **spec.get("cross_faces", {})}
    claims = [
        (beam_bays(beam, grid.bays, f"{pointer}/beams/{k}"), beam["side_faces"])
        for k, beam in enumerate(spec.get("beams", ()))
        if "side_faces" in beam
    ]
    general = spec.get("side_faces", {"default": "alternating"})
    faces = []
    for normal in range(3):
        b, c = (k for k in range(3) if k != normal)
        below, above = both_sides(grid.cells, normal)
        for index in np.argwhere(below | above).tolist():
            is_below, is_above = bool(below[tuple(index)]), bool(above[tuple(index)])
            station, u, v = index[normal], index[b], index[c]
            if is_below and is_above:
                kind, wanted = "cross", _diaphragm(station, grid.bays[normal], crosses)
            else:
                side = f"{AXES[normal]}_{'plus' if is_below else 'minus'}"
                cell = tuple(x - (k == normal and is_below) for k, x in enumerate(index))
                pattern = _pattern(general, claims, side, cell)
                kind, wanted = "side", _on_side(pattern, normal, u, v, grid.bays)
            corners = _corners(index, b, c, grid)
            faces.append(BayFace(kind, normal, station, (u, v), corners, wanted))
    return faces


def grid_lines(face: BayFace, grid: Grid) -> tuple[int, int]:
    """The rods along the two edges of a face."""
    b, c = (k for k in range(3) if k != face.normal)
    return grid.rods[b][face.place[0]], grid.rods[c][face.place[1]]


def ordered(a: int, b: int) -> Pair:
    return (a, b) if a < b else (b, a)


def _diagonal_rods(grid: Grid, kit: Kit) -> dict[tuple[int, int], int | None]:
    """The rod that closes across a face, by the two rods of its edges."""
    used = sorted({rod for run in grid.rods for rod in run})
    pitch = {rod: kit.rods[rod].pitch_mm for rod in used}
    return {(p, q): kit.rod_spanning(math.hypot(pitch[p], pitch[q])) for p in used for q in used}


def _diaphragm(station: int, bays: int, crosses: Mapping[str, Any]) -> tuple[bool, bool]:
    if not braced_station(station, bays, crosses["every"]):
        return False, False
    if crosses["pattern"] == "crossed":
        return True, True
    rising = crosses["pattern"] == "single" or station % 2 == 0
    return rising, not rising


def _on_side(
    pattern: str, normal: int, u: int, v: int, bays: tuple[int, int, int]
) -> tuple[bool, bool]:
    along_u = bays[1] if normal == 0 else bays[0]
    rising, falling = diagonals(
        pattern, np.array(u), np.array(v), bays_along_u=along_u, vertical=normal != 2
    )
    return bool(rising), bool(falling)


def _pattern(
    general: Mapping[str, Any],
    claims: Sequence[tuple[tuple[slice, ...], Mapping[str, Any]]],
    side: str,
    cell: tuple[int, ...],
) -> str:
    own = [
        str(faces.get(side, faces["default"]))
        for where, faces in claims
        if all(s.start <= k < s.stop for s, k in zip(where, cell, strict=True))
    ]
    if own:
        return max(own, key=STRENGTH.__getitem__)
    return str(general.get(side, general["default"]))


def _corners(index: list[int], b: int, c: int, grid: Grid) -> tuple[int, int, int, int]:
    def node(du: int, dv: int) -> int:
        place = [x + (k == b) * du + (k == c) * dv for k, x in enumerate(index)]
        return int(grid.number_of[tuple(place)])

    return node(0, 0), node(1, 0), node(0, 1), node(1, 1)


def _pairs(spec: Mapping[str, Any], field: str, grid: Grid, pointer: str) -> dict[Pair, int]:
    """The named diagonals as node pairs, with their place in the list."""
    pairs: dict[Pair, int] = {}
    for number, ends in enumerate(spec[field]):
        nodes = [_node(end, grid, f"{pointer}/{field}/{number}/{k}") for k, end in enumerate(ends)]
        pairs[ordered(nodes[0], nodes[1])] = number
    return pairs


def _node(place: Sequence[int], grid: Grid, pointer: str) -> int:
    where = tuple(int(x) for x in place)
    inside = all(x < size for x, size in zip(where, grid.number_of.shape, strict=True))
    if not inside or grid.number_of[where] < 0:
        raise unknown(pointer, f"There is no hub at {list(where)}.")
    return int(grid.number_of[where])
