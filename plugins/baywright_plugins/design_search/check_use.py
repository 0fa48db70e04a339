"""Checks of what a machine is for: doors on the route, floor panels, lifts."""

from fractions import Fraction

import numpy as np

from ..floor_tiling_ratio.continued_fractions import exact
from .check import Bools, Check, Ints, Reason, kinds_of, section_rows
from .floors import Floors
from .machines import Machine
from .problem import Problem
from .space import Block, Looked


class DoorsCheck(Check):
    """Does every section get through every passage?"""

    id, title = "doors", "Doors and corners on the route"

    @property
    def asked(self) -> bool:
        return self.problem.journey is not None

    def fails(self, looked: Looked) -> Bools:
        return self.facets(looked)[:, 0] > 0

    def facets(self, looked: Looked) -> Ints:
        """(0: all pass, k + 1: section k sticks first; its bays)."""
        problem, journey = self.problem, self.problem.journey
        assert journey is not None
        found = np.zeros((len(looked.number), 4), dtype=np.int64)
        for place, section in enumerate(problem.splits[looked.block.split].sections):
            rows = section_rows(looked, section.own)
            kinds, like = kinds_of(rows)
            sticks = [
                not journey.passes(problem.size_mm(section, looked.block.rods, (x, y, z)))
                for x, y, z in kinds.tolist()
            ]
            first = np.array(sticks, dtype=bool)[like] & (found[:, 0] == 0)
            found[first] = np.column_stack([np.full(first.sum(), place + 1), rows[first]])
        return found

    def reason(self, machine: Machine) -> Reason:
        problem, journey = self.problem, self.problem.journey
        assert journey is not None
        worst: Reason | None = None
        sections = problem.splits[machine.split].sections
        for section, bays in zip(sections, machine.bays, strict=True):
            size = problem.size_mm(section, machine.rods, bays)
            if journey.passes(size):
                continue
            crossing = journey.tightest(size)
            way = crossing.governs
            title = next(p.title or p.id for p in journey.passages if p.id == crossing.passage)
            text = (
                f"{section.id}, {' x '.join(f'{v:g}' for v in size)} mm over all, sticks at "
                f"{title}: it needs {way.needed_mm:.0f} mm where there are {way.allowed_mm:.0f} mm."
            )
            excess = -crossing.spare_mm / max(way.needed_mm, 1.0)
            if worst is None or excess > worst.excess:
                worst = Reason(self.id, text, way.needed_mm, way.allowed_mm, "mm", excess)
        if worst is None:
            raise AssertionError("a machine that passes was asked about")
        return worst


class FloorCheck(Check):
    """Do floor panels meet the frame soon enough, along x and along y?"""

    id, title = "floor", "Floor panels meet the bays"

    def __init__(self, problem: Problem, floors: Floors) -> None:
        super().__init__(problem)
        self._floors = floors

    @property
    def asked(self) -> bool:
        return bool(self.problem.panels)

    def fails(self, looked: Looked) -> Bools:
        return self.facets(looked)[:, 0] > 0

    def facets(self, looked: Looked) -> Ints:
        """(0: meets, 1: not along x, 2: not along y; panel)."""
        axis = np.array(
            [self._axis(looked.block.rods, panel) for panel in range(len(self.problem.panels))]
        )[looked.panel]
        return np.column_stack([axis, looked.panel])

    def reason(self, machine: Machine) -> Reason:
        axis = self._axis(machine.rods, machine.panel)
        rod = self.problem.kit.rods[machine.rods[axis - 1]]
        panel = self.problem.panels[machine.panel]
        most = self.problem.inputs["floor"]["most_bays_count"]
        meeting = self._floors.met(machine.rods[axis - 1], panel).meeting
        if meeting is None:
            text = f"No whole number of {panel.id} comes near {most} bays of {rod.id}."
            return Reason(self.id, text, float(panel.pitch_mm), rod.pitch_mm, "mm", 1.0)
        off, play = abs(float(meeting.misfit_mm)), float(meeting.play_mm)
        text = (
            f"Within {most} bays of {rod.id} panels of {float(panel.pitch_mm):g} mm do not meet "
            f"the frame: the nearest, {meeting.second_count} panels on "
            f"{int(meeting.first_count)} bays, is {off:.2f} mm off where {play:.2f} mm give."
        )
        return Reason(self.id, text, off, play, "mm", (off - play) / float(panel.pitch_mm))

    def fails_block(self, block: Block) -> bool:
        return all(self._axis(block.rods, k) for k in range(len(self.problem.panels)))

    def _axis(self, rods: tuple[int, int, int], panel: int) -> int:
        for k in (0, 1):
            if not self._floors.met(rods[k], self.problem.panels[panel]).fits:
                return k + 1
        return 0


class LiftsCheck(Check):
    """Is the flow met with as many lifts stopped as may stop?"""

    id, title = "lifts", "Lifts left when some stop"

    @property
    def asked(self) -> bool:
        return self.problem.lifts is not None

    def fails(self, looked: Looked) -> Bools:
        return np.array([self._short(n) > 0 for n in self.problem.lift_counts])[looked.lifts]

    def facets(self, looked: Looked) -> Ints:
        return looked.lifts[:, None]

    def reason(self, machine: Machine) -> Reason:
        lifts = self.problem.lifts
        assert lifts is not None
        left = max(machine.lifts - lifts.may_fail, 0)
        brought, wanted = left * lifts.capacity_per_min, lifts.required_per_min
        text = (
            f"{_lifts(machine.lifts)} with {lifts.may_fail} stopped bring up {brought:g} balls a "
            f"minute; {wanted:g} are wanted."
        )
        return Reason(self.id, text, brought, wanted, "/min", self._short(machine.lifts) / wanted)

    def _short(self, count: int) -> float:
        lifts = self.problem.lifts
        assert lifts is not None
        left = max(count - lifts.may_fail, 0)
        brought = exact(lifts.capacity_per_min) * left
        return float(max(exact(lifts.required_per_min) - brought, Fraction(0)))


def _lifts(count: int) -> str:
    return "1 lift" if count == 1 else f"{count} lifts"
