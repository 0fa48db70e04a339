"""Where a step is, in words, and the flat ladders it is made of."""

from collections.abc import Sequence
from dataclasses import dataclass

from ...frame import Frame
from ..beams import Cell
from .steps import Built, Step

#: Axis across the ladders of a run along x, y, z: beams get one below and one above, columns one
#: in front and one behind.
_ACROSS = (2, 2, 1)


@dataclass(frozen=True)
class Ladders:
    """Flat pieces of a step made on the table; rods in them, and rods that join them."""

    count: int
    rods: int
    joining: int


def runs_of(step: Step) -> list[list[Built]]:
    """The bays of a step as straight runs, in order."""
    runs: list[list[Built]] = []
    for one in step.built:
        if runs and _continues(runs[-1], one):
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _continues(run: Sequence[Built], one: Built) -> bool:
    here, last = one.unit.cell, run[-1].unit.cell
    if here is None or last is None:
        return False
    step = tuple(a - b for a, b in zip(here, last, strict=True))
    if sum(map(abs, step)) != 1:
        return False
    before = run[-2].unit.cell if len(run) > 1 else None
    return before is None or step == tuple(a - b for a, b in zip(last, before, strict=True))


def ladders_of(step: Step, part: Frame) -> Ladders:
    """How a step falls into flat ladders: the new rods in the two planes of each run, and those
    between. Hubs without bays give none."""
    count = rods = 0
    for run in runs_of(step):
        first = run[0].unit.cell
        if first is None:
            continue
        across = _ACROSS[_axis([one.unit.cell for one in run if one.unit.cell is not None])]
        for plane in (first[across], first[across] + 1):
            flat = [
                m
                for one in run
                for m in one.members
                if part.lattice[part.start[m], across] == plane
                and part.lattice[part.end[m], across] == plane
            ]
            count += bool(flat)
            rods += len(flat)
    return Ladders(count, rods, len(step.members) - rods)


def place_words(step: Step, size: Cell | None) -> str:
    """Where a step is: its runs, sides counted from the front left corner.

    `size` is the section's number of bays along x, y, z; None where it has no grid.
    """
    if size is None:
        hubs = len(step.nodes)
        return f"{hubs} hubs with their rods to what stands, from below"
    return "; ".join(
        _run_words([one.unit.cell for one in run if one.unit.cell is not None], size)
        for run in runs_of(step)
    )


def _axis(cells: Sequence[Cell]) -> int:
    if len(cells) < 2:
        return 0
    return next(k for k in range(3) if cells[0][k] != cells[1][k])


def _run_words(cells: Sequence[Cell], size: Cell) -> str:
    axis = _axis(cells)
    i, j, k = cells[0]
    along_x = _side(i, size[0], "left", "right", "from the left")
    along_y = _side(j, size[1], "front", "back", "from the front")
    if len(cells) == 1:
        return f"level {k + 1}, {along_y} {along_x}, one bay"
    low, high = sorted((cells[0][axis] + 1, cells[-1][axis] + 1))
    if axis == 2:
        return f"{along_y} {along_x} column, levels {low} to {high}"
    if axis == 0:
        return f"level {k + 1}, {along_y}, bays {low} to {high} from the left"
    return f"level {k + 1}, {along_x}, bays {low} to {high} from the front"


def _side(place: int, count: int, low: str, high: str, otherwise: str) -> str:
    if place == 0:
        return low
    return high if place == count - 1 else f"bay {place + 1} {otherwise}"
