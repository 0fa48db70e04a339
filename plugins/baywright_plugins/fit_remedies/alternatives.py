"""What can be done without touching the grid: a leaf off, a part off, flush hubs outside."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from ..frame import Frame
from ..frame.grid import AXES
from ..grid_fit.changes import joined
from ..grid_fit.sections import SectionFacts, outer_hubs_count, overhangs_mm
from ..kit import Kit
from ..route_fit.passing import Crossing
from .journey import Journey, Size
from .state import Fare, State, protruding_mm

#: Single things looked at, those first that touch what sticks.
MOST_ACTIONS = 24
#: Of which up to three are looked at together where none does by itself.
MOST_TOGETHER = 10
#: Sets of them, and single ones, written out.
MOST_SETS, MOST_SINGLE = 6, 12
#: Obstacles looked at for all of them.
MOST_LOOKS = 4000

LEAF, PART, FLUSH = "leaf-off", "part-off", "flush-hubs"
_STALE = {
    LEAF: "the arrangement with the venue: it has to be asked for each time",
    PART: "setting-up time: the part goes on again at the venue",
    FLUSH: "stock and hub kinds: outer hubs need a blank side",
}


@dataclass(frozen=True)
class Action:
    """One thing to do; `place` is that of the passage or part, `axis` that of flush hubs."""

    kind: str
    message: str
    place: int = -1
    axis: str = ""


@dataclass(frozen=True)
class Setting:
    """Passages, parts and axes with flush hubs, as on the wire."""

    passages: tuple[Mapping[str, Any], ...]
    protrusions: tuple[Mapping[str, Any], ...]
    flush_axes: tuple[str, ...]

    def after(self, actions: Sequence[Action]) -> "Setting":
        """The setting once the actions are carried out."""
        off = {a.place for a in actions if a.kind == LEAF}
        gone = {a.place for a in actions if a.kind == PART}
        flush = {a.axis for a in actions if a.kind == FLUSH} | set(self.flush_axes)
        return Setting(
            tuple({**p, "leaf_off": True} if k in off else p for k, p in enumerate(self.passages)),
            tuple(
                {**p, "taken_off": True} if k in gone else p for k, p in enumerate(self.protrusions)
            ),
            tuple(axis for axis in AXES if axis in flush),
        )

    def patch(self, actions: Sequence[Action]) -> dict[str, Any]:
        """Merge patch on the inputs that carries the actions out."""
        new, kinds = self.after(actions), {action.kind for action in actions}
        patch: dict[str, Any] = {}
        if LEAF in kinds:
            patch["passages"] = list(new.passages)
        if PART in kinds:
            patch["protrusions"] = list(new.protrusions)
        if FLUSH in kinds:
            patch["flush_axes"] = list(new.flush_axes)
        return patch


@dataclass(frozen=True)
class Alternative:
    """Actions, and how the section fares that decides then."""

    actions: tuple[Action, ...]
    passes: bool
    section: str
    size_mm: Size
    crossing: Crossing
    sticking: int
    hubs_exchanged: int
    stale: tuple[str, ...]
    patch: Mapping[str, Any]


Route = Callable[[Sequence[Mapping[str, Any]]], Journey]


def alternatives(setting: Setting, state: State, kit: Kit, route: Route) -> list[Alternative]:
    """Each thing by itself, what serves first; where none does, the smallest sets that do.

    Args:
        route: the journey of passages as on the wire.
    """
    obstacles = route(setting.passages).obstacles
    tries = max(MOST_LOOKS // (len(state.fares) * obstacles), 3)
    actions = _actions(setting, state, kit)[: min(MOST_ACTIONS, tries)]
    single = [_tried((action,), setting, state, kit, route) for action in actions]
    single.sort(key=lambda one: (not one.passes, -one.crossing.spare_mm))
    found = single[:MOST_SINGLE]
    if any(one.passes for one in single):
        return found
    tries -= len(single)
    for count in (2, 3):
        together = list(combinations(actions[:MOST_TOGETHER], count))
        if len(together) > tries:
            break
        tries -= len(together)
        sets = [_tried(some, setting, state, kit, route) for some in together]
        serving = [one for one in sets if one.passes]
        if serving:
            return [*sorted(serving, key=lambda o: -o.crossing.spare_mm)[:MOST_SETS], *found]
    return found


def _actions(setting: Setting, state: State, kit: Kit) -> list[Action]:
    """What may help: at passages where something sticks, on sections that stick."""
    sticks = {c.passage for fare in state.fares for c in fare.crossings if not c.passes}
    stuck = [fare.section for fare in state.fares if not fare.passes]
    names = [fare.section for fare in state.fares]
    return [
        *_leaves(setting, sticks),
        *_parts(setting, stuck, names),
        *_flush(setting, kit),
    ]


def _leaves(setting: Setting, sticks: set[str]) -> Iterator[Action]:
    for place, stop in enumerate(setting.passages):
        if stop["id"] in sticks and "leaf_off_width_mm" in stop and not stop.get("leaf_off"):
            title = stop.get("title") or stop["id"]
            yield Action(
                LEAF,
                f"Ask for the door leaf at {title} to be taken off "
                f"({stop['leaf_off_width_mm']:g} mm clear).",
                place,
            )


def _parts(setting: Setting, stuck: Sequence[str], names: Sequence[str]) -> Iterator[Action]:
    for place, part in enumerate(setting.protrusions):
        owners = part.get("sections", names)
        removable = part.get("removable", True) and not part.get("taken_off", False)
        if removable and set(owners) & set(stuck):
            title = part.get("title", "protruding part")
            words = f"Take the {title} off {joined(owners)} for carrying."
            yield Action(PART, words, place, part["side"][0])


def _flush(setting: Setting, kit: Kit) -> Iterator[Action]:
    for axis in AXES:
        reach = overhangs_mm(kit, [axis])[axis]
        if axis not in setting.flush_axes and reach < overhangs_mm(kit, [])[axis]:
            side = {"x": "width", "y": "depth", "z": "height"}[axis]
            words = f"Use flush hubs, {reach:g} mm deep, on both outer faces across the {side}."
            yield Action(FLUSH, words, axis=axis)


def _tried(
    actions: Sequence[Action], setting: Setting, state: State, kit: Kit, route: Route
) -> Alternative:
    new = setting.after(actions)
    journey = route(new.passages)
    sizes = {
        one.id: size
        for one, size in zip(state.sections, _sizes(state.sections, new, kit), strict=True)
    }
    fares = [
        Fare(name, journey.crossings(size), journey.tightest(size)) for name, size in sizes.items()
    ]
    worst = min(fares, key=lambda fare: (fare.passes, fare.tightest.spare_mm))
    return Alternative(
        actions=tuple(actions),
        passes=worst.passes,
        section=worst.section,
        size_mm=sizes[worst.section],
        crossing=worst.tightest,
        sticking=sum(not fare.passes for fare in fares),
        hubs_exchanged=_hubs_exchanged(state.frame, actions),
        stale=tuple(_STALE[kind] for kind in dict.fromkeys(a.kind for a in actions)),
        patch=setting.patch(actions),
    )


def _hubs_exchanged(frame: Frame, actions: Sequence[Action]) -> int:
    return sum(outer_hubs_count(frame, a.axis) for a in actions if a.kind == FLUSH)


def _sizes(sections: Sequence[SectionFacts], setting: Setting, kit: Kit) -> Iterator[Size]:
    hubs = overhangs_mm(kit, setting.flush_axes)
    out = protruding_mm(setting.protrusions, [one.id for one in sections])
    for one in sections:
        x, y, z = (
            one.centreline_mm[axis]
            + 2 * hubs[axis]
            + out.get((one.id, f"{axis}-minus"), 0.0)
            + out.get((one.id, f"{axis}-plus"), 0.0)
            for axis in AXES
        )
        yield x, y, z
