"""The plan for a team: who builds what when, in how many days, and what it asks of hands."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import CannotCalculate

from .days import Day
from .plan import BuildOrder
from .thumbs import NeverSeats, pause_points, push_n, repetition
from .timetable import Curve, Timetable, curve_of, share_out

MOST_DAYS = 366
#: A smaller team that is done within so much of the time will do.
NEARLY = 1.05

Row = dict[str, Any]


def times(
    build: BuildOrder, bays: int, options: Mapping[str, Any], team: Mapping[str, Any]
) -> tuple[Row, Timetable]:
    """Hours and days of the whole plan; and when each step is begun and done, in the order of
    `step_rows`.

    Args:
        bays: in all, at least one; spread over the steps as the bays of the frame are.
        options: follow `BuildSchema`. team: follows `TeamSchema`.
    """
    work, needs = _jobs(build, bays)
    curve = curve_of(
        bays,
        options["first_bay_min"],
        options["learning_ratio"],
        options["floor_min"],
        model=options["learning_model"],
        before=team["bays_before_count"],
    )
    if curve.quickest <= 0:
        reason = "By this learning curve the last bays take no time at all. State the quickest bay."
        raise CannotCalculate("/build/floor_min", reason)
    people, together = team["people_count"], team["learn_together"]
    table = share_out(work, needs, people, curve, together=together)
    day = day_of(team)
    value = {
        "people_count": people,
        "enough_people_count": _enough(work, needs, table, people, curve, together=together),
        "person_h": table.person_min / 60,
        "elapsed_h": table.elapsed_min / 60,
        "elapsed_bound_h": table.bound_min / 60,
        "elapsed_proven": table.proven,
        "present_h": day.present_min(table.elapsed_min) / 60,
        "day_work_min": day.work_min,
        "days_count": day.days(table.elapsed_min),
        "dismantling": _dismantling(work, needs, people, bays, team, day),
    }
    return value, table


def day_of(team: Mapping[str, Any]) -> Day:
    """The working day of a team that follows `TeamSchema`."""
    return Day(team["day_h"] * 60, team["pause_min"], team["pause_every_min"])


def _jobs(build: BuildOrder, bays: int) -> tuple[list[float], list[list[int]]]:
    """Bays and needs of every step of the machine, numbered through."""
    work: list[float] = []
    needs: list[list[int]] = []
    for section in build.sections:
        offset = len(work)
        work += [step.bays for step in section.plan.steps]
        needs += [
            sorted(offset + other for other in section.plan.needs.predecessors(number))
            for number in range(len(section.plan.steps))
        ]
    known = sum(work)
    return ([one * bays / known for one in work] if known != bays else work), needs


def _enough(
    work: Sequence[float],
    needs: Sequence[Sequence[int]],
    table: Timetable,
    people: int,
    curve: Curve,
    *,
    together: bool,
) -> int:
    """The smallest team that is done nearly as soon."""
    for fewer in range(1, people):
        found = share_out(work, needs, fewer, curve, together=together, orders=0)
        if found.elapsed_min <= NEARLY * table.elapsed_min:
            return fewer
    return people


def _dismantling(
    work: Sequence[float],
    needs: Sequence[Sequence[int]],
    people: int,
    bays: int,
    team: Mapping[str, Any],
    day: Day,
) -> Row:
    """The same steps backwards: one comes off once all that need it are off."""
    last = len(work) - 1
    backwards: list[list[int]] = [[] for _ in work]
    for job, earlier in enumerate(needs):
        for one in earlier:
            backwards[last - one].append(last - job)
    steady = curve_of(bays, team["dismantle_bay_min"], 1.0, 0.0, model="unit", before=0)
    found = share_out(work[::-1], backwards, people, steady, together=False)
    return {
        "person_h": found.person_min / 60,
        "elapsed_h": found.elapsed_min / 60,
        "present_h": day.present_min(found.elapsed_min) / 60,
        "days_count": day.days(found.elapsed_min),
    }


def dated(rows: Sequence[Row], table: Timetable, day: Day) -> list[Row]:
    """Step rows with who and when."""
    return [
        {
            **row,
            "person": int(who) + 1,
            "start_min": float(start),
            "end_min": float(end),
            "day": day.day_of(float(end), ending=True),
        }
        for row, who, start, end in zip(
            rows, table.person, table.start_min, table.end_min, strict=True
        )
    ]


def section_times(rows: Sequence[Row], section: str) -> Row:
    """Work, begin and end of a section from its dated steps."""
    mine = [row for row in rows if row["section"] == section]
    return {
        "person_h": sum(row["end_min"] - row["start_min"] for row in mine) / 60,
        "start_min": min(row["start_min"] for row in mine),
        "end_min": max(row["end_min"] for row in mine),
    }


def people_rows(rows: Sequence[Row], people: int, day: Day) -> list[Row]:
    """Each person's share of the dated steps."""
    found = []
    for person in range(1, people + 1):
        mine = [row for row in rows if row["person"] == person]
        found.append(
            {
                "person": person,
                "steps_count": len(mine),
                "bays_count": sum(row["bays_count"] for row in mine),
                "snaps_count": sum(row["snaps_count"] for row in mine),
                "work_min": sum(row["end_min"] - row["start_min"] for row in mine),
                "most_snaps_a_day_count": _most_a_day(mine, day),
            }
        )
    return found


