"""The count of several machines in the same rows as the count of one."""

from collections.abc import Mapping
from typing import Any

from ...kit import Hub, Rod
from ..kit_parts import kind_of, title_of
from ..rows import section_rows, totals_row
from ..structure import section_parts
from ..tally import bags
from .counts import flows
from .machines import Machine
from .reading import Answer

Row = dict[str, Any]


def whole_rows(answer: Answer, inputs: Mapping[str, Any]) -> Row:
    """`counts`, `parts`, `sections` and `totals` of all machines."""
    by_item = flows(answer)
    on_hand = _on_hand(inputs)
    parts = []
    for item, flow in by_item.items():
        part = answer.task.supply.parts[item]
        replaced = max(flow.needed - flow.built_in, 0) if isinstance(part, Rod) else 0
        use = _use(answer, item)
        free = flow.on_shelf
        parts.append(
            {
                "item": item,
                "title": title_of(part),
                "kind": kind_of(part),
                "sections": use["machines"],
                "joints_count": use["joints"],
                "accessories_count": use["accessories"],
                "needed_count": flow.needed,
                "replaced_count": replaced,
                "substitute_count": max(flow.built_in - flow.needed, 0),
                "total_count": flow.built_in,
                "reserve_count": flow.reserve,
                "on_hand_count": on_hand.get(item, 0),
                "free_count": free,
                "short_count": max(flow.needed - free, 0),
                "to_buy_count": flow.bought + flow.missing,
                "left_count": flow.left,
                "bags_count": bags(
                    [*use["machines"].values(), use["joints"] + use["accessories"]],
                    inputs["bag_sizes"].get(item, inputs["pieces_per_bag"]),
                ),
                "mass_kg": round(flow.built_in * part.mass_g / 1000, 6),
                "cost": round(flow.built_in * part.price, 6),
            }
        )
    sections, every = _sections(answer)
    return {
        "counts": {item: flow.needed for item, flow in by_item.items() if flow.needed},
        "parts": parts,
        "totals": totals_row(parts, every),
        "sections": sections,
    }


def _on_hand(inputs: Mapping[str, Any]) -> dict[str, int]:
    shelves = [inputs["stock"]] if "stock" in inputs else []
    shelves += [row["stock"] for row in inputs["more_shelves"]]
    found: dict[str, int] = {}
    for shelf in shelves:
        for row in shelf["counts"]:
            found[row["item"]] = found.get(row["item"], 0) + row["on_hand_count"]
    return found


def _use(answer: Answer, item: str) -> Row:
    """Where one part goes as stated: by machine without joints and what stands beside it."""
    machines: dict[str, int] = {}
    joints = accessories = 0
    hubs = _hubs(answer, item)
    for number, machine in enumerate(answer.task.machines):
        use = machine.tally.uses.get(item)
        beside = machine.tally.section_accessories.get(item)
        own = 0 if use is None else sum(use.sections) * machine.count
        if hubs is not None:
            own = hubs[number] + (sum(beside.sections) if beside else 0) * machine.count
        machines[machine.id] = own
        if use is not None:
            joints += use.joints * machine.count
            accessories += use.accessories * machine.count
    return {"machines": machines, "joints": joints, "accessories": accessories}


def _hubs(answer: Answer, item: str) -> list[int] | None:
    """Hubs of this kind at nodes, by machine, as chosen; None for what is no hub of a frame."""
    part = answer.task.supply.parts[item]
    if not isinstance(part, Hub) or part.role != "frame":
        return None
    chosen = answer.chosen
    counts = [0] * len(answer.task.machines)
    for place in chosen.made.hubs:
        machine = chosen.sites[place.site].machine
        counts[machine] += sum(chosen.solved.x[v] for kind, v in place.kinds if kind == item)
    return counts


def _sections(answer: Answer) -> tuple[list[Row], list[Row]]:
    """The sections of each machine once, and as often as they are built."""
    once: list[Row] = []
    every: list[Row] = []
    for machine in answer.task.machines:
        rows = _section_rows(machine)
        once += rows
        every += rows * machine.count
    return once, every


def _section_rows(machine: Machine) -> list[Row]:
    parts = section_parts(machine.frame, machine.layout)
    rows = section_rows(machine.frame, machine.kit, machine.tally, parts)
    return [{**row, "id": f"{machine.id}.{row['id']}"[:64]} for row in rows]
