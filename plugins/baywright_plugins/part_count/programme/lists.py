"""Lists to work from: what to buy, saw, take apart first, and keep as spares."""

from collections.abc import Mapping
from typing import Any

from ..kit_parts import title_of
from .counts import Flow
from .reading import Answer
from .supply import Group

Row = dict[str, Any]


def purchase_rows(answer: Answer, by_item: Mapping[str, Flow]) -> list[Row]:
    """Packs and single pieces to buy, then raw dowel."""
    supply, made, x = answer.task.supply, answer.chosen.made, answer.chosen.solved.x
    rows = []
    for variable, offer in zip(made.packs, supply.offers, strict=True):
        packs = x[variable]
        if not packs:
            continue
        rows.append(
            {
                "item": offer.item,
                "title": title_of(supply.parts[offer.item]),
                "count": packs * offer.pieces,
                "packs_count": packs,
                "pieces_per_pack_count": offer.pieces,
                "price": offer.price,
                "total": round(packs * offer.price, 6),
                "why": why(by_item[offer.item]),
            }
        )
    for number, variable in made.new_bars.items():
        source, bars = supply.sources[number], x[variable]
        if bars:
            price = source.price or 0.0
            rows.append(
                {
                    "item": source.id,
                    "title": f"raw dowel of {source.length_um / 1000:g} mm",
                    "count": bars,
                    "packs_count": bars,
                    "pieces_per_pack_count": 1,
                    "price": price,
                    "total": round(bars * price, 6),
                    "why": f"to saw rods from; {source.on_hand} on the shelf",
                }
            )
    return rows


def why(flow: Flow) -> str:
    """What a purchase is for, in words.

    >>> why(Flow(44, 44, 0, 3, 40, {"shelf": 40}, 0, 0, 7, 0, 0))
    '44 built in and 3 spares; 40 from the shelf'
    """
    uses = [
        f"{count} {words}"
        for count, words in (
            (flow.built_in, "built in"),
            (flow.sawn_up, "sawn up"),
            (flow.reserve, "spares"),
        )
        if count
    ]
    there = [
        f"{count} {words}"
        for count, words in (
            (flow.taken, "from the shelf"),
            (flow.salvaged, "from old machines"),
            (flow.sawn, "sawn from longer ones"),
        )
        if count
    ]
    return f"{' and '.join(uses)}; {', '.join(there) or 'none on the shelf'}"


def cut_rows(answer: Answer) -> list[Row]:
    """Which lengths are sawn into what."""
    supply, made, x = answer.task.supply, answer.chosen.made, answer.chosen.solved.x
    rows = []
    for number, place, variable in made.cuts:
        if not x[variable]:
            continue
        source = supply.sources[number]
        pattern = source.patterns[place]
        rows.append(
            {
                "source": source.id,
                "count": x[variable],
                "pieces": {
                    item: pieces
                    for item, pieces in zip(source.pieces, pattern.pieces, strict=True)
                    if pieces
                },
                "length_mm": source.length_um / 1000,
                "offcut_mm": pattern.offcut_um / 1000,
            }
        )
    return rows


def salvage_rows(answer: Answer, by_item: Mapping[str, Flow]) -> list[Row]:
    """The groups chosen, in the order in which they cover most missing parts for each minute."""
    supply, made, x = answer.task.supply, answer.chosen.made, answer.chosen.solved.x
    open_groups = [
        group for variable, group in zip(made.groups, supply.groups, strict=True) if x[variable]
    ]
    lacking = {item: flow.salvaged for item, flow in by_item.items() if flow.salvaged}
    rows: list[Row] = []
    while open_groups:
        best = max(open_groups, key=lambda group: sum(_covers(group, lacking).values())
                   / max(group.minutes, 1e-9))  # fmt: skip
        open_groups.remove(best)
        covers = _covers(best, lacking)
        for item, pieces in covers.items():
            lacking[item] -= pieces
        rows.append(
            {
                "order_count": len(rows) + 1,
                "old_machine": best.old,
                "group": best.id,
                "dismantle_min": best.minutes,
                "covers": covers,
                "gives": {item: pieces for item, pieces in best.parts.items() if pieces},
            }
        )
    return rows


def _covers(group: Group, lacking: Mapping[str, int]) -> dict[str, int]:
    found = {item: min(group.parts.get(item, 0), count) for item, count in lacking.items()}
    return {item: pieces for item, pieces in found.items() if pieces}


def reserve_rows(answer: Answer) -> list[Row]:
    """Spares by part, and how sure it is that they are enough where breakage is known."""
    rows = []
    for item, spares in answer.reserve.items():
        row: Row = {"item": item, "method": spares.method, "reserve_count": spares.count}
        if spares.expected is not None and spares.enough is not None:
            row |= {"expected_breakages": spares.expected, "enough_ratio": spares.enough}
        rows.append(row)
    return rows
