"""A kit in memory, made from validated inputs."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from .strength import compression_capacity_n, seated_stiffness_n_per_mm


@dataclass(frozen=True)
class Rod:
    """One kind of rod; `modulus_n_per_mm2` along its axis, solid round section."""

    id: str
    pitch_mm: float
    diameter_mm: float
    modulus_n_per_mm2: float
    mass_g: float
    cut_mm: float | None = None
    price: float = 0.0

    @property
    def pitch_um(self) -> int:
        """The pitch in whole micrometres, so that sums are exact."""
        return round(self.pitch_mm * 1000)

    @property
    def axial_rigidity_n(self) -> float:
        """E A in N."""
        return self.modulus_n_per_mm2 * math.pi * self.diameter_mm**2 / 4

    @property
    def bending_rigidity_n_mm2(self) -> float:
        """E I in N mm2."""
        return self.modulus_n_per_mm2 * math.pi * self.diameter_mm**4 / 64


@dataclass(frozen=True)
class Seat:
    """What one seat does to a rod: all values for one end."""

    inset_mm: float
    play_mm: float
    stiffness_n_per_mm: float
    tension_held_n: float
    tension_free_n: float
    compression_n: float


@dataclass(frozen=True)
class Hub:
    id: str
    title: str
    ports: tuple[tuple[int, int, int], ...]
    mass_g: float
    overhang_mm: float
    blank_overhang_mm: float | None
    two_part: bool
    slides_along: tuple[int, int, int] | None
    role: str
    seat: Seat
    price: float = 0.0
    rotational_stiffness_n_mm_per_rad: float | None = None


@dataclass(frozen=True)
class Item:
    id: str
    title: str
    kind: str
    mass_g: float
    price: float


@dataclass(frozen=True)
class Kit:
    """Rods in the order given. `frame_hub` is the first hub with the role frame: its seat and
    overhang are those of every node of a frame."""

    rods: tuple[Rod, ...]
    hubs: tuple[Hub, ...]
    items: tuple[Item, ...] = ()

    @classmethod
    def from_inputs(cls, kit: Mapping[str, Any]) -> "Kit":
        """The kit described by inputs that follow `KitSchema`."""
        return cls(
            rods=tuple(Rod(**rod) for rod in kit["rods"]),
            hubs=tuple(_hub(hub) for hub in kit["hubs"]),
            items=tuple(
                Item(item["id"], item["title"], item["kind"], item["mass_g"], item["price"])
                for item in kit["items"]
            ),
        )

    @cached_property
    def rod_index(self) -> dict[str, int]:
        """Place of each rod by id."""
        return {rod.id: place for place, rod in enumerate(self.rods)}

    @cached_property
    def frame_hub(self) -> Hub:
        return next(hub for hub in self.hubs if hub.role == "frame")

    @cached_property
    def middle_hub(self) -> Hub | None:
        """The hub that joins two rods in line, where the kit has one."""
        return next((hub for hub in self.hubs if hub.role == "middle"), None)

    def rod_spanning(self, length_mm: float) -> int | None:
        """Place of the rod whose pitch is nearest to `length_mm` within the play of its two seats.

        None where no rod closes.
        """
        play = 2 * self.frame_hub.seat.play_mm
        place = min(range(len(self.rods)), key=lambda k: abs(self.rods[k].pitch_mm - length_mm))
        return place if abs(self.rods[place].pitch_mm - length_mm) <= play else None

    def stiffness_n_per_mm(self, place: int) -> float:
        """Axial stiffness of rod `place` with a seat at both ends."""
        rod = self.rods[place]
        return seated_stiffness_n_per_mm(
            rod.pitch_mm, rod.axial_rigidity_n, self.frame_hub.seat.stiffness_n_per_mm
        )

    def compression_n(self, place: int, *, buckling_margin: float = 1.5) -> float:
        """What rod `place` takes in compression: bearing, or buckling between its seats."""
        rod, seat = self.rods[place], self.frame_hub.seat
        return compression_capacity_n(
            rod.pitch_mm - 2 * seat.inset_mm,
            rod.bending_rigidity_n_mm2,
            seat.compression_n,
            buckling_margin=buckling_margin,
        )


def _hub(hub: Mapping[str, Any]) -> Hub:
    slides = hub.get("slides_along")
    return Hub(
        id=hub["id"],
        title=hub["title"],
        ports=tuple((int(x), int(y), int(z)) for x, y, z in hub["ports"]),
        mass_g=hub["mass_g"],
        overhang_mm=hub["overhang_mm"],
        blank_overhang_mm=hub.get("blank_overhang_mm"),
        two_part=hub["two_part"],
        slides_along=None if slides is None else (int(slides[0]), int(slides[1]), int(slides[2])),
        role=hub["role"],
        seat=Seat(
            inset_mm=hub["seat_inset_mm"],
            play_mm=hub["seat_play_mm"],
            stiffness_n_per_mm=hub["seat_stiffness_n_per_mm"],
            tension_held_n=hub["tension_n"]["held"],
            tension_free_n=hub["tension_n"]["free"],
            compression_n=hub["compression_n"],
        ),
        price=hub["price"],
        rotational_stiffness_n_mm_per_rad=hub.get("rotational_stiffness_n_mm_per_rad"),
    )
