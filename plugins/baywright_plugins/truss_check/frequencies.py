"""Sway and twist of a standing section, when it buckles as a whole, and what would shake it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..frame import Frame
from .eigen import Modes, frame_buckling, natural_frequencies
from .equilibrium import Floats, Ints, Truss
from .handling import Handling, feet, handling_cases
from .section import SectionModel, solve_cases
from .solve import Solver


class NoStanding(ValueError):
    """The section has no grid, or a corner hub is missing; the reason is in words."""


@dataclass(frozen=True)
class Standing:
    """A section on its four corner feet, each held in all three directions."""

    model: SectionModel
    truss: Truss
    solver: Solver

    def frequencies(self, *, count: int = 4) -> Modes:
        """Natural frequencies in Hz, lowest first.

        Leaves out: as `eigen.natural_frequencies`; feet that give or slide, which lowers them.
        """
        return natural_frequencies(self.truss, self.solver, self.model.mass_kg, count=count)

    def buckling(self, *, count: int = 3) -> Modes:
        """Factors on the section's own weight at which the whole frame buckles, lowest first.

        The forces are those of standing on feet that slide and so push nothing sideways; the
        frame then buckles with its feet held, since the floor grips them. Feet held all along
        would let the bottom rods off by arching.

        Raises NoStanding, NotSolvable.
        Leaves out: as `eigen.frame_buckling`. It is far above what seats allow.
        """
        made = handling_cases(self.model.part, Handling(cases=("stand",)))
        if not made.cases:
            raise NoStanding(made.left_out[0][1])
        (state,) = solve_cases(self.model, made.cases)
        return frame_buckling(self.truss, self.solver, state.member_force_n, count=count)

    def sway_stiffness_n_per_mm(self) -> tuple[float, float]:
        """Force over movement along x and y: 1 N in all, spread over the top rings, over their
        mean movement.

        Leaves out: play, which comes first and costs no force.
        Source: linear elasticity; spreading over the rings is common practice, no source.
        """
        hubs = top_rings(self.model.part)
        loads = np.zeros((2, *self.truss.nodes_mm.shape))
        for axis in (0, 1):
            loads[axis, hubs, axis] = 1.0 / len(hubs)
        moved = self.solver.solve(loads).displacement_mm
        return (1.0 / float(moved[0, hubs, 0].mean()), 1.0 / float(moved[1, hubs, 1].mean()))

    def twist_stiffness_nm_per_rad(self) -> float:
        """Turning moment over turn about the upright through the middle of the top: forces across
        the radius and in proportion to it on the hubs of the top rings, over their mean turn.

        Source: linear elasticity; as for sway.
        """
        hubs = top_rings(self.model.part)
        away = self.truss.nodes_mm[hubs] - self.truss.nodes_mm[hubs].mean(axis=0)
        across = np.column_stack([-away[:, 1], away[:, 0]])
        polar = float((across**2).sum())
        loads = np.zeros((1, *self.truss.nodes_mm.shape))
        loads[0, hubs, :2] = across / polar
        moved = self.solver.solve(loads).displacement_mm[0, hubs, :2]
        return polar / float((moved * across).sum()) / 1000.0


def standing(model: SectionModel) -> Standing:
    """The section on its corner feet. Raises NoStanding, NotSolvable."""
    hubs = feet(model.part) if model.part.has_grid else None
    if hubs is None:
        raise NoStanding("there are no four corner feet on its grid")
    fixed = np.zeros(model.part.nodes_mm.shape, dtype=bool)
    fixed[hubs] = True
    truss = model.truss(np.zeros(fixed.shape), fixed)
    return Standing(model, truss, Solver(truss))


def top_rings(part: Frame) -> Ints:
    """Hubs of the ring of four of each corner column at the top level; raises NoStanding."""
    bays = part.sections[0].bays
    if bays is None:
        raise NoStanding("the section has no grid")
    beside = [np.isin(part.lattice[:, k], (0, 1, bays[k] - 1, bays[k])) for k in (0, 1)]
    hubs = np.flatnonzero((part.lattice[:, 2] == bays[2]) & beside[0] & beside[1])
    if not len(hubs):
        raise NoStanding("there is no hub at the top of its corner columns")
    return hubs


def lift_frequencies_hz(
    hooks_per_min: float, links_per_hook: float, *, teeth: int | None = None
) -> dict[str, float]:
    """What a chain lift shakes with: hooks, teeth, and the head shaft where `teeth` is given.

        hooks f = n / 60;   teeth f = n s / 60 (chain speed over chain pitch);   shaft: that / z

    More teeth on the sprocket do not change the tooth frequency, links between hooks do.

    Args:
        hooks_per_min: n. links_per_hook: s. teeth: z.

    Leaves out: gears and motor, balls that drop.
    Source: counting; e.g. any text on roller chain drives.

    >>> {name: round(f, 2) for name, f in lift_frequencies_hz(20, 14, teeth=15).items()}
    {'hook': 0.33, 'tooth': 4.67, 'shaft': 0.31}
    """
    tooth = hooks_per_min * links_per_hook / 60.0
    found = {"hook": hooks_per_min / 60.0, "tooth": tooth}
    return found if teeth is None else {**found, "shaft": tooth / teeth}


@dataclass(frozen=True)
class Closeness:
    """The mode that a source comes nearest to: apart_ratio = |source / mode - 1|."""

    source: str
    source_hz: float
    mode: int
    mode_hz: float
    apart_ratio: float
    clear: bool


def closeness(
    modes_hz: Floats | Sequence[float],
    sources_hz: Mapping[str, float],
    *,
    wanted_ratio: float = 0.2,
) -> list[Closeness]:
    """For each source the mode it comes nearest to, as a share of the mode's frequency.

    Args:
        modes_hz: natural frequencies, > 0, at least one.
        sources_hz: name -> frequency, > 0.
        wanted_ratio: how far apart they should be.

    Leaves out: multiples of a source, damping, how hard it shakes. A source above the highest
    mode given may sit on a mode that is not.
    Source: 20 % apart is common practice, no source.

    >>> closeness([3.93, 4.3], {"tooth": 4.667})[0].clear
    False
    """
    modes = np.asarray(modes_hz, dtype=float)
    found = []
    for name, source in sources_hz.items():
        apart = np.abs(source / modes - 1.0)
        near = int(apart.argmin())
        ratio = float(apart[near])
        found.append(
            Closeness(name, source, near, float(modes[near]), ratio, ratio >= wanted_ratio - 1e-9)
        )
    return found
