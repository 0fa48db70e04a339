"""From validated inputs to the record of a loaded vehicle and what to say about it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from baywright_service.contract import CannotCalculate, Fault, Finding, InvalidInputs

from ...grid_fit.changes import joined
from .cargo import Cargo, Handling, Um3, attitudes
from .findings import packing_finding, payload_findings, tipping_findings, too_large
from .greedy import MANY
from .loading import Bay, Item, items_of
from .model import used_along
from .records import Record, bay_record, mass_record, packing_record, used_mm
from .schemas import MOST_THINGS
from .solve import Answer, Task, best_packing, fits_at_all, most_nodes
from .tipping import BEND_RATIO

_MOST_TRIALS = 8
_FEW_TRIALS = 3
_MOST_LAID = 4


def vehicle_answers(
    vehicle: Mapping[str, Any], boxes: Sequence[Cargo]
) -> tuple[Record, list[Finding]]:
    """Everything in the vehicle: `boxes` (sections and others of the route) and its own.

    Raises:
        InvalidInputs: options for things that are not there, ids used twice, blocks that lie
            outside the bay or in one another.
        CannotCalculate: more things than the search takes.
    """
    cargo = _all_cargo(vehicle, boxes)
    _check(vehicle, cargo)
    if len(cargo) > MOST_THINGS:
        raise CannotCalculate(
            "/vehicle", f"{len(cargo)} things are too many to pack: at most {MOST_THINGS}."
        )
    bay = Bay.from_inputs(vehicle)
    handling = {item["id"]: Handling.from_inputs(item) for item in vehicle["items"]}
    items = items_of(cargo, handling, bay)
    record = bay_record(vehicle, bay) | mass_record(items)
    record["would_help"] = []
    findings = [too_large(item, bay, vehicle["title"]) for item in items if not item.allowed]
    if findings:
        record |= {"answer": "does-not-fit", "decided_by": "size of one thing"}
        record |= {"nodes_searched_count": 0, "nodes_most_count": most_nodes(len(items))}
        return record, [*findings, *payload_findings(record)]
    task = _task(items, bay, vehicle["rear_only"])
    answer = best_packing(task, narrowest=vehicle["aim"] == "free-width")
    record |= _answer_record(answer, items, bay, vehicle["rear_only"])
    if not answer.fits:
        record["would_help"] = _would_help(items, bay, vehicle["rear_only"])
    findings = [packing_finding(record, len(items)), *payload_findings(record)]
    if answer.fits:
        findings += tipping_findings(record, _steadier(record, task, items, bay))
    return record, findings


def _all_cargo(vehicle: Mapping[str, Any], boxes: Sequence[Cargo]) -> list[Cargo]:
    own = [
        Cargo(
            box["id"],
            box["title"],
            (box["size_mm"]["x"], box["size_mm"]["y"], box["size_mm"]["z"]),
            box.get("mass_kg"),
            f"/vehicle/boxes/{k}",
        )
        for k, box in enumerate(vehicle["boxes"])
    ]
    masses = {item["id"]: item["mass_kg"] for item in vehicle["items"] if "mass_kg" in item}
    return [replace(box, mass_kg=masses.get(box.id, box.mass_kg)) for box in (*boxes, *own)]


def _check(vehicle: Mapping[str, Any], cargo: Sequence[Cargo]) -> None:
    if not cargo:
        raise InvalidInputs([("/vehicle/boxes", Fault("missing", "There is nothing to load."))])
    ids = [box.id for box in cargo]
    faults = [
        (f"/vehicle/items/{k}/id", Fault("unknown-reference", f"Nothing is called {item['id']}."))
        for k, item in enumerate(vehicle["items"])
        if item["id"] not in ids
    ]
    faults += [
        (f"{box.pointer}/id", Fault("not-unique", f"{box.id} already names something."))
        for k, box in enumerate(cargo)
        if box.id in ids[:k]
    ]
    faults += [
        (
            f"/vehicle/items/{k}/led_along",
            Fault("out-of-range", "The only axis that may point up cannot lie along the bay."),
        )
        for k, item in enumerate(vehicle["items"])
        if not any(attitudes(Handling.from_inputs(item)))
    ]
    faults += _block_faults(vehicle)
    if faults:
        raise InvalidInputs(faults)


def _block_faults(vehicle: Mapping[str, Any]) -> list[tuple[str, Fault]]:
    bay = (vehicle["length_mm"], vehicle["width_mm"])
    spans = [
        [(float(a), float(a + s)) for a, s in zip(one["at_mm"], one["size_mm"], strict=False)]
        for one in vehicle["blocked"]
    ]
    faults = []
    for k, span in enumerate(spans):
        if any(end > side for (_, end), side in zip(span, bay, strict=True)):
            fault = Fault("out-of-range", "Reaches out of the load bay.")
            faults.append((f"/vehicle/blocked/{k}/size_mm", fault))
        for other in spans[:k]:
            if all(a < d and c < b for (a, b), (c, d) in zip(span, other, strict=True)):
                fault = Fault("out-of-range", "Lies in another blocked part; make them one.")
                faults.append((f"/vehicle/blocked/{k}/at_mm", fault))
                break
    return faults


def _task(items: Sequence[Item], bay: Bay, rear_only: bool) -> Task:
    gap = bay.gap_between
    return Task(
        [item.thing(gap) for item in items],
        [item.thing(gap, steady=True) for item in items],
        bay.room,
        rear_only,
    )


def _answer_record(answer: Answer, items: Sequence[Item], bay: Bay, rear_only: bool) -> Record:
    words = {True: "fits", False: "does-not-fit", None: "not-decided"}
    record: Record = {
        "answer": words[answer.fits],
        "decided_by": answer.decided_by,
        "aim_proven": answer.proven,
        "least_mm": used_mm(answer.least, bay),
        "nodes_searched_count": min(answer.nodes.used, answer.nodes.limit),
        "nodes_most_count": answer.nodes.limit,
    }
    if answer.fits:
        record |= packing_record(answer.packing, items, bay, rear_only)
    return record


def _would_help(items: Sequence[Item], bay: Bay, rear_only: bool) -> list[dict[str, str]]:
    """Small changes after which everything is seen to go in."""
    found: list[dict[str, str]] = []
    most = _MOST_TRIALS if len(items) <= MANY else _FEW_TRIALS
    helps: dict[tuple[Um3, Handling, float | None], bool] = {}
    for item in sorted(items, key=lambda i: i.size[0] * i.size[1] * i.size[2]):
        kind = (item.size, item.handling, item.cargo.mass_kg)
        if kind not in helps and len(helps) < most and len(items) > 1:
            rest = [other for other in items if other is not item]
            helps[kind] = fits_at_all(_task(rest, bay, rear_only)) is not None
        if helps.get(kind):
            found.append({"change": "leave-out", "id": item.cargo.id})
    loosened: dict[str, dict[str, Any]] = {
        "stack": {"bears": True, "load_on_top_kg_max": None},
        "turn": {"ups": Handling().ups, "led_along": None},
    }
    for change, options in loosened.items():
        handling = {item.cargo.id: replace(item.handling, **options) for item in items}
        if all(handling[item.cargo.id] == item.handling for item in items):
            continue
        freer = items_of([item.cargo for item in items], handling, bay)
        if fits_at_all(_task(freer, bay, rear_only)) is not None:
            found.append({"change": change})
    return found


def _steadier(record: Record, task: Task, items: Sequence[Item], bay: Bay) -> dict[str, str]:
    """What it takes to lay down the things that tip: all of them, or else one by one."""
    tipping = {row["id"] for row in record["placements"] if row["tips_across_ratio"] < BEND_RATIO}
    able = [
        k
        for k, item in enumerate(items)
        if item.cargo.id in tipping and task.steady[k] != task.things[k]
    ]
    found: dict[str, str] = {}
    singles = able[: _MOST_LAID if len(items) <= MANY else 0]
    for group in ([able] if able else []) + [[k] for k in singles]:
        names = [items[k].cargo.id for k in group]
        if all(name in found for name in names):
            continue
        things = [
            task.steady[k] if k in group or item.cargo.id not in tipping else task.things[k]
            for k, item in enumerate(items)
        ]
        packing = fits_at_all(replace(task, things=things))
        if packing is not None:
            length = used_mm(used_along(packing), bay)
            words = (
                f"Lay {joined(names)} down or turn {'them' if len(names) > 1 else 'it'}: "
                f"everything still goes in, {length:.0f} mm long."
            )
            found |= dict.fromkeys(names, words)
    return found
