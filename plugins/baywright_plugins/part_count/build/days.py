"""From minutes of work to days with pauses in them."""

from dataclasses import dataclass
from math import ceil, floor


@dataclass(frozen=True)
class Day:
    """A working day of `day_min`, pauses in it; `pause_min` of pause end each `every_min`."""

    day_min: float
    pause_min: float
    every_min: float

    @property
    def stretch_min(self) -> float:
        """Work without a pause."""
        return min(self.every_min - self.pause_min, self.day_min)

    @property
    def work_min(self) -> float:
        """Work in one day.

        >>> Day(360.0, 5.0, 60.0).work_min
        330.0
        """
        rounds = floor(self.day_min / self.every_min)
        rest = self.day_min - rounds * self.every_min
        return rounds * (self.every_min - self.pause_min) + min(rest, self.stretch_min)

    def days(self, work_min: float) -> int:
        """Days that so much work takes.

        >>> Day(360.0, 5.0, 60.0).days(331.0)
        2
        """
        return max(ceil(work_min / self.work_min - 1e-9), 1) if work_min > 0 else 0

    def day_of(self, work_min: float, *, ending: bool) -> int:
        """The day, from 1, in which a moment of work falls; `ending` counts the very end of a day
        to that day, not to the next."""
        if ending:
            return max(self.days(work_min), 1)
        return floor(work_min / self.work_min + 1e-9) + 1

    def present_min(self, work_min: float) -> float:
        """Time present for so much work from the start of a day, pauses in it, nights not.

        >>> Day(360.0, 5.0, 60.0).present_min(110.0)
        115.0
        """
        whole = self.days(work_min) - 1
        rest = work_min - whole * self.work_min
        if whole < 0:
            return 0.0
        pauses = max(ceil(rest / (self.every_min - self.pause_min) - 1e-9) - 1, 0)
        return whole * self.day_min + rest + pauses * self.pause_min
