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
from .hub_planes import locking_planes
from .joint_answers import JointAnswer
from .mend import NoFace, with_diagonals
from .places import grid_pair, joined_pairs, missing_diagonals
from .two_part import AXES, HubRule, HubState, NoSuchHub, OneHub, hub_state

Rerun = Callable[[Mapping[str, Any]], Result | None]
Json = dict[str, Any]
Place = tuple[int, int, int]

#: More diagonals than this are not proposed for the sake of hubs.
MOST_DIAGONALS = 80

#: The remedy of seats that slip while hubs are loose: bracing comes after.
LOCK_FIRST = Remedy("Lock the two-part hubs that slide apart first, then see what still slips.")


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
    loose: open ends turned about, the other half moving, both, each hub by itself, crosses on the
    faces of loose hubs, hubs in one piece in their place.
    The patch only where a run of it shows that number."""
    rule, part = answer.prepared.model.options.hubs, answer.prepared.model.part
    assert rule is not None and found.hubs is not None
    now = int((~found.hubs.state.held).sum())
    minded, in_one_piece = _hub_by_hub(answer, part, rule, inputs)
    ideas = [
        *_other_ways(part, rule),
        *minded,
        *_crosses(answer, part, rule, found.hubs, inputs, kit),
        *in_one_piece,
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


def _hub_by_hub(
    answer: SectionAnswer, part: Frame, rule: HubRule, inputs: Mapping[str, Any]
) -> tuple[list[_Idea], list[_Idea]]:
    """Each hub put in so that its moving half lies in the plane of a diagonal that locks it; and
    the same with hubs in one piece wherever one stays loose."""
    first = replace(rule, rule="alternate", moving="first")
    start = _state(part, first)
    if start is None:
        return [], []
    planes = locking_planes(part, start.hubs)
    turned = np.flatnonzero(start.hubs.two_part & (planes != start.hubs.moving))
    name = part.sections[0].id
    chosen = {
        place: OneHub(-1, name, place, plane=int(planes[node]))
        for node in turned.tolist()
        for place in [_at(part, node)]
    } | {one.at: one for one in rule.nodes if one.section == name}
    others = tuple(one for one in rule.nodes if one.section != name)
    after = _state(part, replace(first, nodes=(*others, *chosen.values())))
    if after is None:
        return [], []
    where = "Mind which half moves: the one in the first plane that holds the axis"
    message = f"{where}, but at {len(turned)} hubs, as listed, the other"
    loose = int((~after.state.held).sum())
    minded = _Idea(loose, message, _listed(answer, chosen, inputs))
    solid = 0
    for _ in range(20):
        if after is None or rule.one_piece.two_part:
            return [minded], []
        free = np.flatnonzero(~after.state.held)
        if not len(free):
            break
        solid += len(free)
        places = [_at(part, node) for node in free.tolist()]
        chosen |= {place: OneHub(-1, name, place, one_piece=True) for place in places}
        after = _state(part, replace(first, nodes=(*others, *chosen.values())))
    if after is None:
        return [minded], []
    message = f"{message}, and put hubs in one piece ({rule.one_piece.id}) at {solid} places"
    left = int((~after.state.held).sum())
    return [minded], [_Idea(left, message, _listed(answer, chosen, inputs))]


def _at(part: Frame, node: int) -> Place:
    i, j, k = part.lattice[node].tolist()
    return int(i), int(j), int(k)


def _listed(
    answer: SectionAnswer, chosen: Mapping[Place, OneHub], inputs: Mapping[str, Any]
) -> Json:
    """The patch that puts these hubs in, in the section and its twins."""
    rows: list[Json] = []
    for place, one in chosen.items():
        row: Json = {"at": list(place)}
        if one.opens:
            row["opens"] = "+" if one.opens > 0 else "-"
        if one.plane >= 0:
            row["plane"] = AXES[one.plane]
        if one.one_piece:
            row["one_piece"] = True
        rows.append(row)
    names = (answer.prepared.id, *answer.twins)
    change: Json = {"nodes": dict.fromkeys(names, rows)}
    for name, value in (("rule", "alternate"), ("moving", "first")):
        if inputs["two_part_hubs"][name] != value:
            change[name] = value
    return {"two_part_hubs": change}


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
