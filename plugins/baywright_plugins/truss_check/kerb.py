"""Rolled over a threshold: a section on castors whose two leading wheels meet a step."""

import math

import numpy as np

from ..frame import Frame
from .handling import PLANNED, THRESHOLD, Case, Handling, feet, grip_level
from .section import SectionModel

#: Ways a section can be pushed: axis and sign.
WAYS = {"x+": (0, 1), "x-": (0, -1), "y+": (1, 1), "y-": (1, -1)}


class NotRolled(ValueError):
    """The step cannot be rolled over, or there is nothing to push at; the reason is in words."""


def push_ratio(radius_mm: float, step_mm: float) -> float:
    """Horizontal push at the axle over the load of the wheel, at the moment it leaves the floor.

        F / W = sqrt(2 R h - h^2) / (R - h)

    Moments about the edge of the step: F (R - h) = W sqrt(R^2 - (R - h)^2).

    Args:
        radius_mm: R, > 0. step_mm: h, 0 <= h < R.

    Raises NotRolled: a step as high as the axle or higher cannot be rolled over by pushing.

    Leaves out: soft tyres and springs, which help; a run-up, which helps and shakes.
    Source: statics; derived here.

    >>> round(push_ratio(50.0, 20.0), 3)
    1.333
    """
    if not (radius_mm > 0 and step_mm >= 0):
        raise NotRolled("a wheel needs a radius and a step a height of 0 or more")
    if step_mm >= radius_mm:
        raise NotRolled("the step is as high as the axle: the wheels only push against it")
    return math.sqrt(2.0 * radius_mm * step_mm - step_mm**2) / (radius_mm - step_mm)


def largest_step_mm(radius_mm: float, ratio: float) -> float:
    """The step at which the push reaches `ratio` times the wheel load: R (1 - 1/sqrt(1 + r^2)).

    Source: `push_ratio` turned round: tan of the angle at the edge is r.

    >>> round(largest_step_mm(50.0, 4 / 3), 9)
    20.0
    """
    return radius_mm * (1.0 - 1.0 / math.sqrt(1.0 + ratio**2))


def leading_load_n(
    weight_n: float, centre_mm: float, wheelbase_mm: float, push_height_mm: float, ratio: float
) -> float:
    """Load of both leading wheels together, with the push that lifts them over.

        N = W c / (L - r H)

    Pushing above the axles presses the leading wheels down, which asks for more push.

    Args:
        weight_n: W. centre_mm: c, centre of mass ahead of the trailing axle. wheelbase_mm: L.
        push_height_mm: H, hands above the axles. ratio: r as from `push_ratio`.

    Raises NotRolled where r H reaches L: it pitches forward instead of climbing.

    Leaves out: slip of the trailing wheels, which carry the rest of the weight.
    Source: moments about the trailing axle; derived here.
    """
    lever = wheelbase_mm - ratio * push_height_mm
    if lever <= 0:
        raise NotRolled(
            "pushed that high it pitches over its leading wheels before they climb: push lower, "
            "or pull it over backward"
        )
    return weight_n * centre_mm / lever


def kerb_case(
    model: SectionModel,
    handling: Handling,
    *,
    wheel_radius_mm: float,
    step_mm: float,
    toward: str = "x+",
    push_level: int | None = None,
    load_factor: float | None = None,
) -> Case:
    """The case of a section whose castors under its two leading feet meet a step.

    Feet rest on springs upright; the step holds the two leading feet along the way with the push
    that `push_ratio` asks for; hands push at the trailing hubs of the corner columns at one level.
    The push follows from the weight, so that the case can be solved like any other.

    Args:
        toward: one of WAYS. push_level: grid level of the hands; left out, that of the grips.
        load_factor: on weight and push; left out, the dynamic factor of carrying.

    Raises NotRolled: as `push_ratio` and `leading_load_n`; no grid, no feet, no hubs to push at;
    a way that is none.

    Leaves out: one wheel first (the section is twisted then), the fall off the far side (see
    drops), height of the castors themselves.
    Source: statics; springs and factor are common practice, no source.
    """
    if toward not in WAYS:
        raise NotRolled(f"there is no way {toward}; there are {', '.join(WAYS)}")
    part = model.part
    under = feet(part) if part.has_grid else None
    if under is None:
        raise NotRolled("there are no four corner feet to put castors under")
    axis, sign = WAYS[toward]
    factor = handling.dynamic_factor if load_factor is None else load_factor
    along = sign * part.nodes_mm[:, axis]
    lead = [foot for foot in under if along[foot] > along[under].mean()]
    trail = [foot for foot in under if foot not in lead]
    hands = _trailing_hubs(part, axis, sign, push_level)
    weight = model.weight_n * factor
    ratio = push_ratio(wheel_radius_mm, step_mm)
    floor = float(part.nodes_mm[under, 2].mean())
    load = leading_load_n(
        float(weight.sum()),
        float(weight @ along / weight.sum()) - float(along[trail].mean()),
        float(along[lead].mean() - along[trail].mean()),
        float(part.nodes_mm[hands, 2].mean()) - floor,
        ratio,
    )
    shape = part.nodes_mm.shape
    spring = np.zeros(shape)
    spring[under] = handling.cross_spring_n_per_mm
    spring[under, 2] = handling.grip_spring_n_per_mm
    spring[lead, axis] = handling.grip_spring_n_per_mm
    force = np.zeros(shape)
    force[hands, axis] = sign * ratio * load / len(hands)
    held = np.sort([*(3 * foot + 2 for foot in under), *(3 * foot + axis for foot in lead)])
    title = f"rolled over a step of {step_mm:g} mm toward {toward}"
    return Case(
        f"step-{toward[0]}-{'plus' if sign > 0 else 'minus'}", title, PLANNED, (0.0, 0.0, -1.0),
        factor, spring, np.zeros(shape, dtype=bool), held.astype(np.int64), force, THRESHOLD,
    )  # fmt: skip


def _trailing_hubs(part: Frame, axis: int, sign: int, level: int | None) -> list[int]:
    bays = part.sections[0].bays
    assert bays is not None
    other = 1 - axis
    wanted = grip_level(bays[2]) if level is None else level
    behind = 0 if sign > 0 else bays[axis]
    lattice = part.lattice
    corner = np.isin(lattice[:, other], (0, 1, bays[other] - 1, bays[other]))
    hubs = np.flatnonzero((lattice[:, 2] == wanted) & (lattice[:, axis] == behind) & corner)
    if not len(hubs):
        raise NotRolled(f"there is no hub to push at on level {wanted}")
    return [int(hub) for hub in hubs]
