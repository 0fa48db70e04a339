"""From sections, boxes and a vehicle to a packing problem."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .cargo import Attitude, Cargo, Handling, Um3, attitudes, um, um3
from .model import Block, Room, Thing, Way
from .plan_search import Spot
from .tipping import BEND_RATIO, tipping_ratios


@dataclass(frozen=True)
class Bay:
    """The load bay in whole micrometres; sizes are length, width, height.

    `clear_door` is the width and height things may have in the door.
    """

    size: Um3
    door: tuple[int, int]
    clear_door: tuple[int, int]
    gap_between: int
    gap_walls: int
    blocks: tuple[tuple[int, int, int, int, int, bool], ...]

    @classmethod
    def from_inputs(cls, vehicle: Mapping[str, Any]) -> "Bay":
        """From validated inputs."""
        size = um3((vehicle["length_mm"], vehicle["width_mm"], vehicle["height_mm"]))
        door = (
            um(vehicle.get("door_width_mm", vehicle["width_mm"])),
            um(vehicle.get("door_height_mm", vehicle["height_mm"])),
        )
        blocks = tuple(
            (*(um(v) for v in (*one["at_mm"], *one["size_mm"])), one["bears"])
            for one in vehicle["blocked"]
        )
        between, walls, gap = (
            um(vehicle[f"gap_{name}_mm"]) for name in ("between", "walls", "door")
        )
        wide = door[0] - 2 * gap if "door_width_mm" in vehicle else size[1]
        high = door[1] - gap if "door_height_mm" in vehicle else size[2]
        return cls(size, door, (wide, high), between, walls, blocks)

    @property
    def clear(self) -> Um3:
        """Length, width and height that things may take up."""
        length, width, height = self.size
        return length - 2 * self.gap_walls, width - 2 * self.gap_walls, height - self.gap_walls

    @property
    def room(self) -> Room:
        """The same with room between things counted as part of them."""
        length, width, height = self.clear
        along, across = length + self.gap_between, width + self.gap_between
        blocks = []
        for x, y, a, b, top, bears in self.blocks:
            x0, x1 = _clipped(x - self.gap_walls, a + self.gap_between, along)
            y0, y1 = _clipped(y - self.gap_walls, b + self.gap_between, across)
            if x0 < x1 and y0 < y1:
                blocks.append(Block(Spot(x0, y0, x1 - x0, y1 - y0), top, bears))
        return Room(along, across, height, tuple(blocks))


def _clipped(start: int, extent: int, room: int) -> tuple[int, int]:
    return max(0, start), min(room, start + extent)


@dataclass(frozen=True)
class Item:
    """One box with what may be done with it, and the attitudes in which it may travel."""

    cargo: Cargo
    handling: Handling
    allowed: tuple[Attitude, ...]

    @property
    def size(self) -> Um3:
        return um3(self.cargo.size_mm)

    def thing(self, gap: int, *, steady: bool = False) -> Thing:
        """The box for the search; `steady`: without attitudes that tip in a bend, if it can."""
        chosen = [a for a in self.allowed if not steady or not self.tips(a)] or self.allowed
        ways: dict[tuple[int, tuple[int, int]], dict[tuple[int, int], None]] = {}
        for attitude in chosen:
            along, across, height = attitude.of(self.size)
            size = (along + gap, across + gap)
            key = (height, (min(size), max(size)))
            ways.setdefault(key, {})[size] = None
        mass = self.cargo.mass_kg
        return Thing(
            tuple(Way(height, tuple(sizes)) for (height, _), sizes in ways.items()),
            float("inf") if mass is None else mass,
            self.handling.carries_kg,
        )

    def tips(self, attitude: Attitude) -> bool:
        """Would it tip over in a bend?"""
        return tipping_ratios(self.cargo.size_mm, self.handling, attitude)[1] < BEND_RATIO

    def attitude_of(self, size: Um3) -> Attitude:
        """The attitude with this size; of several the steadiest, upright first."""
        same = [a for a in self.allowed if a.of(self.size) == size]
        return min(same, key=self.tips)


def items_of(cargo: Sequence[Cargo], handling: Mapping[str, Handling], bay: Bay) -> list[Item]:
    """Boxes with the attitudes in which they pass the door and fit the bay."""
    found = []
    for box in cargo:
        how = handling.get(box.id, Handling())
        size = um3(box.size_mm)
        allowed = tuple(a for a in attitudes(how) if passes_door(a.of(size), bay))
        within = tuple(a for a in allowed if within_bay(a.of(size), bay))
        found.append(Item(box, how, within))
    return found


def passes_door(size: Um3, bay: Bay) -> bool:
    """Does a box of this size, as it travels, pass the door?"""
    return size[1] <= bay.clear_door[0] and size[2] <= bay.clear_door[1]


def within_bay(size: Um3, bay: Bay) -> bool:
    """Does the bay hold it, if it is alone?"""
    return all(side <= room for side, room in zip(size, bay.clear, strict=True))
