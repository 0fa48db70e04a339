"""The box beams that a section is made of: runs of bays between corners, and their lacing."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np

from ..frame import Frame
from ..frame.shared_work import Shared, key_of, unchangeable
from .built_up import BuiltUp, built_up_column
from .equilibrium import Floats, Ints
from .places import joined_pairs, key

Place = tuple[int, int, int]


@dataclass(frozen=True)
class Beam:
    """Bays in a row with no bay beside them.

    axis: 0, 1, 2 for x, y, z; first: grid place of the first bay; nodes (bays + 1, 2, 2): hubs of
    each station by the two other axes in their order; joined: whether a corner bay follows at the
    lower and at the upper end; length_mm: between the middles of the corner bays.
    """

    axis: int
    first: Place
    nodes: Ints
    joined: tuple[bool, bool]
    length_mm: float

    @property
    def bays(self) -> int:
        return len(self.nodes) - 1

    @property
    def length_factor(self) -> float:
        """1 between two corners, which do not sway here; 2 where an end is free."""
        return 1.0 if all(self.joined) else 2.0


_BEAM_BYTES = 800
_beams: Shared[tuple[Beam, ...]] = Shared(limit_mib=4)


def beams(part: Frame) -> list[Beam]:
    """The beams of a section on a grid, along x, then y, then z.

    A bay is a cube of the grid with all twelve edges. Bays with a neighbour across the axis are
    corners. Where bays lie side by side over some length there is no beam.
    """
    if not part.has_grid:
        return []
    same = key_of(part.nodes_mm, part.lattice, part.start, part.end)
    kept = _beams.of(
        same,
        lambda: tuple(_found_beams(part)),
        lambda found: sum(_BEAM_BYTES + unchangeable(beam.nodes) for beam in found),
    )
    return list(kept)


def _found_beams(part: Frame) -> list[Beam]:
    cells = _cells(part)
    found = []
    for axis in range(3):
        across = [k for k in range(3) if k != axis]
        slim = {
            cell
            for cell in cells
            if not any(_moved(cell, k, step) in cells for k in across for step in (-1, 1))
        }
        for cell in sorted(slim):
            before = _moved(cell, axis, -1)
            if before in slim:
                continue
            run = [cell]
            while _moved(run[-1], axis, 1) in slim:
                run.append(_moved(run[-1], axis, 1))
            found.append(_beam(part, axis, run, cells))
    return found


def _cells(part: Frame) -> set[Place]:
    pairs = joined_pairs(part)
    places = {tuple(row): node for node, row in enumerate(part.lattice.tolist())}
    steps = list(product((0, 1), repeat=3))
    edges = [
        (a, b)
        for a, b in product(range(8), repeat=2)
        if a < b and sum(x != y for x, y in zip(steps[a], steps[b], strict=True)) == 1
    ]
    cells = set()
    for place in places:
        corners = [places.get(tuple(p + s for p, s in zip(place, st, strict=True))) for st in steps]
        if any(node is None for node in corners):
            continue
        nodes = [node for node in corners if node is not None]
        if all(key(nodes[a], nodes[b]) in pairs for a, b in edges):
            cells.add((place[0], place[1], place[2]))
    return cells


def _moved(cell: Place, axis: int, step: int) -> Place:
    moved = list(cell)
    moved[axis] += step
    return moved[0], moved[1], moved[2]


def _beam(part: Frame, axis: int, run: list[Place], cells: set[Place]) -> Beam:
    across = [k for k in range(3) if k != axis]
    nodes = np.empty((len(run) + 1, 2, 2), dtype=np.int64)
    for station in range(len(run) + 1):
        for a, b in product((0, 1), repeat=2):
            place = list(run[0])
            place[axis] += station
            place[across[0]] += a
            place[across[1]] += b
            node = part.node_at(0, (place[0], place[1], place[2]))
            assert node is not None
            nodes[station, a, b] = node
    ends = (_moved(run[0], axis, -1), _moved(run[-1], axis, 1))
    joined = (ends[0] in cells, ends[1] in cells)
    at = part.nodes_mm[:, axis]
    length = float(at[nodes[-1, 0, 0]] - at[nodes[0, 0, 0]])
    for end, is_joined in zip(ends, joined, strict=True):
        if is_joined:
            low, high = (part.node_at(0, place) for place in (end, _moved(end, axis, 1)))
            assert low is not None and high is not None
            length += 0.5 * float(at[high] - at[low])
    return Beam(axis, run[0], nodes, joined, length)


@dataclass(frozen=True)
class Rods:
    """Members of a section by their two nodes: stiffness with both seats, force per case."""

    part: Frame
    stiffness_n_per_mm: Floats

    @cached_property
    def number(self) -> Mapping[tuple[int, int], int]:
        ends = zip(self.part.start.tolist(), self.part.end.tolist(), strict=True)
        return {key(a, b): member for member, (a, b) in enumerate(ends)}

    def between(self, a: int, b: int) -> int | None:
        return self.number.get(key(int(a), int(b)))

    def stiffness(self, a: int, b: int) -> float:
        """0 where there is no rod."""
        member = self.between(a, b)
        return 0.0 if member is None else float(self.stiffness_n_per_mm[member])


def shear_stiffness_n(beam: Beam, rods: Rods, across: int) -> float:
    """S_v of a beam sheared along one of its two other axes (0 or 1); 0 where a bay has no
    diagonal in that plane.

    Bay by bay, with k_d, k_p the stiffness of diagonal and post with their seats in series:

        a / S = d^2 / (k_d h^2) + 1 / k_p      one diagonal; the post only between bays whose
                                               diagonals lean the same way
        a / S = d^2 / (2 k_d h^2)              both diagonals

    Bays are in series, the two planes of lacing side by side.

    Source: EN 1993-1-1:2005, 6.4.2 and Figure 6.9, its lacings taken apart into bays.
    """
    nodes = beam.nodes if across == 0 else beam.nodes.transpose(0, 2, 1)
    where = rods.part.nodes_mm
    flexibility, total = 0.0, 0.0
    lean = _leans(nodes, rods)
    for bay in range(beam.bays):
        a = float(np.linalg.norm(where[nodes[bay + 1, 0, 0]] - where[nodes[bay, 0, 0]]))
        h = float(np.linalg.norm(where[nodes[bay, 1, 0]] - where[nodes[bay, 0, 0]]))
        stiffness = 0.0
        for plane in (0, 1):
            rising = rods.stiffness(nodes[bay, 0, plane], nodes[bay + 1, 1, plane])
            falling = rods.stiffness(nodes[bay, 1, plane], nodes[bay + 1, 0, plane])
            if rising + falling == 0.0:
                continue
            slip = (a**2 + h**2) / ((rising + falling) * h**2)
            for beside, station in ((bay - 1, bay), (bay + 1, bay + 1)):
                if 0 <= beside < beam.bays and lean[bay][plane] * lean[beside][plane] > 0:
                    post = rods.stiffness(nodes[station, 0, plane], nodes[station, 1, plane])
                    slip += 0.5 / post if post else math.inf
            stiffness += a / slip
        if stiffness == 0.0:
            return 0.0
        flexibility += a / stiffness
        total += a
    return total / flexibility


def _leans(nodes: Ints, rods: Rods) -> list[list[int]]:
    """+1 or -1 for one diagonal, 0 for none or both; by bay and plane."""
    return [
        [
            int(rods.between(nodes[bay, 0, plane], nodes[bay + 1, 1, plane]) is not None)
            - int(rods.between(nodes[bay, 1, plane], nodes[bay + 1, 0, plane]) is not None)
            for plane in (0, 1)
        ]
        for bay in range(len(nodes) - 1)
    ]


def beam_column(
    beam: Beam, rods: Rods, bending_n_mm2: Floats, free_length_mm: Floats
) -> tuple[BuiltUp, float, int] | None:
    """The weaker of a beam's two ways to buckle: loads, shear stiffness, and the axis (0, 1, 2)
    along which it bows. None where a bay has no diagonal to shear against.

    Args: bending_n_mm2 and free_length_mm of each member, (m,).
    """
    where = rods.part.nodes_mm
    chords = [
        rods.between(beam.nodes[bay, a, b], beam.nodes[bay + 1, a, b])
        for bay in range(beam.bays)
        for a, b in product((0, 1), repeat=2)
    ]
    members = np.array([member for member in chords if member is not None], dtype=np.int64)
    if len(members) < len(chords):
        return None
    length = rods.part.length_mm[members]
    rigidity = float(length.sum() / (1.0 / rods.stiffness_n_per_mm[members]).sum())
    weakest = int((bending_n_mm2[members] / free_length_mm[members] ** 2).argmin())
    axes = [k for k in range(3) if k != beam.axis]
    found = []
    for across, axis in enumerate(axes):
        shear = shear_stiffness_n(beam, rods, across)
        if shear == 0.0:
            return None
        other = beam.nodes[0, 1, 0] if across == 0 else beam.nodes[0, 0, 1]
        apart = float(np.linalg.norm(where[other] - where[beam.nodes[0, 0, 0]]))
        column = built_up_column(
            length_mm=beam.length_mm,
            chord_distance_mm=apart,
            chord_rigidity_n=rigidity,
            chord_bending_n_mm2=float(bending_n_mm2[members[weakest]]),
            chord_panel_mm=float(free_length_mm[members[weakest]]),
            shear_stiffness_n=shear,
            chords=4,
            length_factor=beam.length_factor,
        )
        found.append((column, shear, axis))
    return min(found, key=lambda one: one[0].critical_n)


def beam_compression_n(beam: Beam, rods: Rods, member_force_n: Floats) -> Floats:
    """Largest compression over the bays of a beam, shape (cases,), for forces (cases, m): the sum
    along the axis of all rods that cross a bay. 0 where it is pulled everywhere."""
    worst = np.zeros(len(member_force_n))
    part = rods.part
    for bay in range(beam.bays):
        total = np.zeros(len(member_force_n))
        for low, high in product(beam.nodes[bay].ravel(), beam.nodes[bay + 1].ravel()):
            member = rods.between(low, high)
            if member is not None:
                away = part.nodes_mm[high] - part.nodes_mm[low]
                total += member_force_n[:, member] * away[beam.axis] / np.linalg.norm(away)
        worst = np.maximum(worst, -total)
    return worst
