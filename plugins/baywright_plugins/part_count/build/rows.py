"""The rows of the plan: sections, steps, bags, what is left beside them."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

import numpy as np

from baywright_service.contract import CannotCalculate

from ...frame import ROLES, Frame
from ...kit import Kit
from ..kit_parts import kit_parts
from .bags import Bag, Lot, bag_lots
from .plan import BuildOrder, SectionPlan
from .squareness import square_check
from .steps import Step
from .words import ladders_of, place_words

#: Bags that are listed one by one.
MOST_BAGS = 3000

_DIAGONALS = tuple(k for k, role in enumerate(ROLES) if role.endswith("diagonal"))

Row = dict[str, Any]


def step_rows(build: BuildOrder, frame: Frame, kit: Kit) -> list[Row]:
    """One row a step, sections in the order of building, without times."""
    rows = []
    for section in build.sections:
        hubs = rods = 0
        for number, step in enumerate(section.plan.steps):
            hubs, rods = hubs + len(step.nodes), rods + len(step.members)
            row = _step_row(section, number, step, frame)
            ends = 2 * sum(row["parts"].get(rod.id, 0) for rod in kit.rods)
            done = {"hubs_done_count": hubs, "rods_done_count": rods}
            rows.append({**row, "snaps_count": ends, **done})
    return rows


def _step_row(section: SectionPlan, number: int, step: Step, frame: Frame) -> Row:
    ladders = ladders_of(step, section.part)
    roles = section.part.role[step.members]
    diagonals = int(np.isin(roles, _DIAGONALS).sum())
    place = frame.sections[section.number]
    row: Row = {
        "section": place.id,
        "step": number + 1,
        "where": place_words(step, place.bays),
        "bays_count": step.bays,
        "hubs_count": len(step.nodes),
        "rods_count": len(step.members) - diagonals,
        "diagonals_count": diagonals,
        "parts": dict(section.parts[number]),
        "ladders_count": ladders.count,
        "ladder_rods_count": ladders.rods,
        "joining_rods_count": ladders.joining,
        "waits_for": sorted(other + 1 for other in section.plan.needs.predecessors(number)),
        "steady": step.steady is True,
        "boxes_mm": _boxes_mm(section, step),
    }
    if step.loose_ways is not None:
        row["loose_ways_count"] = step.loose_ways
    return row


def _boxes_mm(section: SectionPlan, step: Step) -> list[list[float]]:
    """Lowest and highest corner of each bay; of the step's hubs where there are no bays."""
    groups = [one.unit.nodes for one in step.built] if step.cells else [tuple(step.nodes)]
    boxes = []
    for nodes in groups:
        places = section.part.nodes_mm[list(nodes)]
        boxes.append([*places.min(axis=0).tolist(), *places.max(axis=0).tolist()])
    return boxes


def section_rows(build: BuildOrder, frame: Frame) -> list[Row]:
    """One row a section, without times and bags."""
    first = build.order.twin_of
    rows = []
    for section in build.sections:
        steps = section.plan.steps
        row: Row = {
            "section": frame.sections[section.number].id,
            "steps_count": len(steps),
            "bays_count": sum(step.bays for step in steps),
            "steady": all(step.steady for step in steps),
        }
        if first[section.number] != section.number:
            row["twin_of"] = frame.sections[first[section.number]].id
        rows.append(row)
    return rows


def pieces_per_bag(kit: Kit, inputs: Mapping[str, Any]) -> dict[str, int]:
    """Pieces of each part of the kit that fill a bag."""
    sizes, usual = inputs["bag_sizes"], inputs["pieces_per_bag"]
    return {part.id: sizes.get(part.id, usual) for part in kit_parts(kit)}


def bag_rows(
    build: BuildOrder, frame: Frame, kit: Kit, per_bag: Mapping[str, int]
) -> tuple[list[Row], list[tuple[int, int]]]:
    """One row a bag; and for each section how many there are, and the fewest there can be.

    Raises CannotCalculate where there are more than can be listed.
    """
    least = sum(
        Fraction(count, per_bag[item])
        for section in build.sections
        for pieces in section.parts
        for item, count in pieces.items()
    )
    if least > MOST_BAGS:
        reason = (
            f"Bags so small would be {math.ceil(least)} at least; at most {MOST_BAGS} are listed. "
            "Put more pieces in a bag."
        )
        raise CannotCalculate("/pieces_per_bag", reason)
    mass_g = {part.id: part.mass_g for part in kit_parts(kit)}
    rows: list[Row] = []
    counts = []
    for section in build.sections:
        lots = [Lot(number, pieces) for number, pieces in enumerate(section.parts) if pieces]
        found = bag_lots(lots, per_bag)
        name = frame.sections[section.number].id
        steps = len(section.plan.steps)
        rows += [_bag_row(bag, name, steps, mass_g) for bag in found.bags]
        counts.append((len(found.bags), found.fewest))
    return rows, counts


