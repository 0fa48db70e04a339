"""The assembled machine, what bridges its gaps, and how it comes apart, as records."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import networkx as nx
import numpy as np

from baywright_service.contract import CannotCalculate, Fault, Inputs, InvalidInputs

from ..frame.grid import AXES
from .answer_sections import outside_mm, xyz
from .bridging import Crossing, Piece, crossing
from .couplings import Pair
from .joint_facts import JointFacts, change_at, facts_of, fastened_pairs
from .made import Made, joint_between
from .play import rod_play_mm, seat_depth_mm
from .relative_motion import TooManyMotions, coupled_mechanisms, standing_mechanisms
from .standing_alone import feet_of
from .taking_apart import people_needed, pulls_apart

Json = dict[str, Any]

#: A section whose lowest hubs are within this of the machine's lowest stands on the floor.
ON_FLOOR_MM = 10.0

_WAYS = {
    "+x": "to the right", "-x": "to the left", "+y": "to the back", "-y": "to the front",
    "+z": "straight up",
}  # fmt: skip


def all_facts(machine: Made, inputs: Inputs) -> list[JointFacts]:
    """What every joint does, pieces fastened across it included."""
    fastened: list[list[Pair]] = [[] for _ in machine.joints]
    for place, bridge in enumerate(inputs["bridges"]):
        for joint in _joints_of(machine, bridge, place):
            if bridge["fastened"]:
                fastened[joint] += fastened_pairs(
                    machine.frame, machine.joints[joint], upright=bridge["lies"] == "upright",
                    count=bridge["count"], z_mm=_z_mm(machine, bridge),
                )  # fmt: skip
    return [
        facts_of(machine.frame, machine.kit, joint, list(dict.fromkeys(pairs)))
        for joint, pairs in zip(machine.joints, fastened, strict=True)
    ]


def bridge_values(machine: Made, inputs: Inputs) -> list[Json]:
    """Every bridging piece at every joint that it crosses."""
    values = []
    play = rod_play_mm(machine.kit.frame_hub.seat.play_mm)
    overhang = machine.kit.frame_hub.overhang_mm
    for place, bridge in enumerate(inputs["bridges"]):
        for number in _joints_of(machine, bridge, place):
            joint = machine.joints[number]
            change = change_at(machine.frame, joint, play, _z_mm(machine, bridge))
            if change is None:
                reason = (
                    "The coupling rods lie in one row, so play lets the sections tilt without a "
                    "limit and the gap at this height is not known. Couple them at two heights."
                )
                raise CannotCalculate(f"/bridges/{place}/height_mm", reason)
            span = joint.gap_mm - (2 * overhang if bridge["rests_on"] == "hub-ends" else 0.0)
            if span <= 0:
                reason = f"The hub ends leave no gap at {machine.joint_name(number)}: {span:g} mm."
                raise CannotCalculate(f"/bridges/{place}/rests_on", reason)
            piece = Piece(
                bridge["how"], bridge["length_mm"], bridge["bearing_mm"], bridge["tolerance_mm"],
                bridge["growth_mm"],
            )  # fmt: skip
            values.append(_bridge(bridge, number, span, crossing(piece, span, change)))
    return values


def _bridge(bridge: Mapping[str, Any], joint: int, span: float, one: Crossing) -> Json:
    value: Json = {
        "id": bridge["id"],
        "title": bridge["title"],
        "kind": bridge["kind"],
        "how": bridge["how"],
        "joint": joint,
        "count": bridge["count"],
        "piece_kg": bridge["mass_kg"],
        "length_mm": bridge["length_mm"],
        "span_mm": round(span, 6),
        "needed_mm": one.needed_mm,
        "moves_mm": one.moves_mm,
        "tolerance_mm": bridge["tolerance_mm"],
        "long_enough": one.long_enough,
        "fits": one.fits,
    }
    optional = {
        "most_mm": one.most_mm,
        "bearing_mm": one.bearing_mm,
        "bearing_least_mm": one.bearing_least_mm,
        "slit_mm": one.slit_mm,
        "slit_least_mm": one.slit_least_mm,
        "slit_most_mm": one.slit_most_mm,
        "slack_mm": one.slack_mm,
        "height_mm": bridge.get("height_mm"),
        "width_mm": bridge.get("width_mm"),
    }
    return value | {key: each for key, each in optional.items() if each is not None}


def _z_mm(machine: Made, bridge: Mapping[str, Any]) -> float | None:
    if "height_mm" not in bridge:
        return None
    return float(machine.frame.nodes_mm[:, 2].min()) + float(bridge["height_mm"])


def _joints_of(machine: Made, bridge: Mapping[str, Any], place: int) -> list[int]:
    """Joints that a piece crosses. Raises InvalidInputs."""
    if "between" not in bridge:
        return list(range(len(machine.joints)))
    number = {section.id: k for k, section in enumerate(machine.frame.sections)}
    joint = joint_between(machine.joints, number, bridge["between"])
    if joint is None:
        detail = f"There is no joint between {' and '.join(bridge['between'])}."
        fault = Fault("unknown-reference", detail)
        raise InvalidInputs([(f"/bridges/{place}/between", fault)])
    return [joint]


def machine_value(
    machine: Made, facts: Sequence[JointFacts], joints: Sequence[Mapping[str, Any]]
) -> Json:
    """The machine put together."""
    together: nx.Graph[int] = nx.Graph()
    together.add_nodes_from(range(len(machine.alone)))
    together.add_edges_from((f.joint.first, f.joint.second) for f in facts)
    groups = nx.number_connected_components(together)
    loose = sum(joint["loose_mass_kg"] for joint in joints)
    masses = [one.mass_kg for one in machine.alone]
    rods = Counter(rod for f in facts for rod in f.joint.rods)
    kit = machine.kit
    return {
        "sections_count": len(machine.alone),
        "joints_count": len(facts),
        "groups_count": groups,
        "outside_mm": xyz(outside_mm(machine.frame.nodes_mm, kit)),
        "mass_kg": sum(masses) + loose,
        "heaviest_section_kg": max(masses),
        "coupling_rods": [{"rod": kit.rods[k].id, "count": rods[k]} for k in sorted(rods)],
        "loose_mass_kg": loose,
        "all_sections_rigid": all(one.rigid for one in machine.alone),
        **_mechanisms(machine, facts, groups),
    }


def _mechanisms(machine: Made, facts: Sequence[JointFacts], groups: int) -> Json:
    bodies = [one.seen for one in machine.alone]
    local = np.zeros(len(machine.frame.nodes_mm), dtype=np.int64)
    for one in machine.alone:
        local[one.nodes] = np.arange(len(one.nodes))

    def bars(joint: JointFacts, pairs: Sequence[Pair]) -> list[tuple[int, int, int, int]]:
        first, second = joint.joint.first, joint.joint.second
        return [(first, int(local[a]), second, int(local[b])) for a, b in pairs]

    coupled = [bar for f in facts for bar in bars(f, f.joint.coupled)]
    every = [bar for f in facts for bar in bars(f, f.bars)]
    try:
        return {
            "mechanisms_count": coupled_mechanisms(bodies, every, groups=groups),
            "rods_only_mechanisms_count": coupled_mechanisms(bodies, coupled, groups=groups),
            "standing_mechanisms_count": standing_mechanisms(bodies, every, _feet(machine)),
        }
    except TooManyMotions:
        return {}


def _feet(machine: Made) -> list[list[int]]:
    """The hubs that each section stands on; none of a section that stands on another."""
    lowest = float(machine.frame.nodes_mm[:, 2].min())
    return [
        feet_of(one.part)
        if float(machine.frame.nodes_mm[one.nodes, 2].min()) <= lowest + ON_FLOOR_MM
        else []
        for one in machine.alone
    ]


def apart_value(machine: Made, inputs: Inputs) -> Json:
    """How the machine comes apart, pull by pull."""
    links = [(j.first, j.second, j.axis) for j in machine.joints]
    masses = [one.mass_kg for one in machine.alone]
    apart = pulls_apart(len(masses), links, masses)
    hub = machine.kit.frame_hub
    steps = []
    for pull in apart.pulls:
        mass = sum(masses[k] for k in pull.moved)
        rods = sum(len(machine.joints[j].coupled) for j in pull.joints)
        unseat = rods * hub.seat.tension_held_n
        weight = mass * inputs["gravity_m_s2"]
        friction = weight * (1.0 if pull.axis == 2 else inputs["floor_friction_ratio"])
        direction = f"{'+' if pull.plus else '-'}{AXES[pull.axis]}"
        force = unseat + friction
        steps.append(
            {
                "joints": list(pull.joints),
                "sections": [machine.id(k) for k in pull.moved],
                "left": [machine.id(k) for k in pull.left],
                "direction": direction,
                "words": _WAYS[direction],
                "rods_count": rods,
                "slide_mm": seat_depth_mm(hub.overhang_mm, hub.seat.inset_mm)
                + rod_play_mm(hub.seat.play_mm),
                "unseat_force_n": unseat,
                "friction_n": friction,
                "force_n": force,
                "people_count": people_needed(force, inputs["pull_per_person_n"]),
                "moved_mass_kg": mass,
            }
        )
    return {"steps": steps, "locked_joints": list(apart.locked)}
