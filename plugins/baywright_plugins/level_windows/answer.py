"""A ladder worked through, as the result that goes out."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from .difference_constraints import NM_PER_MM, NONE, OPEN
from .kinds import number, title_of
from .ladder import Ladder
from .most_slack import slack_of
from .study import Ends, Study, Window

Value = dict[str, Any]
_MOST_WAYS = 2**53 - 1


def mm(value_nm: int | np.int64) -> float:
    """Millimetres from whole nanometres."""
    return int(value_nm) / NM_PER_MM


def result_of(study: Study) -> Value:
    """Everything but conflicts and the proposal."""
    value: Value = {
        "holds": study.snapped is not None,
        "holds_without_grid": study.free is not None,
        "levels": levels_out(study),
        "requirements": requirements_out(study),
    }
    if study.snapped is None:
        return value
    _add_heights(value, study)
    value["order"] = order_out(study)
    if study.top is not None:
        value["lowest_top"] = chain_out(study, study.top, study.top.chain.lost_nm)
        _add_top(value, study, study.top)
    if study.bottom is not None:
        value["highest_bottom"] = chain_out(study, study.bottom, study.bottom.chain.lost_nm)
    wishes = study.ladder.inputs["requirements"]
    denied = {study.ladder.members[wish].requirement for wish in study.denied}
    value["wishes_kept"] = [w["id"] for k, w in enumerate(wishes) if w["wish"] and k not in denied]
    value["wishes_denied"] = [w["id"] for k, w in enumerate(wishes) if k in denied]
    return value


def _add_heights(value: Value, study: Study) -> None:
    placement = study.placement
    if placement is None:
        return
    rows = study.rows
    slack = slack_of(rows, placement.height_nm)[rows.slackens]
    owner = rows.member[rows.slackens]
    if slack.size:
        value["least_slack_mm"] = mm(slack.min())
        kept = np.full(len(study.ladder.members), placement.counted_to_nm)
        np.minimum.at(kept, owner, slack)
        value["total_slack_mm"] = mm(kept[np.unique(owner)].sum())
        value["slack_counted_to_mm"] = mm(placement.counted_to_nm)
    value["most_slack_proven"] = placement.proven
    value["method"] = _METHOD[study.ladder.inputs["objective"]]


_METHOD = {
    "most-slack": (
        "The smallest slack is made as large as it can be (difference constraints closed again "
        "and again while the slack is halved in), then the sum of slacks, each counted up to the "
        "limit (linear programme, whole numbers by branch and bound where free levels need it), "
        "then all heights as low as those slacks let them be."
    ),
    "lowest": "Every level at the lower end of its window: that is one solution.",
    "highest": "Every level at the upper end of its window: that is one solution.",
}


def levels_out(study: Study) -> list[Value]:
    """Each level with its windows and its height."""
    ladder, found = study.ladder, []
    for k, level in enumerate(ladder.inputs["levels"]):
        node = k + 1
        out: Value = {
            "id": level["id"],
            "title": title_of(level),
            "snapped": is_snapped(ladder, node),
            **_ends(study.snapped, node, "low_mm", "high_mm"),
            **_ends(study.free, node, "free_low_mm", "free_high_mm"),
            **_ends(study.before_pins, node, "before_pins_low_mm", "before_pins_high_mm"),
        }
        if {"low_mm", "free_low_mm"} <= set(out):
            out["loss_low_mm"] = mm(_low(study.snapped, node) - _low(study.free, node))
        if {"high_mm", "free_high_mm"} <= set(out):
            out["loss_high_mm"] = mm(_high(study.free, node) - _high(study.snapped, node))
        if out["snapped"] and {"low_mm", "high_mm"} <= set(out):
            between = _high(study.snapped, node) - _low(study.snapped, node)
            out["choices_count"] = between // ladder.grid.module_nm + 1
        if study.placement is not None:
            height = int(study.placement.height_nm[node])
            out["height_mm"] = mm(height)
            if out["snapped"]:
                planes = (height - int(ladder.grid.origin_nm[node])) // ladder.grid.module_nm
                out["plane_count"] = planes
        found.append(out)
    return found


def is_snapped(ladder: Ladder, node: int) -> bool:
    """Whether a level lies on the grid (there may be none)."""
    return "grid" in ladder.inputs and bool(ladder.grid.snapped[node])


def _low(window: Window | None, node: int) -> int:
    return int(window.low_nm[node]) if window is not None else 0


def _high(window: Window | None, node: int) -> int:
    return int(window.high_nm[node]) if window is not None else 0


def _ends(window: Window | None, node: int, low: str, high: str) -> Value:
    if window is None:
        return {}
    out: Value = {}
    if window.low_nm[node] > -OPEN:
        out[low] = mm(window.low_nm[node])
    if window.high_nm[node] < OPEN:
        out[high] = mm(window.high_nm[node])
    return out


def requirements_out(study: Study) -> list[Value]:
    """Each requirement with what it asks and what it keeps."""
    ladder, height, slack = study.ladder, None, np.zeros(0, dtype=np.int64)
    if study.placement is not None:
        height = study.placement.height_nm
        slack = np.full(len(ladder.members), -NONE)
        np.minimum.at(slack, ladder.rows.member, slack_of(ladder.rows, height))
    levels = ladder.inputs["levels"]
    top, bottom = _on_chain(study, study.top), _on_chain(study, study.bottom)
    found = []
    for k, member in enumerate(ladder.members):
        if member.requirement is None:
            continue
        out: Value = {
            "id": ladder.inputs["requirements"][member.requirement]["id"],
            "title": member.title,
            **({"below": levels[member.below - 1]["id"]} if member.below else {}),
            "above": levels[member.above - 1]["id"],
            "kept": bool(study.kept[k]) and study.snapped is not None,
            "sets_top": k in top,
            "sets_bottom": k in bottom,
        }
        for key, given in (("least_mm", member.distance.least_mm),
                           ("most_mm", member.distance.most_mm)):  # fmt: skip
            if given is not None:
                out[key] = given
        if height is not None:
            distance = int(height[member.above] - height[member.below])
            out["distance_mm"] = mm(distance)
            out["slack_mm"] = mm(slack[k])
        found.append(out)
    return found


def _on_chain(study: Study, ends: Ends | None) -> set[int]:
    if ends is None:
        return set()
    return {int(study.rows.member[row]) for row in ends.chain.rows}


def order_out(study: Study) -> list[Value]:
    """The sequence of decisions, each with its window at that moment."""
    ladder, found = study.ladder, []
    for turn, decision in enumerate(study.order):
        node = decision.node
        origin = int(ladder.grid.origin_nm[node])
        level = ladder.inputs["levels"][node - 1]
        out: Value = {"level": level["id"], "title": title_of(level)}
        if decision.low_nm is not None:
            out["low_mm"] = mm(decision.low_nm + origin)
        if decision.high_nm is not None:
            out["high_mm"] = mm(decision.high_nm + origin)
        if is_snapped(ladder, node) and {"low_mm", "high_mm"} <= set(out):
            width = (decision.high_nm or 0) - (decision.low_nm or 0)
            out["choices_count"] = width // ladder.grid.module_nm + 1
        out["height_mm"] = mm(decision.count_nm + origin)
        by = [ladder.inputs["levels"][other - 1] for other in decision.narrowed_by]
        out["narrowed_by"] = [level["id"] for level in by]
        out["low_set_by"] = _titles(study, decision.low_by)
        out["high_set_by"] = _titles(study, decision.high_by)
        out["reason"] = _reason(out, [title_of(level) for level in by], turn)
        found.append(out)
    return found


def _titles(study: Study, rows: Sequence[int]) -> list[str]:
    members = dict.fromkeys(int(study.rows.member[row]) for row in rows)
    return [study.ladder.members[member].title for member in members]


def _reason(out: Value, by: Sequence[str], turn: int) -> str:
    after = f" after {_listed(by[-3:])}" if by else ""
    if not {"low_mm", "high_mm"} <= set(out):
        return f"Its window is open{after}, so it can wait until all closed ones are decided."
    ends = (
        f"{_listed(out['low_set_by'][:3])} from below, {_listed(out['high_set_by'][:3])} from above"
    )
    width = out["high_mm"] - out["low_mm"]
    if width == 0:
        return f"Only one height is left{after}: {ends}."
    choices = out.get("choices_count")
    heights = f", {choices} heights of the grid" if choices else ""
    first = "The narrowest window" if turn == 0 else "The narrowest window of those left"
    return f"{first}{after}: {number(width)} mm{heights}; {ends}."


def _listed(words: Sequence[str]) -> str:
    quoted = [f"“{word}”" for word in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"


def _add_top(value: Value, study: Study, top: Ends) -> None:
    level = study.ladder.inputs["levels"][top.node - 1]
    value["top"] = level["id"]
    value["top_mm"] = mm(_low(study.snapped, top.node))
    value["top_without_grid_mm"] = mm(_low(study.free, top.node))
    value["loss_mm"] = mm(_low(study.snapped, top.node) - _low(study.free, top.node))


def chain_out(study: Study, ends: Ends, lost_nm: Sequence[int]) -> Value:
    """A chain that sets an end, with the loss at each step."""
    ladder, rows, chain = study.ladder, study.rows, ends.chain
    up = ends is study.top
    sign = 1 if up else -1
    lost = dict(zip(chain.rows, lost_nm, strict=True))
    window = study.snapped
    end = _low(window, ends.node) if up else _high(window, ends.node)
    level = ladder.inputs["levels"][ends.node - 1]
    steps = []
    for row, reached in zip(chain.rows, ends.reached_nm, strict=True):
        tail, head = int(rows.tail[row]), int(rows.head[row])
        start, goal = (tail, head) if up else (head, tail)
        member = ladder.members[rows.member[row]]
        steps.append(
            {
                "at": member.pointer,
                "title": member.title,
                "starts_at": ladder.title(start),
                "leads_to": ladder.title(goal),
                "end": "least" if ladder.is_least(rows, row) else "most",
                "asks": ladder.asked(member, ladder.is_least(rows, row)),
                "asked_mm": sign * mm(rows.least_nm[row]),
                "lost_mm": mm(lost[row]),
                "reached_mm": sign * mm(reached),
            }
        )
    out: Value = {
        "level": level["id"],
        "height_mm": mm(end),
        "lost_mm": mm(sum(lost[row] for row in chain.one_way)),
        "ways_count": min(chain.ways, _MOST_WAYS),
        "steps": steps,
        "one_way": [ladder.members[rows.member[row]].pointer for row in chain.one_way],
    }
    if ends.free is not None:
        free = _low(study.free, ends.node) if up else _high(study.free, ends.node)
        out["free_height_mm"] = mm(free)
        on_way = dict.fromkeys(int(rows.member[row]) for row in ends.free.rows)
        out["without_grid"] = [ladder.members[member].pointer for member in on_way]
    return out
