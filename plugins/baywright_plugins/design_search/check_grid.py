"""Checks of the grid: the size of the coupled machine, and diagonals that close."""

import math

import numpy as np

from .check import Bools, Check, Floats, Ints, Reason, kinds_of, section_rows
from .machines import Machine, overall_um
from .shapes import Drawings, crosses_a_face, shape_of
from .space import Block, Looked


class SizeCheck(Check):
    """Is the coupled machine within its envelope?"""

    id, title = "size", "Size of the coupled machine"
    nearest_first = True

    def fails(self, looked: Looked) -> Bools:
        return np.asarray(self.facets(looked).any(axis=1))

    def facets(self, looked: Looked) -> Ints:
        """(1 too long, -1 too short; 1 too high, -1 too low)."""
        limits = self.problem.limits
        length, height = self._sizes(looked)
        return np.column_stack(
            [_outside(length, limits.length_um), _outside(height, limits.height_um)]
        )

    def excess(self, looked: Looked) -> Floats:
        limits = self.problem.limits
        found = np.zeros(len(looked.number))
        for size, (low, high) in zip(
            self._sizes(looked), (limits.length_um, limits.height_um), strict=True
        ):
            found += np.maximum(low - size, 0) / max(low, 1) + np.maximum(size - high, 0) / max(
                high, 1
            )
        return found

    def reason(self, machine: Machine) -> Reason:
        limits = self.problem.limits
        length, _, height = overall_um(self.problem, machine)
        if not limits.length_um[0] <= length <= limits.length_um[1]:
            return _size_reason("long", length, limits.length_um)
        return _size_reason("high", height, limits.height_um)

    def _sizes(self, looked: Looked) -> tuple[Ints, Ints]:
        problem, block = self.problem, looked.block
        own = [section.own for section in problem.splits[block.split].sections]
        x, _, z = (problem.kit.rods[k].pitch_um for k in block.rods)
        joints = (len(own) - 1) * problem.joint_um
        length = looked.length[:, own].sum(axis=1) * x + problem.ends_um[0] + joints
        return length, looked.height.max(axis=1) * z + problem.ends_um[2]


class BracingCheck(Check):
    """Does a rod of the kit brace every face that wants a diagonal?"""

    id, title = "bracing", "Diagonals that close"

    def fails(self, looked: Looked) -> Bools:
        return np.asarray(self.facets(looked)[:, 0] != 0)

    def facets(self, looked: Looked) -> Ints:
        """(0: closes, k + 1: faces across axis k do not, 4: a second diagonal does not go in;
        way to brace)."""
        block = looked.block
        across = np.array(
            [self._open(block.rods, k) for k in range(len(self.problem.bracings))], dtype=np.int64
        )[looked.bracing]
        across = np.where((across == 0) & self._misplaced(looked), 4, across)
        return np.column_stack([across, looked.bracing])

    def reason(self, machine: Machine) -> Reason:
        problem = self.problem
        across = self._open(machine.rods, machine.bracing)
        if not across:
            return self._second_reason(machine)
        pair = [problem.kit.rods[rod] for k, rod in enumerate(machine.rods) if k != across - 1]
        needed = math.hypot(pair[0].pitch_mm, pair[1].pitch_mm)
        nearest = min(problem.kit.rods, key=lambda rod: abs(rod.pitch_mm - needed))
        off, play = abs(nearest.pitch_mm - needed), 2 * problem.kit.frame_hub.seat.play_mm
        text = (
            f"Bays of {pair[0].id} x {pair[1].id} need a diagonal of {needed:.1f} mm; the nearest "
            f"rod, {nearest.id}, is {off:.1f} mm off where its seats give {play:.2f} mm."
        )
        return Reason(self.id, text, off, play, "mm", (off - play) / needed)

    def fails_block(self, block: Block) -> bool:
        return all(self._open(block.rods, k) for k in range(len(self.problem.bracings)))

    def _open(self, rods: tuple[int, int, int], bracing: int) -> int:
        kit, patterns = self.problem.kit, self.problem.bracings[bracing].patterns
        for normal in range(3):
            a, b = (kit.rods[rod].pitch_mm for k, rod in enumerate(rods) if k != normal)
            if patterns.wants(normal) and kit.rod_spanning(math.hypot(a, b)) is None:
                return normal + 1
        return 0

    def _misplaced(self, looked: Looked) -> Bools:
        problem, rods = self.problem, looked.block.rods
        found = np.zeros(len(looked.number), dtype=bool)
        for number, bracing in enumerate(problem.bracings):
            mine = np.flatnonzero(looked.bracing == number)
            for section in problem.splits[looked.block.split].sections:
                bays, like = kinds_of(section_rows(looked, section.own)[mine])
                fits = np.ones(len(bays), dtype=bool)
                for ends in bracing.seconds.get(section.id, ()) if len(mine) else ():
                    fits &= crosses_a_face(ends, rods, bays, problem.kit)
                found[mine] |= ~fits[like]
        return found

    def _second_reason(self, machine: Machine) -> Reason:
        problem, drawings = self.problem, Drawings(self.problem)
        sections = problem.splits[machine.split].sections
        for section, bays in zip(sections, machine.bays, strict=True):
            shape = shape_of(problem, section, machine.rods, bays, machine.bracing, 0)
            fault = drawings.fault(shape)
            if fault:
                size = " x ".join(map(str, bays))
                text = f"In {section.id} of {size} bays {fault}."
                return Reason(self.id, text, 1.0, 0.0, "1", 1.0)
        raise AssertionError("a machine whose diagonals close was asked about")


def _outside(size_um: Ints, limits: tuple[int, int]) -> Ints:
    return np.where(size_um > limits[1], 1, np.where(size_um < limits[0], -1, 0))


def _size_reason(word: str, size_um: int, limits: tuple[int, int]) -> Reason:
    over = size_um > limits[1]
    limit = limits[1] if over else limits[0]
    side = "at most" if over else "at least"
    text = (
        f"The coupled machine is {size_um / 1000:g} mm {word}; "
        f"{side} {limit / 1000:g} mm is wanted."
    )
    excess = abs(size_um - limit) / max(limit, 1)
    return Reason("size", text, size_um / 1000, limit / 1000, "mm", excess)
