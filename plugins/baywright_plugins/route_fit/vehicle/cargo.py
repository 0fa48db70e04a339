"""Boxes to be loaded, and the attitudes in which they may travel."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import permutations
from typing import Any

AXES = "xyz"
#: own axis that points up -> attitude
ATTITUDES = {2: "upright", 1: "on-back", 0: "on-end"}

Triple = tuple[float, float, float]
Um3 = tuple[int, int, int]


@dataclass(frozen=True)
class Cargo:
    """A box as it stands: its size along its own x, y and z (up), and its mass where known.

    `pointer` says where it stands in the inputs.
    """

    id: str
    title: str
    size_mm: Triple
    mass_kg: float | None = None
    pointer: str = ""


@dataclass(frozen=True)
class Handling:
    """What may be done with one box."""

    ups: tuple[int, ...] = (2, 1, 0)
    bears: bool = True
    led_along: int | None = None
    load_on_top_kg_max: float | None = None
    centre_height_mm: float | None = None
    base_mm: tuple[float, float] | None = None

    @classmethod
    def from_inputs(cls, item: Mapping[str, Any]) -> "Handling":
        """From the validated options of one item."""
        allowed = item.get("may_lie_on", list(AXES))
        ups = tuple(
            axis
            for axis in cls.ups
            if AXES[axis] in allowed and (axis == 2 or not item["this_side_up"])
        )
        base = item.get("base_mm")
        return cls(
            ups,
            not item["do_not_stack"],
            AXES.index(item["led_along"]) if "led_along" in item else None,
            item.get("load_on_top_kg_max"),
            item.get("centre_height_mm"),
            None if base is None else (float(base[0]), float(base[1])),
        )

    @property
    def carries_kg(self) -> float:
        """How much may stand on it."""
        if not self.bears:
            return 0.0
        return float("inf") if self.load_on_top_kg_max is None else self.load_on_top_kg_max


@dataclass(frozen=True)
class Attitude:
    """One way to put a box down: the own axes that point along the bay, across it, and up."""

    along: int
    across: int
    up: int

    @property
    def name(self) -> str:
        return ATTITUDES[self.up]

    def of(self, size: Sequence[int]) -> Um3:
        """Size along the bay, across it and up."""
        return size[self.along], size[self.across], size[self.up]


def attitudes(handling: Handling) -> Iterator[Attitude]:
    """Every attitude allowed, upright ones first."""
    for up in handling.ups:
        for along, across in permutations([axis for axis in (0, 1, 2) if axis != up]):
            if handling.led_along in (None, along):
                yield Attitude(along, across, up)


def um(mm: float) -> int:
    """Whole micrometres.

    >>> um(718.8)
    718800
    """
    return round(mm * 1000)


def um3(size_mm: Triple) -> Um3:
    """A size in whole micrometres, nowhere less than one."""
    x, y, z = (max(1, um(side)) for side in size_mm)
    return x, y, z
