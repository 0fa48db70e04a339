"""From a layout to a frame: every hub and rod once, however many beams meet there."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..kit import Kit
from .bracing import Braced, brace
from .faults import unknown
from .grid import Grid, axis_rods, grid_of
from .joints import Corner, corners_mm, coupled, joints_of
from .model import ROLES, Face, Floats, Frame, Ints, Section

_AXIS, _SIDE, _CROSS, _SECOND, _JOINT = (
    ROLES.index(role)
    for role in ("axis", "side-diagonal", "cross-diagonal", "second-diagonal", "joint")
)


def build_frame(layout: Mapping[str, Any], kit: Kit) -> Frame:
    """The frame of a layout that follows `LayoutSchema`.

    Nodes are in the order of sections, then of grid places (x first); members in the order of
    sections, in each the axis rods, then the diagonals face by face; joints come last. A face
    whose diagonal no rod of the kit closes within the play of its seats stays bare.

    Raises LayoutFault (pointer relative to the frame's input): an unknown rod or section, a beam
    outside its grid, a diagonal that lies on no face, a joint across which no hubs face.
    """
    specs = layout["sections"]
    grids = [grid_of(spec, kit, f"/layout/sections/{number}") for number, spec in enumerate(specs)]
    joints = joints_of(layout, kit)
    corners = corners_mm(layout, grids, joints, kit)
    nodes = [_nodes_mm(grid, corner, kit) for grid, corner in zip(grids, corners, strict=True)]
    offset = np.cumsum([0, *(len(grid.places) for grid in grids)]).tolist()
    tables: list[Ints] = []
    faces: list[Face] = []
    for number, (spec, grid) in enumerate(zip(specs, grids, strict=True)):
        braced = brace(spec, grid, kit, f"/layout/sections/{number}")
        tables.append(_rows(axis_rods(grid), braced, number, offset[number]))
        faces += [_face(item, number, offset[number]) for item in braced]
    for place, joint in enumerate(joints):
        a, b = joint.first, joint.second
        pairs = coupled(grids[a], nodes[a], grids[b], nodes[b], joint.axis)
        if not pairs:
            detail = "No hubs of the two sections face each other across this joint."
            raise unknown(f"/layout/joints/{place}", detail)
        rows = [(p + offset[a], q + offset[b], joint.rod, -1, _JOINT) for p, q in pairs]
        tables.append(np.array(rows, dtype=np.int64))
    table = np.concatenate(tables)
    return Frame(
        nodes_mm=np.concatenate(nodes),
        lattice=np.concatenate([grid.places for grid in grids]),
        node_section=np.repeat(np.arange(len(grids)), [len(grid.places) for grid in grids]),
        start=table[:, 0],
        end=table[:, 1],
        rod=table[:, 2],
        section=table[:, 3],
        role=table[:, 4],
        sections=tuple(
            _section(spec, grid, corner, kit)
            for spec, grid, corner in zip(specs, grids, corners, strict=True)
        ),
        faces=tuple(faces),
    )


def _nodes_mm(grid: Grid, corner: Corner, kit: Kit) -> Floats:
    planes = grid.planes_mm(kit)
    columns = [np.array(planes[k])[grid.places[:, k]] + corner[k] for k in range(3)]
    return np.column_stack(columns)


def _rows(axes: Ints, braced: list[Braced], section: int, offset: int) -> Ints:
    """Members of one section as rows (start, end, rod, section, role)."""
    diagonals = [
        (a, b, item.rod if item.rod is not None else -1, role)
        for item in braced
        for pairs, role in (
            (item.chosen, _SIDE if item.face.kind == "side" else _CROSS),
            (item.added, _SECOND),
        )
        for a, b in pairs
    ]
    straight = np.column_stack([axes, np.full(len(axes), _AXIS)])
    rows = np.concatenate([straight, np.array(diagonals, dtype=np.int64).reshape(-1, 4)])
    return np.column_stack(
        [rows[:, :2] + offset, rows[:, 2], np.full(len(rows), section), rows[:, 3]]
    )


def _face(item: Braced, section: int, offset: int) -> Face:
    face = item.face
    a, b, c, d = (corner + offset for corner in face.corners)
    count = len(item.chosen) + len(item.added)
    return Face(section, face.kind, face.normal, face.station, face.place, (a, b, c, d), count)


def _section(spec: Mapping[str, Any], grid: Grid, corner: Corner, kit: Kit) -> Section:
    planes = grid.planes_mm(kit)
    return Section(spec["id"], spec["title"], grid.bays, planes, corner, fittings_of(spec))


def fittings_of(spec: Mapping[str, Any]) -> tuple[tuple[str, float, tuple[int, ...]], ...]:
    """What is mounted on a section of a layout: title, mass in kg, levels."""
    return tuple(
        (row["title"], row["mass_kg"], tuple(int(level) for level in row["levels"]))
        for row in spec["fittings"]
    )
