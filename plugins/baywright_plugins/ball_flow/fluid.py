"""The same stop with balls as a fluid, beside the simulation."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ..lift_redundancy.overflow import Gathering, TooManySteps, gathering_after_stop
from .study import Study


@dataclass(frozen=True)
class FluidStop:
    """The lifts first to stop, when, and what gathers if nothing changes after that."""

    stopped: tuple[str, ...]
    stop_s: float
    gathering: Gathering


def fluid_stop(study: Study, inputs: Mapping[str, Any]) -> FluidStop | None:
    """None where the fluid model has no answer: no told stop, own network, lanes of their own."""
    machine, rate = study.machine, study.settled.round_per_s
    lines = machine.indices("line")
    told = [o for runs in study.runs[:1] for o in runs.outages[0]]
    if study.own_network or len(lines) != 1 or not told or rate is None:
        return None
    if inputs["random_failures"]:
        return None
    first = min(outage.stop_s for outage in told)
    stopped = {outage.lift for outage in told if outage.stop_s == first}
    lifts = machine.indices("lift")
    capacity = {k: machine.places[k].capacity_per_s or 0.0 for k in lifts}
    all_of_them = sum(capacity.values())
    running = sum(c for k, c in capacity.items() if k not in stopped)
    transit = sum(machine.places[k].time_s * capacity[k] for k in lifts) / all_of_them
    tracks = {entry["id"]: entry["share_ratio"] for entry in inputs["paths"]}
    paths = [(p.time_s, tracks[p.id]) for p in machine.places if p.id in tracks]
    try:
        gathering = gathering_after_stop(
            rate,
            running,
            running / all_of_them,
            transit,
            paths,
            machine.places[lines[0]].places,
        )
    except TooManySteps:
        return None
    names = tuple(machine.places[k].id for k in lifts if k in stopped)
    return FluidStop(names, first, gathering)
