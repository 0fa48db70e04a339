"""Remedies as merge patches, each proven by a run of the patched inputs."""

import copy
import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Inputs, Remedy, Result

from ..truss_check.places import grid_pair
from .bridging import not_less
from .findings import alike, count_of, joined, kg, mm, some
from .joint_findings import gaps_outside, joint_names, racking_groups
from .made import Made

Json = dict[str, Any]
Rerun = Callable[[Mapping[str, Any]], Result | None]

#: Kinds of folding sections, and of racking joints, for which a remedy is sought.
MOST_KINDS = 3


def limited(rerun: Rerun, most: int) -> Rerun:
    """A rerun that answers None once it has been asked `most` times: large machines take long."""
    left = [most]

    def again(patch: Mapping[str, Any]) -> Result | None:
        left[0] -= 1
        return rerun({**patch, "look_for_cuts": []}) if left[0] >= 0 else None

    return again


def brace_sections(machine: Made, value: Json, inputs: Inputs, rerun: Rerun) -> dict[str, Remedy]:
    """For each kind of section that folds, by the id of its first one, the diagonals that stop
    it; the patch only if the section is rigid then."""
    found: dict[str, Remedy] = {}
    if machine.layout is None:
        return found
    for group in alike(value["sections"]):
        one = machine.alone[group[0]]
        if one.rigid or not one.culprits or len(found) >= MOST_KINDS:
            continue
        pairs = [grid_pair(one.part, culprit.pair) for culprit in one.culprits]
        listed = [
            f"{pair[0]}-{pair[1]} ({culprit.words})"
            for pair, culprit in list(zip(pairs, one.culprits, strict=True))[:6]
        ]
        names = [value["sections"][k]["id"] for k in group]
        message = (
            f"Add {count_of(len(pairs), 'diagonal')} to {joined(names)}: {some(listed, 6)}"
            f"{f' and {len(pairs) - 6} more' if len(pairs) > 6 else ''}."
        )
        layout = copy.deepcopy(machine.layout)
        for spec in layout["sections"]:
            if spec["id"] in names:
                spec["second_diagonals"] = [*spec.get("second_diagonals", ()), *pairs]
        patch = _layout_patch(layout, inputs)
        proof = rerun(patch)
        rigid = proof is not None and all(
            row["rigid"] for row in proof.value["sections"] if row["id"] in names
        )
        found[names[0]] = Remedy(message, patch if rigid else None)
    return found


def brace_joints(
    machine: Made, value: Json, inputs: Inputs, before: Sequence[Finding], rerun: Rerun
) -> dict[int, Remedy]:
    """For each kind of racking joint, by its first place, the rods across the gap that hold it:
    with the coupling rods that are there, else with the nearest ones with which such rods close.

    Only with a patch that holds the joints and brings no new stop.
    """
    found: dict[int, Remedy] = {}
    joints = value["joints"]
    if machine.layout is None or inputs["cuts"]:
        return found
    for group in racking_groups(joints)[:MOST_KINDS]:
        row = joints[group[0]]
        if not row.get("diagonals_needed"):
            continue
        pitch = {rod.id: rod.pitch_mm for rod in machine.kit.rods}
        options = [row["rod"]] if row["diagonal_closes"] else sorted(
            {o["coupling_rod"] for o in row["diagonal_options"] if o["coupling_rod"] != row["rod"]},
            key=lambda rod: (abs(pitch[rod] - pitch[row["rod"]]), rod),
        )  # fmt: skip
        for rod in options[:2]:
            patch = _joint_patch(machine, inputs, joints, group, rod)
            proof = rerun(patch)
            if proof is None or _new_stops(before, proof):
                continue
            after = proof.value["joints"]
            if all(after[k]["mechanisms_count"] == 0 for k in group):
                found[group[0]] = Remedy(_brace_words(row, rod, after[group[0]], group), patch)
                break
    return found


def _brace_words(row: Json, rod: str, after: Json, group: Sequence[int]) -> str:
    rods = len(row["diagonals_needed"])
    each = "" if len(group) == 1 else " at each of them"
    kinds = joined([part["item"] for part in after["loose_parts"] if part["item"] != rod])
    if rod == row["rod"]:
        return f"Set {count_of(rods, 'rod')} across the gap{each}."
    return (
        f"Couple with {rod} instead of {row['rod']} ({mm(after['clear_gap_mm'])} clear) and set "
        f"{count_of(rods, 'rod')} {kinds} across the gap{each}."
    )


