"""The envelope asked for: rows for each axis, solutions, and the layout of the best."""

import math
from collections.abc import Mapping, Sequence
from itertools import product
from typing import Any

from baywright_service.contract import CannotCalculate, Finding, Remedy

from .answer_route import clearances_of, stops_of
from .closing_rows import TooManyWays
from .context import AXES, TOO_MANY, Context, Value
from .envelope import AxisRows, Solution, axis_rows, layout_of, solutions
from .findings import row_findings, solution_findings
from .records import axis_record, solution_record
from .route import at_stop
from .sections import bracing_of

#: every rod of a row stands at least four times across one section
_ROWS_ACROSS = 4
_MOST_LOOKED_AT = 60


def envelope_answers(context: Context) -> tuple[Value, list[Finding], Value | None]:
    """Records, findings, and the layout of the best solution (None where there is none)."""
    envelope = context.inputs["envelope"]
    rods = _rods(context, envelope)
    tolerance_um = round(envelope["tolerance_mm"] * 1000)
    axes = [_axis(context, envelope, axis, rods, tolerance_um) for axis in AXES]
    kinds = context.rods(rods)
    records = [axis_record(axis, kinds, context.play_um) for axis in axes]
    ranked = solutions(
        axes, context.kit, rods, most_results=_MOST_LOOKED_AT, tolerance_um=tolerance_um
    )
    through = {solution: _passes(context, solution) for solution in ranked}
    found = sorted(ranked, key=lambda solution: not through[solution])
    found = found[: context.inputs["most_results"]]
    drawn_up = [
        solution_record(one, axes, kinds, context.play_um, context.overhangs_mm, through[one])
        for one in found
    ]
    braced = bool(found) and not found[0].unbraceable_pairs_count + found[0].in_line_pairs_count
    remedy = None if braced else _remedy(context, axes, rods)
    findings: list[Finding] = []
    if drawn_up:
        findings += solution_findings(
            drawn_up[0], tolerance_mm=envelope["tolerance_mm"], remedy=remedy
        )
    for place, record in enumerate(records):
        if not record["closes"]:
            name, at = f"Along {record['axis']}", f"/result/axes/{place}"
            findings += row_findings(name, record, at, remedy=remedy)
    value = {"axes": records, "solutions": drawn_up}
    layout = layout_of(found[0], context.inputs.raw["envelope"]) if found else None
    return value, findings, layout


def _remedy(context: Context, axes: Sequence[AxisRows], rods: Sequence[int]) -> Remedy | None:
    """The least tolerance with which one kind of rod, in bays it braces, closes on all axes."""
    if context.inputs.proving:
        return None
    needed = []
    for rod in context.rods(rods):
        best = bracing_of((rod.id, rod.id), context.kit).best
        if best is None or best.in_line_count > 1:
            continue
        off = 0.0
        for axis in axes:
            wanted = (axis.wanted_um - axis.joints_um) / rod.pitch_um
            off = max(off, abs(max(round(wanted), axis.sections_count) - wanted) * rod.pitch_um)
        needed.append((math.ceil(off / 1000), rod.id))
    if not needed:
        return None
    tolerance, name = min(needed)
    patch = {"envelope": {"tolerance_mm": tolerance}}
    after = context.rerun(patch)
    if after is None or not after.value["solutions"]:
        return None
    best = after.value["solutions"][0]
    if best["unbraceable_pairs_count"] + best["in_line_pairs_count"]:
        return None
    return Remedy(f"Let the size be off by {tolerance} mm: then rows of {name} close.", patch)


def _passes(context: Context, solution: Solution) -> bool:
    """Whether all sections get through every passage, what sticks out left aside."""
    pitch = {rod.id: rod.pitch_um for rod in context.kit.rods}
    lengths = [
        {
            sum(pitch[rod] for rod in part) / 1000 + 2 * context.overhangs_mm[axis]
            for part in solution.sections[k]
        }
        for k, axis in enumerate(AXES)
    ]
    clearances = clearances_of(context)
    return all(
        at_stop(dict(zip(AXES, size, strict=True)), stop, clearances).passes
        for stop in stops_of(context)
        for size in product(*map(sorted, lengths))
    )


def _rods(context: Context, envelope: Mapping[str, Any]) -> list[int]:
    if "rods" not in envelope:
        return list(range(len(context.kit.rods)))
    places = {context.rod(rod, f"/envelope/rods/{k}") for k, rod in enumerate(envelope["rods"])}
    return sorted(places)


def _axis(
    context: Context,
    envelope: Mapping[str, Any],
    axis: str,
    rods: Sequence[int],
    tolerance_um: int,
) -> AxisRows:
    each_way = {"x": 1, "y": 1, "z": 1, **(envelope.get("sections") or {})}
    joint_um = 0
    if "joint_rod" in envelope:
        joint_um = context.kit.rods[context.rod(envelope["joint_rod"], _JOINT_ROD)].pitch_um
    ends = 2 * context.overhangs_mm[axis] if envelope["measured"] == "outside" else 0.0
    wanted = round((envelope["size_mm"][axis] - ends) * 1000)
    joints = (each_way[axis] - 1) * joint_um
    if wanted <= joints:
        reason = f"Hub ends and joints alone take {ends + joints / 1000:g} mm."
        raise CannotCalculate(f"/envelope/size_mm/{axis}", reason)
    across = _ROWS_ACROSS
    for other in AXES:
        across *= each_way[other] if other != axis else 1
    most = context.inputs["most_rods"]
    try:
        return axis_rows(
            axis,
            wanted,
            sections_count=each_way[axis],
            joint_um=joint_um,
            kit=context.kit,
            rods=rods,
            limits=[context.at_hand(k, most * each_way[axis] * across) // across for k in rods],
            most_rods=most,
            most_results=context.inputs["most_results"],
            tolerance_um=tolerance_um,
        )
    except TooManyWays as error:
        raise CannotCalculate(f"/envelope/size_mm/{axis}", TOO_MANY) from error


_JOINT_ROD = "/envelope/joint_rod"
