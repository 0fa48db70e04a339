"""What every part of one run needs: inputs, kit, stock, and a way to calculate again."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from baywright_service.contract import Fault, Inputs, InvalidInputs, Result

from ..kit import Kit, Rod
from .passages import AXES
from .sections import overhangs_mm

Value = dict[str, Any]

TOO_MANY = (
    "There are too many sums to count them exactly; allow fewer rods, fewer kinds, or give pitches "
    "with fewer decimals."
)


@dataclass(frozen=True)
class Context:
    """`available` holds free pieces by part (None: no stock given); `rerun` proves a patch and
    `load` validates other inputs."""

    inputs: Inputs
    kit: Kit
    available: Mapping[str, int] | None
    rerun: Callable[[Mapping[str, Any]], Result | None]
    load: Callable[[Mapping[str, Any]], Inputs]

    @property
    def play_um(self) -> int:
        """What one rod with its two seats gives each way."""
        return round(2000 * self.kit.frame_hub.seat.play_mm)

    @property
    def overhangs_mm(self) -> dict[str, float]:
        """Reach of the outer hubs by axis, one side."""
        return overhangs_mm(self.kit, self.inputs["flush_axes"])

    def rod(self, rod: str, pointer: str) -> int:
        """Place of a rod in the kit. Raises InvalidInputs where there is none of that name."""
        place = self.kit.rod_index.get(rod)
        if place is None:
            fault = Fault("unknown-reference", f"The kit has no rod {rod}.")
            raise InvalidInputs([(pointer, fault)])
        return place

    def at_hand(self, rod: int, most: int) -> int:
        """Pieces of a rod that the stock leaves, `most` where no stock is given."""
        if self.available is None:
            return most
        return min(most, self.available.get(self.kit.rods[rod].id, 0))

    def rods(self, places: Sequence[int]) -> list[Rod]:
        return [self.kit.rods[k] for k in places]

    def layout(self, raw: Mapping[str, Any]) -> Mapping[str, Any]:
        """A layout as on the wire, validated."""
        loaded: Mapping[str, Any] = self.load({"kit": self.inputs.raw["kit"], "layout": raw})
        return dict(loaded["layout"])


__all__ = ["AXES", "TOO_MANY", "Context", "Value"]
