"""Set down hard: a section that falls a little way onto its feet."""

import math
from dataclasses import dataclass

import numpy as np

from .handling import Handling, handling_cases
from .section import SectionModel, solve_cases


class NotDropped(ValueError):
    """The section has no four feet to fall on; the reason is in words."""


def dynamic_factor(height_mm: float, static_mm: float) -> float:
    """How many times its weight a body presses with when it falls onto springs.

        m = 1 + sqrt(1 + 2 h / d)

    Energy: W (h + m d) = m^2 W d / 2. A body set down without speed, h = 0, still doubles.

    Args:
        height_mm: h, clear fall, >= 0.
        static_mm: d, how far the springs go under the resting weight, > 0.

    Leaves out: mass of the springs, loss on impact (safe side), a bounce onto one foot only.
    Source: Gere and Goodno, Mechanics of Materials, 7th ed., section 2.8 and problem 9.10-1.

    >>> dynamic_factor(0.0, 3.0), dynamic_factor(7.5, 1.0)
    (2.0, 5.0)
    """
    if not (height_mm >= 0 and static_mm > 0):
        raise ValueError("a fall needs a height of 0 or more and springs that give")
    return 1.0 + math.sqrt(1.0 + 2.0 * height_mm / static_mm)


def safe_height_mm(factor: float, static_mm: float) -> float | None:
    """The fall at which the dynamic factor reaches `factor`; None below 2, where even setting
    down without speed is too much.

        h = d ((m - 1)^2 - 1) / 2

    Source: `dynamic_factor` turned round.

    >>> safe_height_mm(2.0, 5.0), safe_height_mm(1.9, 5.0)
    (0.0, None)
    """
    if factor < 2.0:
        return None
    return static_mm * ((factor - 1.0) ** 2 - 1.0) / 2.0


def sink_on_feet_mm(weight_n: float, foot_stiffness_n_per_mm: float, feet: int = 4) -> float:
    """How far a rigid body sinks on equal feet that share its weight: d = W / sum k, in mm."""
    return weight_n / (feet * foot_stiffness_n_per_mm)


@dataclass(frozen=True)
class Drop:
    """One end of the range. `dynamic_factor` after the asked fall; `factor` how far the first seat
    then is from slipping (1 is the limit); `first_slip_mm` the fall at which it slips, None where
    setting down alone does it; foot stiffness in N/mm and whether the frame's own give counts."""

    foot_stiffness_n_per_mm: float
    frame_gives: bool
    static_mm: float
    dynamic_factor: float
    factor: float
    first_slip_mm: float | None


def drop(
    height_mm: float,
    standing_factor: float,
    static_mm: float,
    foot_stiffness_n_per_mm: float,
    *,
    frame_gives: bool,
) -> Drop:
    """A fall of `height_mm` by a section that stands with a first-slip factor.

    Args:
        standing_factor: first-slip factor at rest on its feet, weight times 1.
        static_mm: d, > 0.
    """
    factor = dynamic_factor(height_mm, static_mm)
    return Drop(
        foot_stiffness_n_per_mm,
        frame_gives,
        static_mm,
        factor,
        standing_factor / factor,
        safe_height_mm(standing_factor, static_mm),
    )


@dataclass(frozen=True)
class DropRange:
    """`worst` and `best` of the drops that feet and frame leave possible, worst first in `all`."""

    all: tuple[Drop, ...]

    @property
    def worst(self) -> Drop:
        return self.all[0]

    @property
    def best(self) -> Drop:
        return self.all[-1]


@dataclass(frozen=True)
class AtRest:
    """A section at rest on four sprung feet: first-slip factor; mean_mm how far its weight has
    sunk on the whole, rigid_mm how far it would if the frame were rigid."""

    standing_factor: float
    mean_mm: float
    rigid_mm: float


def at_rest(model: SectionModel, foot_stiffness_n_per_mm: float) -> AtRest:
    """A section under its weight times 1 on feet of one stiffness.

        d = sum w u / W,   u the sink of each weight w

    This d makes the fall of a body that gives along its static shape exact by energy, so it adds
    the give of the frame to that of the feet.

    Raises NotDropped: a corner hub at the bottom is missing; NotSolvable, NotHeld.

    Leaves out: stress waves, feet that are not equal.
    Source: Rayleigh's method with the static shape; any text on structural dynamics.
    """
    handling = Handling(grip_spring_n_per_mm=foot_stiffness_n_per_mm, cases=("stand",))
    made = handling_cases(model.part, handling)
    if not made.cases:
        raise NotDropped(made.left_out[0][1])
    (state,) = solve_cases(model, made.cases)
    weight = float(model.weight_n.sum())
    sink = float(-(model.weight_n * state.displacement_mm[:, 2]).sum()) / weight
    rigid = sink_on_feet_mm(weight, foot_stiffness_n_per_mm)
    return AtRest(float(state.factor), sink, rigid)


def drop_range(
    model: SectionModel, height_mm: float, stiff_feet_n_per_mm: float, soft_feet_n_per_mm: float
) -> DropRange:
    """A fall onto the feet as a range: feet stiff and soft, the frame rigid and with its own give.

    A frame does not give all at once under a blow, so the truth lies between its rigid and its
    giving self; feet harden, so it lies between the two feet.

    Args:
        height_mm: >= 0.
        stiff_feet_n_per_mm, soft_feet_n_per_mm: of one foot, > 0.

    Raises NotDropped, ValueError, NotSolvable, NotHeld.

    Leaves out: landing on one corner (see the case of one foot that touches first), balls and
    other loose load, floors that give.
    Source: `dynamic_factor` and `at_rest`; the range is common practice, no source.
    """
    drops = []
    for stiffness in dict.fromkeys((stiff_feet_n_per_mm, soft_feet_n_per_mm)):
        rest = at_rest(model, stiffness)
        for gives in (False, True):
            static = rest.mean_mm if gives else rest.rigid_mm
            drops.append(
                drop(height_mm, rest.standing_factor, static, stiffness, frame_gives=gives)
            )
    order = np.argsort([one.factor for one in drops], kind="stable").tolist()
    return DropRange(tuple(drops[k] for k in order))
