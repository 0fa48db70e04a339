"""The question as plain values: what may vary, what the machine must do, what is on the shelf."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from baywright_service.contract import Inputs

from ..fit_remedies.box_parts import Patterns
from ..fit_remedies.journey import Journey
from ..frame.grid import AXES
from ..kit import Kit
from ..part_count.kit_parts import kit_parts
from .objectives import OBJECTIVES
from .space import Space

Triple = tuple[int, int, int]
Pair = tuple[tuple[int, ...], tuple[int, ...]]
Pairs = tuple[Pair, ...]


@dataclass(frozen=True)
class Fitting:
    """Equipment spread over the nodes of some levels."""

    title: str
    mass_kg: float
    levels: tuple[int, ...]


@dataclass(frozen=True)
class Section:
    """One section of a split; `own` is its place among the sections with sizes of their own."""

    id: str
    title: str
    own: int
    length_um: tuple[int, int]
    height_um: tuple[int, int]
    fittings: tuple[Fitting, ...]


@dataclass(frozen=True)
class Split:
    id: str
    title: str
    sections: tuple[Section, ...]

    @cached_property
    def own(self) -> tuple[Section, ...]:
        """The sections with sizes of their own, in order."""
        places = [section.own for section in self.sections]
        return tuple(self.sections[places.index(k)] for k in range(max(places) + 1))


@dataclass(frozen=True)
class Bracing:
    """A way to brace: patterns as on the wire and as numbers, second diagonals by rule and by
    section id."""

    id: str
    title: str
    faces: Mapping[str, Any]
    patterns: Patterns
    at_grips: str
    seconds: Mapping[str, Pairs]


@dataclass(frozen=True)
class Panel:
    id: str
    item: str | None
    pitch_mm: Fraction
    play_mm: Fraction


@dataclass(frozen=True)
class Lifts:
    """`section` None: the first of the machine."""

    required_per_min: float
    may_fail: int
    capacity_per_min: float
    counts: tuple[int, ...]
    parts_each: Mapping[str, int]
    mass_each_kg: float
    section: str | None
    levels: tuple[int, ...]


@dataclass(frozen=True)
class Limits:
    """Of the coupled machine over its hub ends, in micrometres: least and most."""

    length_um: tuple[int, int]
    width_um: tuple[int, int]
    height_um: tuple[int, int]


@dataclass(frozen=True)
class Problem:
    """`ends_um`: what hubs reach beyond the outer nodes along x, y, z, both sides together.

    `free` holds pieces on the shelf by part, None where no stock is given; `extras` parts beside
    frame, lifts and floor; `protruding_mm` by (section id, axis), both sides together.
    """

    inputs: Inputs
    kit: Kit
    free: Mapping[str, int] | None
    limits: Limits
    ends_um: Triple
    joint: int | None
    splits: tuple[Split, ...]
    bracings: tuple[Bracing, ...]
    panels: tuple[Panel, ...]
    lifts: Lifts | None
    extras: Mapping[str, int]
    build: Mapping[str, Any]
    journey: Journey | None
    protruding_mm: Mapping[tuple[str, str], float]
    space: Space

    @property
    def joint_um(self) -> int:
        return 0 if self.joint is None else self.kit.rods[self.joint].pitch_um

    @cached_property
    def items(self) -> tuple[str, ...]:
        """Ids of all parts of the kit: rods, hubs, items."""
        return tuple(part.id for part in kit_parts(self.kit))

    @property
    def objectives(self) -> tuple[str, ...]:
        """What machines are compared by, in the order in which objectives are told."""
        asked = self.inputs.get("objectives", tuple(OBJECTIVES))
        without = () if self.free is not None else ("shortage",)
        return tuple(name for name in OBJECTIVES if name in asked and name not in without)

    @property
    def most_to_buy(self) -> int | None:
        limit: int | None = self.inputs.get("most_to_buy_count")
        return limit

    @property
    def lift_counts(self) -> tuple[int, ...]:
        """Numbers of lifts to choose from; a single 0 where there are none."""
        return (0,) if self.lifts is None else self.lifts.counts

    def has_floor(self, section: str) -> bool:
        names = self.inputs.get("floor", {}).get("sections")
        return bool(self.panels) and (names is None or section in names)

    def size_mm(self, section: Section, rods: Triple, bays: Triple) -> tuple[float, float, float]:
        """Outside size of a section as it is carried, with what sticks out of it."""
        x, y, z = (
            (bays[k] * self.kit.rods[rods[k]].pitch_um + self.ends_um[k]) / 1000
            + self.protruding_mm.get((section.id, axis), 0.0)
            for k, axis in enumerate(AXES)
        )
        return x, y, z
