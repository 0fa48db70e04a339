"""One machine of the space: its sections, and everything it is made of."""

from collections import Counter
from dataclasses import dataclass

from .floors import Floors
from .problem import Panel, Problem, Split, Triple
from .shapes import Drawings, Shape, bay_count, coupling_rods, shape_of, sum_of
from .space import Looked


@dataclass(frozen=True)
class Machine:
    """One choice of everything. `bays` of each section, in order; `bracing` and `panel` are places
    among the options; `lifts` is how many (0: none were asked for)."""

    number: int
    rods: Triple
    split: int
    bays: tuple[Triple, ...]
    bracing: int
    panel: int
    lifts: int


def machine_at(problem: Problem, looked: Looked, row: int) -> Machine:
    """The machine in one row of those looked at."""
    split = problem.splits[looked.block.split]
    depth = int(looked.depth[row])
    sizes = list(zip(looked.length[row].tolist(), looked.height[row].tolist(), strict=True))
    return Machine(
        number=int(looked.number[row]),
        rods=looked.block.rods,
        split=looked.block.split,
        bays=tuple((sizes[s.own][0], depth, sizes[s.own][1]) for s in split.sections),
        bracing=int(looked.bracing[row]),
        panel=int(looked.panel[row]),
        lifts=problem.lift_counts[int(looked.lifts[row])],
    )


@dataclass(frozen=True)
class Contents:
    """What a machine takes: shapes of its sections, rods by place in the kit with and without
    joints, bays, mass of fittings, and parts beside the frame."""

    shapes: tuple[Shape, ...]
    rods: tuple[int, ...]
    in_sections: tuple[int, ...]
    hubs: int
    bays: int
    fittings_kg: float
    extras: dict[str, int]
    panels: int


class Counting:
    """Works out the contents of machines."""

    def __init__(self, problem: Problem, drawings: Drawings, floors: Floors) -> None:
        self._problem, self._drawings, self._floors = problem, drawings, floors

    def of(self, machine: Machine) -> Contents:
        problem = self._problem
        shapes = self.shapes(machine)
        hubs, inner = sum_of(shapes, self._drawings)
        rods = Counter(inner)
        if problem.joint is not None:
            pairs = zip(machine.bays[:-1], machine.bays[1:], strict=True)
            rods[problem.joint] += sum(coupling_rods(a, b) for a, b in pairs)
        panels = self.panels(machine)
        kinds = range(len(problem.kit.rods))
        return Contents(
            shapes,
            tuple(rods[k] for k in kinds),
            tuple(inner[k] for k in kinds),
            hubs,
            sum(bay_count(bays) for bays in machine.bays),
            sum(one.mass_kg for shape in shapes for one in shape.fittings),
            self.extras(machine, panels),
            panels,
        )

    def fits(self, machine: Machine) -> bool:
        """Whether the second diagonals that are given one by one each cross a face."""
        return not any(self._drawings.fault(shape) for shape in self.shapes(machine))

    def shapes(self, machine: Machine) -> tuple[Shape, ...]:
        split = self._problem.splits[machine.split]
        carries = lifts_stand_in(self._problem, split)
        return tuple(
            shape_of(
                self._problem, section, machine.rods, bays, machine.bracing,
                machine.lifts if place == carries else 0,
            )
            for place, (section, bays) in enumerate(zip(split.sections, machine.bays, strict=True))
        )  # fmt: skip

    def panels(self, machine: Machine) -> int:
        """Floor panels of the whole machine."""
        panel = panel_of(self._problem, machine)
        if panel is None:
            return 0
        sections = self._problem.splits[machine.split].sections
        return sum(
            self._floors.needed(machine.rods[:2], bays[:2], panel)
            for section, bays in zip(sections, machine.bays, strict=True)
            if self._problem.has_floor(section.id)
        )

    def extras(self, machine: Machine, panels: int) -> dict[str, int]:
        """Parts beside the frame: accessories, parts of lifts, panels that are parts of the kit."""
        found = Counter(self._problem.extras)
        if self._problem.lifts is not None:
            for item, count in self._problem.lifts.parts_each.items():
                found[item] += machine.lifts * count
        panel = panel_of(self._problem, machine)
        if panel is not None and panel.item is not None:
            found[panel.item] += panels
        return {item: count for item, count in found.items() if count}


def overall_um(problem: Problem, machine: Machine) -> Triple:
    """Length, width and height of the coupled machine over its hub ends, in micrometres."""
    x, y, z = (problem.kit.rods[rod].pitch_um for rod in machine.rods)
    joints = (len(machine.bays) - 1) * problem.joint_um
    return (
        sum(bays[0] for bays in machine.bays) * x + joints + problem.ends_um[0],
        machine.bays[0][1] * y + problem.ends_um[1],
        max(bays[2] for bays in machine.bays) * z + problem.ends_um[2],
    )


def lifts_stand_in(problem: Problem, split: Split) -> int:
    """Place of the section that carries the lifts: the one named, else the first."""
    names = [section.id for section in split.sections]
    named = None if problem.lifts is None else problem.lifts.section
    return names.index(named) if named in names else 0


def panel_of(problem: Problem, machine: Machine) -> Panel | None:
    return problem.panels[machine.panel] if problem.panels else None


def machine_words(problem: Problem, machine: Machine) -> str:
    """A machine in one line, for reading."""
    rods = [problem.kit.rods[k].id for k in machine.rods]
    same = len(set(rods)) == 1
    bays = f"{rods[0]} bays" if same else f"bays of {' x '.join(rods)}"
    split = problem.splits[machine.split]
    sizes: dict[Triple, list[str]] = {}
    for section, size in zip(split.sections, machine.bays, strict=True):
        sizes.setdefault(size, []).append(section.id)
    each = "; ".join(f"{_and(names)} {' x '.join(map(str, size))}" for size, names in sizes.items())
    words = [bays, each, problem.bracings[machine.bracing].title]
    if problem.panels:
        words.append(f"floor of {problem.panels[machine.panel].id}")
    if machine.lifts:
        words.append("1 lift" if machine.lifts == 1 else f"{machine.lifts} lifts")
    return "; ".join(words)


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
