"""The machine as it is: its sections, joints, twins and chains, as the search sees them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..frame import Frame
from ..frame.grid import AXES
from ..grid_fit.sections import JointFacts, SectionFacts
from ..kit import Kit
from .coupling import stay_flush
from .rows import Row, RowEdit
from .section_options import Subject

#: Chains of sections looked at for the machine's length.
MOST_CHAINS = 200


@dataclass(frozen=True)
class Joint:
    """Numbers of its sections. `offset_um`: where the second starts, from the start of the first.

    `flush`: every corner hub of the smaller face has a partner now. `movable`: it is the only
    joint at both ends, so that bays can be handed over.
    """

    first: int
    second: int
    axis: int
    offset_um: tuple[int, int, int]
    flush: bool
    movable: bool


@dataclass(frozen=True)
class Machine:
    """`twin_of[k]` is the first section that section k is identical to, k itself if none."""

    subjects: tuple[Subject, ...]
    joints: tuple[Joint, ...]
    twin_of: tuple[int, ...]
    pitch_um: Mapping[str, int]

    def length_um(self, row: Row) -> int:
        """Length of a row of bays."""
        return sum(self.pitch_um[rod] for rod in row)

    def stay_flush(self, joint: Joint, axis: int, first: RowEdit, second: RowEdit) -> bool:
        """Whether the rows of a joint's two sections across an axis stay flush as they were."""
        before = self.subjects[joint.first].rows[axis], self.subjects[joint.second].rows[axis]
        return stay_flush(before, (first, second), joint.offset_um[axis], self.pitch_um)

    def neighbours(self, number: int, axis: int) -> tuple[Row | None, Row | None]:
        """Rods of the sections that bays of an axis can be handed to, nearest first."""
        low = high = None
        for joint in self.joints:
            if joint.axis == axis and joint.movable:
                if joint.second == number:
                    low = self.subjects[joint.first].rows[axis][::-1]
                if joint.first == number:
                    high = self.subjects[joint.second].rows[axis]
        return low, high

    def chains(self, axis: int) -> list[tuple[int, ...]]:
        """Sections one behind the other along an axis, from a free end to a free end.

        Raises ValueError where there are too many.
        """
        after: dict[int, list[int]] = {}
        for joint in self.joints:
            if joint.axis == axis:
                after.setdefault(joint.first, []).append(joint.second)
        behind = {number for ends in after.values() for number in ends}
        paths: list[tuple[int, ...]] = [
            (number,) for number in range(len(self.subjects)) if number not in behind
        ]
        whole: list[tuple[int, ...]] = []
        while paths:
            path = paths.pop(0)
            ends = [number for number in after.get(path[-1], ()) if number not in path]
            paths += [(*path, number) for number in ends]
            whole += [] if ends else [path]
            if len(paths) + len(whole) > MOST_CHAINS:
                raise ValueError("too many chains of sections")
        return whole


def machine_of(
    subjects: Sequence[Subject],
    frame: Frame,
    facts: Sequence[SectionFacts],
    joints: Sequence[JointFacts],
    kit: Kit,
) -> Machine:
    """The machine of a frame, with what grid-fit knows of its sections and joints."""
    number = {subject.id: k for k, subject in enumerate(subjects)}
    ends = [
        (number[joint.between[0]], number[joint.between[1]], AXES.index(joint.axis))
        for joint in joints
    ]
    made = []
    for (first, second, axis), joint in zip(ends, joints, strict=True):
        away = [
            round(1000 * (b - a))
            for a, b in zip(frame.sections[first].at_mm, frame.sections[second].at_mm, strict=True)
        ]
        alone = all(
            sum(1 for a, b, k in ends if k == axis and pair[end] == (a, b)[end]) == 1
            for pair, end in (((first, second), 0), ((first, second), 1))
        )
        beams = any("beams" in subjects[k].spec for k in (first, second))
        made.append(
            Joint(
                first, second, axis, (away[0], away[1], away[2]), joint.matches,
                alone and not beams and first != second,
            )
        )  # fmt: skip
    pitch = {rod.id: rod.pitch_um for rod in kit.rods}
    return Machine(tuple(subjects), tuple(made), _twins(facts, number), pitch)


def _twins(facts: Sequence[SectionFacts], number: Mapping[str, int]) -> tuple[int, ...]:
    return tuple(k if one.twin_of is None else number[one.twin_of] for k, one in enumerate(facts))
