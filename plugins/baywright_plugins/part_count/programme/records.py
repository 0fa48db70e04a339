"""The result's rows from an answer."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from ..kit_parts import kind_of, title_of
from .counts import Flow, flows
from .lists import cut_rows, purchase_rows, reserve_rows, salvage_rows
from .placing import Copies
from .positions import compression_of
from .reading import Answer
from .rounds import Verdict
from .sheet import PROVEN, Solved
from .strength import crossed

Row = dict[str, Any]

#: Aims that decide whether the answer is called best; the rest only orders equals.
MAIN_AIMS = ("missing", "spares_missing", "cost", "bought")
#: Members listed one by one.
MOST_LISTED = 3000

_WORDS = {
    "missing": "pieces missing",
    "spares_missing": "spares missing",
    "cost": "cost",
    "bought": "pieces bought",
    "minutes": "minutes of taking apart",
    "changes": "changes",
}


def record_of(answer: Answer) -> Row:
    """The member `programme` of the result."""
    solved, task = answer.chosen.solved, answer.task
    by_item = flows(answer)
    purchases = purchase_rows(answer, by_item)
    salvage = salvage_rows(answer, by_item)
    changes, count = change_rows(answer)
    return {
        "proven_best": _proven(solved, answer),
        "gap_ratio": _gap(solved),
        "aims": [
            {
                "aim": words.replace(" ", "-"),
                "value": _rounded(solved.values[aim]),
                "at_least": _rounded(solved.bounds[aim]),
                "proven": _closed(solved, aim),
            }
            for aim, words in _WORDS.items()
        ],
        "cost": _rounded(solved.values["cost"]),
        "missing_count": round(solved.values["missing"]),
        "purchase_total": _rounded(sum(row["total"] for row in purchases)),
        "dismantle_min": _rounded(sum(row["dismantle_min"] for row in salvage)),
        "rounds_count": answer.chosen.rounds,
        "refused_positions_count": sum(answer.chosen.refused.values()),
        "machines": [
            {
                "id": machine.id,
                "copies_count": machine.count,
                "hubs_count": len(machine.frame.nodes_mm),
                "rods_count": len(machine.frame.start),
            }
            for machine in task.machines
        ],
        "supplies": [supply_row(answer, item, flow) for item, flow in by_item.items()],
        "classes": class_rows(answer),
        "light_positions": light_rows(answer),
        "changes": changes,
        "changes_count": count,
        "strength": [
            strength_row(answer, verdict)
            for verdict in answer.chosen.verdicts
            if verdict.checked is not None
        ],
        "purchases": purchases,
        "cuts": cut_rows(answer),
        "salvage": salvage,
        "reserve": reserve_rows(answer),
    }


def _proven(solved: Solved, answer: Answer) -> bool:
    return not _gap(solved) and answer.task.supply.sawing_complete


def _closed(solved: Solved, aim: str) -> bool:
    return solved.gap_of(aim) <= PROVEN


def _gap(solved: Solved) -> float:
    """The largest share of a main aim that is not proven, 0 where all are."""
    gap = max(solved.gap_of(aim) for aim in MAIN_AIMS)
    return 0.0 if gap <= PROVEN else _rounded(gap)


def supply_row(answer: Answer, item: str, flow: Flow) -> Row:
    part = answer.task.supply.parts[item]
    return {
        "item": item,
        "title": title_of(part),
        "kind": kind_of(part),
        "needed_count": flow.needed,
        "built_in_count": flow.built_in,
        "sawn_up_count": flow.sawn_up,
        "reserve_count": flow.reserve,
        "on_shelf_count": flow.on_shelf,
        "from_shelf_count": flow.taken,
        "salvaged_count": flow.salvaged,
        "sawn_count": flow.sawn,
        "bought_count": flow.bought,
        "still_short_count": flow.missing,
        "reserve_short_count": flow.spares_missing,
        "left_count": flow.left,
        "shelves": dict(flow.from_shelf),
    }


def class_rows(answer: Answer) -> list[Row]:
    """Classes in which something may be changed."""
    chosen, x = answer.chosen, answer.chosen.solved.x
    rows = []
    for place in chosen.made.places:
        if not place.pairs and place.left_out is None:
            continue
        site = chosen.sites[place.site]
        machine = answer.task.machines[site.machine]
        pairs = sum(x[variable] for _, variable in place.pairs)
        out = 0 if place.left_out is None else x[place.left_out]
        if place.variant and not x[place.itself] + pairs + out:
            continue
        rows.append(
            {
                "machine": machine.id,
                "section": site.id,
                "pattern": site.variants[place.variant].name,
                "rod": machine.kit.rods[place.positions.rod].id,
                "positions_count": len(place.positions.members),
                "may_be_pair": bool(place.pairs),
                "may_be_left_out": place.left_out is not None,
                "as_is_count": x[place.itself],
                "pairs_count": pairs,
                "left_out_count": out,
            }
        )
    return rows


def light_rows(answer: Answer) -> list[Row]:
    """By section as stated and rod with a way to be a pair; only where loads are known."""
    task, rows = answer.task, []
    for site in answer.chosen.sites:
        machine, stated = task.machines[site.machine], site.variants[0]
        compression = compression_of(stated, task.known)
        if compression is None:
            continue
        blocked = crossed(stated.part)
        ways, worth = task.ways[site.machine], task.worth[site.machine]
        for rod in sorted({way.rod for way in ways}):
            mine = stated.part.rod == rod
            if not mine.any():
                continue
            limit = max(
                pair.compression_n for way, pair in zip(ways, worth, strict=True) if way.rod == rod
            )
            light = mine & (compression * task.loads.pair_factor <= limit * (1 + 1e-12))
            rows.append(
                {
                    "machine": machine.id,
                    "section": site.id,
                    "rod": machine.kit.rods[rod].id,
                    "positions_count": int(mine.sum()),
                    "light_positions_count": int(light.sum()),
                    "uncrossed_count": int((light & ~blocked).sum()),
                    "compression_limit_n": limit,
                    "compression_allowed_n": limit / task.loads.pair_factor,
                }
            )
    return rows


def change_rows(answer: Answer) -> tuple[list[Row], int]:
    """Every changed member, at most `MOST_LISTED` of them, and how many there are in all."""
    rows: list[Row] = []
    count = 0
    for verdict in answer.chosen.verdicts:
        copies = verdict.copies
        count += copies.changes.count * len(copies.numbers)
        for member, way in copies.changes.pairs:
            rows.append({**_member(answer, verdict, member), **_pair(answer, copies, way)})
        for member in copies.changes.gone:
            rows.append({**_member(answer, verdict, member), "what": "left-out"})
    return rows[:MOST_LISTED], count


def _pair(answer: Answer, copies: Copies, way: int) -> Row:
    task = answer.task
    number = answer.chosen.sites[copies.site].machine
    kit, chosen = task.machines[number].kit, task.ways[number][way]
    assert kit.middle_hub is not None
    return {
        "what": "pair",
        "first": kit.rods[chosen.first].id,
        "second": kit.rods[chosen.second].id,
        "mid_hub": kit.middle_hub.id,
        "compression_allowed_n": task.worth[number][way].compression_n / task.loads.pair_factor,
    }


def _member(answer: Answer, verdict: Verdict, member: int) -> Row:
    copies = verdict.copies
    site = answer.chosen.sites[copies.site]
    machine, variant = answer.task.machines[site.machine], site.variants[copies.variant]
    part = variant.part
    row: Row = {
        "machine": machine.id,
        "copies": [number + 1 for number in copies.numbers],
        "section": site.id,
        "rod": machine.kit.rods[int(part.rod[member])].id,
        "from_mm": part.nodes_mm[part.start[member]].tolist(),
        "to_mm": part.nodes_mm[part.end[member]].tolist(),
    }
    if variant.members is not None:
        row["member"] = int(variant.members[member])
    compression = compression_of(variant, answer.task.known)
    if compression is not None:
        row["compression_as_stated_n"] = float(compression[member])
    if verdict.checked is not None:
        row["compression_n"] = float(verdict.checked.compression_n[member])
    return row


def strength_row(answer: Answer, verdict: Verdict) -> Row:
    copies, checked = verdict.copies, verdict.checked
    assert checked is not None
    site = answer.chosen.sites[copies.site]
    variant = site.variants[copies.variant]
    worst = min(checked.states, key=lambda state: state.factor)
    row: Row = {
        "machine": answer.task.machines[site.machine].id,
        "section": site.id,
        "copies_count": len(copies.numbers),
        "pattern": variant.name,
        "changes_count": copies.changes.count,
        "worst_case": worst.case.title,
        "cases": [],
    }
    row |= _factor("as_stated_factor", variant.held.first_slip)
    row |= _factor("changed_factor", worst.factor)
    for before, after in zip(variant.held.states, checked.states, strict=True):
        row["cases"].append(
            {
                "id": before.case.id,
                "kind": before.case.kind,
                "required_factor": answer.task.loads.handling.required(before.case.kind),
                **_factor("as_stated_factor", before.factor),
                **_factor("changed_factor", after.factor),
            }
        )
    return row


def _factor(name: str, value: float) -> Mapping[str, float]:
    """Left out where nothing is loaded."""
    return {name: float(value)} if np.isfinite(value) else {}


def _rounded(value: float) -> float:
    return round(float(value), 6)
