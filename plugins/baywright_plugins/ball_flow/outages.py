"""When lifts stand still: as told, or at random by their running and mending times."""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from .events import uniforms
from .history import Outage
from .machine import Machine


def merged(outages: Iterable[Outage]) -> tuple[Outage, ...]:
    """The same standstills with those of one lift that touch made one, by lift and time."""
    found: list[Outage] = []
    for outage in sorted(outages, key=lambda o: (o.lift, o.stop_s, o.back_s)):
        if found and found[-1].lift == outage.lift and outage.stop_s <= found[-1].back_s:
            last = found.pop()
            outage = Outage(last.lift, last.stop_s, max(last.back_s, outage.back_s))
        found.append(outage)
    return tuple(found)


def at_random(machine: Machine, end_s: float, seed: Sequence[int], most: int) -> list[Outage]:
    """Standstills until `end_s`: running and mending times exponential, each lift mended at once.

    Lifts of one group (motor or supply) stop together, by the times of the first that has any.

    Raises:
        OverflowError: more than `most` standstills.
    """
    u = uniforms(np.random.Generator(np.random.PCG64(list(seed))))
    units: dict[str, list[int]] = {}
    for k in machine.indices("lift"):
        place = machine.places[k]
        units.setdefault(f"group {place.group}" if place.group else f"lift {k}", []).append(k)
    found: list[Outage] = []
    for lifts in units.values():
        timed = [machine.places[k] for k in lifts if machine.places[k].mtbf_s is not None]
        if not timed:
            continue
        mtbf, mttr = timed[0].mtbf_s or math.inf, timed[0].mttr_s or 0.0
        now = -mtbf * math.log(1.0 - next(u))
        while now < end_s:
            back = now - mttr * math.log(1.0 - next(u))
            found += [Outage(k, now, back) for k in lifts]
            if len(found) > most:
                raise OverflowError
            now = back - mtbf * math.log(1.0 - next(u))
    return found
