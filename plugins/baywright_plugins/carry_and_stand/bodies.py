"""Sections as bodies: mass, centre of mass, outside box, feet and grips; floor at height 0."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..frame import Frame, node_masses_kg
from ..kit import Kit
from ..truss_check.handling import grip_level, lying_levels
from .support import outline

#: Hubs within this of the lowest one stand on the floor, mm.
_LEVEL_MM = 1.0


@dataclass(frozen=True)
class Body:
    """One section. Lengths in mm in the machine, z up from the hall floor.

    low, size: outside box; centre: of mass; feet: places (x, y); bottom: where its feet are;
    grip_mm: height of the grips above its own feet; lying_mm: the two grips of the lying section,
    heights above its own feet when upright; hub_mm: how far the box reaches beyond the hubs.
    """

    id: str
    title: str
    mass_kg: float
    low: tuple[float, float, float]
    size: tuple[float, float, float]
    centre: tuple[float, float, float]
    feet: tuple[tuple[float, float], ...]
    bottom: float
    grip_mm: float
    lying_mm: tuple[float, float]
    hub_mm: float = 0.0

    @property
    def height_of_centre(self) -> float:
        """Centre of mass above its own feet."""
        return self.centre[2] - self.bottom

    @property
    def base(self) -> tuple[float, float, float, float]:
        """x and y of the least rectangle around its feet: x0, y0, x1, y1."""
        xs, ys = [x for x, _ in self.feet], [y for _, y in self.feet]
        return min(xs), min(ys), max(xs), max(ys)


class Weightless(ValueError):
    """A section of this number weighs nothing."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


def bodies_of_frame(frame: Frame, kit: Kit, first_plane_mm: float) -> list[Body]:
    """A body for each section of a frame; coupling rods count half to either side.

    Args:
        first_plane_mm: centres of the lowest hubs above the floor.

    Raises Weightless.
    """
    masses = node_masses_kg(frame, kit)
    over = float(kit.frame_hub.overhang_mm)
    floor = float(frame.nodes_mm[:, 2].min()) - first_plane_mm
    found = []
    for number, section in enumerate(frame.sections):
        mine = np.flatnonzero(frame.node_section == number)
        if not len(mine):
            continue
        nodes, mass = frame.nodes_mm[mine], masses[mine]
        total = float(mass.sum())
        if total <= 0:
            raise Weightless(number)
        centre = mass @ nodes / total
        low, high = nodes.min(axis=0), nodes.max(axis=0)
        feet = nodes[nodes[:, 2] <= low[2] + _LEVEL_MM][:, :2]
        bottom = float(low[2]) - first_plane_mm - floor
        size = (
            float(high[0] - low[0]) + 2 * over,
            float(high[1] - low[1]) + 2 * over,
            float(high[2] - low[2]) + first_plane_mm + over,
        )
        grip, lying = _grips(section.grid_mm, float(high[2] - low[2]))
        found.append(
            Body(
                section.id,
                section.title,
                total,
                (float(low[0]) - over, float(low[1]) - over, bottom),
                size,
                (float(centre[0]), float(centre[1]), float(centre[2]) - floor),
                outline(feet),
                bottom,
                first_plane_mm + grip,
                (first_plane_mm + lying[0], first_plane_mm + lying[1]),
                over,
            )
        )
    return found


def _grips(
    planes: Sequence[Sequence[float]] | None, height_mm: float
) -> tuple[float, tuple[float, float]]:
    """Grips above the lowest hubs: carried upright, and the two of a lying section."""
    if planes is None:
        return 7.0 * height_mm / 12.0, (height_mm / 6.0, 5.0 * height_mm / 6.0)
    z = planes[2]
    low, high = lying_levels(len(z) - 1)
    return float(z[grip_level(len(z) - 1)] - z[0]), (float(z[low] - z[0]), float(z[high] - z[0]))


def bodies_of_rows(rows: Sequence[Mapping[str, Any]]) -> list[Body]:
    """A body for each stated section; without a place they stand in a row along x."""
    found = []
    along = 0.0
    for row in rows:
        size = tuple(float(v) for v in row["size_mm"])
        at = tuple(float(v) for v in row["at_mm"]) if "at_mm" in row else (along, 0.0, 0.0)
        centre = (
            tuple(float(v) for v in row["centre_mm"])
            if "centre_mm" in row
            else tuple(v / 2 for v in size)
        )
        base = tuple(float(v) for v in row["base_mm"]) if "base_mm" in row else size[:2]
        gap = ((size[0] - base[0]) / 2, (size[1] - base[1]) / 2)
        xs, ys = ((at[k] + gap[k], at[k] + gap[k] + base[k]) for k in (0, 1))
        found.append(
            Body(
                row["id"],
                row["title"],
                float(row["mass_kg"]),
                (at[0], at[1], at[2]),
                (size[0], size[1], size[2]),
                (at[0] + centre[0], at[1] + centre[1], at[2] + centre[2]),
                tuple((x, y) for x in xs for y in ys),
                at[2],
                7.0 * size[2] / 12.0,
                (size[2] / 6.0, 5.0 * size[2] / 6.0),
            )
        )
        along = at[0] + size[0]
    return found


def together(bodies: Sequence[Body], loose_kg: float = 0.0) -> Body:
    """Several sections as one stiff body; `loose_kg` lies where their common centre is.

    Its feet are those of the sections that stand lowest.
    """
    mass = np.array([b.mass_kg for b in bodies])
    centre = mass @ np.array([b.centre for b in bodies]) / mass.sum()
    low = np.min([b.low for b in bodies], axis=0)
    high = np.max([np.add(b.low, b.size) for b in bodies], axis=0)
    bottom = min(b.bottom for b in bodies)
    feet = tuple(f for b in bodies if b.bottom <= bottom + _LEVEL_MM for f in b.feet)
    size = high - low
    return Body(
        "machine",
        "the whole machine, coupled",
        float(mass.sum()) + loose_kg,
        (float(low[0]), float(low[1]), float(low[2])),
        (float(size[0]), float(size[1]), float(size[2])),
        (float(centre[0]), float(centre[1]), float(centre[2])),
        feet,
        bottom,
        7.0 * float(size[2]) / 12.0,
        (float(size[2]) / 6.0, 5.0 * float(size[2]) / 6.0),
    )
