"""From levels and requirements as given to rows of whole nanometres, and back to words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .difference_constraints import NM_PER_MM, Grid, Ints, Mask, Rows
from .kinds import Distance, asked_words, distance_of, millimetres, title_of

FLOOR = "the hall floor"
#: Limits that a level carries itself.
LIMITS = ("pinned_mm", "at_least_mm", "at_most_mm")


@dataclass(frozen=True)
class Member:
    """One thing that must hold: a requirement, a level's own limit, or a what-if pin.

    `below` and `above` are nodes; 0 is the hall floor. `rigid`: an equality, without slack.
    """

    pointer: str
    title: str
    below: int
    above: int
    distance: Distance
    rigid: bool
    requirement: int | None = None
    limit: str = ""


@dataclass(frozen=True)
class Ladder:
    """All members, their rows, the grid, and which members are wishes or what-if pins."""

    inputs: Mapping[str, Any]
    members: Sequence[Member]
    rows: Rows
    grid: Grid
    wishes: Mask
    pins: Mask

    @property
    def module_mm(self) -> float:
        """The module; 0 without a grid."""
        return float(self.inputs["grid"]["module_mm"]) if "grid" in self.inputs else 0.0

    def title(self, node: int) -> str:
        """A node in words."""
        if node == 0:
            return FLOOR
        level = self.inputs["levels"][node - 1]
        return str(level.get("title", level["id"]))

    def asked(self, member: Member, lower: bool) -> str:
        """One end of what a member asks, in words."""
        if member.requirement is not None:
            requirement = self.inputs["requirements"][member.requirement]
            return asked_words(requirement, self.module_mm, lower)
        value = member.distance.least_mm if lower else member.distance.most_mm
        word = "exactly" if member.rigid else "at least" if lower else "at most"
        return f"{word} {millimetres(value or 0.0)}"

    def is_least(self, rows: Rows, row: int) -> bool:
        """Whether a row (of some of the ladder's rows) is the least end of its member."""
        return bool(rows.tail[row] == self.members[rows.member[row]].below)


def nanometres(value_mm: float) -> int:
    """Whole nanometres, the nearest."""
    return round(value_mm * NM_PER_MM)


def build(inputs: Mapping[str, Any]) -> Ladder:
    """The ladder of validated inputs."""
    levels = inputs["levels"]
    node = {level["id"]: k + 1 for k, level in enumerate(levels)}
    members = _members(inputs, node)
    wishes = np.array([_is_wish(inputs, member) for member in members], dtype=bool)
    pins = np.array([member.limit == "pin" for member in members], dtype=bool)
    return Ladder(inputs, members, _rows(members), _grid(inputs), wishes, pins)


def _is_wish(inputs: Mapping[str, Any], member: Member) -> bool:
    return member.requirement is not None and inputs["requirements"][member.requirement]["wish"]


def _members(inputs: Mapping[str, Any], node: Mapping[str, int]) -> list[Member]:
    module = float(inputs["grid"]["module_mm"]) if "grid" in inputs else 0.0
    found = []
    for k, item in enumerate(inputs["requirements"]):
        distance = distance_of(item, module)
        below = node[item["below"]] if "below" in item else 0
        rigid = distance.least_mm == distance.most_mm
        found.append(
            Member(
                f"/requirements/{k}",
                title_of(item),
                below,
                node[item["above"]],
                distance,
                rigid,
                requirement=k,
            )
        )
    for k, level in enumerate(inputs["levels"]):
        for key in LIMITS:
            if key in level:
                found.append(_limit(f"/levels/{k}/{key}", level, k + 1, key, level[key]))
    for k, pin in enumerate(inputs["pins"]):
        at = node[pin["level"]]
        level = inputs["levels"][at - 1]
        found.append(_limit(f"/pins/{k}", level, at, "pin", pin["at_mm"]))
    return found


def _limit(pointer: str, level: Mapping[str, Any], node: int, key: str, value: float) -> Member:
    distance = Distance(
        value if key != "at_most_mm" else None, value if key != "at_least_mm" else None
    )
    words = {
        "pinned_mm": "pinned",
        "pin": "pinned for a try",
        "at_least_mm": "no lower than given",
        "at_most_mm": "no higher than given",
    }
    name = level.get("title", level["id"])
    return Member(
        pointer, f"{name} {words[key]}", 0, node, distance, distance.least_mm == distance.most_mm,
        limit=key,
    )  # fmt: skip


def _rows(members: Sequence[Member]) -> Rows:
    tail, head, least, of, slackens = [], [], [], [], []
    for k, member in enumerate(members):
        ends = (
            (member.below, member.above, member.distance.least_mm, 1),
            (member.above, member.below, member.distance.most_mm, -1),
        )
        for start, end, value, sign in ends:
            if value is not None:
                tail.append(start)
                head.append(end)
                least.append(sign * nanometres(value))
                of.append(k)
                slackens.append(not member.rigid)
    return Rows(_ints(tail), _ints(head), _ints(least), _ints(of), np.array(slackens, dtype=bool))


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, dtype=np.int64)


def _grid(inputs: Mapping[str, Any]) -> Grid:
    levels = inputs["levels"]
    origin = np.zeros(len(levels) + 1, dtype=np.int64)
    snapped = np.ones(len(levels) + 1, dtype=bool)
    if "grid" not in inputs:
        return Grid(snapped, 1, origin)
    snapped[1:] = [level.get("snapped", True) for level in levels]
    first = inputs["grid"]["first_plane_mm"]
    for k, level in enumerate(levels):
        if snapped[k + 1]:
            origin[k + 1] = nanometres(first) + nanometres(level["offset_mm"])
    return Grid(snapped, nanometres(inputs["grid"]["module_mm"]), origin)
