"""Conflicts in the builder's words: who takes part, what is missing, how far each must give."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from .answer import mm
from .conflicts import Conflict, give_needed, reached
from .difference_constraints import Mask, Rows, holds
from .kinds import millimetres
from .ladder import FLOOR, Ladder
from .study import Study

Value = dict[str, Any]
#: Work of "how far must it give, alone", shared by all conflicts of an answer.
_GIVE_WORK = 150_000_000
_NAMED = 12


def conflicts_out(study: Study) -> list[Value]:
    """Conflicts in what must hold, then those that deny wishes."""
    ladder = study.ladder
    found: list[tuple[Conflict, Mask, int | None]] = [
        (conflict, study.kept, None) for conflict in study.conflicts
    ]
    for denied in study.reasons:
        beside = study.kept.copy()
        beside[denied.member] = True
        found.append((denied.conflict, beside, denied.member))
    tries = max(1, _GIVE_WORK // (ladder.grid.count**3 * max(len(found), 1)))
    return [conflict_out(ladder, conflict, mask, wish, tries) for conflict, mask, wish in found]


def conflict_out(
    ladder: Ladder, conflict: Conflict, mask: Mask, wish: int | None, tries: int
) -> Value:
    """One conflict; for the first `tries` members how far they must give."""
    rows, grid = ladder.rows, ladder.grid
    steps = reached(conflict.walk, rows, grid)
    gives = _gives(ladder, conflict, mask, tries)
    members = []
    for k, row in enumerate(conflict.walk):
        plain, rounded = steps[k]
        last = k == len(conflict.walk) - 1
        member = ladder.members[rows.member[row]]
        out: Value = {
            "at": member.pointer,
            "title": member.title,
            "starts_at": ladder.title(int(rows.tail[row])),
            "leads_to": ladder.title(int(rows.head[row])),
            "end": "least" if ladder.is_least(rows, row) else "most",
            "asks": ladder.asked(member, ladder.is_least(rows, row)),
            "asked_mm": mm(rows.least_nm[row]),
            "lost_mm": 0.0 if last else mm(rounded - plain),
            "reached_mm": mm(plain if last else rounded),
            **gives.get(int(rows.member[row]), {}),
        }
        members.append(out)
    own = rows.of(np.isin(np.arange(len(ladder.members)), conflict.members))
    value: Value = {
        "words": "",
        "missing_mm": mm(conflict.missing_nm),
        "members_count": len(conflict.members),
        "starts_at": ladder.title(int(rows.tail[conflict.walk[0]])),
        "members": members,
        "smallest": conflict.smallest,
        "because_of_grid": holds(own, grid.off()),
        "remedies": [],
    }
    if wish is not None:
        requirement = ladder.members[wish].requirement
        value["wish"] = ladder.inputs["requirements"][requirement]["id"]
    value["words"] = words_of(value, members, ladder.module_mm)
    return value


def _gives(ladder: Ladder, conflict: Conflict, mask: Mask, tries: int) -> dict[int, Value]:
    rows, grid = ladder.rows, ladder.grid
    found: dict[int, Value] = {}
    alone = np.isin(np.arange(len(ladder.members)), conflict.members)
    for member in conflict.members[:tries]:
        give = give_needed(member, *_within(conflict, rows, mask), grid)
        cures_all = give is not None
        if give is None:
            give = give_needed(member, *_within(conflict, rows, alone), grid)
        if give is not None:
            found[member] = {"give_mm": mm(give), "cures_all": cures_all}
    return found


def _within(conflict: Conflict, rows: Rows, mask: Mask) -> tuple[Conflict, Rows]:
    """The conflict with its walk in places of only those members' rows, and these rows."""
    places = np.flatnonzero(mask[rows.member])
    walk = tuple(int(k) for k in np.searchsorted(places, conflict.walk))
    local = Conflict(walk, conflict.members, conflict.missing_nm, conflict.smallest)
    return local, rows.of(mask)


def words_of(value: Value, members: Sequence[Value], module_mm: float) -> str:
    """A conflict in one or two sentences."""
    named = list(dict.fromkeys(f"“{m['title']}” ({m['asks']})" for m in members))
    more = f" and {len(named) - _NAMED} more" if len(named) > _NAMED else ""
    named = named[:_NAMED]
    grid = ""
    if value["because_of_grid"]:
        lost = sum(member["lost_mm"] for member in members)
        grid = f" Without the grid they would: rounding to its planes takes {millimetres(lost)}."
    if value["members_count"] == 1:
        return _between_planes(members, module_mm)
    listed = "; ".join(named)
    together = f"These {value['members_count']} cannot hold together: {listed}{more}. "
    return together + _last_step(value, members) + grid


def _between_planes(members: Sequence[Value], module_mm: float) -> str:
    """One range, with no whole module in it."""
    asks = " and ".join(dict.fromkeys(member["asks"] for member in members))
    above = members[0]["reached_mm"]
    return (
        f"“{members[0]['title']}” ({asks}) lies between two planes of the grid: it can be "
        f"{millimetres(above - module_mm)} or {millimetres(above)}."
    )


def _last_step(value: Value, members: Sequence[Value]) -> str:
    """What the others force at the last one, what that allows, and the difference."""
    last, missing = members[-1], millimetres(value["missing_mm"])
    above = "" if value["starts_at"] == FLOOR else f" above “{value['starts_at']}”"
    forced = millimetres(members[-2]["reached_mm"])
    if last["end"] == "most":
        return (
            f"The others put “{last['starts_at']}” at {forced}{above} or more; “{last['title']}” "
            f"allows {millimetres(-last['asked_mm'])}: {missing} are missing."
        )
    return (
        f"One after the other they put “{last['starts_at']}” at {forced}{above} or more, and "
        f"“{last['title']}” then asks for {missing} more than there are."
    )
