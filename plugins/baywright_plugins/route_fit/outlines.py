"""The outline of a section as blocks: its body over the hub ends, and what sticks out of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import Fault, InvalidInputs

from ..grid_fit.passages import AXES
from .carried import Solid, Triple

Patch = tuple[float, float, float, float]


@dataclass(frozen=True)
class Reach:
    """A part that sticks out of a side. `patches` are where it sits along the side's two axes,
    from the lower corner over the hub ends; None: anywhere on the side."""

    axis: int
    upper: bool
    mm: float
    place: str
    pad_mm: float
    patches: tuple[Patch, ...]
    pointer: str

    @classmethod
    def from_inputs(cls, part: Mapping[str, Any], pointer: str) -> "Reach":
        axis, end = part["side"].split("-")
        rows = part["patches_mm"].tolist() if "patches_mm" in part else []
        return cls(
            AXES.index(axis), end == "plus", part["mm"], part["place"], part["pad_mm"],
            tuple((row[0], row[1], row[2], row[3]) for row in rows), pointer,
        )  # fmt: skip


def outside_of(size: Triple, reaches: Sequence[Reach]) -> Triple:
    """Size over all: the furthest part on each side counts."""
    low, high = _ends(reaches)
    x, y, z = (size[k] + low[k] + high[k] for k in range(3))
    return x, y, z


def outline_of(section: str, size: Triple, reaches: Sequence[Reach]) -> tuple[Solid, ...]:
    """Blocks from the outer corner over all; none where everything sits on whole sides.

    Raises InvalidInputs where a patch lies beside the section.
    """
    local = [reach for reach in reaches if reach.place != "whole-side"]
    low, high = _ends(reaches)
    whole_low, whole_high = _ends([r for r in reaches if r.place == "whole-side"])
    if not any(_stands_out(reach, whole_low, whole_high) for reach in local):
        return ()
    body_low = [low[k] - whole_low[k] for k in range(3)]
    body_high = [low[k] + size[k] + whole_high[k] for k in range(3)]
    blocks = [Solid(_triple(body_low), _triple(body_high))]
    for reach in local:
        for patch in _patches(section, size, reach):
            blocks.append(_block(reach, patch, low, size))
    return tuple(blocks)


def low_ends(reaches: Sequence[Reach]) -> Triple:
    """How far the parts reach out on the lower side of each axis."""
    x, y, z = _ends(reaches)[0]
    return x, y, z


def _ends(reaches: Sequence[Reach]) -> tuple[list[float], list[float]]:
    low, high = [0.0] * 3, [0.0] * 3
    for reach in reaches:
        ends = high if reach.upper else low
        ends[reach.axis] = max(ends[reach.axis], reach.mm)
    return low, high


def _stands_out(reach: Reach, low: Sequence[float], high: Sequence[float]) -> bool:
    return reach.mm > (high if reach.upper else low)[reach.axis]


def _patches(section: str, size: Triple, reach: Reach) -> list[Patch]:
    a, b = (size[k] for k in range(3) if k != reach.axis)
    if reach.place == "four-corners":
        p, q = min(reach.pad_mm, a), min(reach.pad_mm, b)
        return [(x, y, x + p, y + q) for x in (0.0, a - p) for y in (0.0, b - q)]
    for k, (_, _, x, y) in enumerate(reach.patches):
        if x > a + 1e-6 or y > b + 1e-6:
            detail = f"This patch lies beside {section}, whose side is {a:g} x {b:g} mm."
            fault = Fault("out-of-range", detail)
            raise InvalidInputs([(f"{reach.pointer}/patches_mm/{k}", fault)])
    return list(reach.patches)


def _block(reach: Reach, patch: Patch, low: Sequence[float], size: Triple) -> Solid:
    """From the hub ends out to the end of the part."""
    one, two = (k for k in range(3) if k != reach.axis)
    first, last = [0.0] * 3, [0.0] * 3
    first[one], last[one] = low[one] + patch[0], low[one] + patch[2]
    first[two], last[two] = low[two] + patch[1], low[two] + patch[3]
    base, k = low[reach.axis], reach.axis
    first[k] = base + size[k] if reach.upper else base - reach.mm
    last[k] = base + size[k] + reach.mm if reach.upper else base
    return Solid(_triple(first), _triple(last))


def _triple(values: Sequence[float]) -> Triple:
    x, y, z = values
    return x, y, z
