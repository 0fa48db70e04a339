"""What is known of each section once its frame is built: sizes, twins, bays, joints, parts."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from typing import Any

import numpy as np

from ..frame import ROLES, Frame
from ..kit import Kit
from .bracing import Bracing, brace
from .passages import AXES

_JOINT = ROLES.index("joint")


@dataclass(frozen=True)
class SectionFacts:
    """Sizes in mm by axis; counts of one section."""

    id: str
    title: str
    bays: Mapping[str, int]
    centreline_mm: Mapping[str, float]
    over_hubs_mm: Mapping[str, float]
    outside_mm: Mapping[str, float]
    planes_mm: Mapping[str, tuple[float, ...]]
    protruding_mm: Mapping[str, float]
    twin_of: str | None
    hubs_count: int
    rods: Mapping[str, int]
    bare_side_faces_count: int
    unbraceable_faces_count: int


@dataclass(frozen=True)
class JointFacts:
    """How many rods couple two sections, and how many a full match of the smaller face takes."""

    between: tuple[str, str]
    axis: str
    rods_count: int
    possible_count: int

    @property
    def matches(self) -> bool:
        return self.rods_count == self.possible_count


@dataclass
class BayKind:
    """Faces of one pair of rods: how many, how many of them bare, and where."""

    rods: tuple[str, str]
    bracing: Bracing
    faces_count: int = 0
    bare_faces_count: int = 0
    sections: list[str] = field(default_factory=list)


def overhangs_mm(kit: Kit, flush_axes: Sequence[str]) -> dict[str, float]:
    """Reach of the outer hubs beyond their centres along each axis, one side."""
    hub = kit.frame_hub
    flush = hub.overhang_mm if hub.blank_overhang_mm is None else hub.blank_overhang_mm
    return {axis: flush if axis in flush_axes else hub.overhang_mm for axis in AXES}


def rods_along(spec: Mapping[str, Any], axis: str) -> list[str]:
    """Rod of each bay of a section along one axis."""
    return [run["rod"] for run in spec["rods"][axis] for _ in range(int(run["count"]))]


def section_facts(
    frame: Frame,
    layout: Mapping[str, Any],
    kit: Kit,
    *,
    overhangs_mm: Mapping[str, float],
    protruding_mm: Mapping[tuple[str, str], float],
) -> list[SectionFacts]:
    """Facts of every section, in order.

    Args:
        layout: as on the wire (raw JSON): its sections tell which are twins.
        overhangs_mm: by axis, one side.
        protruding_mm: by (section id, side such as "z-plus"), beyond the hub ends.
    """
    kinds = bay_kinds(frame, layout, kit)
    pitch = {rod.id: rod.pitch_um for rod in kit.rods}
    signs = [_signature(spec) for spec in layout["sections"]]
    facts = []
    for number, spec in enumerate(layout["sections"]):
        rods = {axis: rods_along(spec, axis) for axis in AXES}
        centreline = {axis: sum(pitch[rod] for rod in rods[axis]) / 1000 for axis in AXES}
        hubs = {axis: centreline[axis] + 2 * overhangs_mm[axis] for axis in AXES}
        outside = {
            axis: hubs[axis]
            + protruding_mm.get((spec["id"], f"{axis}-minus"), 0.0)
            + protruding_mm.get((spec["id"], f"{axis}-plus"), 0.0)
            for axis in AXES
        }
        first = signs.index(signs[number])
        mine = frame.section == number
        faces = [face for face in frame.faces if face.section == number]
        facts.append(
            SectionFacts(
                id=spec["id"],
                title=spec.get("title", ""),
                bays={axis: len(rods[axis]) for axis in AXES},
                centreline_mm=centreline,
                over_hubs_mm=hubs,
                outside_mm=outside,
                planes_mm={
                    axis: tuple(
                        x / 1000 for x in accumulate((pitch[r] for r in rods[axis]), initial=0)
                    )
                    for axis in AXES
                },
                protruding_mm={
                    side: reach
                    for (name, side), reach in protruding_mm.items()
                    if name == spec["id"]
                },
                twin_of=None if first == number else layout["sections"][first]["id"],
                hubs_count=int((frame.node_section == number).sum()),
                rods=_by_rod(frame.rod[mine], kit),
                bare_side_faces_count=sum(f.kind == "side" and f.diagonals == 0 for f in faces),
                unbraceable_faces_count=sum(
                    kinds[_pair(face, rods)].bracing.single.closes is False for face in faces
                ),
            )
        )
    return facts


def bay_kinds(frame: Frame, layout: Mapping[str, Any], kit: Kit) -> dict[tuple[str, str], BayKind]:
    """Every pair of rods that forms a face of the frame, in the order of the kit."""
    rods = [{axis: rods_along(spec, axis) for axis in AXES} for spec in layout["sections"]]
    found: dict[tuple[str, str], BayKind] = {}
    for face in frame.faces:
        pair = _pair(face, rods[face.section])
        kind = found.get(pair)
        if kind is None:
            kind = found[pair] = BayKind(pair, bracing_of(pair, kit))
        kind.faces_count += 1
        kind.bare_faces_count += face.diagonals == 0 and not kind.bracing.single.closes
        name = layout["sections"][face.section]["id"]
        if name not in kind.sections:
            kind.sections.append(name)
    order = kit.rod_index
    return dict(sorted(found.items(), key=lambda item: [order[rod] for rod in item[0]]))


def bracing_of(pair: tuple[str, str], kit: Kit) -> Bracing:
    """What braces a bay of two rods of the kit."""
    a, b = (kit.rods[kit.rod_index[rod]].pitch_mm for rod in pair)
    return brace(
        (a, b),
        [rod.pitch_mm for rod in kit.rods],
        play_mm=2 * kit.frame_hub.seat.play_mm,
        mid_hubs=kit.middle_hub is not None,
    )


def joint_facts(frame: Frame, layout: Mapping[str, Any]) -> list[JointFacts]:
    """How every joint of the layout couples its two sections."""
    number = {spec["id"]: k for k, spec in enumerate(layout["sections"])}
    joints = frame.role == _JOINT
    start, end = frame.node_section[frame.start[joints]], frame.node_section[frame.end[joints]]
    facts = []
    for joint in layout.get("joints", ()):
        first, second = (number[name] for name in joint["between"])
        axis = joint.get("axis", "x")
        possible = min(
            _corner_hubs(frame, first, axis, last=True),
            _corner_hubs(frame, second, axis, last=False),
        )
        there = ((start == first) & (end == second)) | ((start == second) & (end == first))
        facts.append(
            JointFacts((joint["between"][0], joint["between"][1]), axis, int(there.sum()), possible)
        )
    return facts


def _corner_hubs(frame: Frame, section: int, axis: str, *, last: bool) -> int:
    """Hubs of the two outermost rows and columns of a section's plane that faces a joint."""
    k = AXES.index(axis)
    places = frame.lattice[frame.node_section == section]
    plane = places[places[:, k] == (places[:, k].max() if last else 0)]
    outermost = np.ones(len(plane), dtype=bool)
    for other in (n for n in range(3) if n != k):
        lines = np.unique(plane[:, other])
        outermost &= np.isin(plane[:, other], [*lines[:2], *lines[-2:]])
    return int(outermost.sum())


