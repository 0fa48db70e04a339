"""Each section as a record of the answer."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from ..frame.grid import AXES
from ..frame.model import Floats
from ..kit import Kit
from ..truss_check.places import grid_pair
from .made import Made
from .squareness import SIDES
from .standing_alone import Alone

Json = dict[str, Any]


def section_values(machine: Made, gravity_m_s2: float) -> list[Json]:
    """Records of all sections, in order."""
    return [_section(machine, one, gravity_m_s2) for one in machine.alone]


def xyz(values: Sequence[float] | Floats) -> Json:
    """Three numbers by axis, whole nanometres."""
    return {axis: round(float(v), 6) for axis, v in zip(AXES, values, strict=True)}


def bays_of(counts: Sequence[int]) -> Json:
    return {axis: int(n) for axis, n in zip(AXES, counts, strict=True)}


def outside_mm(nodes_mm: Floats, kit: Kit) -> Floats:
    """Size over the hub ends, shape (3,)."""
    return np.asarray(np.ptp(nodes_mm, axis=0) + 2 * kit.frame_hub.overhang_mm)


def _section(machine: Made, one: Alone, gravity_m_s2: float) -> Json:
    section, kit = one.part.sections[0], machine.kit
    nodes = machine.frame.nodes_mm[one.nodes]
    value: Json = {
        "id": section.id,
        "title": section.title,
        "at_mm": xyz(nodes.min(axis=0) - kit.frame_hub.overhang_mm),
        "outside_mm": xyz(outside_mm(nodes, kit)),
        "mass_kg": one.mass_kg,
        "weight_n": one.mass_kg * gravity_m_s2,
        "hubs_count": len(one.nodes),
        "rods_count": len(one.part.start),
        "rigid": one.rigid,
        "mechanisms_count": one.held.mechanisms,
        "self_stress_states_count": one.held.self_stress_states,
        "folds": _folds(one, kit),
        "planes": _planes(machine, one),
        "stations": _stations(one),
    }
    if one.standing_mechanisms is not None:
        value["standing_mechanisms_count"] = one.standing_mechanisms
    if section.bays is not None:
        value["bays"] = bays_of(section.bays)
        value["bare_faces_count"] = one.bare_faces
        value["no_rod_faces_count"] = one.no_rod_faces
        value["diagonals_sought"] = one.searched
    if one.like != one.number:
        value["like"] = machine.id(one.like)
    if section.id in machine.cut_from:
        value["cut_from"] = machine.cut_from[section.id]
    return value


def _folds(one: Alone, kit: Kit) -> list[Json]:
    if not one.culprits:
        return [{"words": words} for words in one.folds]
    rows = []
    for words, culprit in zip(one.folds, one.culprits, strict=False):
        a, b = culprit.pair
        length = float(np.linalg.norm(one.part.nodes_mm[a] - one.part.nodes_mm[b]))
        rod = kit.rod_spanning(length)
        row: Json = {
            "words": words,
            "face": culprit.words,
            "diagonal": grid_pair(one.part, culprit.pair),
            "face_is_bare": culprit.face is not None and culprit.face.diagonals == 0,
        }
        if rod is not None:
            row["rod"] = kit.rods[rod].id
        rows.append(row)
    return rows


def _planes(machine: Made, one: Alone) -> list[Json]:
    at: Mapping[str, list[int]] = {side: [] for side in SIDES}
    for place, joint in enumerate(machine.joints):
        if joint.first == one.number:
            at[SIDES[2 * joint.axis + 1]].append(place)
        if joint.second == one.number:
            at[SIDES[2 * joint.axis]].append(place)
    return [
        {
            "side": plane.side,
            "faces_count": plane.faces_count,
            "braced_count": plane.braced_count,
            "racks_count": plane.racks_count,
            "square": plane.racks_count == 0,
            "at_joints": at[plane.side],
        }
        for plane in one.planes
    ]


def _stations(one: Alone) -> list[Json]:
    rows = []
    for stations in one.stations:
        row: Json = {
            "axis": AXES[stations.axis],
            "stations": list(stations.braced),
            "near_both_ends": stations.near_both_ends,
        }
        if stations.from_start_mm is not None and stations.from_end_mm is not None:
            row["from_start_mm"] = round(stations.from_start_mm, 6)
            row["from_end_mm"] = round(stations.from_end_mm, 6)
        rows.append(row)
    return rows
