"""What lies under a floor along one direction: stretches of frame, node planes, joints between.

Exact millimetres (`Fraction`) from the front plane of the first stretch.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..made_of import Pitch


@dataclass(frozen=True)
class Plane:
    """A plane with nodes. `carries`: a bearer lies there already; else one can be put there."""

    at: Fraction
    carries: bool
    stretch: int


@dataclass(frozen=True)
class Stretch:
    """What is carried in one piece, from its first plane to its last; `bays` counts its bays."""

    id: str
    start: Fraction
    end: Fraction
    bays: int


@dataclass(frozen=True)
class Gap:
    """A separation joint: from the last plane of stretch `before` to the first of the next.
    `clear` is the free gap between hub ends in it, None where it is not known."""

    before: int
    start: Fraction
    end: Fraction
    clear: Fraction | None

    @property
    def hub_reach(self) -> Fraction | None:
        """How far hubs stand out beyond each of the two planes."""
        return None if self.clear is None else (self.end - self.start - self.clear) / 2


@dataclass(frozen=True)
class Run:
    """Stretches in order, node planes ascending, joints, bay pitches that occur, longest bay."""

    stretches: tuple[Stretch, ...]
    planes: tuple[Plane, ...]
    gaps: tuple[Gap, ...]
    pitches: tuple[Pitch, ...]
    longest_bay: Fraction

    @property
    def length(self) -> Fraction:
        return self.stretches[-1].end


@dataclass(frozen=True)
class StretchGiven:
    """A stretch as its bays in order. Of its bay edges, 0 the front one, `bare` have no bearer, and
    at `absent` there is no node to put one on either."""

    id: str
    bays: Sequence[Pitch]
    bare: frozenset[int] = frozenset()
    absent: frozenset[int] = frozenset()


@dataclass(frozen=True)
class JointGiven:
    """A joint: distance of the two facing node planes, and the free gap in it if known."""

    pitch: Fraction
    clear: Fraction | None = None


def run_of(stretches: Sequence[StretchGiven], joints: Sequence[JointGiven]) -> Run:
    """Stretches set one behind the other, a joint between each two.

    Nodes inside a bay (`Pitch.nodes` above 1) become planes where a bearer can be put.

    Raises:
        ValueError: the number of joints is not one less than that of stretches.
    """
    if len(joints) != len(stretches) - 1:
        raise ValueError("one joint between each two stretches")
    x = Fraction(0)
    laid, planes, gaps = [], [], []
    for number, given in enumerate(stretches):
        if number:
            joint = joints[number - 1]
            gaps.append(Gap(number - 1, x, x + joint.pitch, joint.clear))
            x += joint.pitch
        start = x
        edges = [(0, x)]
        for place, bay in enumerate(given.bays):
            step = bay.length_mm / bay.nodes
            planes += [Plane(x + k * step, False, number) for k in range(1, bay.nodes)]
            x += bay.length_mm
            edges.append((place + 1, x))
        planes += [
            Plane(at, place not in given.bare, number)
            for place, at in edges
            if place not in given.absent
        ]
        laid.append(Stretch(given.id, start, x, len(given.bays)))
    different = {(bay.id, bay.length_mm): bay for given in stretches for bay in given.bays}
    planes.sort(key=lambda plane: plane.at)
    longest = max(bay.length_mm for given in stretches for bay in given.bays)
    return Run(tuple(laid), tuple(planes), tuple(gaps), tuple(different.values()), longest)


def bays_between(planes_um: Sequence[int], known: Sequence[Pitch]) -> list[Pitch]:
    """The pitch of each bay between ascending planes (whole micrometres): the first of `known` of
    that length, else one named by its millimetres."""
    by_length = {pitch.length_mm: pitch for pitch in reversed(known)}
    lengths = [Fraction(b - a, 1000) for a, b in itertools.pairwise(planes_um)]
    return [
        by_length.get(length) or Pitch(f"{float(length):g}-mm-bay", length, Fraction(0), {}, 1)
        for length in lengths
    ]
