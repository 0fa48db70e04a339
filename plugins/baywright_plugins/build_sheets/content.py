"""What is seen of a part of a frame from one side: the nearest of what covers one another."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..frame import ROLES
from ..frame.model import Floats, Ints
from .machine import Machine
from .panels import Badge, Content, FlatHub, FlatRod, Note, Point

AXIS, SIDE, CROSS, SECOND, JOINT, OTHER = range(len(ROLES))
_DIAGONALS = (SIDE, CROSS, SECOND)
_LOOKS = {AXIS: "axis", SIDE: "diagonal", CROSS: "cross", SECOND: "second", OTHER: "other"}


@dataclass(frozen=True)
class View:
    """Axes of the machine to the right and up on the page, and the one toward the viewer with
    its sign."""

    right: int
    up: int
    toward: int
    sign: int


FRONT, SIDE_VIEW, TOP = View(0, 2, 1, -1), View(1, 2, 0, 1), View(0, 1, 2, 1)


def flat(points: Floats, view: View) -> Floats:
    """Points (n, 3) on the page, (n, 2)."""
    return np.column_stack([points[:, view.right], points[:, view.up]])


def seen(machine: Machine, section: int, nodes: Ints, members: Ints, view: View) -> Content:
    """Rods and hubs of a section from one side, as a drawing shows them: of rods that cover one
    another the nearest, of a face's diagonals those of the nearest face that has some; what lies
    behind the hubs at its ends is drawn as hidden."""
    frame = machine.frame
    depth = -view.sign * frame.nodes_mm[:, view.toward]
    page = np.round(flat(frame.nodes_mm, view), 1) + 0.0
    spots = _nearest_hubs(page, depth, nodes)
    hubs = [
        FlatHub(at, int(machine.hub_kind[node]), coupled=node in machine.coupled)
        for at, node in spots.items()
    ]
    front = np.full(len(page), np.inf)
    front[nodes] = [depth[spots[x, y]] for x, y in page[nodes].tolist()]
    rods = []
    for member in _nearest_rods(machine, page, depth, members):
        a, b = int(frame.start[member]), int(frame.end[member])
        behind = depth[a] > front[a] + 1 or depth[b] > front[b] + 1
        look = "hidden" if behind else look_of(machine, member)
        rods.append(FlatRod(_point(page[a]), _point(page[b]), machine.item_of(member), look))
    stubs, notes = _couplings(machine, page, nodes)
    return Content([*rods, *stubs], hubs, _badges(machine, section, view), notes)


def look_of(machine: Machine, member: int) -> str:
    return _LOOKS.get(int(machine.frame.role[member]), "joint")


def _point(row: NDArray[np.float64]) -> Point:
    x, y = row.tolist()
    return x, y


def _nearest_hubs(page: Floats, depth: Floats, nodes: Ints) -> dict[Point, int]:
    spots: dict[Point, int] = {}
    for node in nodes[np.argsort(depth[nodes], kind="stable")].tolist():
        spots.setdefault(_point(page[node]), node)
    return dict(sorted(spots.items()))


def _nearest_rods(machine: Machine, page: Floats, depth: Floats, members: Ints) -> Sequence[int]:
    frame = machine.frame
    a, b = page[frame.start[members]], page[frame.end[members]]
    long = (np.abs(a - b) > 0.05).any(axis=1)
    members, a, b = members[long], a[long], b[long]
    if not len(members):
        return []
    swap = (a[:, 0] > b[:, 0]) | ((a[:, 0] == b[:, 0]) & (a[:, 1] > b[:, 1]))
    a[swap], b[swap] = b[swap], a[swap].copy()
    away = np.maximum(depth[frame.start[members]], depth[frame.end[members]])
    order = np.argsort(away, kind="stable")
    _, first = np.unique(np.column_stack([a, b])[order], axis=0, return_index=True)
    kept = np.sort(order[first])
    if not frame.has_grid:
        return [int(member) for member in members[kept]]
    box = np.column_stack([np.minimum(a, b), np.maximum(a, b)])[kept]
    _, cell = np.unique(box, axis=0, return_inverse=True)
    diagonal = np.isin(frame.role[members[kept]], _DIAGONALS)
    nearest = np.full(int(cell.max()) + 1, np.inf)
    np.minimum.at(nearest, cell.ravel()[diagonal], away[kept][diagonal])
    shown = ~diagonal | (away[kept] <= nearest[cell.ravel()] + 1)
    return [int(member) for member in members[kept][shown]]


def _couplings(machine: Machine, page: Floats, nodes: Ints) -> tuple[list[FlatRod], list[Note]]:
    """Stubs of coupling rods, and to which section they lead."""
    frame = machine.frame
    here = set(nodes.tolist())
    longest = max(rod.pitch_mm for rod in machine.kit.rods)
    stubs: dict[tuple[Point, Point], FlatRod] = {}
    ends: dict[int, list[tuple[Point, Point]]] = {}
    for member in np.flatnonzero(frame.section < 0).tolist():
        a, b = int(frame.start[member]), int(frame.end[member])
        if b in here:
            a, b = b, a
        if a not in here:
            continue
        away = page[b] - page[a]
        length = float(np.hypot(*away))
        if length < 0.05:
            continue
        end = page[a] + away * min(1.0, longest / length)
        pair = _point(page[a]), _point(np.round(end, 1))
        stubs.setdefault(pair, FlatRod(*pair, machine.item_of(member), "joint"))
        ends.setdefault(int(frame.node_section[b]), []).append(pair)
    return list(stubs.values()), [
        _note(pairs, f"to {frame.sections[other].id}") for other, pairs in sorted(ends.items())
    ]


def _note(pairs: Sequence[tuple[Point, Point]], text: str) -> Note:
    start, end = np.array(pairs).mean(axis=0)
    sideways = abs(end[0] - start[0]) > abs(end[1] - start[1])
    beyond = np.array([e for _, e in pairs])
    far = beyond.max(axis=0) if (end > start).any() else beyond.min(axis=0)
    at = (float(far[0]), float(end[1])) if sideways else (float(end[0]), float(far[1]))
    return Note(at, text, turned=bool(sideways))


def _badges(machine: Machine, section: int, view: View) -> list[Badge]:
    """Step numbers of the bays nearest to the viewer."""
    grid, at = machine.frame.sections[section].grid_mm, machine.frame.sections[section].at_mm
    if grid is None:
        return []
    nearest: dict[tuple[int, int], tuple[int, int]] = {}
    for (number, cell), step in zip(
        machine.order.bays, machine.order.bay_step.tolist(), strict=True
    ):
        if number == section:
            here = (-view.sign * cell[view.toward], step)
            spot = cell[view.right], cell[view.up]
            nearest[spot] = min(nearest.get(spot, here), here)
    return [badge_at(grid, at, spot, view, step) for spot, (_, step) in sorted(nearest.items())]


def badge_at(
    grid: tuple[tuple[float, ...], ...],
    at: tuple[float, float, float],
    spot: tuple[int, int],
    view: View,
    step: int,
) -> Badge:
    """The number of a step in one bay of a view."""
    axes = view.right, view.up
    low, high = (
        tuple(grid[axis][place + one] + at[axis] for axis, place in zip(axes, spot, strict=True))
        for one in (0, 1)
    )
    return Badge((low[0], low[1]), (high[0], high[1]), step)
