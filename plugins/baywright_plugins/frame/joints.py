"""Where the machine comes apart: how sections stand to one another, and the rods between them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..kit import Kit
from .faults import LayoutFault, unknown
from .grid import AXES, Grid
from .model import Floats

Corner = tuple[float, float, float]


@dataclass(frozen=True)
class Joint:
    """Numbers of the two sections, the axis across the gap, and the coupling rod."""

    first: int
    second: int
    axis: int
    rod: int


def joints_of(layout: Mapping[str, Any], kit: Kit) -> list[Joint]:
    """The joints of a layout. Raises LayoutFault for sections and rods that are not there."""
    number = {spec["id"]: k for k, spec in enumerate(layout["sections"])}
    joints = []
    for place, joint in enumerate(layout["joints"]):
        for end, name in enumerate(joint["between"]):
            if name not in number:
                where = f"/layout/joints/{place}/between/{end}"
                raise unknown(where, f"There is no section {name}.")
        if joint["rod"] not in kit.rod_index:
            where = f"/layout/joints/{place}/rod"
            raise unknown(where, f"The kit has no rod {joint['rod']}.")
        first, second = (number[name] for name in joint["between"])
        rod = kit.rod_index[joint["rod"]]
        joints.append(Joint(first, second, AXES.index(joint["axis"]), rod))
    return joints


def corners_mm(
    layout: Mapping[str, Any], grids: Sequence[Grid], joints: Sequence[Joint], kit: Kit
) -> list[Corner]:
    """Corner node of each section: as stated, else beyond the section it is jointed to, else 0.

    Raises LayoutFault where joints go round in a circle.
    """
    at: list[Corner | None] = []
    hanging = {joint.second for joint in joints}
    for number, spec in enumerate(layout["sections"]):
        stated = spec.get("at_mm")
        if stated is not None:
            at.append((float(stated[0]), float(stated[1]), float(stated[2])))
        else:
            at.append(None if number in hanging else (0.0, 0.0, 0.0))
    for _ in joints:
        for joint in joints:
            base = at[joint.first]
            if base is not None and at[joint.second] is None:
                span = grids[joint.first].planes_mm(kit)[joint.axis][-1]
                step = span + kit.rods[joint.rod].pitch_mm
                x, y, z = (v + step * (k == joint.axis) for k, v in enumerate(base))
                at[joint.second] = (x, y, z)
    for place, joint in enumerate(joints):
        if at[joint.second] is None:
            detail = "The joints go round in a circle; give one section its at_mm."
            raise LayoutFault(f"/layout/joints/{place}", "cycle", detail)
    return [corner for corner in at if corner is not None]


def coupled(
    first: Grid, first_mm: Floats, second: Grid, second_mm: Floats, axis: int
) -> list[tuple[int, int]]:
    """Node pairs that a joint couples: hubs of the corner bays of the two facing planes that have
    a partner straight across the gap.

    Corner bays are those of the rectangle that the two planes share: the two outermost rows and
    columns of matched hubs.
    """
    a = _facing(first, first_mm, axis, last=True)
    b = _facing(second, second_mm, axis, last=False)
    matched = sorted(set(a) & set(b))
    outermost = []
    for values in zip(*matched, strict=True):
        lines = sorted(set(values))
        outermost.append({*lines[:2], *lines[-2:]})
    return [
        (a[key], b[key])
        for key in matched
        if all(x in lines for x, lines in zip(key, outermost, strict=True))
    ]


def _facing(grid: Grid, nodes_mm: Floats, axis: int, *, last: bool) -> dict[tuple[int, ...], int]:
    """Nodes of the plane that faces the joint, by their place in it in whole micrometres."""
    plane = grid.bays[axis] if last else 0
    across = [k for k in range(3) if k != axis]
    nodes = np.flatnonzero(grid.places[:, axis] == plane)
    keys = np.rint(nodes_mm[nodes][:, across] * 1000).astype(np.int64).tolist()
    return {tuple(key): int(node) for key, node in zip(keys, nodes, strict=True)}
