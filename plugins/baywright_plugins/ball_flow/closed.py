"""Which places of a machine are queues with a closed solution."""

from .machine import EXPONENTIAL, FIXED, UNIFORM, Machine
from .queues import ClosedSolution, erlang_b, markov_queue, no_waiting, one_server


def closed_solution(machine: Machine, place: int, arrival_per_s: float) -> ClosedSolution | None:
    """The closed solution of a place that balls reach by chance alone; None where there is none.

    By chance alone: from one exponential feed, over nothing but random splits.
    """
    spec = machine.places[place]
    if arrival_per_s <= 0.0 or not _poisson(machine, place):
        return None
    if spec.kind == "path" and spec.places is None and spec.headway_s == 0.0:
        return no_waiting(arrival_per_s, spec.time_s)
    if spec.kind != "station":
        return None
    if spec.times == EXPONENTIAL:
        return markov_queue(arrival_per_s, spec.time_s, spec.servers, spec.places)
    if spec.places == 0:
        load = arrival_per_s * spec.time_s
        lost = erlang_b(load, spec.servers)
        return ClosedSolution("Erlang B (M/G/c/c)", load * (1.0 - lost), 0.0, lost, lost)
    if spec.places is None and spec.servers == 1 and spec.times in (FIXED, UNIFORM):
        return one_server(arrival_per_s, spec.time_s, spec.half_s)
    return None


def _poisson(machine: Machine, place: int) -> bool:
    seen: set[int] = set()
    while place not in seen:
        seen.add(place)
        sources = [link for link in machine.links if link.end == place]
        if len(sources) != 1 or sources[0].overflow:
            return False
        place = sources[0].start
        spec = machine.places[place]
        if spec.kind == "feed":
            return spec.times == EXPONENTIAL and _by_chance(machine, place)
        if spec.kind != "split" or not _by_chance(machine, place):
            return False
    return False


def _by_chance(machine: Machine, place: int) -> bool:
    return len(machine.ways_on(place)) == 1 or not machine.rotates(place)
