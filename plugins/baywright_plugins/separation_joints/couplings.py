"""The joints of a frame: which hubs face each other across the gap, and which rods couple them."""

from dataclasses import dataclass

import numpy as np

from ..frame import ROLES, Frame
from ..frame.model import Ints

_JOINT = ROLES.index("joint")

#: Rods within this of the axis (cosine) count as coupling rods, others lie across the gap.
STRAIGHT = 0.9999
#: Hubs of an explicit frame within this of the outermost one lie in the plane of the joint.
SAME_PLANE_MM = 1.0

Pair = tuple[int, int]


@dataclass(frozen=True)
class Coupling:
    """One joint: numbers of its sections, the first one below along `axis`.

    coupled: node pairs with a coupling rod; rods: their places in the kit; facing: node pairs
    straight across the gap, coupled or not; alone: nodes of the two planes without a partner;
    diagonals: node pairs of rods across the gap, diagonal_rods their places in the kit; gap_mm
    along the axis between the hubs of the shortest coupling rod, below 0 where sections overlap.
    """

    first: int
    second: int
    axis: int
    rods: tuple[int, ...]
    coupled: tuple[Pair, ...]
    facing: tuple[Pair, ...]
    alone: tuple[tuple[int, ...], tuple[int, ...]]
    gap_mm: float
    diagonals: tuple[Pair, ...] = ()
    diagonal_rods: tuple[int, ...] = ()

    @property
    def rod(self) -> int:
        """The commonest coupling rod, among equals the first of the kit."""
        return max(sorted(set(self.rods)), key=self.rods.count)

    @property
    def across(self) -> tuple[int, int]:
        """The two axes along the gap."""
        one, two = (k for k in range(3) if k != self.axis)
        return one, two


def layout_coupling(frame: Frame, first: int, second: int, axis: int, rod: int) -> Coupling:
    """The joint of two sections on grids, coupled at the hubs of the corner bays that face."""
    planes = [
        _grid_plane(frame, first, axis, last=True),
        _grid_plane(frame, second, axis, last=False),
    ]
    facing, alone = _facing(frame, axis, planes)
    places = [_key(frame, a, axis) for a, _ in facing]
    corners = _corner_keys(places)
    coupled = tuple(pair for pair, key in zip(facing, places, strict=True) if key in corners)
    rods = (rod,) * len(coupled)
    gap = _gap_mm(frame, coupled, axis)
    return Coupling(first, second, axis, rods, coupled, facing, alone, gap)


def member_couplings(frame: Frame) -> list[Coupling]:
    """The joints of a frame given by members: those that join nodes of two sections.

    The axis is the one that most rods between the two sections run along; rods along it are
    coupling rods, the others lie across the gap.
    """
    between = np.flatnonzero(frame.section < 0)
    ends = np.sort(
        np.column_stack([frame.node_section[frame.start], frame.node_section[frame.end]])[between],
        axis=1,
    )
    found = []
    for one, two in np.unique(ends, axis=0).tolist():
        mine = between[(ends == (one, two)).all(axis=1)]
        found.append(_of_members(frame, one, two, mine))
    return found


def _of_members(frame: Frame, one: int, two: int, members: Ints) -> Coupling:
    start, end = frame.start[members], frame.end[members]
    turned = frame.node_section[start] != one
    a, b = np.where(turned, end, start), np.where(turned, start, end)
    away = frame.nodes_mm[b] - frame.nodes_mm[a]
    along = np.abs(away) / np.linalg.norm(away, axis=1)[:, None]
    votes = (along > STRAIGHT).sum(axis=0)
    axis = int(votes.argmax()) if votes.any() else int(along.sum(axis=0).argmax())
    if away[:, axis].sum() < 0:
        a, b, one, two = b, a, two, one
    straight = along[:, axis] > STRAIGHT
    straight = straight if straight.any() else np.ones(len(a), dtype=bool)
    coupled = tuple(zip(a[straight].tolist(), b[straight].tolist(), strict=True))
    rods = frame.rod[members]
    planes = [
        _outermost(frame, one, axis, a[straight], last=True),
        _outermost(frame, two, axis, b[straight], last=False),
    ]
    facing, alone = _facing(frame, axis, planes)
    taken = {node for pair in coupled for node in pair}
    left, right = (tuple(n for n in nodes if n not in taken) for nodes in alone)
    return Coupling(
        one, two, axis, tuple(rods[straight].tolist()), coupled, facing, (left, right),
        _gap_mm(frame, coupled, axis),
        tuple(zip(a[~straight].tolist(), b[~straight].tolist(), strict=True)),
        tuple(rods[~straight].tolist()),
    )  # fmt: skip


def _gap_mm(frame: Frame, coupled: tuple[Pair, ...], axis: int) -> float:
    ends = np.array(coupled, dtype=np.int64).reshape(-1, 2)
    apart = frame.nodes_mm[ends[:, 1], axis] - frame.nodes_mm[ends[:, 0], axis]
    return round(float(apart.min(initial=np.inf)), 6)


def _facing(
    frame: Frame, axis: int, planes: list[Ints]
) -> tuple[tuple[Pair, ...], tuple[tuple[int, ...], tuple[int, ...]]]:
    """Node pairs straight across the gap, and the nodes of both planes without a partner."""
    a, b = ({_key(frame, node, axis): node for node in nodes.tolist()} for nodes in planes)
    keys = sorted(set(a) & set(b))
    taken = {node for key in keys for node in (a[key], b[key])}
    first, second = (tuple(n for n in nodes.tolist() if n not in taken) for nodes in planes)
    return tuple((a[key], b[key]) for key in keys), (first, second)


def _key(frame: Frame, node: int, axis: int) -> tuple[int, int]:
    """The node's place in the plane across an axis, in whole micrometres."""
    one, two = (round(float(frame.nodes_mm[node, k]) * 1000) for k in range(3) if k != axis)
    return one, two


def _corner_keys(keys: list[tuple[int, int]]) -> set[tuple[int, int]]:
    """Places in the two outermost rows and columns: the hubs of corner bays."""
    lines = []
    for values in zip(*keys, strict=True):
        rows = sorted(set(values))
        lines.append({*rows[:2], *rows[-2:]})
    return {key for key in keys if all(v in rows for v, rows in zip(key, lines, strict=True))}


def _grid_plane(frame: Frame, section: int, axis: int, *, last: bool) -> Ints:
    bays = frame.sections[section].bays
    plane = bays[axis] if last and bays is not None else 0
    mine = (frame.node_section == section) & (frame.lattice[:, axis] == plane)
    return np.flatnonzero(mine)


def _outermost(frame: Frame, section: int, axis: int, ends: Ints, *, last: bool) -> Ints:
    """Hubs of a section in the plane of the coupling rods' own ends."""
    mine = np.flatnonzero(frame.node_section == section)
    heights = frame.nodes_mm[:, axis]
    plane = heights[ends].max() if last else heights[ends].min()
    return np.asarray(mine[np.abs(heights[mine] - plane) <= SAME_PLANE_MM])
