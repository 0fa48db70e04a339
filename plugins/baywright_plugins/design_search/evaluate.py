"""One machine worked out to the end: parts, mass, hours, shortage, strength."""

import math
from collections import Counter
from dataclasses import dataclass

from ..fit_remedies.box_parts import hubs_count
from ..part_count.build_hours import build_time
from .check import Reason
from .check_shelf import to_buy_reason
from .machines import Contents, Counting, Machine
from .problem import Problem
from .shapes import Shape
from .shelf import Account, Shelf
from .strength import Bench, Held

#: What a strength check costs, in units of about a millisecond: for each shape, and for each hub;
#: and the share of it that goes into building the shape.
SHAPE_WORK, HUB_WORK = 35.0, 0.2
BUILD_SHARE = 0.35
#: A section with the case of each grip and foot takes about twice as long.
EVERY_CORNER = 1.6
#: Counting one machine.
MACHINE_WORK = 1.5
#: A choice of pairs in line among several ways is a whole-number programme.
PROGRAMME_WORK = 10.0


@dataclass(frozen=True)
class Worked:
    """A machine worked out. `failed` says why it will not do; its numbers stand all the same as
    far as they are known. `weakest` is the place of its weakest section; of a machine that is too
    weak it is one that will not do, and others may be weaker still."""

    machine: Machine
    contents: Contents
    account: Account | None
    hours: float
    mass_kg: float
    held: Held | None
    weakest: int
    failed: Reason | None

    @property
    def values(self) -> dict[str, float]:
        """By objective."""
        assert self.account is not None and self.held is not None
        return {
            "parts": self.account.pieces,
            "mass": self.mass_kg,
            "strength_reserve": self.held.reserve,
            "build_hours": self.hours,
            "shortage": self.account.to_buy,
        }


class Evaluation:
    """Works machines out; `spent` counts the work in units of about a millisecond."""

    def __init__(self, problem: Problem, counting: Counting, shelf: Shelf, bench: Bench) -> None:
        self._problem, self._counting = problem, counting
        self._shelf, self._bench = shelf, bench
        self._hours: dict[int, float] = {}
        self.spent = 0.0
        handling = problem.inputs.get("strength", {}).get("handling", {})
        self._factor = EVERY_CORNER if handling.get("every_corner") else 1.0

    def cost(self, machine: Machine) -> float:
        """Work that it would take, above what has been done already."""
        shapes = dict.fromkeys(self._counting.shapes(machine))
        build = sum(self._build_cost(shape) for shape in shapes)
        if any(self._bench.too_weak(shape) for shape in shapes):
            return build
        return build + sum(self._check_cost(shape) for shape in shapes)

    def buildable(self, machine: Machine) -> bool:
        """Whether second diagonals given one by one go in."""
        return self._counting.fits(machine)

    def of(self, machine: Machine, *, shelf_aside: bool = False, whole: bool = False) -> Worked:
        """The machine, worked out; `shelf_aside` passes over what may be bought, `whole` looks at
        every section even where one is known to be too weak."""
        self.spent += MACHINE_WORK
        contents = self._counting.of(machine)
        hours = self._build_hours(contents.bays)
        before = self._shelf.programmes
        classes = self._classes(machine, contents.shapes)
        homeless = classes.pop((), 0)
        if homeless:
            text = f"At {homeless} nodes no hub of the kit has a port for every rod."
            return Worked(
                machine, contents, None, hours, 0.0, None, 0,
                Reason("parts", text, float(homeless), 0.0, "1", 1.0),
            )  # fmt: skip
        account = self._shelf.account(contents.rods, contents.in_sections, classes, contents.extras)
        self.spent += (self._shelf.programmes - before) * PROGRAMME_WORK
        mass = round(account.mass_kg + round(contents.fittings_kg, 6), 6)
        most = self._problem.most_to_buy
        if most is not None and account.to_buy > most and not shelf_aside:
            failed = to_buy_reason(account.to_buy, most, account.pieces, at_least=False)
            return Worked(machine, contents, account, hours, mass, None, 0, failed)
        held, weakest = self._weakest(contents.shapes, whole=whole)
        failed_by = self._failed(machine, held, weakest)
        return Worked(machine, contents, account, hours, mass, held, weakest, failed_by)

    def _build_cost(self, shape: Shape) -> float:
        return 0.0 if self._bench.built(shape) else BUILD_SHARE * _work(shape)

    def _check_cost(self, shape: Shape) -> float:
        if self._bench.knows(shape):
            return 0.0
        return (1.0 - BUILD_SHARE) * _work(shape) * self._factor

    def _classes(self, machine: Machine, shapes: tuple[Shape, ...]) -> dict[tuple[int, ...], int]:
        found: Counter[tuple[int, ...]] = Counter()
        heights = [bays[2] for bays in machine.bays]
        joints = [min(a, b) for a, b in zip(heights[:-1], heights[1:], strict=True)]
        for shape, behind, ahead in zip(shapes, [0, *joints], [*joints, 0], strict=True):
            self.spent += self._build_cost(shape)
            found.update(self._bench.classes(shape, behind, ahead))
        return dict(found)

    def _weakest(self, shapes: tuple[Shape, ...], *, whole: bool) -> tuple[Held, int]:
        """What is known first, then the largest sections; the first that will not do ends it."""
        order = sorted(
            range(len(shapes)),
            key=lambda k: (not self._bench.knows(shapes[k]), -hubs_count(shapes[k].bays), k),
        )
        least, place = Held(math.inf), 0
        for k in order:
            self.spent += self._check_cost(shapes[k])
            held = self._bench.held(shapes[k])
            if held.reserve < least.reserve:
                least, place = held, k
            if least.reserve < 1.0 and not whole:
                break
        return least, place

    def _failed(self, machine: Machine, held: Held, weakest: int) -> Reason | None:
        sections = self._problem.splits[machine.split].sections
        name = sections[weakest].id
        if held.undecided:
            text = f"The strength of {name} cannot be told: {held.undecided}."
            return Reason("strength", text, 0.0, 1.0, "1", 1.0)
        if held.mechanisms:
            ways = "one way" if held.mechanisms == 1 else f"{held.mechanisms} ways"
            text = f"{name} folds in at least {ways}: faces without a diagonal do not hold it."
            return Reason("strength", text, float(held.mechanisms), 0.0, "1", 1.0)
        if held.reserve < 1.0:
            digits = 2 if held.required - held.factor > 0.01 else 4
            text = (
                f"{name} slips at {held.factor:.{digits}f} times the load ({held.case}); "
                f"{held.required:.{digits}f} is wanted."
            )
            return Reason("strength", text, held.factor, held.required, "1", 1.0 - held.reserve)
        return None

    def _build_hours(self, bays: int) -> float:
        if bays not in self._hours:
            given = self._problem.build
            time = build_time(
                given.get("bays_count", bays),
                given["first_bay_min"],
                given["learning_ratio"],
                given["floor_min"],
                model=given["learning_model"],
            )
            self._hours[bays] = time.hours
        return self._hours[bays]


def _work(shape: Shape) -> float:
    return SHAPE_WORK + HUB_WORK * hubs_count(shape.bays)
