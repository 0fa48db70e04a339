"""One run, step by step: the machine made, its answers, its findings and their remedies."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from baywright_service.contract import (
    CannotCalculate,
    Fault,
    Finding,
    Inputs,
    InvalidInputs,
    Remedy,
)

from ..frame.grid import AXES
from ..truss_check.stability import RankUndecided
from .answer_joints import joint_values
from .answer_machine import all_facts, apart_value, bridge_values, machine_value
from .answer_sections import section_values
from .cut_places import Search, cut_places, longest_axis
from .effort import proofs_allowed
from .findings import (
    apart_findings,
    cut_findings,
    dropped_findings,
    face_findings,
    machine_findings,
    mass_findings,
    section_findings,
)
from .joint_findings import (
    alignment_findings,
    bridge_findings,
    coupling_findings,
    gap_findings,
    joint_names,
    racking_findings,
)
from .made import Load, Made, made
from .remedies import Rerun, brace_joints, brace_sections, choose_gap, fit_bridges, lighten, limited

Json = dict[str, Any]

#: Kinds of too heavy sections for which a cut is sought unasked.
MOST_SOUGHT = 2


@dataclass(frozen=True)
class Remedies:
    """What mends what: by section id, by joint, by piece, and for mass and gap."""

    sections: Mapping[str, Remedy] = field(default_factory=dict)
    joints: Mapping[int, Remedy] = field(default_factory=dict)
    bridges: Mapping[str, Remedy] = field(default_factory=dict)
    mass: Remedy | None = None
    gap: Remedy | None = None


def study(inputs: Inputs, load: Load, rerun: Rerun) -> tuple[Json, list[Finding]]:
    """The value and the findings of one run. Raises InvalidInputs and CannotCalculate."""
    machine = made(inputs, load)
    value = _answers(machine, inputs, load)
    found = _findings(machine, value, inputs, Remedies())
    if not inputs.proving:
        found = _findings(machine, value, inputs, _remedies(machine, value, inputs, found, rerun))
    order = {"stop": 0, "watch": 1, "ok": 2}
    return value, sorted(found, key=lambda finding: order[finding.level])


def _answers(machine: Made, inputs: Inputs, load: Load) -> Json:
    try:
        facts = all_facts(machine, inputs)
        sections = section_values(machine, inputs["gravity_m_s2"])
        bridges = bridge_values(machine, inputs)
        joints = joint_values(machine, facts, bridges)
        value: Json = {
            "sections": sections,
            "joints": joints,
            "machine": machine_value(machine, facts, joints),
            "bridges": bridges,
            "taking_apart": apart_value(machine, inputs),
            "cut_places": _cut_places(machine, sections, inputs, load),
        }
    except RankUndecided as reason:
        words = f"Whether the joints hold cannot be told: {reason}."
        raise CannotCalculate("/frame", words) from reason
    if machine.layout is not None:
        value["frame"] = {"layout": machine.layout}
    return value


def _cut_places(machine: Made, sections: Sequence[Json], inputs: Inputs, load: Load) -> list[Json]:
    """Places to cut the sections asked about; where none is and one is too heavy, of that."""
    limit = inputs.get("wanted", {}).get("section_mass_max_kg")
    asked: list[tuple[Mapping[str, Any], str]] = [
        (one, f"/look_for_cuts/{place}") for place, one in enumerate(inputs["look_for_cuts"])
    ]
    if asked or limit is None or machine.layout is None or inputs.proving:
        share = 1.0 / max(len(asked), 1)
        return [_places(machine, one, where, inputs, load, share) for one, where in asked]
    found: list[Json] = []
    heavy = [row for row in sections if row["mass_kg"] > limit and "cut_from" not in row]
    kinds = {row.get("like", row["id"]): row["id"] for row in reversed(heavy)}
    for name in sorted(kinds.values())[:MOST_SOUGHT]:
        try:
            found.append(
                _places(machine, {"section": name}, "/wanted", inputs, load, 1.0 / MOST_SOUGHT)
            )
        except (CannotCalculate, InvalidInputs):
            continue
    return found


def _places(
    machine: Made,
    asked: Mapping[str, Any],
    pointer: str,
    inputs: Inputs,
    load: Load,
    share: float,
) -> Json:
    layout = inputs.raw["frame"]["layout"]
    spec = next((s for s in layout["sections"] if s["id"] == asked["section"]), None)
    if spec is None:
        fault = Fault("unknown-reference", f"There is no section {asked['section']}.")
        raise InvalidInputs([(f"{pointer}/section", fault)])
    kit = machine.kit
    shortest = min(kit.rods, key=lambda rod: rod.pitch_mm).id
    rod = asked.get("rod") or next((j["rod"] for j in layout.get("joints", ())), shortest)
    axis = AXES.index(asked["axis"]) if "axis" in asked else longest_axis(spec, kit)
    limit_kg = inputs.get("wanted", {}).get("section_mass_max_kg")
    search = Search(spec, axis, rod, asked.get("ends", "closed") == "closed", pointer, share)
    return cut_places(search, kit, inputs.raw["kit"], load, limit_kg)


def _findings(machine: Made, value: Json, inputs: Inputs, remedies: Remedies) -> list[Finding]:
    sections, joints, wanted = value["sections"], value["joints"], inputs.get("wanted", {})
    names = joint_names(joints)
    found = section_findings(sections, remedies.sections, gridded=machine.frame.has_grid)
    found += face_findings(sections)
    if "section_mass_max_kg" in wanted:
        found += mass_findings(sections, wanted["section_mass_max_kg"], remedies.mass)
    found += machine_findings(value["machine"])
    found += coupling_findings(joints)
    found += racking_findings(
        joints, remedies.joints, stands=value["machine"].get("standing_mechanisms_count") == 0
    )
    found += gap_findings(
        joints, wanted.get("clear_gap_min_mm"), wanted.get("clear_gap_max_mm"), remedies.gap
    )
    if "alignment_mm" in wanted:
        found += alignment_findings(joints, wanted["alignment_mm"])
    found += bridge_findings(value["bridges"], names, remedies.bridges)
    found += apart_findings(value["taking_apart"], names)
    found += dropped_findings(machine.dropped)
    return found + cut_findings(value["cut_places"])


def _remedies(
    machine: Made, value: Json, inputs: Inputs, found: Sequence[Finding], rerun: Rerun
) -> Remedies:
    wanted = inputs.get("wanted", {})
    rerun = limited(rerun, proofs_allowed(machine.work))
    return Remedies(
        sections=brace_sections(machine, value, inputs, rerun),
        joints=brace_joints(machine, value, inputs, found, rerun),
        bridges=fit_bridges(value, inputs, rerun),
        mass=lighten(value, inputs, found, rerun) if "section_mass_max_kg" in wanted else None,
        gap=choose_gap(machine, value, inputs, found, rerun) if wanted else None,
    )