def _most_a_day(rows: Sequence[Row], day: Day) -> int:
    """Rod ends of the fullest day; a step over midnight counts to its days by time."""
    snaps: dict[int, float] = {}
    for row in rows:
        start, end = row["start_min"], row["end_min"]
        first, last = day.day_of(start, ending=False), day.day_of(end, ending=True)
        if last - first > MOST_DAYS:
            first = last - MOST_DAYS
        for number in range(first, last + 1):
            low = max(start, (number - 1) * day.work_min)
            high = min(end, number * day.work_min)
            share = (high - low) / (end - start) if end > start else 1.0
            snaps[number] = snaps.get(number, 0.0) + max(share, 0.0) * row["snaps_count"]
    return round(max(snaps.values(), default=0.0))


def calendar_rows(rows: Sequence[Row], days: int) -> list[Row]:
    """What is finished on each day, the first MOST_DAYS at most."""
    last_step = {row["section"]: row["day"] for row in sorted(rows, key=lambda r: r["end_min"])}
    found = []
    done = 0
    for number in range(1, min(days, MOST_DAYS) + 1):
        here = sum(row["day"] == number for row in rows)
        done += here
        finished = [section for section, when in last_step.items() if when == number]
        found.append(
            {
                "day": number,
                "steps_done_count": here,
                "done_ratio": done / len(rows),
                "sections_done": ", ".join(finished),
            }
        )
    return found


def thumbs_row(
    rows: Sequence[Row],
    person_h: float,
    day: Day,
    push: float | None,
    snap: Mapping[str, Any] | None,
) -> Row:
    """Rates of snapping, the longest stretch, and the forces where the seat is known."""
    snaps = sum(row["snaps_count"] for row in rows)
    quickest = max(
        (
            row["snaps_count"] / (row["end_min"] - row["start_min"])
            for row in rows
            if row["end_min"] > row["start_min"]
        ),
        default=0.0,
    )
    repeated = repetition(quickest)
    row: Row = {
        "snaps_per_h": snaps / person_h if person_h else 0.0,
        "quickest_per_min": quickest,
        "repetition": repeated.level,
        "repetition_points": repeated.points,
        "stretch_min": day.stretch_min,
        "pause_points": pause_points(day.stretch_min),
    }
    if push is not None:
        row["push_n"] = push
    return {**row, **(_forces(snap) if snap is not None else {})}


def _forces(snap: Mapping[str, Any]) -> Row:
    """Push and pull. Raises CannotCalculate where no push seats a rod."""
    force, friction = snap["deflection_n"], snap["friction_ratio"]
    try:
        row: Row = {"push_n": push_n(force, friction, snap["lead_angle_deg"])}
    except NeverSeats as never:
        reason = (
            f"With friction {friction:g} a lead of {snap['lead_angle_deg']:g} degrees only wedges: "
            "no push seats the rod. Make the lead flatter."
        )
        raise CannotCalculate("/team/snap/lead_angle_deg", reason) from never
    if "return_angle_deg" in snap:
        try:
            row["pull_n"] = push_n(force, friction, snap["return_angle_deg"])
            row["locks"] = False
        except NeverSeats:
            row["locks"] = True
    return row
