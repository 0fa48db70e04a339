"""Closed loops asked for: records and findings."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Remedy

from .closed_loops import Loop, close_loop, share_at_least
from .context import Context, Value
from .findings import loop_finding
from .records import loop_record

MOST_TRIES = 200


def loop_answers(context: Context) -> tuple[list[Value], list[Finding]]:
    """One record and one finding for each loop, in order."""
    records, findings = [], []
    for place, loop in enumerate(context.inputs["loops"]):
        rods = [
            context.rod(step["rod"], f"/loops/{place}/steps/{k}/rod")
            for k, step in enumerate(loop["steps"])
        ]
        closed = _closed(context, loop["steps"], rods)
        record = loop_record(loop["id"], closed)
        records.append(record)
        remedy = None if closed.closes else _remedy(context, loop, rods, place)
        findings.append(loop_finding(record, place, remedy, loop["title"] or loop["id"]))
    return records, findings


def _closed(context: Context, steps: Sequence[Mapping[str, Any]], rods: Sequence[int]) -> Loop:
    return close_loop(
        [context.kit.rods[k].pitch_mm for k in rods],
        [step["direction"].tolist() for step in steps],
        play_mm=context.play_um / 1000,
        counts=[step["count"] for step in steps],
    )


def _may_close(context: Context, steps: Sequence[Mapping[str, Any]], rods: Sequence[int]) -> bool:
    share = share_at_least(
        [context.kit.rods[k].pitch_mm for k in rods],
        [step["direction"].tolist() for step in steps],
        play_mm=context.play_um / 1000,
        counts=[step["count"] for step in steps],
    )
    return share <= 1.0 + 1e-9


def _remedy(
    context: Context, loop: Mapping[str, Any], rods: Sequence[int], place: int
) -> Remedy | None:
    """One step's rods exchanged for another kind, where that closes the loop."""
    if context.inputs.proving:
        return None
    kinds = range(len(context.kit.rods))
    tries = [(step, rod) for step in range(len(rods)) for rod in kinds if rod != rods[step]]
    for step, rod in tries[:MOST_TRIES]:
        changed = [*rods[:step], rod, *rods[step + 1 :]]
        if not _may_close(context, loop["steps"], changed):
            continue
        if not _closed(context, loop["steps"], changed).closes:
            continue
        new = context.kit.rods[rod].id
        loops = _with_step(context.inputs.raw["loops"], place, step, new)
        after = context.rerun({"loops": loops})
        if after is not None and after.value["loops"][place]["closes"]:
            old = loop["steps"][step]["rod"]
            return Remedy(f"Exchange {old} for {new} in step {step + 1}.", {"loops": loops})
    return None


def _with_step(
    raw_loops: Sequence[Mapping[str, Any]], place: int, step: int, rod: str
) -> list[Mapping[str, Any]]:
    loops = list(raw_loops)
    steps = list(loops[place]["steps"])
    steps[step] = {**steps[step], "rod": rod}
    loops[place] = {**loops[place], "steps": steps}
    return loops
