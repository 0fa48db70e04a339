"""Which hubs of a section are two-part, how they are put in, and what their seats then take."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..frame import Frame
from ..frame.two_part_hubs import (
    NoSuchSlide,
    Slides,
    TwoPartHubs,
    seat_tension_n,
    slides,
    sliding_axes,
    two_part_hubs,
)
from ..kit import Hub, Kit
from .equilibrium import Bools, Floats

AXES = "xyz"
MOVING = ("first", "second", "either")


@dataclass(frozen=True)
class OneHub:
    """A hub put in otherwise than the rule says. row: its place among its section's; opens: +1,
    -1, or 0 for the rule; plane: normal 0, 1, 2 of the moving half's plane, -1 for the rule."""

    row: int
    section: str
    at: tuple[int, int, int]
    opens: int = 0
    plane: int = -1
    one_piece: bool = False


@dataclass(frozen=True)
class HubRule:
    """How two-part hubs are put in; axis -1: any axis without a diagonal across it."""

    hub: Hub
    one_piece: Hub
    axis: int = -1
    rule: str = "alternate"
    moving: str = "either"
    nodes: tuple[OneHub, ...] = ()


@dataclass(frozen=True)
class HubState:
    """hubs as put in, state with held (n,), and turnable (n,): loose hubs that would be locked
    were every hub turned about its axis."""

    hubs: TwoPartHubs
    state: Slides
    turnable: Bools


class NoSuchHub(ValueError):
    """An entry of `nodes` that does not fit: its section and place there, -1 for the rule."""

    def __init__(self, row: int, reason: str, section: str = "") -> None:
        super().__init__(reason)
        self.row, self.reason, self.section = row, reason, section


def hub_rule(given: Mapping[str, Any], kit: Kit) -> HubRule:
    """The rule that validated inputs state. Raises NoSuchHub for a hub that is not two-part."""
    two_part = [hub for hub in kit.hubs if hub.two_part]
    if "hub" in given:
        two_part = [hub for hub in two_part if hub.id == given["hub"]]
    if not two_part:
        raise NoSuchHub(-1, "The kit has no such two-part hub.")
    solid = [hub for hub in kit.hubs if not hub.two_part and hub.role == "frame"]
    rows = tuple(
        OneHub(
            row,
            section,
            (int(one["at"][0]), int(one["at"][1]), int(one["at"][2])),
            {"+": 1, "-": -1}.get(one.get("opens", ""), 0),
            AXES.find(one["plane"]) if "plane" in one else -1,
            one["one_piece"],
        )
        for section, rows in given["nodes"].items()
        for row, one in enumerate(rows)
    )
    axis = AXES.find(given["axis"]) if "axis" in given else -1
    return HubRule(
        two_part[0], solid[0] if solid else two_part[0], axis, given["rule"], given["moving"], rows
    )


def hub_state(part: Frame, rule: HubRule) -> HubState:
    """Two-part hubs of a section (a frame of one section on a grid), locked or loose.

    With `either` a hub counts as locked only where it is locked whichever of its halves moves.

    Raises NoSuchHub, `frame.two_part_hubs.SlideUndecided`.
    """
    try:
        axis = _axes(part, rule)
    except NoSuchSlide as fault:
        raise NoSuchHub(-1, fault.reason) from fault
    ways: dict[int, int] = {}
    planes: dict[int, int] = {}
    rows: dict[int, int] = {}
    for one in rule.nodes:
        if one.section != part.sections[0].id:
            continue
        node = part.node_at(0, one.at)
        if node is None:
            reason = f"There is no hub at {list(one.at)} in this section."
            raise NoSuchHub(one.row, reason, one.section)
        rows[node] = one.row
        if one.one_piece:
            axis[node] = -1
            continue
        if one.opens:
            ways[node] = one.opens
        if one.plane >= 0:
            planes[node] = one.plane
    moving = "first" if rule.moving == "either" else rule.moving
    try:
        hubs = two_part_hubs(
            part, axis, rule=rule.rule, moving=moving, explicit_ways=ways, explicit_moving=planes
        )
    except NoSuchSlide as fault:
        row = rows.get(fault.node, -1)
        raise NoSuchHub(row, fault.reason, part.sections[0].id) from fault
    state = slides(part, hubs)
    other = np.where(hubs.two_part, 3 - hubs.axis - hubs.moving, -1)
    as_given, turned = state.held, slides(part, replace(hubs, moving=other)).held
    held = as_given & turned if rule.moving == "either" else as_given
    slide = np.where(held, 0.0, np.where(state.slide > 0, state.slide, 1.0))
    return HubState(hubs, Slides(held, slide), ~held & (as_given | turned))


def _axes(part: Frame, rule: HubRule) -> Any:
    if rule.axis < 0:
        return sliding_axes(part)
    first = [rule.axis, *(k for k in range(3) if k != rule.axis)]
    axis = sliding_axes(part, prefer=(first[0], first[1], first[2]))
    return np.where(axis == rule.axis, axis, -1)


def seat_tensions_n(part: Frame, rule: HubRule, state: HubState) -> Floats:
    """What each member takes in tension, its weaker end, shape (m,)."""
    both = seat_tension_n(part, state.state.held, state.hubs.two_part, rule.hub, rule.one_piece)
    return np.asarray(both.min(axis=1))