def _bag_row(bag: Bag, section: str, steps: int, mass_g: Mapping[str, float]) -> Row:
    shares = [
        f"step {lot.step + 1}{' of ' + str(steps) if not place else ''} · {_said(lot.parts)}"
        for place, lot in enumerate(bag.lots)
    ]
    parts = bag.parts
    return {
        "label": " · ".join([section, *shares]),
        "section": section,
        "steps": [step + 1 for step in bag.steps],
        "parts": parts,
        "pieces_count": sum(parts.values()),
        "full_ratio": float(bag.full),
        "mass_kg": round(sum(n * mass_g[item] for item, n in parts.items()) / 1000, 6),
    }


def _said(parts: Mapping[str, int]) -> str:
    return ", ".join(f"{count} {item}" for item, count in parts.items())


def beside_rows(
    built_in: Mapping[str, int], build: BuildOrder, per_bag: Mapping[str, int]
) -> list[Row]:
    """What is built in beyond the steps, and what of the steps is replaced by other parts."""
    in_steps: Counter[str] = Counter()
    for section in build.sections:
        for pieces in section.parts:
            in_steps.update(pieces)
    rows = []
    for item, count in built_in.items():
        over = count - in_steps[item]
        if over:
            rows.append(
                {
                    "item": item,
                    "count": max(over, 0),
                    "replaced_count": max(-over, 0),
                    "bags_count": -(-max(over, 0) // per_bag[item]),
                }
            )
    return rows


def check_rows(build: BuildOrder, frame: Frame, kit: Kit) -> list[Row]:
    """When to measure which diagonals: the ground plane, then the front and the left end."""
    play = kit.frame_hub.seat.play_mm
    rows = []
    for section in build.sections:
        grid = frame.sections[section.number].grid_mm
        if grid is None:
            continue
        step_of = {
            member: number
            for number, step in enumerate(section.plan.steps)
            for member in step.members
        }
        for across, words in ((2, "the ground plane"), (1, "the front"), (0, "the left end")):
            a, b = (axis for axis in range(3) if axis != across)
            if not _has_corners(section.part, a, b, grid):
                continue
            low = section.part.lattice[:, across] == 0
            plane = np.flatnonzero(low[section.part.start] & low[section.part.end]).tolist()
            size = grid[a][-1] - grid[a][0], grid[b][-1] - grid[b][0]
            bays = sorted({(x, y) for x in _pitches(grid[a]) for y in _pitches(grid[b])})
            square = square_check(*size, bays, play)
            what = (
                f"Measure both diagonals of {words}, hub to opposite hub: {square.diagonal_mm:.0f} "
                f"mm, equal within {square.equal_within_mm:.1f} mm. If they differ more, look for "
                "a rod that is not seated, or one of the wrong length."
            )
            rows.append(
                {
                    "section": frame.sections[section.number].id,
                    "after_step": max(step_of[member] for member in plane) + 1,
                    "what": what,
                    "diagonal_mm": square.diagonal_mm,
                    "equal_within_mm": square.equal_within_mm,
                }
            )
    return rows


def _has_corners(part: Frame, a: int, b: int, grid: Sequence[Sequence[float]]) -> bool:
    """Whether the four corner hubs of the plane along axes a and b stand, at the low end of the
    third axis."""
    for far_a in (0, len(grid[a]) - 1):
        for far_b in (0, len(grid[b]) - 1):
            place = [0, 0, 0]
            place[a], place[b] = far_a, far_b
            if part.node_at(0, (place[0], place[1], place[2])) is None:
                return False
    return True


def _pitches(planes: Sequence[float]) -> list[float]:
    return sorted({round(high - low, 6) for low, high in zip(planes, planes[1:], strict=False)})
