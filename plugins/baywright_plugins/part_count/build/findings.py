"""What the team should know before it starts."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure, Remedy

from .thumbs import HARD_PUSH_N, LEAST_PAUSE_MIN, LONGEST_STRETCH_MIN, LOW_PER_MIN

Row = Mapping[str, Any]

#: Pause after which the longest stretch stays under an hour.
_PAUSE_EVERY_MIN = 60


def of_order(plan: Row) -> list[Finding]:
    """Whether each step leaves something that holds its shape."""
    found = []
    for place, section in enumerate(plan["sections"]):
        mine = [row for row in plan["steps"] if row["section"] == section["section"]]
        loose = [row for row in mine if not row["steady"]]
        if not loose:
            continue
        found.append(_sways(mine, loose, place))
    if plan["steps"] and not found:
        message = (
            f"{plan['steps_count']} steps: after each one, in this order, what stands holds its "
            f"shape. Pack {plan['bags_count']} bags by step."
        )
        found.append(Finding("steady-at-every-step", "ok", message, ("/build_plan/steps",)))
    return found


def _sways(mine: Sequence[Row], loose: Sequence[Row], place: int) -> Finding:
    name, last = mine[0]["section"], mine[-1]
    known = [row["loose_ways_count"] for row in loose if "loose_ways_count" in row]
    steps = ", ".join(str(row["step"]) for row in loose[:6]) + (" ..." if len(loose) > 6 else "")
    ways = f" in up to {max(known)} ways" if known else ""
    message = f"Section {name}: after step {steps} of {len(mine)} what stands can still sway{ways}."
    if last["steady"]:
        end = next(row["step"] for row in mine if row["step"] > loose[-1]["step"])
        do = f"Hold it, or clip in a diagonal for the time being, until step {end} is done."
    else:
        do = "It sways even when finished: see the strength check, and add diagonals first."
    measure = Measure(len(loose), 0)
    at = (f"/build_plan/sections/{place}",)
    return Finding("sways-while-built", "watch", f"{message} {do}", at, measure, Remedy(do))


def of_team(plan: Row, team: Row, proves: Callable[[Row], bool]) -> list[Finding]:
    """Hours, pauses, rates, forces. `proves(patch)` re-runs with a change to the team."""
    people = plan["people_count"]
    who = "1 person" if people == 1 else f"{people} people"
    message = (
        f"{who}: {plan['person_h']:.1f} h of work in all, done after {plan['present_h']:.1f} h "
        f"with pauses, {_days(plan['days_count'])} of {team['day_h']:g} h. Taking it apart: "
        f"{plan['dismantling']['present_h']:.1f} h, {_days(plan['dismantling']['days_count'])}."
    )
    measure = Measure(plan["elapsed_h"], None, "h")
    found = [Finding("build-hours", "ok", message, ("/build_plan/elapsed_h",), measure)]
    if plan["enough_people_count"] < people:
        enough = plan["enough_people_count"]
        message = (
            f"{enough} of the {people} people would be done nearly as soon: steps wait for one "
            f"another. Let {people - enough} fetch, check and carry."
        )
        where = ("/team/people_count",)
        measure = Measure(people, enough)
        found.append(Finding("people-would-wait", "ok", message, where, measure))
    return [*found, *_pauses(plan["thumbs"], team, proves), *_snaps(plan["thumbs"])]


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def _pauses(thumbs: Row, team: Row, proves: Callable[[Row], bool]) -> list[Finding]:
    stretch, pause = thumbs["stretch_min"], team["pause_min"]
    if stretch < LONGEST_STRETCH_MIN and pause >= LEAST_PAUSE_MIN:
        return []
    patch = {
        "team": {
            "pause_min": max(pause, LEAST_PAUSE_MIN),
            "pause_every_min": max(_PAUSE_EVERY_MIN, 2 * pause),
        }
    }
    message = (
        f"{stretch:.0f} min of snapping without a break and then {pause:g} min: thumbs need at "
        f"least {LEAST_PAUSE_MIN:g} min in every hour, or 10 s every few minutes."
    )
    do = f"Stop for {LEAST_PAUSE_MIN:g} to 10 min in every hour."
    remedy = Remedy(do, patch if proves(patch) else None)
    measure = Measure(stretch, LONGEST_STRETCH_MIN, "min")
    at = ("/team/pause_every_min",)
    return [Finding("pauses-too-few", "watch", f"{message} {do}", at, measure, remedy)]


def _snaps(thumbs: Row) -> list[Finding]:
    found = []
    rate = thumbs["quickest_per_min"]
    if rate > LOW_PER_MIN:
        do = "Change hands and tasks: let one person hold and hand on, one snap."
        message = (
            f"At the quickest {rate:.1f} rod ends a minute and person: {thumbs['repetition']} "
            f"repetition, above {LOW_PER_MIN:g} a minute. {do}"
        )
        at = ("/build_plan/thumbs/quickest_per_min",)
        measure = Measure(rate, LOW_PER_MIN, "/min")
        found.append(Finding("repetitive-snapping", "watch", message, at, measure, Remedy(do)))
    for name, words in (("push_n", "seat"), ("pull_n", "take out")):
        if thumbs.get(name, 0.0) > HARD_PUSH_N:
            do = f"Use a {'pushing' if name == 'push_n' else 'pulling'} tool."
            message = (
                f"{thumbs[name]:.1f} N to {words} one rod end, above {HARD_PUSH_N:g} N for a "
                f"thumb. {do}"
            )
            at = (f"/build_plan/thumbs/{name}",)
            measure = Measure(thumbs[name], HARD_PUSH_N, "N")
            code = "hard-push" if name == "push_n" else "hard-pull"
            found.append(Finding(code, "watch", message, at, measure, Remedy(do)))
    if thumbs.get("locks"):
        do = "Make the return angle flatter, or open the seat with a tool."
        message = f"By its return angle no pull takes a rod out of its seat. {do}"
        at = ("/team/snap/return_angle_deg",)
        found.append(Finding("seat-locks", "watch", message, at, remedy=Remedy(do)))
    return found
