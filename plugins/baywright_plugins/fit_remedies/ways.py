"""Each way as a member of the result: what the run that built it again has shown."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from ..frame import LayoutSchema, build_frame
from ..kit import Kit
from ..truss_check.stability import RankUndecided, internal_stability
from .context import Context
from .machine import Machine
from .records import Record, counts
from .remedies import Rebuilt, Remedies
from .search import Way
from .section_options import Option, shape_key
from .words import stale, steps_of

#: Hubs above which a section's mechanisms are left to the strength calculator.
MOST_HUBS = 4000

Value = Mapping[str, Any]


def way_records(answer: Remedies, before: Value, context: Context) -> list[Record]:
    """All ways in order, each held against the others."""
    records = [
        _way(rank, way, answer, before, context) for rank, way in enumerate(answer.found.ways, 1)
    ]
    for record in records:
        better = next((one["rank"] for one in records if _outdoes(one, record)), None)
        if better is not None:
            record["outdone_by"] = better
    return records


def _way(rank: int, way: Way, answer: Remedies, before: Value, context: Context) -> Record:
    rebuilt, machine = answer.of(way), answer.machine
    after = rebuilt.value
    pieces = _sections(rebuilt)
    stuck = [one["id"] for one in before["sections"] if not one["passes"]]
    steps = steps_of(machine, way.options, context.kit.rods[context.split_rod].id)
    tight = min(after["sections"], key=lambda one: one["spare_mm"])
    parted = parted_joints(machine, way.options)
    twins = [
        machine.subjects[k].id
        for k, first in enumerate(machine.twin_of)
        if shape_key(way.options[k]) != shape_key(way.options[first])
    ]
    bare = _bare(way, answer, before, context)
    in_line = sum(option.in_line for option in way.options)
    record: Record = {
        "rank": rank,
        "message": " ".join(step.message for step in steps),
        "changes": [
            {
                "kind": step.kind,
                "axis": step.axis,
                "sections": list(step.sections),
                "message": step.message,
            }
            for step in steps
        ],
        "cost": round(way.cost - way.tie, 6),
        "bound": round(max(min(way.bound, way.cost) - way.tie, 0.0), 6),
        "gap_ratio": way.gap,
        "proven_best": way.proven,
        "proven": True,
        "parts_changed_count": sum(option.parts_changed for option in way.options),
        "hubs_saved_count": before["parts"]["hubs_count"] - after["parts"]["hubs_count"],
        "rods_saved": _saved(before, after),
        "sections": pieces,
        "governing_section": tight["id"],
        "governing_passage": tight["passage"],
        "spare_mm": tight["spare_mm"],
        "cleared_spare_mm": min(one["spare_mm"] for one in pieces if one["of_section"] in stuck),
        "identity_kept": not twins,
        "twins_broken": twins,
        "coupling_faces_match": not parted,
        "coupling_faces_mismatched_count": len(parted),
        "braced_by": "not" if bare else "two-in-line" if in_line else "one-rod",
        "in_line_faces_count": in_line,
        "left_without_diagonal": bare,
        "size_lost_mm": {
            axis: mm - after["overall_centreline_mm"][axis]
            for axis, mm in before["overall_centreline_mm"].items()
        },
        "notes": _notes(rebuilt, in_line, parted, machine),
        "stale": stale(machine, way.options),
        "patch": dict(rebuilt.patch),
    }
    if context.available is not None:
        record["short"] = _short(after, context.kit, context.available, in_line)
    return record


def parted_joints(machine: Machine, options: Sequence[Option]) -> list[int]:
    """Joints that were flush and are so no more."""
    return [
        number
        for number, joint in enumerate(machine.joints)
        if joint.flush
        and not all(
            machine.stay_flush(
                joint, axis, options[joint.first].edits[axis], options[joint.second].edits[axis]
            )
            for axis in range(3)
            if axis != joint.axis
        )
    ]


def _saved(before: Value, after: Value) -> list[Record]:
    saved = Counter({row["rod"]: row["count"] for row in before["parts"]["rods"]})
    saved.subtract({row["rod"]: row["count"] for row in after["parts"]["rods"]})
    return counts({rod: count for rod, count in saved.items() if count})


def _sections(rebuilt: Rebuilt) -> list[Record]:
    origin = {
        piece: number for number, pieces in enumerate(rebuilt.changed.pieces) for piece in pieces
    }
    names = rebuilt.origins
    return [{**one, "of_section": names[origin[one["id"]]]} for one in rebuilt.value["sections"]]


def _bare(way: Way, answer: Remedies, before: Value, context: Context) -> list[Record]:
    """Faces that have lost their diagonal, by section; mechanisms of each piece, twins once."""
    rebuilt = answer.of(way)
    was = {one["id"]: one["unbraced_faces_count"] for one in before["sections"]}
    now = {one["id"]: one for one in rebuilt.value["sections"]}
    found: list[Record] = []
    known: dict[str, int | None] = {}
    for subject, option, pieces in zip(
        answer.machine.subjects, way.options, rebuilt.changed.pieces, strict=True
    ):
        if not option.bare:
            continue
        share = was[subject.id] if len(pieces) == 1 else 0
        for piece in pieces:
            count = now[piece]["unbraced_faces_count"] - share
            if count <= 0:
                continue
            twin = now[piece].get("twin_of", piece)
            if twin not in known:
                known[twin] = _mechanisms(rebuilt, twin, context.kit)
            loose = known[twin]
            record = {"section": piece, "faces_count": count}
            found.append(record if loose is None else {**record, "mechanisms_count": loose})
    return found


def _mechanisms(rebuilt: Rebuilt, section: str, kit: Kit) -> int | None:
    """None where it is too large, or the rank cannot be decided."""
    spec = next(one for one in rebuilt.changed.layout["sections"] if one["id"] == section)
    frame = build_frame(LayoutSchema().load({"sections": [spec]}), kit)
    if len(frame.nodes_mm) > MOST_HUBS:
        return None
    try:
        return internal_stability(frame.nodes_mm, frame.start, frame.end).mechanisms
    except RankUndecided:
        return None


def _notes(rebuilt: Rebuilt, in_line: int, parted: Sequence[int], machine: Machine) -> list[str]:
    notes = []
    dropped = rebuilt.changed.dropped_diagonals
    if dropped:
        what = "1 diagonal" if dropped == 1 else f"{dropped} diagonals"
        verb = "loses its face and is" if dropped == 1 else "lose their faces and are"
        notes.append(f"{what} given one by one {verb} dropped.")
    if in_line:
        notes.append(
            f"{in_line} faces take two rods in line on a mid-hub as their diagonal; the layout has "
            "no place for them, so put them in by hand and keep them out of loaded struts."
        )
    for number in parted:
        joint = machine.joints[number]
        first, second = (machine.subjects[k].id for k in (joint.first, joint.second))
        notes.append(f"The faces of {first} and {second} are no longer flush where they meet.")
    return notes


def _short(after: Value, kit: Kit, free: Mapping[str, int], in_line: int) -> list[Record]:
    """What the shelf lacks for the machine afterwards; frame hubs of all kinds together."""
    hubs = [hub.id for hub in kit.hubs if hub.role == "frame"]
    needs = [(row["rod"], row["count"], free.get(row["rod"], 0)) for row in after["parts"]["rods"]]
    there = sum(free.get(hub, 0) for hub in hubs)
    needs.append((" and ".join(hubs), after["parts"]["hubs_count"], there))
    middle = kit.middle_hub
    if in_line and middle is not None:
        needs.append((middle.id, in_line, free.get(middle.id, 0)))
    return [
        {"item": item, "needed_count": needed, "short_count": needed - there}
        for item, needed, there in needs
        if needed > there
    ]


def _outdoes(one: Record, other: Record) -> bool:
    """No worse in parts, twins and size lost, and better in one of them."""
    a, b = _merits(one), _merits(other)
    return a != b and all(x <= y for x, y in zip(a, b, strict=True))


def _merits(way: Record) -> tuple[float, float, float]:
    lost = sum(max(mm, 0.0) for mm in way["size_lost_mm"].values())
    bare = sum(row["faces_count"] for row in way["left_without_diagonal"])
    return way["parts_changed_count"], len(way["twins_broken"]) + bare, round(lost, 6)
