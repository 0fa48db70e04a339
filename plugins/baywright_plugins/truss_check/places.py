"""Where things are on a section's grid, in words a builder can walk to."""

from collections.abc import Mapping

from ..frame import Face, Frame

AXES = "xyz"


def sides(part: Frame) -> Mapping[Face, str]:
    """For each outer face of a section the sign of its outward normal: "-" or "+".

    Along a line of faces outside and inside alternate at every outer face.
    """
    lines: dict[tuple[int, tuple[int, int]], list[Face]] = {}
    for face in part.faces:
        if face.kind == "side":
            lines.setdefault((face.normal, face.place), []).append(face)
    sign: dict[Face, str] = {}
    for line in lines.values():
        for count, face in enumerate(sorted(line, key=lambda f: f.station)):
            sign[face] = "-" if count % 2 == 0 else "+"
    return sign


def bay_of(face: Face, *, below: bool) -> tuple[int, int, int]:
    """Grid indices of the bay before (`below`) or behind the face along its normal."""
    index = [0, 0, 0]
    across = [k for k in range(3) if k != face.normal]
    index[across[0]], index[across[1]] = face.place
    index[face.normal] = face.station - 1 if below else face.station
    return index[0], index[1], index[2]


def face_words(face: Face, sign: str | None) -> str:
    """The face in words; `sign` as from `sides`, None for a face between two bays."""
    axis = AXES[face.normal]
    if sign is None:
        before, behind = bay_of(face, below=True), bay_of(face, below=False)
        return f"the cross face between bays {before} and {behind}"
    bay = bay_of(face, below=sign == "+")
    return f"face {axis}{sign} of bay {bay}"


def missing_diagonals(part: Frame, face: Face, rods: set[tuple[int, int]]) -> list[tuple[int, int]]:
    """The diagonals that a face does not carry, as node pairs; `rods` are all node pairs joined."""
    a, b, c, d = face.corners
    return [pair for pair in (key(a, d), key(b, c)) if pair not in rods]


def key(a: int, b: int) -> tuple[int, int]:
    """A pair of nodes, lower number first."""
    return (a, b) if a < b else (b, a)


def joined_pairs(part: Frame) -> set[tuple[int, int]]:
    """Every pair of nodes that a member joins."""
    return {key(a, b) for a, b in zip(part.start.tolist(), part.end.tolist(), strict=True)}


def grid_pair(part: Frame, pair: tuple[int, int]) -> list[list[int]]:
    """A pair of nodes as grid places [[i, j, k], [i, j, k]]."""
    return [[int(x) for x in part.lattice[node]] for node in pair]
