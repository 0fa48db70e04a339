"""Which kinds of hub can stand at a node: the ports it uses against the ports each kind has."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import permutations, product

import numpy as np
from numpy.typing import NDArray

from ..kit import Hub

Direction = tuple[int, int, int]
Rotation = tuple[Direction, Direction, Direction]

#: The 26 directions a port can look: along axes, at 45 degrees in a plane, to corners.
DIRECTIONS: tuple[Direction, ...] = tuple(
    (x, y, z) for x, y, z in product((-1, 0, 1), repeat=3) if (x, y, z) != (0, 0, 0)
)
_BIT = {direction: 1 << place for place, direction in enumerate(DIRECTIONS)}


@dataclass(frozen=True)
class UsedPorts:
    """Ports used at each node of a frame.

    used (n,): one bit for each direction of `DIRECTIONS`. missed (n,): rods that look nowhere
    a port can. doubled (n,): rods beyond the first in one port.
    """

    used: NDArray[np.int64]
    missed: NDArray[np.int64]
    doubled: NDArray[np.int64]


@dataclass(frozen=True)
class NodeClass:
    """Nodes that use the same ports up to what can stand there: `fits` are places among the
    kinds; `three_planes` and `unlocked` say why no two-part kind is among them."""

    fits: tuple[int, ...]
    three_planes: bool
    unlocked: bool
    nodes: NDArray[np.int64]


@cache
def rotations() -> tuple[Rotation, ...]:
    """The 24 rotations that carry the axes into the axes, as rows of signed unit vectors.

    Source: the rotation group of the cube (signed permutation matrices of determinant 1).

    >>> len(rotations())
    24
    """
    found = []
    for order in permutations(range(3)):
        for signs in product((1, -1), repeat=3):
            rows = [[signs[r] if order[r] == c else 0 for c in range(3)] for r in range(3)]
            if round(float(np.linalg.det(np.array(rows)))) == 1:
                found.append(tuple((row[0], row[1], row[2]) for row in rows))
    return tuple((rows[0], rows[1], rows[2]) for rows in found)


def turned(direction: Direction, rotation: Rotation) -> Direction:
    """`direction` after `rotation`."""
    x, y, z = (sum(a * b for a, b in zip(row, direction, strict=True)) for row in rotation)
    return x, y, z


def used_ports(
    nodes_mm: NDArray[np.float64],
    start: NDArray[np.int64],
    end: NDArray[np.int64],
    *,
    tolerance_deg: float,
) -> UsedPorts:
    """The port that each end of each member takes: the direction nearest to the member.

    Args:
        nodes_mm: shape (n, 3). start, end: shape (m,), node numbers.
        tolerance_deg: how far a rod may lean from its port; beyond it the end is `missed`.

    Leaves out: rods that do not go node to node; turning the whole node against the grid.
    Source: common practice, no source.
    """
    away = nodes_mm[end] - nodes_mm[start]
    away = away / np.sqrt((away**2).sum(axis=1, keepdims=True))
    ports = np.array(DIRECTIONS, dtype=np.float64)
    ports /= np.sqrt((ports**2).sum(axis=1, keepdims=True))
    towards = away @ ports.T
    place = towards.argmax(axis=1)
    lean = np.degrees(np.arccos(np.clip(towards[np.arange(len(place)), place], -1.0, 1.0)))
    fits = lean <= tolerance_deg
    opposite = len(DIRECTIONS) - 1 - place
    at = np.concatenate([start[fits], end[fits]])
    port = np.concatenate([place[fits], opposite[fits]])
    taken = np.zeros((len(nodes_mm), len(DIRECTIONS)), dtype=np.int64)
    np.add.at(taken, (at, port), 1)
    missed = np.bincount(np.concatenate([start[~fits], end[~fits]]), minlength=len(nodes_mm))
    bits = np.array([_BIT[direction] for direction in DIRECTIONS], dtype=np.int64)
    used = ((taken > 0) * bits).sum(axis=1)
    return UsedPorts(used, missed, np.maximum(taken - 1, 0).sum(axis=1))


def can_stand(used: int, hub: Hub) -> bool:
    """Whether `hub` can stand at a node that uses the ports `used` (bits), turned as need be.

    A rotation will do when each used direction has a port. Two halves that slide apart along an
    axis must also be locked: a diagonal that is not square to that axis has to end there. Then
    the open ends can always be turned so that nothing slides: along a diagonal a . u s = b . v t
    with slides s, t >= 0, and opposite signs at its two ends force both to zero.

    Leaves out: which way the open ends face; that is for the builder to turn.
    Source: derived; subset test of ports over the 24 rotations.
    """
    return any(
        used & ~ports == 0 and (not hub.two_part or _locked(used, slide))
        for ports, slide in _turned_kinds(hub.ports, hub.slides_along)
    )


@cache
def _turned_kinds(
    ports: tuple[Direction, ...], slide: Direction | None
) -> tuple[tuple[int, Direction], ...]:
    kinds = {
        (
            sum(_BIT[turned(port, rotation)] for port in set(ports)),
            turned(slide, rotation) if slide else (0, 0, 0),
        )
        for rotation in rotations()
    }
    return tuple(sorted(kinds))


def _locked(used: int, slide: Direction) -> bool:
    return any(
        used & bit
        and sum(map(abs, direction)) > 1
        and sum(a * b for a, b in zip(direction, slide, strict=True)) != 0
        for direction, bit in _BIT.items()
    )


def planes_with_diagonals(used: int) -> int:
    """How many of the three grid planes hold a used direction at 45 degrees.

    >>> planes_with_diagonals(_BIT[1, 1, 0] | _BIT[-1, 1, 0] | _BIT[0, 1, 1] | _BIT[0, 0, 1])
    2
    """
    planes = {
        tuple(x != 0 for x in direction)
        for direction, bit in _BIT.items()
        if used & bit and sum(map(abs, direction)) == 2
    }
    return len(planes)


def node_classes(ports: UsedPorts, kinds: Sequence[Hub]) -> list[NodeClass]:
    """Nodes grouped by which of `kinds` can stand there, in the order of first appearance.

    A node with a rod that misses every port, or two rods in one, has no kind that fits.
    """
    plain = np.where((ports.missed > 0) | (ports.doubled > 0), -1, ports.used)
    groups: dict[tuple[tuple[int, ...], bool, bool], list[NDArray[np.int64]]] = {}
    values, first, inverse = np.unique(plain, return_index=True, return_inverse=True)
    for number in np.argsort(first).tolist():
        used = int(values[number])
        fits = tuple(k for k, hub in enumerate(kinds) if used >= 0 and can_stand(used, hub))
        one_piece = bool(fits) and not any(kinds[k].two_part for k in fits)
        planes = planes_with_diagonals(used) if used >= 0 else 0
        key = (fits, one_piece and planes == 3, one_piece and planes == 0)
        groups.setdefault(key, []).append(np.flatnonzero(inverse == number))
    return [
        NodeClass(fits, three, loose, np.sort(np.concatenate(nodes)))
        for (fits, three, loose), nodes in groups.items()
    ]
