"""What the builder should know, in one sentence each. Codes are stable."""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Measure

from .kinds import millimetres, number

Value = Mapping[str, Any]
_MOST = 10


def _named(titles: Sequence[str]) -> str:
    shown = ", ".join(f"“{title}”" for title in titles[:_MOST])
    return shown + (f" and {len(titles) - _MOST} more" if len(titles) > _MOST else "")


def conflict_findings(value: Value) -> list[Finding]:
    """One for each conflict: it stops where it lies in what must hold, else a wish is denied."""
    found = []
    for conflict in value["conflicts"]:
        at = tuple(dict.fromkeys(member["at"] for member in conflict["members"]))
        measure = Measure(conflict["missing_mm"], 0.0, "mm")
        if "wish" in conflict:
            title = next(r["title"] for r in value["requirements"] if r["id"] == conflict["wish"])
            message = f"The wish “{title}” cannot be had. {conflict['words']}"
            found.append(Finding("wish-denied", "watch", message, at, measure))
        else:
            found.append(Finding("heights-conflict", "stop", conflict["words"], at, measure))
    return found


def height_findings(value: Value, wanted_mm: float | None) -> list[Finding]:
    """What the heights keep, lose and leave open; nothing where there are none."""
    if "order" not in value:
        return []
    found = [_holds(value), *_thin(value, wanted_mm), *_grid_costs(value), *_open_ends(value)]
    found += [*_settled(value), *_shrunk(value)]
    if not value["most_slack_proven"]:
        message = (
            "The search for the largest total of slacks was cut short: the smallest slack is as "
            "large as it can be, the total may not be. Give fewer free levels to settle it."
        )
        found.append(Finding("total-not-proven", "watch", message))
    return found


def _holds(value: Value) -> Finding:
    kept = [r for r in value["requirements"] if r["kept"]]
    message = f"All {len(kept)} requirements hold at the heights taken."
    if not kept:
        message = "The limits of the levels hold at the heights taken."
    if "least_slack_mm" not in value:
        return Finding("heights-hold", "ok", message)
    least = value["least_slack_mm"]
    tight = [r["title"] for r in kept if r["slack_mm"] == least and not _is_equality(r)]
    if tight:
        message += f" The tightest keep {millimetres(least)}: {_named(tight)}."
    return Finding("heights-hold", "ok", message, (), Measure(least, None, "mm"))


def _is_equality(requirement: Value) -> bool:
    return requirement.get("least_mm") == requirement.get("most_mm")


def _thin(value: Value, wanted_mm: float | None) -> list[Finding]:
    """Requirements that keep less slack than wanted; equalities have none to keep."""
    if wanted_mm is None:
        return []
    thin = [
        (k, r)
        for k, r in enumerate(value["requirements"])
        if r["kept"] and r["slack_mm"] < wanted_mm and not _is_equality(r)
    ]
    return [
        Finding(
            "slack-below-wanted",
            "watch",
            f"“{r['title']}” keeps {millimetres(r['slack_mm'])}; you want "
            f"{millimetres(wanted_mm)}. Widen its range or measure its levels when they are built.",
            (f"/requirements/{k}",),
            Measure(r["slack_mm"], wanted_mm, "mm"),
        )
        for k, r in sorted(thin, key=lambda item: (item[1]["slack_mm"], item[0]))[:_MOST]
    ]


def _grid_costs(value: Value) -> list[Finding]:
    """What rounding to the grid adds to the topmost level, and where."""
    if not value.get("loss_mm"):
        return []
    chain = value["lowest_top"]
    steps = sorted(chain["steps"], key=lambda step: -step["lost_mm"])
    where = ", ".join(
        f"“{step['title']}” {number(step['lost_mm'])}" for step in steps[:4] if step["lost_mm"]
    )
    title = next(level["title"] for level in value["levels"] if level["id"] == value["top"])
    message = (
        f"“{title}” lies at {millimetres(value['top_mm'])} at the lowest; without the grid it "
        f"would be {millimetres(value['top_without_grid_mm'])}. Snapping takes "
        f"{millimetres(value['loss_mm'])}" + (f", most of it at {where} mm." if where else ".")
    )
    measure = Measure(value["top_mm"], value["top_without_grid_mm"], "mm")
    return [Finding("snapping-costs-height", "ok", message, (), measure)]


def _open_ends(value: Value) -> list[Finding]:
    found = []
    for end, word, field in (("low_mm", "up", "at_least_mm"), ("high_mm", "down", "at_most_mm")):
        loose = [(k, level) for k, level in enumerate(value["levels"]) if end not in level]
        if loose:
            message = (
                f"Nothing holds {word}: {_named([level['title'] for _, level in loose])}. Add a "
                f"requirement or give {field}, else its window is open."
            )
            at = tuple(f"/levels/{k}" for k, _ in loose)
            code = "window-open-below" if word == "up" else "window-open-above"
            found.append(Finding(code, "watch", message, at))
    return found


def _settled(value: Value) -> list[Finding]:
    one = [
        level["title"]
        for level in value["levels"]
        if "low_mm" in level and level["low_mm"] == level.get("high_mm")
    ]
    if not one:
        return []
    message = (
        f"{len(one)} of {len(value['levels'])} levels can lie at one height only: {_named(one)}."
    )
    return [Finding("one-height-left", "ok", message, (), Measure(len(one)))]


def _shrunk(value: Value) -> list[Finding]:
    """How many windows the what-if pins narrow."""
    pairs = (("before_pins_low_mm", "low_mm"), ("before_pins_high_mm", "high_mm"))
    narrowed = [
        level["title"]
        for level in value["levels"]
        if any(level.get(before) != level.get(now) for before, now in pairs)
    ]
    if not any(before in level for level in value["levels"] for before, _ in pairs):
        return []
    message = f"With the pins the windows of {len(narrowed)} levels shrink"
    message += f": {_named(narrowed)}." if narrowed else "."
    return [Finding("pins-narrow", "ok", message, (), Measure(len(narrowed)))]


def proposal_findings(value: Value) -> list[Finding]:
    """Whether the heights the builder has in mind hold."""
    if "proposal" not in value:
        return []
    proposal = value["proposal"]
    titles = {level["id"]: level["title"] for level in value["levels"]}
    found = [
        Finding(
            "proposal-breaks",
            "stop",
            f"Your heights break “{item['title']}” by {millimetres(item['missing_mm'])}. Move one "
            "of its levels into its window.",
            (item["at"],),
            Measure(-item["missing_mm"], 0.0, "mm"),
        )
        for item in proposal["broken"][:_MOST]
    ]
    found += [
        Finding(
            "proposal-off-grid",
            "stop",
            f"Your height of “{titles[item['level']]}” lies on no plane of the grid. Take "
            f"{millimetres(item['plane_below_mm'])} or {millimetres(item['plane_above_mm'])}.",
            ("/proposal",),
        )
        for item in proposal["off_grid"][:_MOST]
    ]
    if found:
        return found
    message = f"Your heights hold: {proposal['checked_count']} requirements and limits checked."
    return [Finding("proposal-holds", "ok", message, ("/proposal",))]