def choose_gap(
    machine: Made, value: Json, inputs: Inputs, before: Sequence[Finding], rerun: Rerun
) -> Remedy | None:
    """The coupling rod nearest in pitch whose clear gap is in the wanted range."""
    wanted = inputs["wanted"]
    low, high = wanted.get("clear_gap_min_mm"), wanted.get("clear_gap_max_mm")
    out = gaps_outside(value["joints"], low, high)
    if not out or machine.layout is None or inputs["cuts"]:
        return None
    overhang = machine.kit.frame_hub.overhang_mm
    now = value["joints"][out[0]]["gap_mm"]
    rods = [
        rod
        for rod in machine.kit.rods
        if not_less(rod.pitch_mm - 2 * overhang, low or 0.0)
        and not_less(math.inf if high is None else high, rod.pitch_mm - 2 * overhang)
    ]
    for rod in sorted(rods, key=lambda rod: (abs(rod.pitch_mm - now), rod.id))[:2]:
        patch = _joint_patch(machine, inputs, value["joints"], out, rod.id, diagonals=False)
        proof = rerun(patch)
        if proof is None or _new_stops(before, proof):
            continue
        if not gaps_outside(proof.value["joints"], low, high):
            names = some([joint_names(value["joints"])[k] for k in out])
            clear = mm(rod.pitch_mm - 2 * overhang)
            return Remedy(f"Couple {names} with {rod.id}: {clear} clear.", patch)
    return None


def fit_bridges(value: Json, inputs: Inputs, rerun: Rerun) -> dict[str, Remedy]:
    """Lengths with which pieces fit, by id, in steps of half a millimetre; all are proven at once,
    then each patch by itself."""
    found: dict[str, Remedy] = {}
    raw = [dict(row) for row in inputs.raw.get("bridges", ())]
    for place, piece in enumerate(raw):
        rows = [row for row in value["bridges"] if row["id"] == piece["id"]]
        if not rows or all(_length_fits(row) for row in rows) or len(found) >= MOST_KINDS:
            continue
        length = _length(rows)
        if length is None:
            continue
        longer = [dict(p) for p in raw]
        longer[place]["length_mm"] = length
        patch = {"bridges": longer}
        proof = rerun(patch)
        if proof is not None and all(
            _length_fits(row) for row in proof.value["bridges"] if row["id"] == piece["id"]
        ):
            found[piece["id"]] = Remedy(f"Make it {mm(length)} long.", patch)
    return found


def _length_fits(row: Json) -> bool:
    return bool(row["long_enough"]) and not_less(row.get("most_mm", math.inf), row["length_mm"])


def _length(rows: Sequence[Json]) -> float | None:
    least = max(row["needed_mm"] for row in rows)
    most = min(row.get("most_mm", math.inf) for row in rows)
    for length in (math.ceil(least * 2 - 1e-6) / 2, math.floor(min(most, 1e6) * 2 + 1e-6) / 2):
        if not_less(length, least) and not_less(most, length) and 0 < length <= 100_000:
            return float(length)
    return None


def lighten(value: Json, inputs: Inputs, before: Sequence[Finding], rerun: Rerun) -> Remedy | None:
    """Cuts that bring every section that is too heavy under the wanted mass, one for each."""
    limit = inputs["wanted"]["section_mass_max_kg"]
    heavy = [row for row in value["sections"] if row["mass_kg"] > limit]
    options = {row["section"]: row for row in value["cut_places"]}
    cuts, words = [], []
    for row in heavy:
        name = row["id"]
        places = options.get(row.get("like", name)) or options.get(name)
        if places is None or "cut_from" in row:
            return None
        cuts.append(
            {
                "section": name, "axis": places["axis"], "after_bay": places["best_after_bay"],
                "rod": places["rod"], "ends": places["ends"],
            }
        )  # fmt: skip
        words.append(f"{name} across {places['axis']} after bay {places['best_after_bay']}")
    if not cuts:
        return None
    patch = {"cuts": [*inputs.raw.get("cuts", ()), *cuts]}
    proof = rerun(patch)
    if proof is None or any(row["mass_kg"] > limit for row in proof.value["sections"]):
        return Remedy(f"One cut is not enough to come under {kg(limit)}: cut it twice.")
    if _new_stops(before, proof):
        return None
    return Remedy(f"Cut {some(words)}.", patch)


def _new_stops(before: Sequence[Finding], proof: Result) -> bool:
    """Whether a run brings a stop of a kind that was not there."""
    known = {finding.code for finding in before if finding.level == "stop"}
    return any(f.level == "stop" and f.code not in known for f in proof.findings)


def _joint_patch(
    machine: Made, inputs: Inputs, joints: Sequence[Json], group: Sequence[int], rod: str,
    *, diagonals: bool = True,
) -> Json:  # fmt: skip
    assert machine.layout is not None
    changed = [dict(joint) for joint in machine.layout["joints"]]
    for place in group:
        changed[place]["rod"] = rod
    patch: Json = {"frame": {"layout": {"joints": changed}}}
    if diagonals:
        new = [
            {"between": joints[place]["between"], "ends": pair}
            for place in group
            for pair in joints[place]["diagonals_needed"]
        ]
        patch["joint_diagonals"] = [*inputs.raw.get("joint_diagonals", ()), *new]
    return patch


def _layout_patch(layout: Json, inputs: Inputs) -> Json:
    """The whole layout in place of the one given, its cuts made for good."""
    patch: Json = {"frame": {"layout": {"sections": layout["sections"]}}}
    if inputs["cuts"]:
        patch["frame"]["layout"]["joints"] = layout["joints"]
        patch["cuts"] = []
    return patch
