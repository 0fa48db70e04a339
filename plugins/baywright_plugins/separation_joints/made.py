"""From validated inputs to the machine: cuts made, frame built, joints read off it."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from baywright_service.contract import CannotCalculate, Fault, Inputs, InvalidInputs

from ..frame import Frame, frame_of
from ..frame.grid import AXES
from ..grid_fit.sections import rods_along
from ..kit import Kit
from .across_the_gap import seat_in
from .couplings import Coupling, layout_coupling, member_couplings
from .cut_layout import Cut, NoCut, cut_layout, piece_names
from .effort import MOST_BAYS, MOST_CELLS, MOST_HUBS, work_of
from .standing_alone import Alone, Undecided, stand_alone

Json = dict[str, Any]
Load = Callable[[Mapping[str, Any]], Inputs]

#: Hubs closer than this have no rod between them.
LEAST_MM = 1.0


@dataclass(frozen=True)
class Made:
    """A machine: `layout` as on the wire with its cuts made (None for explicit frames),
    `cut_from` the section that each piece was cut from, `joint_cuts` the cut that made each joint
    (None for those that were there), `dropped` the joints, in words, of pieces that no longer face
    their neighbour."""

    kit: Kit
    frame: Frame
    layout: Json | None
    joints: tuple[Coupling, ...]
    joint_cuts: tuple[int | None, ...]
    cut_from: Mapping[str, str]
    alone: tuple[Alone, ...]
    dropped: tuple[str, ...] = ()

    @property
    def work(self) -> float:
        """What one run on it takes, as in `effort`."""
        kinds = [one for one in self.alone if one.like == one.number]
        return sum(work_of(len(one.nodes), one.held.mechanisms) for one in kinds)

    def id(self, section: int) -> str:
        return self.frame.sections[section].id

    def joint_name(self, joint: int) -> str:
        one = self.joints[joint]
        return f"{self.id(one.first)}–{self.id(one.second)}"


def made(inputs: Inputs, load: Load) -> Made:
    """The machine that inputs describe.

    Raises InvalidInputs and CannotCalculate with their pointers.
    """
    kit = Kit.from_inputs(inputs["kit"])
    if "layout" not in inputs["frame"]:
        return _explicit(inputs, kit)
    _check_size(inputs["frame"]["layout"])
    frame = frame_of(inputs["frame"], kit)
    raw: Json = dict(inputs.raw["frame"]["layout"])
    cut = _Cut(raw, {}, (None,) * len(raw.get("joints", ())), ())
    dropped: list[str] = []
    if inputs["cuts"]:
        frame, cut, dropped = _cut_frame(inputs, _with_cuts(inputs, raw, kit), kit, load)
        raw = cut.layout
    joints = _layout_joints(frame, raw, kit)
    for place, joint in enumerate(joints):
        pointer = f"/frame/layout/joints/{place}"
        if cut.joint_cuts[place] is not None:
            pointer = f"/cuts/{cut.joint_cuts[place]}"
        _check_gap(joint, pointer)
    joints = _with_diagonals(inputs, frame, kit, joints)
    alone = _alone(frame, kit, inputs)
    return Made(kit, frame, raw, tuple(joints), cut.joint_cuts, cut.origin, alone, tuple(dropped))


def _explicit(inputs: Inputs, kit: Kit) -> Made:
    for field in ("cuts", "look_for_cuts", "joint_diagonals"):
        if inputs[field]:
            reason = "Only a frame given as a layout can be cut or gain rods across its gaps."
            raise CannotCalculate(f"/{field}", reason)
    frame = _by_hubs(frame_of(inputs["frame"], kit))
    if len(frame.nodes_mm) > MOST_HUBS:
        reason = f"More than {MOST_HUBS} hubs: give it as a layout, or some of its sections."
        raise CannotCalculate("/frame/nodes_mm", reason)
    short = np.flatnonzero(frame.length_mm < LEAST_MM)
    if len(short):
        reason = f"The two ends of this member are less than {LEAST_MM:g} mm apart."
        raise CannotCalculate(f"/frame/members/end/{short[0]}", reason)
    joints = member_couplings(frame)
    for joint in joints:
        _check_gap(joint, "/frame/members")
    alone = _alone(frame, kit, inputs)
    return Made(kit, frame, None, tuple(joints), (None,) * len(joints), {}, alone)


def _by_hubs(frame: Frame) -> Frame:
    """The frame with each rod in the section of its two hubs, none if they differ, and without
    sections that have no hub of their own (such as one named for the rods of the joints)."""
    kept, place = np.unique(frame.node_section, return_inverse=True)
    same = place[frame.start] == place[frame.end]
    return replace(
        frame,
        node_section=place.astype(np.int64),
        section=np.where(same, place[frame.start], -1),
        sections=tuple(frame.sections[k] for k in kept.tolist()),
    )


def _alone(frame: Frame, kit: Kit, inputs: Inputs) -> tuple[Alone, ...]:
    explicit = "layout" not in inputs["frame"]
    try:
        return tuple(stand_alone(frame, kit))
    except Undecided as undecided:
        name = frame.sections[undecided.section].id
        pointer = "/frame/members/section" if explicit else "/frame/layout/sections"
        if explicit and "section" not in inputs["frame"]["members"]:
            pointer = "/frame"
        reason = f"Whether section {name} is rigid cannot be told: {undecided.reason}."
        raise CannotCalculate(pointer, reason) from undecided


def _check_size(layout: Mapping[str, Any]) -> None:
    bays = cells = 0
    for spec in layout["sections"]:
        counts = [len(rods_along(spec, axis)) for axis in AXES]
        cells += math.prod(counts)
        bays += sum(b["bays"] for b in spec["beams"]) if "beams" in spec else 4 * sum(counts)
    if bays > MOST_BAYS or cells > MOST_CELLS:
        reason = (
            f"The machine has up to {bays} bays on grids of {cells} cells; at most {MOST_BAYS} on "
            f"{MOST_CELLS} are worked out. Ask for some of its sections."
        )
        raise CannotCalculate("/frame/layout/sections", reason)


def _check_gap(joint: Coupling, pointer: str) -> None:
    if not LEAST_MM <= joint.gap_mm < math.inf:
        reason = (
            f"The hubs of the two sections are {joint.gap_mm:g} mm apart along the joint's axis: "
            "no rod fits between. Move one section."
        )
        raise CannotCalculate(pointer, reason)


def _layout_joints(frame: Frame, raw: Mapping[str, Any], kit: Kit) -> list[Coupling]:
    number = {section.id: k for k, section in enumerate(frame.sections)}
    found = []
    for place, joint in enumerate(raw.get("joints", ())):
        first, second = (number[name] for name in joint["between"])
        if first == second:
            fault = Fault("not-unique", "A joint couples two different sections.")
            raise InvalidInputs([(f"/frame/layout/joints/{place}/between/1", fault)])
        axis = AXES.index(joint.get("axis", "x"))
        found.append(layout_coupling(frame, first, second, axis, kit.rod_index[joint["rod"]]))
    return found


@dataclass(frozen=True)
class _Cut:
    """A layout with its cuts made: where pieces come from, and for each joint the cut that made it
    and the joint of the layout as given that it was."""

    layout: Json
    origin: Mapping[str, str]
    joint_cuts: tuple[int | None, ...]
    source: tuple[int | None, ...]

    def without(self, joint: int) -> "_Cut":
        def rest(items: Sequence[Any]) -> tuple[Any, ...]:
            return (*items[:joint], *items[joint + 1 :])

        layout = {**self.layout, "joints": list(rest(self.layout["joints"]))}
        return _Cut(layout, self.origin, rest(self.joint_cuts), rest(self.source))


def _with_cuts(inputs: Inputs, raw: Json, kit: Kit) -> _Cut:
    """The layout with its cuts made one after the other."""
    count = len(raw.get("joints", ()))
    now = _Cut(raw, {}, (None,) * count, tuple(range(count)))
    pieces: dict[str, list[tuple[str, int, int]]] = {}
    axes: dict[str, str] = {}
    for place, asked in enumerate(inputs["cuts"]):
        name = asked["section"]
        spec = _asked_section(inputs, name, f"/cuts/{place}/section")
        if axes.setdefault(name, asked["axis"]) != asked["axis"]:
            detail = f"{name} is cut across {axes[name]} already; cut it across one axis only."
            raise _fault(f"/cuts/{place}/axis", "out-of-range", detail)
        if asked["rod"] not in kit.rod_index:
            detail = f"The kit has no rod {asked['rod']}."
            raise _fault(f"/cuts/{place}/rod", "unknown-reference", detail)
        mine = pieces.setdefault(name, [(name, 0, len(rods_along(spec, asked["axis"])))])
        bay = asked["after_bay"]
        which = next((k for k, (_, low, high) in enumerate(mine) if low < bay < high), None)
        if which is None:
            detail = f"{name} has {mine[-1][2]} bays along {asked['axis']}, and one cut at a place."
            raise _fault(f"/cuts/{place}/after_bay", "out-of-range", detail)
        old, low, high = mine[which]
        taken = [section["id"] for section in now.layout["sections"]]
        try:
            names = piece_names(old, taken)
            cut = Cut(
                old, AXES.index(asked["axis"]), bay - low, asked["rod"], asked["ends"] == "closed"
            )
            pitch = kit.rods[kit.rod_index[asked["rod"]]].pitch_mm
            parted = cut_layout(now.layout, cut, names, pitch)
        except NoCut as no:
            raise CannotCalculate(f"/cuts/{place}/{no.field}", no.reason) from no
        mine[which : which + 1] = [(names[0], low, bay), (names[1], bay, high)]
        origin = {k: v for k, v in now.origin.items() if k != old} | dict.fromkeys(names, name)
        now = _Cut(
            parted.layout,
            origin,
            tuple(place if k is None else now.joint_cuts[k] for k in parted.source),
            tuple(None if k is None else now.source[k] for k in parted.source),
        )
    return now


def _asked_section(inputs: Inputs, name: str, pointer: str) -> Mapping[str, Any]:
    specs = {spec["id"]: spec for spec in inputs["frame"]["layout"]["sections"]}
    if name not in specs:
        raise _fault(pointer, "unknown-reference", f"There is no section {name}.")
    found: Mapping[str, Any] = specs[name]
    return found


def _cut_frame(inputs: Inputs, cut: _Cut, kit: Kit, load: Load) -> tuple[Frame, _Cut, list[str]]:
    """The frame of a layout with its cuts, less the joints of pieces that no longer face each other
    where other pieces of theirs still do; and those that leave a piece without a partner."""
    dropped: list[tuple[int, list[str]]] = []
    while True:
        try:
            layout = load({"kit": inputs.raw["kit"], "frame": {"layout": cut.layout}})["frame"]
            _check_size(layout["layout"])
            return frame_of(layout, kit), cut, _let_go(cut, dropped)
        except InvalidInputs as invalid:
            pointer, fault = invalid.faults[0]
            joint = _joint_at(pointer)
            source = None if joint is None else cut.source[joint]
            if joint is None or source is None or cut.source.count(source) < 2:
                reason = f"With the cuts made the layout does not fit: {fault}"
                raise CannotCalculate(f"/cuts/{len(inputs['cuts']) - 1}", reason) from invalid
            dropped.append((source, list(cut.layout["joints"][joint]["between"])))
            cut = cut.without(joint)


def _let_go(cut: _Cut, dropped: Sequence[tuple[int, list[str]]]) -> list[str]:
    """The dropped joints, in words, that leave one of their two sections without a partner."""
    left: dict[int, set[str]] = {}
    for source, joint in zip(cut.source, cut.layout["joints"], strict=True):
        if source is not None:
            left.setdefault(source, set()).update(joint["between"])
    return ["–".join(pair) for source, pair in dropped if set(pair) - left[source]]


def _joint_at(pointer: str) -> int | None:
    """The joint that a pointer into the frame names as a whole."""
    head, _, last = pointer.rpartition("/")
    return int(last) if head == "/frame/layout/joints" and last.isdecimal() else None


def _with_diagonals(
    inputs: Inputs, frame: Frame, kit: Kit, joints: Sequence[Coupling]
) -> list[Coupling]:
    """The joints with the rods across their gaps that inputs name."""
    number = {section.id: k for k, section in enumerate(frame.sections)}
    found = list(joints)
    for place, asked in enumerate(inputs["joint_diagonals"]):
        pointer = f"/joint_diagonals/{place}"
        joint = joint_between(found, number, asked["between"])
        if joint is None:
            detail = f"There is no joint between {' and '.join(asked['between'])}."
            raise _fault(f"{pointer}/between", "unknown-reference", detail)
        ends = []
        for end, (name, where) in enumerate(zip(asked["between"], asked["ends"], strict=True)):
            node = frame.node_at(number[name], (int(where[0]), int(where[1]), int(where[2])))
            if node is None:
                detail = f"{name} has no hub at {[int(x) for x in where]}."
                raise _fault(f"{pointer}/ends/{end}", "unknown-reference", detail)
            ends.append(node)
        one = found[joint]
        if number[asked["between"][0]] != one.first:
            ends.reverse()
        pair = (ends[0], ends[1])
        if pair in one.coupled or pair in one.diagonals:
            raise _fault(pointer, "not-unique", "A rod joins these two hubs already.")
        away = frame.nodes_mm[pair[1]] - frame.nodes_mm[pair[0]]
        length = float(np.linalg.norm(away))
        rod = kit.rod_spanning(length)
        if rod is None or not seat_in(kit, away):
            what = "no rod of the kit is that long" if rod is None else "no seat looks that way"
            detail = f"These hubs are {length:.1f} mm apart: {what}."
            raise _fault(f"{pointer}/ends", "out-of-range", detail)
        found[joint] = replace(
            one, diagonals=(*one.diagonals, pair), diagonal_rods=(*one.diagonal_rods, rod)
        )
    return found


def joint_between(
    joints: Sequence[Coupling], number: Mapping[str, int], names: Sequence[str]
) -> int | None:
    """The first joint between two sections, whichever is named first."""
    wanted = {number.get(name, -1) for name in names}
    return next((k for k, j in enumerate(joints) if {j.first, j.second} == wanted), None)


def _fault(pointer: str, code: str, detail: str) -> InvalidInputs:
    return InvalidInputs([(pointer, Fault(code, detail))])
