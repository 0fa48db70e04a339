"""The layout, and what sticks out of its sections, after every section has been edited."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..frame.grid import AXES
from ..kit import Kit
from .edited_sections import Spec, pieces_of
from .machine import Machine
from .rows import split_axis
from .section_options import Option

_SUFFIXES = (("-a", "-b"), (".1", ".2"), ("-part-1", "-part-2"))


@dataclass(frozen=True)
class Changed:
    """A layout and protrusions as on the wire.

    `pieces`: ids of what each section becomes, in the order of the machine; `dropped_diagonals`:
    how many of those given one by one found no place.
    """

    layout: Mapping[str, Any]
    protrusions: tuple[Mapping[str, Any], ...]
    pieces: tuple[tuple[str, ...], ...]
    dropped_diagonals: int


def changed_layout(
    layout: Mapping[str, Any],
    protrusions: Sequence[Mapping[str, Any]],
    machine: Machine,
    options: Sequence[Option],
    corners_mm: Sequence[Sequence[float]],
    split_rod: int,
    kit: Kit,
) -> Changed:
    """The layout with an option of every section carried out.

    Args:
        layout, protrusions: as on the wire.
        corners_mm: where each section stands now.
        split_rod: place of the rod that couples two pieces.

    Raises LayoutFault where a beam given one by one is in the way.
    """
    names = _names([subject.id for subject in machine.subjects], options)
    rod = kit.rods[split_rod]
    moved = [_along(machine, options, corners_mm, axis, rod.pitch_um) for axis in range(3)]
    specs: list[Spec] = []
    dropped = 0
    for number, (subject, option) in enumerate(zip(machine.subjects, options, strict=True)):
        made = pieces_of(subject.spec, option.edits, names[number], subject.listed, kit)
        dropped += made.dropped_diagonals
        for part, spec in enumerate(made.specs):
            away = [axis[number] for axis in moved]
            specs.append(_placed(spec, part, len(made.specs), away))
    joints = _joints(layout, machine, options, names, rod.id)
    new = {**layout, "sections": specs}
    if joints:
        new["joints"] = joints
    ids = [subject.id for subject in machine.subjects]
    parts = tuple(_protrusions(protrusions, options, ids, names))
    return Changed(new, parts, names, dropped)


def _names(ids: Sequence[str], options: Sequence[Option]) -> tuple[tuple[str, ...], ...]:
    """Ids of the pieces of every section: S2 becomes S2a and S2b, left becomes left-a and left-b,
    unless that is taken."""
    taken = set(ids)
    names: list[tuple[str, ...]] = []
    for name, option in zip(ids, options, strict=True):
        if split_axis(option.edits) is None:
            names.append((name,))
            continue
        suffixes = [("a", "b")] * name[-1].isdigit() + list(_SUFFIXES)
        tries = [(name[:54] + one, name[:54] + two) for one, two in suffixes]
        tries += [(f"piece-{k}", f"piece-{k + 1}") for k in range(1, 4 * len(ids), 2)]
        pair = next(pair for pair in tries if not taken & set(pair))
        taken |= set(pair)
        names.append(pair)
    return tuple(names)


def _placed(spec: Spec, part: int, parts: int, moved_um: Sequence[int]) -> Spec:
    """A piece where it stands; the second of two hangs on the first by their joint."""
    new = dict(spec)
    if parts > 1 and new.get("title"):
        new["title"] = f"{new['title'][:105]}, part {part + 1}"
    if "at_mm" in new:
        place = [round(x + um / 1000, 6) for x, um in zip(new["at_mm"], moved_um, strict=True)]
        new["at_mm"] = place
        if part:
            del new["at_mm"]
    return new


def _along(
    machine: Machine,
    options: Sequence[Option],
    corners_mm: Sequence[Sequence[float]],
    axis: int,
    gap_um: int,
) -> list[int]:
    """How far each section moves along an axis: with the end of what lies before it, in um."""
    start = [round(1000 * corner[axis]) for corner in corners_mm]
    length = [machine.length_um(subject.rows[axis]) for subject in machine.subjects]
    grown = [
        sum(machine.length_um(segment) + gap_um for segment in option.edits[axis].segments)
        - (before + gap_um)
        for option, before in zip(options, length, strict=True)
    ]
    moved = [0] * len(start)
    for number in sorted(range(len(start)), key=lambda k: start[k]):
        before = [k for k in range(len(start)) if start[k] + length[k] <= start[number] + 1]
        last = max((start[k] + length[k] for k in before), default=0)
        ends = [moved[k] + grown[k] for k in before if start[k] + length[k] >= last - 1]
        moved[number] = max(ends, default=0)
    return moved


def _joints(
    layout: Mapping[str, Any],
    machine: Machine,
    options: Sequence[Option],
    names: Sequence[Sequence[str]],
    split_rod: str,
) -> list[dict[str, Any]]:
    """Joints as they were, between the pieces that face each other; then those of the cuts."""
    cut = [split_axis(option.edits) for option in options]
    found = []
    for raw, joint in zip(layout.get("joints", ()), machine.joints, strict=True):
        if cut[joint.first] not in (None, joint.axis):
            pairs = list(zip(names[joint.first], names[joint.second], strict=True))
        else:
            pairs = [(names[joint.first][-1], names[joint.second][0])]
        found += [{**raw, "between": list(pair)} for pair in pairs]
    for axis, pieces in zip(cut, names, strict=True):
        if axis is not None:
            found.append({"between": list(pieces), "axis": AXES[axis], "rod": split_rod})
    return found


def _protrusions(
    protrusions: Sequence[Mapping[str, Any]],
    options: Sequence[Option],
    ids: Sequence[str],
    names: Sequence[Sequence[str]],
) -> Iterable[Mapping[str, Any]]:
    """What sticks out of a split section goes with the piece at that end, or with both."""
    cut = [split_axis(option.edits) for option in options]
    if all(axis is None for axis in cut):
        yield from protrusions
        return
    for part in protrusions:
        axis, end = AXES.index(part["side"][0]), part["side"][2:]
        owners: list[str] = []
        for number, pieces in enumerate(names):
            if ids[number] not in part.get("sections", ids):
                continue
            owners += pieces[:1] if end == "minus" and cut[number] == axis else ()
            owners += pieces[-1:] if end == "plus" and cut[number] == axis else ()
            owners += pieces if cut[number] != axis else ()
        yield {**part, "sections": owners}
