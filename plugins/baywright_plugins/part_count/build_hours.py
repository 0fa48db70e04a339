"""Time to build: each bay a little quicker than the one before, down to a floor."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

MODELS = ("unit", "cumulative-average")


@dataclass(frozen=True)
class BuildTime:
    """Hours for all bays, and what each bay would take if nothing were learnt.

    `floor_from_bay` is the first bay built at the floor, None where none is.
    """

    hours: float
    hours_without_learning: float
    first_bay_min: float
    last_bay_min: float
    exponent: float
    floor_from_bay: int | None


def learning_exponent(ratio: float) -> float:
    """b in T_n = T_1 n^b: log2 of the share of time that is left when the count doubles.

    Source: Wright 1936; log-linear learning curve, e.g. Heizer and Render, Operations
    Management, module on learning curves.

    >>> round(learning_exponent(0.8), 4)
    -0.3219
    """
    return math.log2(ratio)


def unit_times(first: float, ratio: float, units: int, *, model: str) -> NDArray[np.float64]:
    """Time of each of `units`, shape (units,), in the unit of `first`.

        unit:                T_n = T_1 n^b
        cumulative-average:  mean of the first n = T_1 n^b, so T_n = T_1 (n^(b+1) - (n-1)^(b+1))

    Source: both as in Wideman, learning-curve mathematics; a report must name its model.

    >>> unit_times(100.0, 0.8, 2, model="unit").tolist()
    [100.0, 80.0]
    >>> unit_times(100.0, 0.8, 2, model="cumulative-average").round(9).tolist()
    [100.0, 60.0]
    """
    exponent = learning_exponent(ratio)
    number = np.arange(1, units + 1, dtype=np.float64)
    if model == "unit":
        return np.asarray(first * number**exponent)
    totals = first * number ** (exponent + 1)
    return np.asarray(np.diff(totals, prepend=0.0))


def build_time(
    bays: int, first_bay_min: float, learning_ratio: float, floor_min: float, *, model: str = "unit"
) -> BuildTime:
    """Hours to build `bays` bays, none quicker than the floor.

    Args:
        first_bay_min: T_1. learning_ratio: time left when the count doubles, in (0, 1].
        floor_min: the least any bay takes, not above T_1.

    Leaves out: breaks, sorting and carrying parts, forgetting between days, several builders.
    Source: learning curve as in `unit_times`; the floor is common practice, no source.

    >>> round(build_time(328, 9.0, 0.9, 3.5).hours, 1)
    24.0
    """
    if not bays:
        return BuildTime(0.0, 0.0, 0.0, 0.0, learning_exponent(learning_ratio), None)
    times = np.maximum(unit_times(first_bay_min, learning_ratio, bays, model=model), floor_min)
    at_floor = np.flatnonzero(times <= floor_min)
    return BuildTime(
        hours=float(times.sum()) / 60,
        hours_without_learning=bays * first_bay_min / 60,
        first_bay_min=float(times[0]),
        last_bay_min=float(times[-1]),
        exponent=learning_exponent(learning_ratio),
        floor_from_bay=int(at_floor[0]) + 1 if len(at_floor) and learning_ratio < 1 else None,
    )
