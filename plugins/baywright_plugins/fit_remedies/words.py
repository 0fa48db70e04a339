"""Ways in words: what to do, what goes stale, what is said beside it."""

from collections.abc import Sequence
from dataclasses import dataclass

from ..frame.grid import AXES
from ..grid_fit.changes import joined, number_word
from ..grid_fit.findings import mm
from .machine import Machine
from .rows import BAY_IN, BAY_OUT, EXCHANGED, KEPT, MOVED, SPLIT, RowEdit
from .section_options import Option

WORDS = {"x": "width", "y": "depth", "z": "height"}


@dataclass(frozen=True)
class Step:
    """One thing to do, and the sections it is done to."""

    kind: str
    axis: str
    sections: tuple[str, ...]
    message: str


def steps_of(machine: Machine, options: Sequence[Option], split_rod: str) -> list[Step]:
    """What a way asks for; sections that are treated alike are named together."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for subject, option in zip(machine.subjects, options, strict=True):
        for axis, edit in zip(AXES, option.edits, strict=True):
            if edit.kind in (BAY_OUT, BAY_IN, EXCHANGED, SPLIT):
                words = _inner_words(edit, axis, split_rod)
                groups.setdefault((edit.kind, axis, words), []).append(subject.id)
    total = len(machine.subjects)
    steps = [
        Step(kind, axis, tuple(names), _sentence(kind, words, names, total))
        for (kind, axis, words), names in groups.items()
    ]
    return [*steps, *_moved_joints(machine, options)]


def scope(names: Sequence[str], total: int) -> str:
    """Sections by name, or all of them.

    >>> scope(["S1", "S2"], 2), scope(["S1", "S2"], 3)
    ('both sections', 'S1 and S2')
    """
    if len(names) == total > 1:
        return "both sections" if total == 2 else f"all {number_word(total)} sections"
    return joined(names)


def stale(machine: Machine, options: Sequence[Option]) -> list[str]:
    """What else must be worked out again."""
    axes = {axis for option in options for axis, _ in option.kinds}
    kinds = {kind for option in options for _, kind in option.kinds}
    lines = ["strength of the changed sections", "part count and stock", "mass of each section"]
    if axes & {"x", "y"}:
        lines.append(f"floor ratio and left-over: {_floors(machine, options)}")
        lines.append("tip angle: the base is another")
    if "z" in axes:
        lines.append("heights: levels of floor, tracks and lifts, and with them chain links")
        lines.append("tip angle: the centre of mass lies elsewhere")
    if kinds & {MOVED, SPLIT}:
        lines.append("separation joints: each piece must stand by itself; what bridges the gap")
        lines.append("load in the vehicle, and people to carry: the pieces are others")
    return lines


def _floors(machine: Machine, options: Sequence[Option]) -> str:
    """Floors between the outer nodes, of sections whose width or depth is changed."""
    sizes: dict[str, list[str]] = {}
    for subject, option in zip(machine.subjects, options, strict=True):
        x, y, _ = option.edits
        if x.kind == KEPT and y.kind == KEPT:
            continue
        pieces = [
            f"{mm(machine.length_um(x.segment(k)) / 1000)} x "
            f"{mm(machine.length_um(y.segment(k)) / 1000)} mm"
            for k in range(len(option.sizes_mm))
        ]
        sizes.setdefault(" and ".join(dict.fromkeys(pieces)), []).append(subject.id)
    told = [f"{joined(names)} now {size}" for size, names in list(sizes.items())[:4]]
    more = "; ..." if len(sizes) > len(told) else ""
    return f"the floor between the outer nodes is, for {'; '.join(told)}{more}"


def _inner_words(edit: RowEdit, axis: str, split_rod: str) -> str:
    count = max(len(edit.out), len(edit.into))
    bays = "one bay" if count == 1 else f"{number_word(count)} bays"
    if edit.kind == BAY_OUT:
        return f"Take {bays}{_of(edit.out)} out of the {WORDS[axis]} of"
    if edit.kind == BAY_IN:
        return f"Put {bays}{_of(edit.into)} into the {WORDS[axis]} of"
    if edit.kind == EXCHANGED:
        old = number_word(count)
        return f"Exchange {old} {edit.out[0]} for {edit.into[0]} in the {WORDS[axis]} of"
    low, high = (len(segment) for segment in edit.segments)
    return f" in two along the {WORDS[axis]}, {low} and {high} bays, coupled by {split_rod}"


def _of(rods: Sequence[str]) -> str:
    kinds = list(dict.fromkeys(rods))
    counts = [f"{rods.count(rod)} {rod}" if len(kinds) > 1 else rod for rod in kinds]
    return f" ({joined(counts)})"


def _sentence(kind: str, words: str, names: Sequence[str], total: int) -> str:
    who = scope(names, total)
    if kind != SPLIT:
        return f"{words} {who}."
    return f"Cut {who}{' each' if len(names) > 1 else ''}{words}."


def _moved_joints(machine: Machine, options: Sequence[Option]) -> list[Step]:
    found = []
    for joint in machine.joints:
        bays = options[joint.first].edits[joint.axis].received[1]
        if not (joint.movable and bays):
            continue
        first, second = (machine.subjects[k].id for k in (joint.first, joint.second))
        giver, taker = (second, first) if bays > 0 else (first, second)
        count = abs(bays)
        what = "one bay" if count == 1 else f"{number_word(count)} bays"
        message = (
            f"Move the joint between {first} and {second} by {what}: {giver} hands "
            f"{'it' if count == 1 else 'them'} to {taker}."
        )
        found.append(Step(MOVED, AXES[joint.axis], (giver, taker), message))
    return found
