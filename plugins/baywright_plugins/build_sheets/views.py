"""The panels of each kind of sheet."""

from collections.abc import Sequence
from functools import partial

import numpy as np

from ..frame.model import Floats, Ints
from .content import (
    FRONT,
    SIDE_VIEW,
    TOP,
    View,
    badge_at,
    flat,
    look_of,
    seen,
)
from .machine import Machine
from .panels import Badge, Chain, Content, Fill, FlatHub, FlatRod, Panel, Point
from .sheets import Sheet, hubs_drawn
from .unfolded import beam_panels


def panels_of(machine: Machine, sheet: Sheet) -> list[Panel]:
    """The views of a sheet, each with its place on it."""
    if sheet.kind == "section":
        return _section(machine, sheet)
    if sheet.kind == "layer":
        return [_layer(machine, sheet)]
    if sheet.kind == "beam":
        return beam_panels(machine, sheet)
    return [_joint(machine, sheet)]


def _section(machine: Machine, sheet: Sheet) -> list[Panel]:
    """Third-angle projection (ISO 5456-2): from above over the front, from the right beside it."""
    views = (
        ("From the front", FRONT, 0, 0, True, True),
        ("From the right", SIDE_VIEW, 1, 0, True, False),
        ("From above", TOP, 0, 1, False, True),
    )
    nodes = hubs_drawn(machine.frame, sheet)
    return [
        _panel(
            machine,
            sheet.section,
            nodes,
            view,
            title,
            (column, row),
            partial(seen, machine, sheet.section, nodes, sheet.members, view),
            (across, up),
        )
        for title, view, column, row, across, up in views
    ]


def _layer(machine: Machine, sheet: Sheet) -> Panel:
    def content() -> Content:
        frame = machine.frame
        height = frame.lattice[:, 2] if frame.has_grid else np.round(frame.nodes_mm[:, 2], 3)
        here = set(sheet.nodes.tolist())
        up: set[int] = set()
        down: set[int] = set()
        inside = np.flatnonzero(frame.section == sheet.section)
        for a, b in zip(frame.start[inside].tolist(), frame.end[inside].tolist(), strict=True):
            for node, other in ((a, b), (b, a)):
                if node in here and other not in here:
                    (up if height[other] > height[node] else down).add(node)
        page = flat(frame.nodes_mm, TOP)
        hubs = [
            FlatHub(
                _at(page, n), int(machine.hub_kind[n]), n in up, n in down, n in machine.coupled
            )
            for n in sheet.nodes.tolist()
        ]
        return Content(_rods(machine, sheet.members, page), hubs, _level_badges(machine, sheet))

    nodes = np.flatnonzero(machine.frame.node_section == sheet.section)
    return _panel(
        machine, sheet.section, nodes, TOP, "From above", (0, 0), content, (True, True), stubs=False
    )


def _rods(machine: Machine, members: Ints, page: Floats) -> list[FlatRod]:
    frame = machine.frame
    return [
        FlatRod(
            _at(page, int(frame.start[m])), _at(page, int(frame.end[m])), machine.item_of(m),
            look_of(machine, m),
        )
        for m in members.tolist()
    ]  # fmt: skip


def _level_badges(machine: Machine, sheet: Sheet) -> list[Badge]:
    """Steps of the bays that stand on this level."""
    section = machine.frame.sections[sheet.section]
    if section.grid_mm is None:
        return []
    return [
        badge_at(section.grid_mm, section.at_mm, cell[:2], TOP, step)
        for (number, cell), step in zip(
            machine.order.bays, machine.order.bay_step.tolist(), strict=True
        )
        if number == sheet.section and cell[2] == sheet.level
    ]


