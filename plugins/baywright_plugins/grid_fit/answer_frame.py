"""The frame of the layout: sections, joints, bays, parts, shortages."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from baywright_service.contract import Finding

from ..frame import Frame, frame_of, node_masses_kg
from ..kit import Kit
from .bracing import sway_mm
from .context import AXES, Context, Value
from .findings import bay_findings, joint_findings, shortage_findings
from .records import bay_record, counts_record, joint_record, section_record
from .sections import (
    BayKind,
    all_rods,
    bay_kinds,
    bracing_of,
    joint_facts,
    overall_mm,
    section_facts,
)


@dataclass(frozen=True)
class Built:
    """A layout as on the wire, and its frame."""

    raw: Mapping[str, Any]
    frame: Frame


def built(context: Context, raw_layout: Mapping[str, Any]) -> Built:
    """The frame of a layout. Raises InvalidInputs where it names what is not there."""
    given = context.inputs.get("layout")
    layout = context.layout(raw_layout) if given is None else given
    return Built(raw_layout, frame_of({"layout": layout}, context.kit, pointer=""))


def frame_answers(context: Context, here: Built) -> tuple[Value, list[Finding]]:
    """Records of a frame, and findings on its joints and on what the stock lacks."""
    protruding = _protruding(context.inputs["protrusions"], here.raw)
    facts = section_facts(
        here.frame,
        here.raw,
        context.kit,
        overhangs_mm=context.overhangs_mm,
        protruding_mm=protruding,
    )
    rods, hubs = all_rods(here.frame, context.kit), len(here.frame.nodes_mm)
    joints = [joint_record(one) for one in joint_facts(here.frame, here.raw)]
    shortages = _shortages(context.available, context.kit, rods, hubs)
    value = {
        "sections": [section_record(one) for one in facts],
        "joints": joints,
        "parts": {"hubs_count": hubs, "rods": counts_record(rods)},
        "shortages": shortages,
        "overall_centreline_mm": overall_mm(here.frame),
        "overall_outside_mm": _overall_outside(
            here.frame, [one.centreline_mm for one in facts], context.overhangs_mm, protruding
        ),
        "frame": {"layout": here.raw},
    }
    return value, [*joint_findings(joints), *shortage_findings(shortages)]


def section_masses_kg(context: Context, here: Built) -> list[float]:
    """Mass of each section with its fittings, and its halves of the rods that couple it."""
    mass = node_masses_kg(here.frame, context.kit)
    return [
        float(kg)
        for kg in np.bincount(here.frame.node_section, mass, minlength=len(here.frame.sections))
    ]


def bay_answers(context: Context, here: Built | None) -> tuple[list[Value], list[Finding]]:
    """Bays of the frame, then those asked for beside it."""
    kinds: list[BayKind] = []
    if here is not None:
        kinds = list(bay_kinds(here.frame, here.raw, context.kit).values())
    known = {frozenset(kind.rods) for kind in kinds}
    for place, bay in enumerate(context.inputs["bays"]):
        for k, rod in enumerate(bay["rods"]):
            context.rod(rod, f"/bays/{place}/rods/{k}")
        pair = (bay["rods"][0], bay["rods"][1])
        if frozenset(pair) not in known:
            known.add(frozenset(pair))
            kinds.append(BayKind(pair, bracing_of(pair, context.kit)))
    play = context.play_um / 1000
    records = [bay_record(kind, context.kit, sway_mm(play)) for kind in kinds]
    return records, bay_findings(records, play_mm=play)


def _protruding(
    parts: Sequence[Mapping[str, Any]], raw: Mapping[str, Any]
) -> dict[tuple[str, str], float]:
    """The furthest part on each side of each section that is not taken off."""
    everywhere = [spec["id"] for spec in raw["sections"]]
    reach: dict[tuple[str, str], float] = {}
    for part in parts:
        if part["taken_off"] and part["removable"]:
            continue
        for name in part.get("sections", everywhere):
            key = (name, part["side"])
            reach[key] = max(reach.get(key, 0.0), part["mm"])
    return reach


def _overall_outside(
    frame: Frame,
    centreline_mm: Sequence[Mapping[str, float]],
    overhangs_mm: Mapping[str, float],
    protruding: Mapping[tuple[str, str], float],
) -> dict[str, float]:
    size = {}
    for k, axis in enumerate(AXES):
        low, high = [], []
        for section, length in zip(frame.sections, centreline_mm, strict=True):
            base = section.at_mm[k]
            low.append(base - protruding.get((section.id, f"{axis}-minus"), 0.0))
            high.append(base + length[axis] + protruding.get((section.id, f"{axis}-plus"), 0.0))
        size[axis] = round(max(high) - min(low) + 2 * overhangs_mm[axis], 6)
    return size


def _shortages(
    available: Mapping[str, int] | None, kit: Kit, rods: Mapping[str, int], hubs: int
) -> list[Value]:
    if available is None:
        return []
    frame_hubs = [hub.id for hub in kit.hubs if hub.role == "frame"]
    needs = [(rod, count, available.get(rod, 0)) for rod, count in rods.items()]
    there = sum(available.get(hub, 0) for hub in frame_hubs)
    needs.append((" and ".join(frame_hubs), hubs, there))
    return [
        {
            "item": item,
            "needed_count": needed,
            "available_count": free,
            "short_count": needed - free,
        }
        for item, needed, free in needs
        if needed > free
    ]
