"""The result's rows, from counts."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import CannotCalculate

from ..frame import Frame
from ..kit import Kit
from .bill_of_materials import Line
from .build_hours import BuildTime, build_time
from .kit_parts import kind_of, kit_parts, title_of
from .structure import (
    Counted,
    SectionParts,
    beam_rule,
    counted_by,
    counted_once,
    product_structure,
)
from .substitutes import Plan, allowed_compression_n
from .tally import Tally, Use, bags, reserve

MOST_EXACT = 2**53 - 1

Row = dict[str, Any]


def part_rows(
    inputs: Mapping[str, Any],
    kit: Kit,
    frame: Frame,
    tally: Tally,
    plan: Plan | None,
    shelf: Mapping[str, Mapping[str, int]] | None,
) -> list[Row]:
    """One row for each part that is needed or listed in stock, in the order of the kit."""
    known = {part.id: part for part in kit_parts(kit)}
    rows = []
    for item, use in tally.uses.items():
        replaced, substitute = _swapped(item, kit, plan, applied=inputs["use_substitutes"])
        total = use.total - replaced + substitute
        if not total and not use.total and (shelf is None or item not in shelf):
            continue
        rows.append(
            {
                "item": item,
                "title": title_of(known[item]),
                "kind": kind_of(known[item]),
                "sections": {
                    section.id: count
                    for section, count in zip(frame.sections, use.sections, strict=True)
                },
                "joints_count": use.joints,
                "accessories_count": use.accessories,
                "needed_count": use.total,
                "replaced_count": replaced,
                "substitute_count": substitute,
                "total_count": total,
                "reserve_count": reserve(total, inputs["reserve_ratio"]),
                **_against(shelf, item, use.total, total),
                "bags_count": bags(
                    _packed(use, replaced, substitute),
                    inputs["bag_sizes"].get(item, inputs["pieces_per_bag"]),
                ),
                "mass_kg": _rounded(total * known[item].mass_g / 1000),
                "cost": _rounded(total * known[item].price),
            }
        )
    return rows


def _packed(use: Use, replaced: int, substitute: int) -> list[int]:
    """Groups to bag; what is replaced comes off the largest group, substitutes are one more."""
    groups = list(use.groups)
    while replaced and any(groups):
        largest = groups.index(max(groups))
        off = min(replaced, groups[largest])
        groups[largest], replaced = groups[largest] - off, replaced - off
    return [*groups, substitute]


def _swapped(item: str, kit: Kit, plan: Plan | None, *, applied: bool) -> tuple[int, int]:
    if plan is None or not applied:
        return 0, 0
    if plan.mid is not None and item == plan.mid.id:
        return 0, sum(plan.pairs)
    place = kit.rod_index.get(item)
    return (0, 0) if place is None else (plan.covered(place), plan.spent(place))


def _against(
    shelf: Mapping[str, Mapping[str, int]] | None, item: str, needed: int, total: int
) -> Row:
    if shelf is None:
        return {}
    row = shelf.get(item, {"on_hand_count": 0, "free_count": 0})
    free = row["free_count"]
    return {
        "on_hand_count": row["on_hand_count"],
        "free_count": free,
        "short_count": max(needed - free, 0),
        "to_buy_count": max(total - free, 0),
        "left_count": max(free - total, 0),
    }


def section_rows(frame: Frame, kit: Kit, tally: Tally, parts: Sequence[SectionParts]) -> list[Row]:
    """Hubs, rods, bays and mass of each section, before any substitution.

    Every node weighs as the kit's frame hub, as in the strength check.
    """
    mass_g = {part.id: part.mass_g for part in kit_parts(kit)}
    rows = []
    for number, section in enumerate(frame.sections):
        rods = frame.rod[frame.section == number].tolist()
        hubs = int((frame.node_section == number).sum())
        own = math.fsum(kit.rods[rod].mass_g for rod in rods) + hubs * kit.frame_hub.mass_g
        beside = math.fsum(
            use.sections[number] * mass_g[item] for item, use in tally.section_accessories.items()
        )
        fittings = math.fsum(kilograms for _, kilograms, _ in section.fittings)
        rows.append(
            {
                "id": section.id,
                "title": section.title,
                "hubs_count": hubs,
                "rods_count": len(rods),
                "bays_count": len(parts[number].bays),
                "beams_count": len(parts[number].beams),
                "frame_mass_kg": _rounded(own / 1000),
                "fittings_mass_kg": _rounded(fittings),
                "accessories_mass_kg": _rounded(beside / 1000),
                "mass_kg": _rounded((own + beside) / 1000 + fittings),
            }
        )
    return rows


def totals_row(parts: Sequence[Row], sections: Sequence[Row]) -> Row:
    """The machine in all, as built."""
    rods = sum(row["total_count"] for row in parts if row["kind"] == "rod")
    mass = math.fsum(row["mass_kg"] for row in parts)
    fittings = math.fsum(row["fittings_mass_kg"] for row in sections)
    return {
        "sections_count": len(sections),
        "beams_count": sum(row["beams_count"] for row in sections),
        "bays_count": sum(row["bays_count"] for row in sections),
        "hubs_count": sum(row["hubs_count"] for row in sections),
        "mid_hubs_count": sum(row["total_count"] for row in parts if row["kind"] == "mid-hub"),
        "rods_count": rods,
        "snaps_count": 2 * rods,
        "pieces_count": sum(row["total_count"] for row in parts),
        "bags_count": sum(row["bags_count"] for row in parts),
        "parts_mass_kg": _rounded(mass),
        "fittings_mass_kg": _rounded(fittings),
        "mass_kg": _rounded(mass + fittings),
        "cost": _rounded(math.fsum(row["cost"] for row in parts)),
    }


def hub_kinds_row(frame: Frame, kit: Kit, tally: Tally) -> Row:
    """Which kinds can stand at the nodes, and which are taken."""
    plan = tally.hubs
    hubs = [kit.hubs[place] for place in plan.kinds]

    def nodes(wanted: Any) -> int:
        return sum(len(one.nodes) for one in plan.classes if wanted(one))

    one_piece = nodes(lambda c: c.fits and not any(hubs[k].two_part for k in c.fits))
    kinds = []
    for number, hub in enumerate(hubs):
        sections = frame.node_section[plan.kind_of_node == number]
        kinds.append(
            {
                "hub": hub.id,
                "two_part": hub.two_part,
                "can_stand_count": nodes(lambda c, k=number: k in c.fits),
                "only_this_count": nodes(lambda c, k=number: c.fits == (k,)),
                "used_count": len(sections),
                "by_section": {
                    section.id: int((sections == place).sum())
                    for place, section in enumerate(frame.sections)
                },
                "to_buy_count": plan.choice.to_buy[number],
            }
        )
    return {
        "one_piece_needed_count": one_piece,
        "three_planes_count": nodes(lambda c: c.three_planes),
        "unlocked_count": nodes(lambda c: c.unlocked),
        "two_part_possible_count": nodes(lambda c: any(hubs[k].two_part for k in c.fits)),
        "no_kind_count": nodes(lambda c: not c.fits),
        "kinds": kinds,
    }


def substitution_rows(plan: Plan, kit: Kit, parts: Sequence[Row], options: Any) -> list[Row]:
    """What each way of putting two rods in line would do, whether built in or not."""
    by_item = {row["item"]: row for row in parts}

    def left(item: str, spent: int) -> int:
        row = by_item.get(item)
        return 0 if row is None else max(row["free_count"] - row["needed_count"] - spent, 0)

    rows = []
    for way, pairs in zip(plan.ways, plan.pairs, strict=True):
        assert plan.mid is not None
        first, second = kit.rods[way.first].id, kit.rods[way.second].id
        row: Row = {
            "rod": kit.rods[way.rod].id,
            "short_count": plan.short[way.rod],
            "first": first,
            "second": second,
            "mid_hub": plan.mid.id,
            "misfit_mm": way.misfit_mm,
            "pairs_count": pairs,
            "mid_hubs_left_count": left(plan.mid.id, sum(plan.pairs)),
            "first_left_count": left(first, plan.spent(way.first)),
            "second_left_count": left(second, plan.spent(way.second)),
            "still_short_count": plan.short[way.rod] - plan.covered(way.rod),
            "applied": options["use_substitutes"],
        }
        if way.rod in plan.light:
            row["light_positions_count"] = plan.light[way.rod]
        if way.compression_limit_n is not None:
            row["compression_limit_n"] = way.compression_limit_n
            row["compression_allowed_n"] = allowed_compression_n(
                [way], options["required_slip_factor"]
            )
        rows.append(row)
    return rows


def position_rows(plan: Plan, frame: Frame, kit: Kit) -> list[Row]:
    """The members chosen for two rods in line."""
    return [
        {
            "member": member,
            "section": frame.sections[int(frame.section[member])].id,
            "rod": kit.rods[int(frame.rod[member])].id,
            "from_mm": frame.nodes_mm[frame.start[member]].tolist(),
            "to_mm": frame.nodes_mm[frame.end[member]].tolist(),
            "compression_n": compression,
        }
        for member, compression in plan.members
    ]


def structure_row(frame: Frame, parts: Sequence[SectionParts]) -> Row:
    """The product structure counted once, by beam and by bay."""
    graph = product_structure(frame, parts)
    row: Row = {"counted_once": _counted(counted_once(graph, frame))}
    if any(section.bays for section in parts):
        row["counted_by_beam"] = _counted(counted_by(graph, frame, "beam"))
        row["counted_by_bay"] = _counted(counted_by(graph, frame, "bay"))
    rule = beam_rule(parts)
    if rule is not None:
        row["beam_rule"] = {
            "hubs_count": rule.hubs_count,
            "axis_rods_count": rule.axis_rods_count,
        }
    return row


def _counted(counted: Counted) -> Row:
    return {
        "hubs_count": counted.hubs_count,
        "rods_count": counted.rods_count,
        "axis_rods_count": counted.axis_rods_count,
    }


def build_row(bays: int, options: Mapping[str, Any]) -> Row:
    """Build time; `options` follow `BuildSchema`."""
    time: BuildTime = build_time(
        bays,
        options["first_bay_min"],
        options["learning_ratio"],
        options["floor_min"],
        model=options["learning_model"],
    )
    row: Row = {
        "bays_count": bays,
        "learning_model": options["learning_model"],
        "learning_exponent": time.exponent,
        "hours": time.hours,
        "hours_without_learning": time.hours_without_learning,
        "first_bay_min": time.first_bay_min,
        "last_bay_min": time.last_bay_min,
    }
    if time.floor_from_bay is not None:
        row["floor_from_bay_count"] = time.floor_from_bay
    return row


def assembly_rows(lines: Sequence[Line]) -> list[Row]:
    """The bill of materials. Raises CannotCalculate where a count is too large to be exact."""
    largest = max((line.count for line in lines), default=0)
    if largest > MOST_EXACT:
        reason = f"A count of {largest} is larger than a number can carry exactly (2^53 - 1)."
        raise CannotCalculate("/assembly/units", reason)
    return [
        {
            "item": line.item,
            "level_count": line.level,
            "assembled": line.assembled,
            "count": line.count,
            "from_stock_count": line.from_stock_count,
            "to_get_count": line.to_get_count,
        }
        for line in lines
    ]


def assembly_part_rows(
    lines: Sequence[Line],
    inputs: Mapping[str, Any],
    kit: Kit | None,
    shelf: Mapping[str, Mapping[str, int]] | None,
) -> list[Row]:
    """The same rows as for a frame, of a bill of materials; mass and price where a kit names
    the item. Only parts without parts of their own are short: wholes are built."""
    known = {} if kit is None else {part.id: part for part in kit_parts(kit)}
    rows = []
    for line in lines:
        part = known.get(line.item)
        gross = line.to_get_count + line.from_stock_count
        against = _against(shelf, line.item, gross, gross)
        if against and line.assembled:
            against |= {"short_count": 0, "to_buy_count": 0}
        rows.append(
            {
                "item": line.item,
                "title": line.item if part is None else title_of(part),
                "kind": "assembly" if line.assembled else "part",
                "sections": {},
                "joints_count": 0,
                "accessories_count": 0,
                "needed_count": gross,
                "replaced_count": 0,
                "substitute_count": 0,
                "total_count": gross,
                "reserve_count": 0 if line.assembled else reserve(gross, inputs["reserve_ratio"]),
                **against,
                "bags_count": 0
                if line.assembled
                else bags([gross], inputs["bag_sizes"].get(line.item, inputs["pieces_per_bag"])),
                "mass_kg": 0.0 if part is None else _rounded(gross * part.mass_g / 1000),
                "cost": 0.0 if part is None else _rounded(gross * part.price),
            }
        )
    return rows


def _rounded(value: float) -> float:
    """Without the last digits that sums of decimals leave behind; a thousandth of a gram."""
    return round(value, 6)
