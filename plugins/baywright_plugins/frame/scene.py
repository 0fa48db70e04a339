"""A frame in space: its hubs, rods and sections, and how the sections come apart."""

from collections import deque

import numpy as np

from baywright_service.contract import Scene, SceneGroup, ScenePiece

from ..kit import Kit
from .model import ROLES, Floats, Frame

#: What rods are called in the legend, in the order of ROLES.
KINDS = (
    "rods along the bays",
    "diagonals of outer and inner faces",
    "diagonals of cross faces",
    "second diagonals",
    "coupling rods, where it comes apart",
    "other rods",
)

Step = tuple[float, float, float]


def frame_scene(frame: Frame, kit: Kit, *, title: str, size_mm: Step | None = None) -> Scene:
    """The frame without loads. `size_mm` is over all; over the hub ends where it is not given."""
    steps = apart_steps(frame)
    groups = [
        SceneGroup(section.id, section.title, step)
        for section, step in zip(frame.sections, steps, strict=True)
    ]
    overhang = kit.frame_hub.overhang_mm
    size = size_mm or over_hub_ends(frame.nodes_mm, overhang)
    hubs, rods = len(frame.nodes_mm), len(frame.start)
    one = len(groups) == 1
    sections = "One section" if one else f"{len(groups)} sections"
    length, depth, height = (f"{side:,.0f}".replace(",", " ") for side in size)
    words = (
        f"{sections} of {hubs} hubs and {rods} rods, {length} mm along x, {depth} mm along y and "
        f"{height} mm high over all."
    )
    return Scene(
        title=title,
        words=words,
        points_mm=frame.nodes_mm,
        group_of_point=frame.node_section,
        start=frame.start,
        end=frame.end,
        group=frame.section,
        kind=frame.role,
        piece=frame.rod,
        groups=groups,
        kinds=KINDS,
        pieces=[ScenePiece(rod.id, rod.diameter_mm) for rod in kit.rods],
        places=frame.lattice if frame.has_grid else (),
        size_mm=size,
        margin_mm=overhang,
    )


def over_hub_ends(nodes_mm: Floats, overhang_mm: float) -> Step:
    """Size along x, y, z of hubs at `nodes_mm` (n, 3), over the ends of the outer ones."""
    x, y, z = (np.ptp(nodes_mm, axis=0) + 2 * overhang_mm).tolist()
    return x, y, z


def apart_steps(frame: Frame) -> list[Step]:
    """Which way each section goes where the machine is pulled apart along its joints.

    From the first section outwards each joint adds one step across its gap, so that no coupling
    rod gets shorter. What no joint ties to the first section steps aside along y.
    """
    joints = _joints(frame)
    steps: dict[int, Floats] = {}
    for first in range(len(frame.sections)):
        if first in steps:
            continue
        steps[first] = np.array([0.0, 0.0 if not steps else _aside(steps), 0.0])
        waiting = deque([first])
        while waiting:
            here = waiting.popleft()
            for other, step in joints.get(here, {}).items():
                if other not in steps:
                    steps[other] = steps[here] + step
                    waiting.append(other)
    return [(float(x), float(y), float(z)) for x, y, z in (steps[k] for k in sorted(steps))]


def _aside(steps: dict[int, Floats]) -> float:
    return 1.0 + max(float(step[1]) for step in steps.values())


def _joints(frame: Frame) -> dict[int, dict[int, Floats]]:
    """For each section those it is coupled with, and the unit step to them across the gap."""
    found: dict[int, dict[int, Floats]] = {}
    for member in np.flatnonzero(frame.role == ROLES.index("joint")).tolist():
        p, q = int(frame.start[member]), int(frame.end[member])
        a, b = int(frame.node_section[p]), int(frame.node_section[q])
        if a == b or b in found.get(a, {}):
            continue
        away = frame.nodes_mm[q] - frame.nodes_mm[p]
        axis = int(np.abs(away).argmax())
        step = np.zeros(3)
        step[axis] = np.sign(away[axis])
        found.setdefault(a, {})[b] = step
        found.setdefault(b, {})[a] = -step
    return found
