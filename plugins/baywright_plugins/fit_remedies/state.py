"""A machine on its route: sizes and twins of its sections, joints, parts, and how each fares."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..frame import Frame
from ..frame.bracing import brace
from ..frame.grid import grid_of
from ..grid_fit.sections import (
    JointFacts,
    SectionFacts,
    all_rods,
    joint_facts,
    overhangs_mm,
    section_facts,
)
from ..kit import Kit
from ..route_fit.passing import Crossing
from .journey import Journey
from .listed_diagonals import as_loaded


@dataclass(frozen=True)
class Fare:
    """How one section fares: at each passage, and at the one that governs."""

    section: str
    crossings: tuple[Crossing, ...]
    tightest: Crossing

    @property
    def passes(self) -> bool:
        return self.tightest.passes


@dataclass(frozen=True)
class State:
    """`bare` are faces of each section that want a diagonal and have none, since no rod closes
    them."""

    raw: Mapping[str, Any]
    frame: Frame
    sections: tuple[SectionFacts, ...]
    joints: tuple[JointFacts, ...]
    fares: tuple[Fare, ...]
    rods: Mapping[str, int]
    bare: tuple[int, ...]

    @property
    def passes(self) -> bool:
        return all(fare.passes for fare in self.fares)

    @property
    def hubs(self) -> int:
        return len(self.frame.nodes_mm)

    @property
    def governing(self) -> Fare:
        """The section with least to spare, or that sticks most."""
        return min(self.fares, key=lambda f: (f.tightest.passes, f.tightest.spare_mm))


def state_of(
    raw: Mapping[str, Any],
    frame: Frame,
    kit: Kit,
    journey: Journey,
    *,
    flush_axes: Sequence[str],
    protrusions: Sequence[Mapping[str, Any]],
) -> State:
    """Everything known of a layout (`raw`, as on the wire) and its frame on a route."""
    sections = section_facts(
        frame,
        raw,
        kit,
        overhangs_mm=overhangs_mm(kit, flush_axes),
        protruding_mm=protruding_mm(protrusions, [spec["id"] for spec in raw["sections"]]),
    )
    fares = []
    for one in sections:
        size = (one.outside_mm["x"], one.outside_mm["y"], one.outside_mm["z"])
        crossings = journey.crossings(size)
        fares.append(Fare(one.id, crossings, journey.tightest(size)))
    return State(
        raw=raw,
        frame=frame,
        sections=tuple(sections),
        joints=tuple(joint_facts(frame, raw)),
        fares=tuple(fares),
        rods=all_rods(frame, kit),
        bare=_bare(raw, sections, kit),
    )


def _bare(raw: Mapping[str, Any], sections: Sequence[SectionFacts], kit: Kit) -> tuple[int, ...]:
    """Built again only where some bay cannot be braced."""
    found = []
    for spec, one in zip(raw["sections"], sections, strict=True):
        count = 0
        if one.unbraceable_faces_count:
            loaded = as_loaded(spec)
            faces = brace(loaded, grid_of(loaded, kit, ""), kit, "")
            count = sum(item.rod is None and any(item.face.wanted) for item in faces)
        found.append(count)
    return tuple(found)


def protruding_mm(
    protrusions: Sequence[Mapping[str, Any]], sections: Sequence[str]
) -> dict[tuple[str, str], float]:
    """By (section, side), the furthest part that is not taken off."""
    reach: dict[tuple[str, str], float] = {}
    for part in protrusions:
        if part.get("taken_off") and part.get("removable", True):
            continue
        for name in part.get("sections", sections):
            key = (name, part["side"])
            reach[key] = max(reach.get(key, 0.0), float(part["mm"]))
    return reach
