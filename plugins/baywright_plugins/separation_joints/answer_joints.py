"""Each joint as a record of the answer."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from ..frame import Frame
from ..frame.grid import AXES
from ..grid_fit.sections import joint_facts
from ..kit import Kit
from .couplings import Pair
from .joint_facts import JointFacts
from .made import Made
from .play import seat_depth_mm

Json = dict[str, Any]

#: Places of hubs without a partner, and options, that are written out.
MOST_LISTED = 24
#: Rods drawn of each face.
MOST_LINES = 3000


def joint_values(
    machine: Made, facts: Sequence[JointFacts], bridges: Sequence[Mapping[str, Any]]
) -> list[Json]:
    """Records of all joints, in order; `bridges` are records of what crosses them."""
    matches = None if machine.layout is None else joint_facts(machine.frame, machine.layout)
    values = []
    for place, one in enumerate(facts):
        value = _joint(machine, one)
        loose = _loose(machine, one, [row for row in bridges if row["joint"] == place])
        value["loose_parts"] = loose
        value["loose_mass_kg"] = sum(part["mass_kg"] for part in loose)
        if matches is not None:
            value["possible_count"] = matches[place].possible_count
            value["matches"] = matches[place].matches
        if machine.joint_cuts[place] is not None:
            value["from_cut"] = machine.joint_cuts[place]
        values.append(value)
    return values


def _joint(machine: Made, facts: JointFacts) -> Json:
    joint, frame, kit = facts.joint, machine.frame, machine.kit
    hub = kit.frame_hub
    depth = seat_depth_mm(hub.overhang_mm, hub.seat.inset_mm)
    value: Json = {
        "between": [machine.id(joint.first), machine.id(joint.second)],
        "axis": AXES[joint.axis],
        "rod": kit.rods[joint.rod].id,
        "rods_count": len(joint.coupled),
        "facing_pairs_count": len(joint.facing),
        "alone_first_count": len(joint.alone[0]),
        "alone_second_count": len(joint.alone[1]),
        "gap_mm": joint.gap_mm,
        "rod_misfit_mm": round(facts.misfit_mm, 6),
        "clear_gap_mm": round(facts.clear_gap_mm, 6),
        "play_mm": facts.play_mm,
        "clear_gap_least_mm": round(facts.clear_gap_mm - facts.play_mm, 6),
        "sideways_mm": facts.sideways_mm,
        "tilts": [
            {
                "across": AXES[tilt.across],
                "rods_apart_mm": round(tilt.rods_apart_mm, 6),
                "tilt_deg": math.degrees(tilt.tilt_rad),
                "opens_at_edge_mm": tilt.opens_at_edge_mm,
                "drifts_at_end_mm": tilt.drifts_at_end_mm,
            }
            for tilt in facts.tilts
        ],
        "mechanisms_count": facts.mechanisms,
        "rods_only_mechanisms_count": facts.rods_only_mechanisms,
        "braced_mechanisms_count": facts.braced_mechanisms,
        "moves": list(facts.moves),
        "diagonals_count": len(joint.diagonals) + len(facts.fastened) // 2,
        "diagonal_closes": facts.diagonal_closes,
        "diagonal_options": [
            {
                "coupling_rod": kit.rods[option.coupling].id,
                "diagonal_rod": kit.rods[option.diagonal].id,
                "grid_mm": option.grid_mm,
                "needed_mm": option.needed_mm,
                "misfit_mm": option.misfit_mm,
            }
            for option in facts.options[:MOST_LISTED]
        ],
        "unseat_force_n": len(joint.coupled) * hub.seat.tension_held_n,
        "unseat_slide_mm": depth + facts.play_mm,
        "rod_sticks_out_mm": _sticks_out(kit, joint.rod, depth),
        "face": _face(frame, facts),
    }
    if facts.diagonal_needed_mm is not None:
        value["diagonal_needed_mm"] = facts.diagonal_needed_mm
    if frame.has_grid:
        value["alone_first"] = _places(frame, joint.alone[0])
        value["alone_second"] = _places(frame, joint.alone[1])
        value["diagonals_needed"] = [_places(frame, pair) for pair in facts.needed]
    return value


def _places(frame: Frame, nodes: Sequence[int]) -> list[list[int]]:
    return [[int(x) for x in frame.lattice[node]] for node in nodes[:MOST_LISTED]]


def _sticks_out(kit: Kit, rod: int, depth_mm: float) -> float:
    one = kit.rods[rod]
    bare = one.pitch_mm - 2 * kit.frame_hub.seat.inset_mm
    return max(0.0, (bare if one.cut_mm is None else one.cut_mm) - depth_mm)


def _loose(machine: Made, facts: JointFacts, bridges: Sequence[Mapping[str, Any]]) -> list[Json]:
    kit = machine.kit
    rods = Counter([*facts.joint.rods, *facts.joint.diagonal_rods])
    parts: list[Json] = [
        {
            "item": kit.rods[rod].id,
            "count": rods[rod],
            "mass_kg": rods[rod] * kit.rods[rod].mass_g / 1000,
        }
        for rod in sorted(rods)
    ]
    parts += [
        {
            "item": row["title"] or row["id"],
            "count": row["count"],
            "mass_kg": row["count"] * row["piece_kg"],
        }
        for row in bridges
    ]
    return parts


def _face(frame: Frame, facts: JointFacts) -> Json:
    joint = facts.joint
    axes = list(joint.across)
    coupled = {a for a, _ in joint.coupled}

    def at(nodes: Sequence[int]) -> list[list[float]]:
        places = frame.nodes_mm[list(nodes)][:, axes].round(3) + 0.0
        found: list[list[float]] = places.tolist()
        return found

    def lines(nodes: set[int]) -> list[list[float]]:
        inside = np.zeros(len(frame.nodes_mm), dtype=bool)
        inside[list(nodes)] = True
        mine = np.flatnonzero(inside[frame.start] & inside[frame.end])[:MOST_LINES]
        ends = [frame.nodes_mm[column[mine]][:, axes] for column in (frame.start, frame.end)]
        found: list[list[float]] = (np.concatenate(ends, axis=1).round(3) + 0.0).tolist()
        return found

    pairs: Sequence[Pair] = (*joint.facing, *joint.coupled)
    return {
        "axes": [AXES[k] for k in axes],
        "coupled_mm": at([a for a, _ in joint.coupled]),
        "facing_mm": at([a for a, _ in joint.facing if a not in coupled]),
        "alone_first_mm": at(joint.alone[0]),
        "alone_second_mm": at(joint.alone[1]),
        "lines_first_mm": lines({a for a, _ in pairs} | set(joint.alone[0])),
        "lines_second_mm": lines({b for _, b in pairs} | set(joint.alone[1])),
    }
