"""The record of a loaded vehicle: millimetres, names and shares."""

from collections.abc import Mapping, Sequence
from math import prod
from typing import Any

from .cargo import AXES, um3
from .loading import Bay, Item
from .loading_order import loading_order
from .model import Packing, Placed
from .tipping import centre_mm, stack_ratio, tipping_ratios

Record = dict[str, Any]


def bay_record(vehicle: Mapping[str, Any], bay: Bay) -> Record:
    """What is known before anything is packed."""
    record: Record = {
        "title": vehicle["title"],
        "bay_mm": [side / 1000 for side in bay.size],
        "door_mm": [side / 1000 for side in bay.door],
        "aim": vehicle["aim"],
        "blocked": [
            {
                "title": one["title"],
                "at_mm": [float(v) for v in one["at_mm"]],
                "size_mm": [float(v) for v in one["size_mm"]],
            }
            for one in vehicle["blocked"]
        ],
    }
    if "max_payload_kg" in vehicle:
        record["max_payload_kg"] = vehicle["max_payload_kg"]
    return record


def mass_record(items: Sequence[Item]) -> Record:
    """Masses known, and whose is not."""
    known = [item.cargo.mass_kg for item in items if item.cargo.mass_kg is not None]
    unknown = [item.cargo.id for item in items if item.cargo.mass_kg is None]
    return {"mass_kg": float(sum(known)), "mass_unknown": unknown}


def packing_record(packing: Packing, items: Sequence[Item], bay: Bay, rear_only: bool) -> Record:
    """Where everything is, in the order of loading, and how much room it takes."""
    order = loading_order(packing, rear_only=rear_only)
    if order is None:
        order = sorted(range(len(packing)), key=lambda k: (packing[k].z, packing[k].spot.x))
    rows = [_placement(packing[k], packing, items, bay) for k in order]
    for number, row in enumerate(rows, start=1):
        row["order"] = number
    ends = [
        max((row["at_mm"][axis] + row["size_mm"][axis] for row in rows), default=0.0)
        for axis in range(3)
    ]
    floor = sum(r["size_mm"][0] * r["size_mm"][1] for r in rows if r["on"] == ["floor"])
    length, width, _ = (side / 1000 for side in bay.size)
    record: Record = {
        "placements": rows,
        "loading_order": [row["id"] for row in rows],
        "used_length_mm": ends[0],
        "used_width_mm": ends[1],
        "used_height_mm": ends[2],
        "free_length_mm": length - ends[0],
        "free_width_mm": width - ends[1],
        "floor_used_ratio": floor / (length * width),
    }
    centre = _centre_of_mass(rows, packing, order, items)
    return record if centre is None else {**record, "centre_of_mass_mm": centre}


def used_mm(extent: int, bay: Bay) -> float:
    """A reach of the model, from the wall to the end of the last thing."""
    return max(0, extent - bay.gap_between + bay.gap_walls) / 1000


def size_um(placed: Placed, bay: Bay) -> tuple[int, int, int]:
    """Size of the thing itself as it travels."""
    spot = placed.spot
    return spot.along - bay.gap_between, spot.across - bay.gap_between, placed.height


def _placement(placed: Placed, packing: Packing, items: Sequence[Item], bay: Bay) -> Record:
    item = items[placed.thing]
    size = size_um(placed, bay)
    attitude = item.attitude_of(size)
    corner = (placed.spot.x + bay.gap_walls, placed.spot.y + bay.gap_walls, placed.z)
    along, across = tipping_ratios(item.cargo.size_mm, item.handling, attitude)
    row: Record = {
        "id": item.cargo.id,
        "title": item.cargo.title,
        "at_mm": [v / 1000 for v in corner],
        "size_mm": [v / 1000 for v in size],
        "attitude": attitude.name,
        "along_axis": AXES[attitude.along],
        "across_axis": AXES[attitude.across],
        "on": [_name(k, items) for k in placed.under] or ["floor"],
        "shift_mm": _shift(corner[1], size[1], bay) / 1000,
        "tips_across_ratio": min(across, 1e6),
        "tips_along_ratio": min(along, 1e6),
        "centre_assumed": item.handling.centre_height_mm is None,
    }
    if item.cargo.mass_kg is not None:
        row["mass_kg"] = item.cargo.mass_kg
    stack = _stack(placed, packing)
    if not placed.under and len(stack) > 1:
        base = (row["at_mm"][1], row["at_mm"][1] + row["size_mm"][1])
        row["stack_across_ratio"] = min(stack_ratio(_parts(stack, items, bay), base), 1e6)
    load = _load_on(placed, packing, items)
    if load is not None:
        row["load_on_top_kg"] = load
    return row


def _name(under: int, items: Sequence[Item]) -> str:
    return items[under].cargo.id if under >= 0 else f"blocked {-under}"


def _shift(start: int, width: int, bay: Bay) -> int:
    """How far a thing lies beside the middle opening of the door; to the right above 0."""
    left = max(0, bay.size[1] - bay.clear_door[0]) // 2
    right = bay.size[1] - left
    if start < left:
        return start - left
    return max(0, start + width - right)


def _stack(base: Placed, packing: Packing) -> list[Placed]:
    """A thing and all that stands on it, one on the other."""
    found = [base]
    for placed in sorted(packing, key=lambda p: p.z):
        if any(other.thing in placed.under for other in found):
            found.append(placed)
    return found


def _parts(
    stack: Sequence[Placed], items: Sequence[Item], bay: Bay
) -> list[tuple[float, float, float]]:
    """Mass, centre across the bay, and height of the centre of each; volumes if a mass lacks."""
    masses = [items[placed.thing].cargo.mass_kg for placed in stack]
    found = []
    for placed, mass in zip(stack, masses, strict=True):
        item = items[placed.thing]
        size = size_um(placed, bay)
        attitude = item.attitude_of(size)
        centre = centre_mm(item.cargo.size_mm, item.handling)
        weight = prod(item.cargo.size_mm) if None in masses or not any(masses) else mass
        across = (placed.spot.y + bay.gap_walls) / 1000 + centre[attitude.across]
        found.append((float(weight or 0.0), across, placed.z / 1000 + centre[attitude.up]))
    return found


def _load_on(placed: Placed, packing: Packing, items: Sequence[Item]) -> float | None:
    """Mass of all that stands on it, each counted in full; None where one is not known."""
    total = 0.0
    for other in packing:
        if placed.thing in other.under:
            mass, more = items[other.thing].cargo.mass_kg, _load_on(other, packing, items)
            if mass is None or more is None:
                return None
            total += mass + more
    return total


def _centre_of_mass(
    rows: Sequence[Record], packing: Packing, order: Sequence[int], items: Sequence[Item]
) -> list[float] | None:
    """Of the whole load, where every mass is known."""
    total, moments = 0.0, [0.0, 0.0, 0.0]
    for row, k in zip(rows, order, strict=True):
        item = items[packing[k].thing]
        if item.cargo.mass_kg is None:
            return None
        size = um3((row["size_mm"][0], row["size_mm"][1], row["size_mm"][2]))
        attitude = item.attitude_of(size)
        own = centre_mm(item.cargo.size_mm, item.handling)
        place = (attitude.along, attitude.across, attitude.up)
        total += item.cargo.mass_kg
        for axis in range(3):
            moments[axis] += item.cargo.mass_kg * (row["at_mm"][axis] + own[place[axis]])
    return [moment / total for moment in moments] if total > 0 else None
