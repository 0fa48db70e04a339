"""Names in the inputs that must stand somewhere else: rods, parts, sections."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from baywright_service.contract import Fault, InvalidInputs, escape

from ..kit import Kit
from ..part_count.kit_parts import kit_parts

Named = tuple[str, str]


def check_references(inputs: Mapping[str, Any], kit: Kit, sections: Sequence[str]) -> None:
    """Raises InvalidInputs with every name that is not there."""
    faults = [
        *_missing(_rods(inputs), kit.rod_index, "The kit has no rod {}."),
        *_missing(_parts(inputs), {part.id for part in kit_parts(kit)}, "The kit has no part {}."),
        *_missing(_sections(inputs), set(sections), "No split has a section {}."),
        *_without_pitch(inputs, kit),
    ]
    if "bay_rods" not in inputs and len(kit.rods) > 8:
        for axis in "xyz":
            if f"bay_rods_{axis}" not in inputs:
                fault = Fault("missing", "The kit has more than 8 rods: say which bays may have.")
                faults.append(("/bay_rods", fault))
                break
    lifts = inputs.get("lifts")
    if lifts is not None and lifts["fewest_count"] > lifts["most_count"]:
        detail = f"Must be at most most_count, {lifts['most_count']}."
        faults.append(("/lifts/fewest_count", Fault("out-of-range", detail)))
    if faults:
        raise InvalidInputs(faults)


def _missing(
    named: Iterator[Named], known: Mapping[str, int] | set[str], words: str
) -> Iterator[tuple[str, Fault]]:
    for pointer, name in named:
        if name not in known:
            yield pointer, Fault("unknown-reference", words.format(name))


def _rods(inputs: Mapping[str, Any]) -> Iterator[Named]:
    for field in ("bay_rods", "bay_rods_x", "bay_rods_y", "bay_rods_z"):
        for k, name in enumerate(inputs.get(field, ())):
            yield f"/{field}/{k}", name
    if "joint_rod" in inputs:
        yield "/joint_rod", inputs["joint_rod"]


def _parts(inputs: Mapping[str, Any]) -> Iterator[Named]:
    for k, row in enumerate(inputs["accessories"]):
        yield f"/accessories/{k}/item", row["item"]
    for k, row in enumerate(inputs.get("lifts", {}).get("parts_each", ())):
        yield f"/lifts/parts_each/{k}/item", row["item"]
    for k, panel in enumerate(inputs.get("floor", {}).get("panels", ())):
        if "item" in panel:
            yield f"/floor/panels/{k}/item", panel["item"]


def _sections(inputs: Mapping[str, Any]) -> Iterator[Named]:
    for k, name in enumerate(inputs.get("floor", {}).get("sections", ())):
        yield f"/floor/sections/{k}", name
    if "section" in inputs.get("lifts", {}):
        yield "/lifts/section", inputs["lifts"]["section"]
    for k, part in enumerate(inputs["protrusions"]):
        for n, name in enumerate(part.get("sections", ())):
            yield f"/protrusions/{k}/sections/{n}", name
    for k, bracing in enumerate(inputs.get("bracings", ())):
        for name in bracing["second_diagonals"]:
            yield escape("bracings", k, "second_diagonals", name), name


def _without_pitch(inputs: Mapping[str, Any], kit: Kit) -> Iterator[tuple[str, Fault]]:
    pitches = {item["id"]: item.get("pitch_mm", 0.0) for item in inputs["kit"]["items"]}
    for k, panel in enumerate(inputs.get("floor", {}).get("panels", ())):
        if "pitch_mm" in panel:
            continue
        if "item" not in panel or pitches.get(panel["item"], 1.0 if panel["item"] else 0.0) < 10:
            detail = "Give the panel's pitch, or an item of the kit with a pitch of 10 mm or more."
            yield f"/floor/panels/{k}/pitch_mm", Fault("missing", detail)
