"""The check of the shelf, before it is known which hub can stand where."""

import numpy as np

from ..part_count.kit_parts import kit_parts
from .check import Bools, Check, Floats, Ints, Reason, kinds_of, section_rows
from .machines import Counting, Machine
from .problem import Problem
from .shapes import Drawings, shape_of
from .shelf import Shelf
from .space import Looked

#: Sections counted part by part in this check, in one search.
MOST_COUNTED = 6_000
#: A section whose second diagonals are listed one by one takes as long as so many others.
_LISTED_WORK = 200


class PartsCheck(Check):
    """Does the shelf lack more pieces than may be bought, whichever hub stands where?"""

    id, title = "parts", "Parts on the shelf"

    def __init__(
        self, problem: Problem, drawings: Drawings, counting: Counting, shelf: Shelf
    ) -> None:
        super().__init__(problem)
        self._drawings, self._counting, self._shelf = drawings, counting, shelf
        self._counted = 0

    @property
    def asked(self) -> bool:
        return self.problem.most_to_buy is not None

    def fails(self, looked: Looked) -> Bools:
        most = self.problem.most_to_buy
        assert most is not None
        return self._least(looked) > most

    def facets(self, looked: Looked) -> Ints:
        return looked.bracing[:, None]

    def excess(self, looked: Looked) -> Floats:
        return self._least(looked).astype(np.float64)

    def _least(self, looked: Looked) -> Ints:
        """Pieces to buy at the least, shape (n,); 0 once too many sections were counted."""
        none = np.zeros(len(looked.number), dtype=np.int64)
        if not len(none):
            return none
        split = self.problem.splits[looked.block.split]
        kinds = self._kinds(looked)
        for section, (rows, _) in zip(split.sections, kinds, strict=True):
            listed = [section.id in one.seconds for one in self.problem.bracings]
            self._counted += sum(_LISTED_WORK if listed[row[3]] else 1 for row in rows.tolist())
        if self._counted > MOST_COUNTED:  # left to the count of each machine
            return none
        hubs = np.zeros(len(looked.number), dtype=np.int64)
        rods = np.zeros((len(hubs), len(self.problem.kit.rods)), dtype=np.int64)
        for section, (rows, inverse) in zip(split.sections, kinds, strict=True):
            parts = [
                self._drawings.parts(
                    shape_of(self.problem, section, looked.block.rods, (x, y, z), bracing, 0)
                )
                for x, y, z, bracing in rows.tolist()
            ]
            hubs += np.array([one.hubs for one in parts])[inverse]
            rods += np.array([one.rods for one in parts])[inverse]
        self._add_joints(looked, rods)
        return self._shelf.least_to_buy(rods, hubs, self._extras(looked))

    def reason(self, machine: Machine) -> Reason:
        most = self.problem.most_to_buy
        assert most is not None
        contents = self._counting.of(machine)
        parts = [part.id for part in kit_parts(self.problem.kit)]
        extras = np.array([[contents.extras.get(item, 0) for item in parts]], dtype=np.int64)
        least = int(
            self._shelf.least_to_buy(np.array([contents.rods]), np.array([contents.hubs]), extras)[
                0
            ]
        )
        return to_buy_reason(least, most, contents.hubs + sum(contents.rods), at_least=True)

    def _kinds(self, looked: Looked) -> list[tuple[Ints, Ints]]:
        sections = self.problem.splits[looked.block.split].sections
        return [
            kinds_of(np.column_stack([section_rows(looked, one.own), looked.bracing]))
            for one in sections
        ]

    def _add_joints(self, looked: Looked, rods: Ints) -> None:
        joint = self.problem.joint
        if joint is None:
            return
        own = [section.own for section in self.problem.splits[looked.block.split].sections]
        for a, b in zip(own[:-1], own[1:], strict=True):
            heights = np.minimum(looked.height[:, a], looked.height[:, b])
            columns = np.minimum(looked.depth + 1, 4) * np.minimum(heights + 1, 4)
            rods[:, joint] += columns

    def _extras(self, looked: Looked) -> Ints:
        """Accessories and lifts; panels are left to the count of each machine."""
        items = self.problem.items
        fixed = np.array([self.problem.extras.get(item, 0) for item in items], dtype=np.int64)
        found = np.tile(fixed, (len(looked.number), 1))
        if self.problem.lifts is not None:
            each = [self.problem.lifts.parts_each.get(item, 0) for item in items]
            counts = np.array(self.problem.lift_counts)[looked.lifts]
            found += counts[:, None] * np.array(each, dtype=np.int64)
        return found


def to_buy_reason(count: int, most: int, pieces: int, *, at_least: bool) -> Reason:
    """Why a machine is out that lacks more than may be bought."""
    words = "At least " if at_least else ""
    text = f"{words}{count} pieces are missing on the shelf; at most {most} may be bought."
    excess = (count - most) / max(pieces, 1)
    return Reason("parts", text, float(count), float(most), "1", excess)
