"""How to build the machine: steps, bags, hours and days for a team, checks on the way."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from baywright_service.contract import CannotCalculate, Caution, Finding, Result, Source

from ...frame import Frame
from ...kit import Kit
from ..structure import SectionParts
from ..tally import Tally
from . import answer, findings, rows
from .changes import built_in, changed
from .drawing import draw_order
from .drawing_times import draw_timetable
from .plan import MOST_BAYS, MOST_HUBS, BuildOrder, build_order, is_too_large
from .schemas import BuildPlanOut, TeamSchema
from .table import order_table

SOURCES = (
    Source("Martello and Toth, Knapsack Problems, 1990", "chapter 8, bin packing (from memory)"),
    Source("Graham, Bounds on multiprocessing timing anomalies, 1969", "list scheduling"),
    Source("Snap-Fit Joints for Plastics, a design guide", "page 14, mating force"),
    Source("HSE INDG438, the ART tool", "A2 repetition, D1 breaks (points from memory)"),
)

ASSUMPTIONS = (
    "Steps: each is built by one person in one go; what holds its shape was worked out with ball "
    "joints, in the order listed, and without the floor or hands.",
    "Steps: walking, fetching, lifting a part into place and forgetting overnight take no time; "
    "couplings and parts beside the steps are not in the hours.",
    "Points for repetition and pauses are two of several of the assessment they come from; the "
    "rest (posture, force of grip, hours) is not assessed.",
)


#: Runs the inputs again with a change; None where that gives no answer.
Rerun = Callable[[Mapping[str, Any]], Result | None]


@dataclass(frozen=True)
class BuildAnswers:
    """What a team adds to an answer: `value` holds the member `build_plan`, which follows
    `BuildPlanOut`. Empty without a team."""

    value: dict[str, Any] = field(default_factory=dict)
    findings: Sequence[Finding] = ()
    cautions: Sequence[Caution] = ()
    assumptions: Sequence[str] = ()


def build_answers(
    inputs: Mapping[str, Any],
    options: Mapping[str, Any],
    frame: Frame,
    kit: Kit,
    sections: Sequence[SectionParts],
    tally: Tally,
    value: Mapping[str, Any],
    rerun: Rerun,
) -> BuildAnswers:
    """The plan for the team in `inputs`, nothing where there is none.

    Args:
        options: how long a bay takes.
        value: what part-count found so far; its parts, changed members and bays are read.

    Raises CannotCalculate: a machine, or a number of bags, beyond what is worked out; a seat that
    cannot be pushed in.
    """
    if "team" not in inputs:
        return BuildAnswers()
    if is_too_large(frame, sections):
        reason = (
            f"A build order is worked out for at most {MOST_BAYS} bays, or {MOST_HUBS} hubs where "
            "there are no bays. Leave out the team, or split the machine."
        )
        raise CannotCalculate("/team", reason)
    team, (built, swaps) = inputs["team"], changed(frame, value)
    each = team["bays_per_step_count"]
    build = build_order(built, kit, sections, tally.hubs, swaps, each)
    record = _record(build, inputs, frame, kit, value)
    if "build" in value and record["steps"]:
        record = _timed(record, build, team, options, value["build"]["bays_count"])
    found = findings.of_order(record)
    if "elapsed_h" in record:
        found += findings.of_team(record, team, lambda patch: _clears(rerun(patch)))
    return BuildAnswers({"build_plan": record}, found, _cautions(record), _assumptions(record))


def _clears(again: Result | None) -> bool:
    """Whether pauses are long and frequent enough in the new answer."""
    return again is not None and all(f.code != "pauses-too-few" for f in again.findings)


def _record(
    build: BuildOrder,
    inputs: Mapping[str, Any],
    frame: Frame,
    kit: Kit,
    value: Mapping[str, Any],
) -> dict[str, Any]:
    per_bag = rows.pieces_per_bag(kit, inputs)
    steps = rows.step_rows(build, frame, kit)
    bags, counts = rows.bag_rows(build, frame, kit, per_bag)
    sections = [
        {**row, "bags_count": found, "bags_fewest_count": fewest}
        for row, (found, fewest) in zip(rows.section_rows(build, frame), counts, strict=True)
    ]
    return {
        "steps_count": len(steps),
        "snaps_count": sum(row["snaps_count"] for row in steps),
        "bags_count": len(bags),
        "sections": sections,
        "steps": steps,
        "bags": bags,
        "beside": rows.beside_rows(built_in(value), build, per_bag),
        "checks": rows.check_rows(build, frame, kit),
    }


def _timed(
    record: dict[str, Any],
    build: BuildOrder,
    team: Mapping[str, Any],
    options: Mapping[str, Any],
    bays: int,
) -> dict[str, Any]:
    """The record with who does what when."""
    day = answer.day_of(team)
    value, table = answer.times(build, bays, options, team)
    steps = answer.dated(record["steps"], table, day)
    push, snap = options.get("snap_push_n"), team.get("snap")
    return {
        **record,
        "steps": steps,
        "sections": [
            {**row, **answer.section_times(steps, row["section"])} for row in record["sections"]
        ],
        **value,
        "people": answer.people_rows(steps, team["people_count"], day),
        "calendar": answer.calendar_rows(steps, value["days_count"]),
        "thumbs": answer.thumbs_row(steps, value["person_h"], day, push, snap),
    }


def _cautions(record: Mapping[str, Any]) -> list[Caution]:
    found = []
    if not all(row["steady"] for row in record["steps"]):
        text = "A part that can still sway may fold: hold it, and keep heads and hands from under."
        found.append(Caution(text))
    if record.get("thumbs", {}).get("locks"):
        text = "A seat that locks is levered open: wear gloves and glasses, parts fly."
        found.append(Caution(text))
    return found


def _assumptions(record: Mapping[str, Any]) -> list[str]:
    """What holds for this plan beyond ASSUMPTIONS."""
    lines = list(ASSUMPTIONS)
    replaced = sum(row["replaced_count"] for row in record["beside"])
    if replaced:
        lines.append(
            f"{replaced} rods of the steps are pairs in line whose places are not known: their "
            "bags still list the rod, the pairs stand beside the steps."
        )
    return lines


__all__ = [
    "SOURCES",
    "BuildAnswers",
    "BuildPlanOut",
    "TeamSchema",
    "build_answers",
    "draw_order",
    "draw_timetable",
    "order_table",
]
