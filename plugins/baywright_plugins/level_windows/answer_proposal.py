"""Heights the builder has in mind, held against the ladder."""

from typing import Any

import numpy as np

from .answer import is_snapped, mm
from .difference_constraints import NM_PER_MM, Ints
from .ladder import Ladder
from .most_slack import slack_of
from .study import Study

Value = dict[str, Any]


def proposal_out(study: Study) -> Value | None:
    """The heights the builder has in mind, held against everything kept; None without any."""
    ladder = study.ladder
    given = ladder.inputs["proposal"]
    if not given:
        return None
    node = {level["id"]: k + 1 for k, level in enumerate(ladder.inputs["levels"])}
    height = np.zeros(ladder.grid.count, dtype=np.int64)
    known = np.zeros(ladder.grid.count, dtype=bool)
    known[0] = True
    for item in given:
        height[node[item["level"]]] = round(item["at_mm"] * NM_PER_MM)
        known[node[item["level"]]] = True
    rows = study.rows
    checked = rows.only(known[rows.tail] & known[rows.head])
    slack = slack_of(checked, height)
    broken: dict[int, int] = {}
    for member, left in zip(checked.member, slack, strict=True):
        if left < 0:
            broken[int(member)] = min(int(left), broken.get(int(member), 0))
    off_grid = [_off_grid(ladder, node[item["level"]], height) for item in given]
    off = [out for out in off_grid if out is not None]
    out: Value = {
        "holds": not broken and not off,
        "checked_count": len(np.unique(checked.member)),
        "broken": [
            {
                "at": ladder.members[member].pointer,
                "title": ladder.members[member].title,
                "missing_mm": mm(-left),
            }
            for member, left in broken.items()
        ],
        "off_grid": off,
    }
    if checked.slackens.any():
        out["least_slack_mm"] = mm(slack[checked.slackens].min())
    return out


def _off_grid(ladder: Ladder, node: int, height: Ints) -> Value | None:
    if not is_snapped(ladder, node):
        return None
    origin, module = int(ladder.grid.origin_nm[node]), ladder.grid.module_nm
    over = (int(height[node]) - origin) % module
    if not over:
        return None
    below = int(height[node]) - over
    return {
        "level": ladder.inputs["levels"][node - 1]["id"],
        "plane_below_mm": mm(below),
        "plane_above_mm": mm(below + module),
    }
