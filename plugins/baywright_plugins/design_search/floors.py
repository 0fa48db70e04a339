"""Floor panels on the bays of a section: where they meet, and how many are needed."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from baywright_service.contract import CannotCalculate

from ..floor_tiling_ratio.common_repeats import SearchTooWide
from ..floor_tiling_ratio.continued_fractions import exact
from ..floor_tiling_ratio.layout import Ratio, Row, Wanted, floor_parts, lay_row
from ..floor_tiling_ratio.made_of import Pitch
from ..floor_tiling_ratio.ratios import Meeting, PairOfPitches, pair_of_pitches
from .problem import Panel, Problem


@dataclass(frozen=True)
class Met:
    """How panels meet the bays of one rod: the first ratio that fits, or the nearest that does
    not."""

    fits: bool
    meeting: Meeting | None


class Floors:
    """Ratios and rows of panels, each worked out once, as the floor calculator does."""

    def __init__(self, problem: Problem) -> None:
        self._kit = problem.kit
        self._most = problem.inputs.get("floor", {}).get("most_bays_count", 12)
        self._pairs: dict[tuple[int, Panel], PairOfPitches] = {}
        self._rows: dict[tuple[int, int, Panel], tuple[Wanted, Row]] = {}
        self._needed: dict[tuple[Any, ...], int] = {}
        for place, panel in enumerate(problem.panels):
            if 2 * panel.play_mm >= panel.pitch_mm:
                reason = "The panel gives by half of itself or more, so any ratio would hold."
                raise CannotCalculate(f"/floor/panels/{place}/play_mm", reason)

    def met(self, rod: int, panel: Panel) -> Met:
        """How panels meet bays of a rod of the kit."""
        pair = self._pair(rod, panel)
        return Met(pair.ratio is not None, pair.ratio or pair.nearest)

    def needed(self, rods: tuple[int, int], bays: tuple[int, int], panel: Panel) -> int:
        """Panels for a floor between the outer nodes of a section, with those cut for strips."""
        key = (rods, bays, panel)
        if key not in self._needed:
            (along, row_a), (across, row_b) = (
                self._row(rod, count, panel) for rod, count in zip(rods, bays, strict=True)
            )
            parts = floor_parts(row_a, row_b, (along, across), panel.id)
            self._needed[key] = sum(part.count for part in parts if part.item == panel.id)
        return self._needed[key]

    def _row(self, rod: int, bays: int, panel: Panel) -> tuple[Wanted, Row]:
        key = (rod, bays, panel)
        if key not in self._rows:
            met, bay = self.met(rod, panel), self._bay(rod)
            ratio, play = None, bay.play_mm + panel.play_mm
            if met.fits and met.meeting is not None:
                meeting = met.meeting
                ratio = Ratio(Fraction(int(meeting.first_count)), meeting.second_count)
                play = meeting.play_mm
            wanted = Wanted(bays * bay.length_mm, bay.length_mm, panel.pitch_mm, play)
            self._rows[key] = (wanted, lay_row(wanted, ratio))
        return self._rows[key]

    def _pair(self, rod: int, panel: Panel) -> PairOfPitches:
        key = (rod, panel)
        if key not in self._pairs:
            second = Pitch(panel.id, panel.pitch_mm, panel.play_mm, {}, 1)
            try:
                found = pair_of_pitches(self._bay(rod), second, most=self._most, listed=1)
            except SearchTooWide as error:
                reason = "So much play for so many bays: ask for fewer bays or less play."
                raise CannotCalculate("/floor/most_bays_count", reason) from error
            self._pairs[key] = found
        return self._pairs[key]

    def _bay(self, rod: int) -> Pitch:
        kind = self._kit.rods[rod]
        play = 2 * exact(self._kit.frame_hub.seat.play_mm)
        return Pitch(kind.id, exact(kind.pitch_mm), play, {}, 1)