def _joint(machine: Machine, sheet: Sheet) -> Panel:
    """The coupled hubs of the first section, looking across the gap from it."""
    frame = machine.frame
    near, far = frame.start[sheet.members], frame.end[sheet.members]
    away = np.abs(frame.nodes_mm[far] - frame.nodes_mm[near]).sum(axis=0)
    view = {0: SIDE_VIEW, 1: FRONT, 2: TOP}[int(away.argmax())]
    nodes = np.unique(near)

    def content() -> Content:
        page = flat(frame.nodes_mm, view)
        here = np.zeros(len(page), dtype=bool)
        here[nodes] = True
        lying = np.flatnonzero(here[frame.start] & here[frame.end])
        spots = {_at(page, n): n for n in nodes.tolist()}
        hubs = [FlatHub(at, int(machine.hub_kind[n]), coupled=True) for at, n in spots.items()]
        return Content(_rods(machine, lying, page), hubs)

    title = {SIDE_VIEW: "From the right", FRONT: "From the front", TOP: "From above"}[view]
    return _panel(
        machine, sheet.section, nodes, view, title, (0, 0), content, (True, True), stubs=False
    )


def _panel(
    machine: Machine,
    section: int,
    nodes: Ints,
    view: View,
    title: str,
    place: tuple[int, int],
    content: Fill,
    dimensioned: tuple[bool, bool],
    *,
    stubs: bool = True,
) -> Panel:
    overhang = machine.kit.frame_hub.overhang_mm
    page = flat(machine.frame.nodes_mm[nodes], view)
    low, high = page.min(axis=0), page.max(axis=0)
    across, up = (
        _chain(machine, section, nodes, axis) if wanted else None
        for axis, wanted in zip((view.right, view.up), dimensioned, strict=True)
    )
    return Panel(
        title,
        _at([low - overhang], 0),
        _at([high + overhang], 0),
        *place,
        content,
        across,
        up,
        overhang,
        _beyond(machine, nodes, view, overhang) if stubs else (0.0, 0.0, 0.0, 0.0),
    )


def _beyond(
    machine: Machine, nodes: Ints, view: View, overhang: float
) -> tuple[float, float, float, float]:
    """How far coupling rods stick out, mm: left, below, right, above."""
    frame = machine.frame
    here = np.zeros(len(frame.nodes_mm), dtype=bool)
    here[nodes] = True
    loose = np.flatnonzero(frame.section < 0)
    first, last = frame.start[loose], frame.end[loose]
    near = np.concatenate([first[here[first]], last[here[last]]])
    far = np.concatenate([last[here[first]], first[here[last]]])
    page = flat(frame.nodes_mm, view)
    away = page[far] - page[near]
    longest = max(rod.pitch_mm for rod in machine.kit.rods)
    length = np.hypot(away[:, 0], away[:, 1])
    ends = page[near] + away * np.minimum(1.0, longest / np.maximum(length, 1e-9))[:, None]
    low, high = page[nodes].min(axis=0) - overhang, page[nodes].max(axis=0) + overhang
    more = np.concatenate([low[None, :], high[None, :], ends])
    under, over = low - more.min(axis=0), more.max(axis=0) - high
    return float(under[0]), float(under[1]), float(over[0]), float(over[1])


def _chain(machine: Machine, section: int, nodes: Ints, axis: int) -> Chain:
    frame = machine.frame
    grid = frame.sections[section].grid_mm
    low, high = frame.nodes_mm[nodes, axis].min(), frame.nodes_mm[nodes, axis].max()
    if grid is None:
        return Chain((float(low), float(high)))
    at = frame.sections[section].at_mm[axis]
    planes = tuple(plane + at for plane in grid[axis] if low - 1e-6 <= plane + at <= high + 1e-6)
    first = _first(grid[axis], float(low) - at)
    return Chain(planes, machine.rods_along[section, axis][first : first + len(planes) - 1])


def _first(planes: Sequence[float], low: float) -> int:
    return next((k for k, plane in enumerate(planes) if plane >= low - 1e-6), 0)


def _at(page: Floats | Sequence[Floats], node: int) -> Point:
    return float(page[node][0]), float(page[node][1])
