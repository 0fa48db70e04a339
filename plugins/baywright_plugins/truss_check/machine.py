"""The standing machine: its sections coupled by their joint rods, every section on its feet."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..frame import ROLES, Frame
from ..kit import Kit
from .eigen import Modes, natural_frequencies
from .equilibrium import Floats, Ints, Truss
from .handling import feet
from .section import SectionModel
from .solve import Solver

JOINT = ROLES.index("joint")


class NotCoupled(ValueError):
    """There is no machine to speak of; the reason is in words."""


@dataclass(frozen=True)
class Machine:
    """truss with feet fixed, mass_kg of every node."""

    truss: Truss
    mass_kg: Floats

    def frequencies(self, *, count: int = 4) -> Modes:
        """Natural frequencies in Hz, lowest first. Leaves out: as `eigen.natural_frequencies`."""
        return natural_frequencies(self.truss, Solver(self.truss), self.mass_kg, count=count)


def machine(frame: Frame, models: Sequence[tuple[Ints, SectionModel]], kit: Kit) -> Machine:
    """Sections as models, each with the numbers of its nodes in the frame, and the joint rods
    between them.

    Raises NotCoupled: fewer than two sections, no joint rod between them, a section without feet.
    """
    nodes = np.concatenate([of for of, _ in models]) if models else np.zeros(0, dtype=np.int64)
    place = np.full(len(frame.nodes_mm), -1, dtype=np.int64)
    place[nodes] = np.arange(len(nodes))
    coupling = np.flatnonzero(
        (frame.role == JOINT) & (place[frame.start] >= 0) & (place[frame.end] >= 0)
    )
    if len(models) < 2 or not len(coupling):
        raise NotCoupled("the sections are not coupled by joint rods")
    fixed = np.zeros((len(nodes), 3), dtype=bool)
    start, end, stiffness, mass = [], [], [], np.zeros(len(nodes))
    for of, model in models:
        under = feet(model.part) if model.part.has_grid else None
        if under is None:
            raise NotCoupled(f"{model.part.sections[0].id} has no four corner feet")
        here = place[of]
        fixed[here[under]] = True
        start.append(here[model.part.start])
        end.append(here[model.part.end])
        stiffness.append(model.stiffness_n_per_mm)
        mass[here] += model.mass_kg
    own = np.array([kit.stiffness_n_per_mm(k) for k in range(len(kit.rods))])
    half = np.array([rod.mass_g / 2000.0 for rod in kit.rods])
    for column, ends in ((start, frame.start), (end, frame.end)):
        column.append(place[ends[coupling]])
        np.add.at(mass, place[ends[coupling]], half[frame.rod[coupling]])
    stiffness.append(own[frame.rod[coupling]])
    truss = Truss(
        frame.nodes_mm[nodes], np.concatenate(start), np.concatenate(end),
        np.concatenate(stiffness), fixed, np.zeros(fixed.shape),
    )  # fmt: skip
    return Machine(truss, mass)
