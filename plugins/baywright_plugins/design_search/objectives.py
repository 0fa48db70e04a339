"""What machines are compared by."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Objective:
    """One column of the comparison: its field in results, words, unit, and digits that count."""

    id: str
    title: str
    field: str
    unit: str
    more_is_better: bool
    digits: int

    @property
    def best_words(self) -> str:
        return "more is better" if self.more_is_better else "less is better"

    def text(self, value: float) -> str:
        """A value for reading, with its unit."""
        shown = f"{value:.0f}" if self.digits == 0 else f"{value:.{min(self.digits, 2)}f}"
        return f"{shown} {self.unit}".strip()


_ALL = (
    Objective("parts", "Parts", "pieces_count", "pieces", False, 0),
    Objective("mass", "Mass", "mass_kg", "kg", False, 3),
    Objective("strength_reserve", "Strength reserve", "strength_reserve_ratio", "", True, 4),
    Objective("build_hours", "Build time", "build_hours_h", "h", False, 3),
    Objective("shortage", "Pieces to buy", "to_buy_count", "pieces", False, 0),
)

#: By id, in the order in which they are told.
OBJECTIVES: Mapping[str, Objective] = {one.id: one for one in _ALL}