def outer_hubs_count(frame: Frame, axis: str) -> int:
    """Hubs of the two outermost planes across an axis, over all sections."""
    k = AXES.index(axis)
    count = 0
    for number in range(len(frame.sections)):
        stations = frame.lattice[frame.node_section == number][:, k]
        count += int(((stations == 0) | (stations == stations.max())).sum())
    return count


def all_rods(frame: Frame, kit: Kit) -> dict[str, int]:
    """Rods of the whole frame by kind, joints included."""
    return _by_rod(frame.rod, kit)


def overall_mm(frame: Frame) -> dict[str, float]:
    """Size of the whole machine between its outer nodes."""
    size = np.ptp(frame.nodes_mm, axis=0)
    return {axis: round(float(size[k]), 6) for k, axis in enumerate(AXES)}


def _by_rod(places: Any, kit: Kit) -> dict[str, int]:
    counts = Counter(places.tolist())
    return {rod.id: counts[k] for k, rod in enumerate(kit.rods) if counts[k]}


def _pair(face: Any, rods: Mapping[str, list[str]]) -> tuple[str, str]:
    b, c = (axis for k, axis in enumerate(AXES) if k != face.normal)
    one, two = rods[b][face.place[0]], rods[c][face.place[1]]
    return (one, two) if one <= two else (two, one)


def _signature(spec: Mapping[str, Any]) -> str:
    """What two sections must share to be twins: all but name, title, place and fittings."""
    own = {"id", "title", "at_mm", "fittings"}
    same = {key: value for key, value in spec.items() if key not in own}
    same["rods"] = {axis: rods_along(spec, axis) for axis in AXES}
    for name in ("second_diagonals", "left_out_diagonals"):
        same[name] = sorted(sorted(map(list, pair)) for pair in spec.get(name, ()))
    return repr(sorted(same.items(), key=lambda item: item[0]))
