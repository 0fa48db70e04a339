"""How loose two-part hubs would be locked: open ends turned, the other half moving, crosses."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from baywright_service.contract import Remedy, Result

from ..frame import Frame
from ..frame.two_part_hubs import SlideUndecided
from ..kit import Kit
from .findings import joined
from .frame_check import SectionAnswer
from .joint_answers import JointAnswer
from .mend import NoFace, with_diagonals
from .places import grid_pair, joined_pairs, missing_diagonals
from .two_part import HubRule, HubState, NoSuchHub, hub_state

Rerun = Callable[[Mapping[str, Any]], Result | None]
Json = dict[str, Any]

#: More diagonals than this are not proposed for the sake of hubs.
MOST_DIAGONALS = 80


@dataclass(frozen=True)
class _Idea:
    """loose: hubs that still slide apart; patch on the inputs; message without its number."""

    loose: int
    message: str
    patch: Json


def lock_hubs(
    answer: SectionAnswer, found: JointAnswer, inputs: Mapping[str, Any], kit: Kit, rerun: Rerun
) -> Remedy | None:
    """The first of these that locks every hub of the section, or the one that leaves the fewest
    loose: open ends turned about, the other half moving, both, crosses on the faces of loose hubs.
    The patch only where a run of it shows that number."""
    rule, part = answer.prepared.model.options.hubs, answer.prepared.model.part
    assert rule is not None and found.hubs is not None
    now = int((~found.hubs.state.held).sum())
    ideas = [
        *_other_ways(part, rule),
        *_crosses(answer, part, rule, found.hubs, inputs, kit),
    ]
    ideas = [idea for idea in ideas if idea.loose < now]
    if not ideas:
        return None
    best = next((idea for idea in ideas if idea.loose == 0), min(ideas, key=lambda i: i.loose))
    proof = rerun(
        {**best.patch, "sections": [answer.prepared.id], "analyses": ["linear"],
         "seek_remedies": False, "picture": None}
    )  # fmt: skip
    shows = (
        proof is not None
        and proof.value["sections"][0]["two_part_hubs"]["loose_count"] == best.loose
    )
    left = "all are locked then" if best.loose == 0 else f"{best.loose} stay loose"
    return Remedy(f"{best.message}: {left}.", best.patch if shows else None)


def _other_ways(part: Frame, rule: HubRule) -> list[_Idea]:
    """Ideas that need no part: the same hubs put in otherwise."""
    words = {
        "alternate": "let open ends face opposite ways from row to row",
        "first": "mind which half moves: the one in the first plane that holds the axis",
        "second": "mind which half moves: the one in the second plane that holds the axis",
    }
    ideas = []
    for patch in (
        {"rule": "alternate"},
        {"moving": "first"},
        {"moving": "second"},
        {"rule": "alternate", "moving": "first"},
        {"rule": "alternate", "moving": "second"},
    ):
        if all(getattr(rule, name) == value for name, value in patch.items()):
            continue
        state = _state(part, replace(rule, **patch))  # type: ignore[arg-type]
        if state is not None:
            loose = int((~state.state.held).sum())
            said = joined([words[value] for value in patch.values()])
            words_then = said[0].upper() + said[1:]
            ideas.append(_Idea(loose, words_then, {"two_part_hubs": patch}))
    return ideas


def _crosses(
    answer: SectionAnswer,
    part: Frame,
    rule: HubRule,
    state: HubState,
    inputs: Mapping[str, Any],
    kit: Kit,
) -> list[_Idea]:
    """Missing diagonals of the faces at loose hubs that hold the sliding axis of each corner."""
    there = joined_pairs(part)
    pairs: list[tuple[int, int]] = []
    for face in part.faces:
        corners = np.array(face.corners)
        across = state.hubs.axis[corners] == face.normal
        loose = ~state.state.held[corners]
        if not loose.any() or across.any():
            continue
        useful = state.hubs.moving[corners[loose]] == face.normal
        if rule.moving == "either" or useful.any():
            pairs += missing_diagonals(part, face, there)
    pairs = sorted(set(pairs))
    if not pairs or len(pairs) > MOST_DIAGONALS:
        return []
    try:
        braced = with_diagonals(part, pairs, kit)
    except NoFace:
        return []
    after = _state(braced, rule)
    if after is None:
        return []
    given = inputs["added_diagonals"]
    new = [grid_pair(part, pair) for pair in pairs]
    patch = {
        "added_diagonals": {
            name: [*_plain(given.get(name, ())), *new]
            for name in (answer.prepared.id, *answer.twins)
        }
    }
    of = " to each of its twins too" if answer.twins else ""
    message = f"Cross {len(pairs)} more faces or bays at the loose hubs, as listed{of}"
    return [_Idea(int((~after.state.held).sum()), message, patch)]


def _plain(pairs: Sequence[Any]) -> list[list[list[int]]]:
    return [[[int(x) for x in end] for end in pair] for pair in pairs]


def _state(part: Frame, rule: HubRule) -> HubState | None:
    try:
        return hub_state(part, rule)
    except (NoSuchHub, SlideUndecided):
        return None
