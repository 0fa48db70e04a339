"""From a layout to a frame: every hub and rod once, however many beams meet there."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..kit import Kit
from .model import ROLES, Face, Floats, Frame, Ints, Section
from .patterns import STRENGTH, braced_station, diagonals

AXES = ("x", "y", "z")
_AXIS, _SIDE, _CROSS, _SECOND, _JOINT = range(5)

Cells = NDArray[np.bool_]


class LayoutFault(ValueError):
    """A layout that names something it does not hold; `pointer` is relative to the layout."""

    def __init__(self, pointer: str, code: str, detail: str) -> None:
        super().__init__(f"{pointer}: {detail}")
        self.pointer, self.code, self.detail = pointer, code, detail


@dataclass
class _Piece:
    """One section under construction, node numbers its own."""

    section: Section
    places: Ints
    nodes_mm: Floats
    members: list[tuple[int, int, int, int]]
    faces: list[Face]


def build_frame(layout: Mapping[str, Any], kit: Kit) -> Frame:
    """The frame of a layout that follows `LayoutSchema`.

    Nodes are in the order of sections, then of grid places. A face whose diagonal no rod of the
    kit closes within the play of its seats stays bare.

    Raises LayoutFault: an unknown rod or section, a beam outside its grid, a diagonal that lies
    on no face, sections whose joint has no matching nodes.
    """
    at = _placed(layout, kit)
    pieces = [
        _piece(spec, number, at[number], kit) for number, spec in enumerate(layout["sections"])
    ]
    return _joined(pieces, layout, kit)


def bay_rods(runs: Sequence[Mapping[str, Any]], kit: Kit, pointer: str) -> list[int]:
    """Place in the kit of the rod of each bay along one axis."""
    rods: list[int] = []
    for number, run in enumerate(runs):
        place = kit.rod_index.get(run["rod"])
        if place is None:
            where = f"{pointer}/{number}/rod"
            raise LayoutFault(where, "unknown-reference", f"The kit has no rod {run['rod']}.")
        rods += [place] * run["count"]
    return rods


def cells_of(spec: Mapping[str, Any], bays: tuple[int, int, int], pointer: str) -> Cells:
    """Which bays of the grid belong to the section, shape `bays`.

    Without beams: those with at least two of their three indices first or last, a beam along
    every edge of the box.
    """
    cells = np.zeros(bays, dtype=bool)
    if "beams" not in spec:
        outer = [
            np.isin(np.arange(count), (0, count - 1)).reshape(
                tuple(count if k == axis else 1 for k in range(3))
            )
            for axis, count in enumerate(bays)
        ]
        return np.asarray(sum(o.astype(int) for o in outer) >= 2)
    for number, beam in enumerate(spec["beams"]):
        cells[_beam_cells(beam, bays, f"{pointer}/beams/{number}")] = True
    return cells


def _beam_cells(
    beam: Mapping[str, Any], bays: tuple[int, int, int], pointer: str
) -> tuple[slice, ...]:
    axis = AXES.index(beam["axis"])
    first = [int(x) for x in beam["at"]]
    length = [beam["bays"] if k == axis else 1 for k in range(3)]
    for k in range(3):
        if first[k] + length[k] > bays[k]:
            detail = f"The beam reaches beyond the {bays[k]} bays along {AXES[k]}."
            raise LayoutFault(pointer, "out-of-range", detail)
    return tuple(slice(first[k], first[k] + length[k]) for k in range(3))


def _placed(layout: Mapping[str, Any], kit: Kit) -> list[tuple[float, float, float]]:
    """Corner node of each section: as stated, else beyond the section it is jointed to."""
    specs = layout["sections"]
    number = {spec["id"]: k for k, spec in enumerate(specs)}
    spans = [
        [
            sum(
                kit.rods[rod].pitch_mm
                for rod in bay_rods(spec["rods"][axis], kit, f"/sections/{k}/rods/{axis}")
            )
            for axis in AXES
        ]
        for k, spec in enumerate(specs)
    ]
    at: list[tuple[float, float, float] | None] = [
        tuple(float(x) for x in spec["at_mm"]) if "at_mm" in spec else None  # type: ignore[misc]
        for spec in specs
    ]
    joints = [_joint(joint, place, number, kit) for place, joint in enumerate(layout["joints"])]
    jointed = {second for _, second, _, _ in joints}
    for k in range(len(specs)):
        if at[k] is None and k not in jointed:
            at[k] = (0.0, 0.0, 0.0)
    for _ in joints:
        for first, second, axis, rod in joints:
            base = at[first]
            if base is not None and at[second] is None:
                moved = list(base)
                moved[axis] += spans[first][axis] + kit.rods[rod].pitch_mm
                at[second] = (moved[0], moved[1], moved[2])
    for place, (_, second, _, _) in enumerate(joints):
        if at[second] is None:
            raise LayoutFault(
                f"/joints/{place}", "cycle", "The joints go round in a circle; give one at_mm."
            )
    return [base if base is not None else (0.0, 0.0, 0.0) for base in at]


def _joint(
    joint: Mapping[str, Any], place: int, number: Mapping[str, int], kit: Kit
) -> tuple[int, int, int, int]:
    for end, name in enumerate(joint["between"]):
        if name not in number:
            where = f"/joints/{place}/between/{end}"
            raise LayoutFault(where, "unknown-reference", f"There is no section {name}.")
    rod = kit.rod_index.get(joint["rod"])
    if rod is None:
        where = f"/joints/{place}/rod"
        raise LayoutFault(where, "unknown-reference", f"The kit has no rod {joint['rod']}.")
    first, second = (number[name] for name in joint["between"])
    return first, second, AXES.index(joint["axis"]), rod


def _piece(
    spec: Mapping[str, Any], number: int, at: tuple[float, float, float], kit: Kit
) -> _Piece:
    pointer = f"/sections/{number}"
    rods = [bay_rods(spec["rods"][axis], kit, f"{pointer}/rods/{axis}") for axis in AXES]
    bays = (len(rods[0]), len(rods[1]), len(rods[2]))
    cells = cells_of(spec, bays, pointer)
    grid = tuple(
        tuple(float(x) for x in np.concatenate(([0], np.cumsum([kit.rods[r].pitch_um for r in run]))) / 1000)
        for run in rods
    )  # fmt: skip
    number_of, places = _numbered(cells)
    nodes = np.column_stack([np.array(grid[axis])[places[:, axis]] + at[axis] for axis in range(3)])
    fittings = tuple(
        (row["title"], row["mass_kg"], tuple(int(level) for level in row["levels"]))
        for row in spec["fittings"]
    )
    section = Section(spec["id"], spec["title"], bays, grid, at, fittings)
    piece = _Piece(section, places, nodes, [], [])
    piece.members += _axis_rods(cells, number_of, rods)
    _brace(piece, spec, cells, number_of, rods, kit, number, pointer)
    return piece


def _numbered(cells: Cells) -> tuple[Ints, Ints]:
    """Node number at each grid place (-1 for none), and the places in the order of numbers."""
    here = _touching(cells, (0, 1, 2))
    number_of = np.full(here.shape, -1, dtype=np.int64)
    number_of[here] = np.arange(here.sum())
    return number_of, np.argwhere(here).astype(np.int64)


def _touching(cells: Cells, axes: tuple[int, ...]) -> Cells:
    """Grown by one along `axes`: true where any bay on either side is."""
    grown = cells
    for axis in axes:
        pad = [(1, 1) if k == axis else (0, 0) for k in range(3)]
        padded = np.pad(grown, pad)
        lower = [slice(None, -1) if k == axis else slice(None) for k in range(3)]
        upper = [slice(1, None) if k == axis else slice(None) for k in range(3)]
        grown = padded[tuple(lower)] | padded[tuple(upper)]
    return grown


def _axis_rods(
    cells: Cells, number_of: Ints, rods: list[list[int]]
) -> list[tuple[int, int, int, int]]:
    members = []
    for axis in range(3):
        edges = np.argwhere(_touching(cells, tuple(k for k in range(3) if k != axis)))
        step = np.eye(3, dtype=np.int64)[axis]
        starts = number_of[tuple(edges.T)]
        ends = number_of[tuple((edges + step).T)]
        for start, end, bay in zip(
            starts.tolist(), ends.tolist(), edges[:, axis].tolist(), strict=True
        ):
            members.append((start, end, rods[axis][bay], _AXIS))
    return members


def _brace(
    piece: _Piece,
    spec: Mapping[str, Any],
    cells: Cells,
    number_of: Ints,
    rods: list[list[int]],
    kit: Kit,
    section: int,
    pointer: str,
) -> None:
    bays = cells.shape
    crosses = {"every": 3, "pattern": "alternating", **spec.get("cross_faces", {})}
    claims = _claims(spec, bays, pointer)
    left_out = {_pair(pair, number_of, f"{pointer}/left_out_diagonals/{k}")
                for k, pair in enumerate(spec["left_out_diagonals"])}  # fmt: skip
    extra = [_pair(pair, number_of, f"{pointer}/second_diagonals/{k}")
             for k, pair in enumerate(spec["second_diagonals"])]  # fmt: skip
    used: set[tuple[int, int]] = set()
    on_faces: dict[tuple[int, int], int] = {}
    found: list[tuple[str, int, int, tuple[int, int], tuple[int, ...], list[tuple[int, int]], int | None]] = []  # fmt: skip
    for normal in range(3):
        b, c = (k for k in range(3) if k != normal)
        below, above = _neighbours(cells, normal)
        count = below.astype(int) + above.astype(int)
        for index in np.argwhere(count > 0).tolist():
            station, u, v = index[normal], index[b], index[c]
            kind = "side" if count[tuple(index)] == 1 else "cross"
            corners = _corners(index, b, c, number_of)
            rising, falling = _wanted(
                kind, normal, station, u, v, index, bays, crosses, claims, below, spec
            )
            needed = math.hypot(kit.rods[rods[b][u]].pitch_mm, kit.rods[rods[c][v]].pitch_mm)
            rod = kit.rod_spanning(needed)
            pairs = (_key(corners[0], corners[3]), _key(corners[1], corners[2]))
            for pair in pairs:
                on_faces[pair] = -1 if rod is None else rod
            chosen = [
                pair for pair, want in zip(pairs, (rising, falling), strict=True)
                if want and rod is not None and pair not in left_out
            ]  # fmt: skip
            found.append((kind, normal, station, (u, v), corners, chosen, rod))
            used.update(chosen)
    for number, pair in enumerate(extra):
        rod_there = on_faces.get(pair)
        if rod_there is None or rod_there < 0:
            where = f"{pointer}/second_diagonals/{number}"
            detail = (
                "It crosses no face of this section."
                if rod_there is None
                else "No rod of the kit closes across this face."
            )
            raise LayoutFault(where, "unknown-reference", detail)
    added = set(extra) - used
    for kind, normal, station, place, corners, chosen, rod in found:
        role = _SIDE if kind == "side" else _CROSS
        mine = [
            p for p in (_key(corners[0], corners[3]), _key(corners[1], corners[2])) if p in added
        ]
        for pair in chosen:
            piece.members.append((*pair, -1 if rod is None else rod, role))
        for pair in mine:
            piece.members.append((*pair, -1 if rod is None else rod, _SECOND))
        face = (corners[0], corners[1], corners[2], corners[3])
        total = len(chosen) + len(mine)
        piece.faces.append(Face(section, kind, normal, station, place, face, total))


def _claims(
    spec: Mapping[str, Any], bays: tuple[int, ...], pointer: str
) -> list[tuple[tuple[slice, ...], Mapping[str, Any]]]:
    """Beams with brace patterns of their own: their bays, and the patterns."""
    return [
        (_beam_cells(beam, (bays[0], bays[1], bays[2]), f"{pointer}/beams/{k}"), beam["side_faces"])
        for k, beam in enumerate(spec.get("beams", ()))
        if "side_faces" in beam
    ]


def _neighbours(cells: Cells, normal: int) -> tuple[Cells, Cells]:
    """For every face across `normal`: whether the bay below it, and the bay above it, is there."""
    pad = [(1, 1) if k == normal else (0, 0) for k in range(3)]
    padded = np.pad(cells, pad)
    lower = [slice(None, -1) if k == normal else slice(None) for k in range(3)]
    upper = [slice(1, None) if k == normal else slice(None) for k in range(3)]
    return padded[tuple(lower)], padded[tuple(upper)]


def _wanted(
    kind: str,
    normal: int,
    station: int,
    u: int,
    v: int,
    index: list[int],
    bays: tuple[int, ...],
    crosses: Mapping[str, Any],
    claims: list[tuple[tuple[slice, ...], Mapping[str, Any]]],
    below: Cells,
    spec: Mapping[str, Any],
) -> tuple[bool, bool]:
    if kind == "cross":
        if not braced_station(station, bays[normal], crosses["every"]):
            return False, False
        if crosses["pattern"] == "crossed":
            return True, True
        rising = crosses["pattern"] == "single" or station % 2 == 0
        return rising, not rising
    outward = "plus" if below[tuple(index)] else "minus"
    side = f"{AXES[normal]}_{outward}"
    cell = list(index)
    cell[normal] -= outward == "plus"
    pattern = _pattern_of(spec.get("side_faces", {"default": "alternating"}), side)
    own = [_pattern_of(faces, side) for where, faces in claims if _holds(where, cell)]
    if own:
        pattern = max(own, key=STRENGTH.__getitem__)
    first = 0 if normal != 0 else 1
    rising_at, falling_at = diagonals(
        pattern, np.array(u), np.array(v), bays_along_u=bays[first], vertical=normal != 2
    )
    return bool(rising_at), bool(falling_at)


def _pattern_of(faces: Mapping[str, Any], side: str) -> str:
    return str(faces.get(side, faces["default"]))


def _holds(where: tuple[slice, ...], cell: list[int]) -> bool:
    return all(span.start <= k < span.stop for span, k in zip(where, cell, strict=True))


def _corners(index: list[int], b: int, c: int, number_of: Ints) -> tuple[int, int, int, int]:
    places = []
    for dv in (0, 1):
        for du in (0, 1):
            place = list(index)
            place[b] += du
            place[c] += dv
            places.append(int(number_of[tuple(place)]))
    return places[0], places[1], places[2], places[3]


def _pair(pair: Sequence[Any], number_of: Ints, pointer: str) -> tuple[int, int]:
    ends = []
    for end, place in enumerate(pair):
        where = tuple(int(x) for x in place)
        inside = all(x < size for x, size in zip(where, number_of.shape, strict=True))
        if not inside or number_of[where] < 0:
            detail = f"There is no hub at {list(where)}."
            raise LayoutFault(f"{pointer}/{end}", "unknown-reference", detail)
        ends.append(int(number_of[where]))
    return _key(ends[0], ends[1])


def _key(a: int, b: int) -> tuple[int, int]:
    return (a, b) if a < b else (b, a)


def _joined(pieces: list[_Piece], layout: Mapping[str, Any], kit: Kit) -> Frame:
    offset = np.cumsum([0, *(len(piece.places) for piece in pieces)])
    rows: list[tuple[int, int, int, int, int]] = []
    faces: list[Face] = []
    for number, piece in enumerate(pieces):
        base = int(offset[number])
        rows += [(a + base, b + base, rod, number, role) for a, b, rod, role in piece.members]
        faces += [
            Face(
                f.section, f.kind, f.normal, f.station, f.place,
                tuple(c + base for c in f.corners), f.diagonals,  # type: ignore[arg-type]
            )
            for f in piece.faces
        ]  # fmt: skip
    number_of = {spec["id"]: k for k, spec in enumerate(layout["sections"])}
    for place, joint in enumerate(layout["joints"]):
        first, second, axis, rod = _joint(joint, place, number_of, kit)
        pairs = coupled(pieces[first], pieces[second], axis)
        if not pairs:
            detail = "No hubs of the two sections face each other across this joint."
            raise LayoutFault(f"/joints/{place}", "unknown-reference", detail)
        rows += [
            (a + int(offset[first]), b + int(offset[second]), rod, -1, _JOINT) for a, b in pairs
        ]
    table = np.array(rows, dtype=np.int64).reshape(-1, 5)
    return Frame(
        nodes_mm=np.concatenate([piece.nodes_mm for piece in pieces]),
        lattice=np.concatenate([piece.places for piece in pieces]),
        node_section=np.repeat(np.arange(len(pieces)), [len(piece.places) for piece in pieces]),
        start=table[:, 0],
        end=table[:, 1],
        rod=table[:, 2],
        section=table[:, 3],
        role=table[:, 4],
        sections=tuple(piece.section for piece in pieces),
        faces=tuple(faces),
    )


def coupled(first: _Piece, second: _Piece, axis: int) -> list[tuple[int, int]]:
    """Node pairs that a joint couples: hubs of the corner bays of the lower or smaller of the two
    facing planes that have a partner straight across the gap."""
    a = _facing(first, axis, last=True)
    b = _facing(second, axis, last=False)
    matched = {key: (a[key], b[key]) for key in a if key in b}
    if not matched:
        return []
    columns = list(zip(*matched, strict=True))
    keep = []
    for values in columns:
        ordered = sorted(set(values))
        keep.append({*ordered[:2], *ordered[-2:]})
    return sorted(
        pair for key, pair in matched.items()
        if all(x in kept for x, kept in zip(key, keep, strict=True))
    )  # fmt: skip


def _facing(piece: _Piece, axis: int, *, last: bool) -> dict[tuple[int, ...], int]:
    """Nodes of the plane that faces the joint, by their place across it in micrometres."""
    bays = piece.section.bays
    assert bays is not None
    plane = bays[axis] if last else 0
    across = [k for k in range(3) if k != axis]
    return {
        tuple(round(float(x) * 1000) for x in piece.nodes_mm[node, across]): int(node)
        for node in np.flatnonzero(piece.places[:, axis] == plane)
    }


assert ROLES[_JOINT] == "joint" and ROLES[_SECOND] == "second-diagonal"
