"""One machine studied: settled rates, settled runs, runs with lifts stopping."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from ..lift_redundancy.circulation import Circulation, balls_in_circulation
from .checks import LINE, stoppable
from .events import follow
from .history import History, Outage, TooMuchWork, Watch
from .machine import EXPONENTIAL, UNIFORM, Machine, in_rotation, without_limits
from .outages import at_random, merged
from .reading import machine_of
from .steady import (
    Floats,
    NoWayOut,
    Rates,
    entry_rate_for,
    hold_up,
    most_round_per_s,
    rates_at,
)

#: Events in all runs together; some four microseconds each.
MOST_EVENTS = 1_000_000
MOST_BALLS = 5_000
SAMPLES = 120
_RUNS_AHEAD, _ROUNDS_AHEAD = 3, 12.0
_NEVER = 1e12


class Refused(ValueError):
    """No honest number: the field, and why."""

    def __init__(self, pointer: str, reason: str) -> None:
        super().__init__(reason)
        self.pointer, self.reason = pointer, reason


@dataclass(frozen=True)
class Settled:
    """The fluid answer: rates when `asked_per_s` is wanted, and when `round_per_s` comes round.

    `most_per_s` None: nothing limits it. A machine that is fed has one set of rates.
    """

    asked_per_s: float | None
    round_per_s: float | None
    most_per_s: float | None
    asked: Rates
    rates: Rates
    held: Floats


@dataclass(frozen=True)
class Runs:
    """Runs of one routing: settled, and with lifts stopping (with the places given, and without).

    `usual` is what waits in the lines in the settled runs; `room` the same runs of the same
    incidents with room for all.
    """

    routing: str
    machine: Machine
    balls: int
    settled: list[History]
    usual: float
    struck: list[History]
    room: list[History]
    outages: list[tuple[Outage, ...]]
    watches: tuple[tuple[str, int, Watch], ...]


@dataclass(frozen=True)
class Study:
    machine: Machine
    settled: Settled
    circulation: Circulation
    runs: list[Runs]
    round_s: float
    settle_s: float
    duration_s: float
    own_network: bool


def study(inputs: Mapping[str, Any], *, simulate: bool = True) -> Study:
    """Everything that is solved, and simulated, for these inputs.

    Raises:
        Refused: no rate solves the balance, or the work would be too much.
    """
    machine = machine_of(inputs)
    settled = _settle(machine, inputs)
    round_s = _round_time(machine, settled)
    told = _told(machine, inputs)
    settle_s = inputs.get("settle_s", min(max(5.0 * round_s, 60.0), 36_000.0))
    last = max((t for o in told for t in (o.stop_s, o.back_s) if t < _NEVER / 2), default=None)
    duration_s = inputs.get(
        "duration_s",
        min(max((last or 0.0) + (5.0 if told else 10.0) * round_s, 60.0), 86_400.0),
    )
    if last is not None and "duration_s" in inputs and min(o.stop_s for o in told) >= duration_s:
        raise Refused("/duration_s", "The machine is followed for less time than until the stop.")
    runs = []
    for machine_now, routing in _routings(machine, inputs["routing"]) if simulate else ():
        runs.append(
            _all_runs(machine_now, routing, settled, inputs, told, round_s, settle_s, duration_s)
        )
    calm = runs[-1].settled if runs else []
    waiting = math.fsum(waiting_by_chance(machine, h, duration_s) for h in calm)
    waiting /= max(len(calm), 1)
    circulation = _circulation(machine, settled, inputs, waiting)
    return Study(
        machine, settled, circulation, runs, round_s, settle_s, duration_s, "network" in inputs
    )


def _routings(machine: Machine, wanted: str) -> list[tuple[Machine, str]]:
    found = []
    if wanted in ("both", "rotation"):
        found.append((in_rotation(machine), "rotation"))
    if wanted in ("both", "random"):
        found.append((machine, "random"))
    return found


def _settle(machine: Machine, inputs: Mapping[str, Any]) -> Settled:
    where = "/network/links" if "network" in inputs else "/paths"
    try:
        if machine.entry is None:
            rates = rates_at(machine)
            return Settled(None, None, None, rates, rates, hold_up(machine, rates))
        most = most_round_per_s(machine)
        if most is not None and most < 1e-6:
            reason = "Nothing of what is put in comes back to where it was put in."
            raise Refused(where, reason)
        if "moving_count" in inputs:
            asked = entry_rate_for(machine, float(inputs["moving_count"]))
            wanted = inputs.get("required_balls_per_min")
            asked_rates = rates_at(machine, asked if wanted is None else wanted / 60.0)
        else:
            asked = inputs["required_balls_per_min"] / 60.0
            asked_rates = rates_at(machine, asked)
        now = asked if most is None else min(asked, most)
        rates = rates_at(machine, now)
    except NoWayOut:
        raise Refused(where, "Some balls go round for ever: a ring has no way out.") from None
    wanted_per_s = (
        inputs["required_balls_per_min"] / 60.0 if "required_balls_per_min" in inputs else None
    )
    return Settled(wanted_per_s, now, most, asked_rates, rates, hold_up(machine, rates))


def _round_time(machine: Machine, settled: Settled) -> float:
    """Seconds a ball takes once round (or through), waiting left out."""
    moving = float(settled.held.sum()) - _standing(machine)
    rate = settled.round_per_s
    if rate is None:
        rate = math.fsum(place.feed_per_s for place in machine.places)
    return moving / rate if rate > 0.0 else 0.0


def _standing(machine: Machine) -> float:
    return math.fsum(place.standing for place in machine.places)


def _circulation(
    machine: Machine, settled: Settled, inputs: Mapping[str, Any], waiting: float
) -> Circulation:
    """On tracks, on lifts, in lines, standing elsewhere; spares on top.

    The usual count of the way round holds what waits by chance; standing balls of a network do not.
    """
    rate = settled.round_per_s
    if rate is None:
        rate = math.fsum(place.feed_per_s for place in machine.places)
    per = settled.rates.passed / rate if rate > 0.0 else settled.rates.passed * 0.0
    tracks = [(machine.places[k].time_s, float(per[k])) for k in machine.indices("path", "station")]
    lift_s = math.fsum(machine.places[k].time_s * float(per[k]) for k in machine.indices("lift"))
    queue = math.fsum(machine.places[k].standing for k in machine.indices("line"))
    basin = _standing(machine) - queue
    queue = queue + waiting if "network" in inputs else max(queue, waiting)
    return balls_in_circulation(
        rate, tracks, lift_s, queue=queue, basin=basin, spares=inputs["spares_ratio"]
    )


def waiting_by_chance(machine: Machine, history: History, seconds: float) -> float:
    """Balls that wait, on average: stays in lines, and elsewhere beyond the time it takes."""
    found = 0.0
    for k in machine.indices("line", "station", "path"):
        record = history.places[k]
        found += record.stay_s - record.left * machine.places[k].time_s
    return max(found / seconds, 0.0)


def _told(machine: Machine, inputs: Mapping[str, Any]) -> tuple[Outage, ...]:
    lifts = stoppable(inputs)
    index = {place.id: k for k, place in enumerate(machine.places)}
    return merged(
        Outage(index[name], incident["stops_at_s"], incident.get("back_at_s", _NEVER))
        for incident in inputs["incidents"]
        for name in lifts[incident["lift"]]
    )


def by_chance(machine: Machine, inputs: Mapping[str, Any]) -> bool:
    """Whether two runs of this machine can differ at all."""
    spread = any(place.times in (EXPONENTIAL, UNIFORM) for place in machine.places)
    return not machine.rotation or spread or bool(inputs["random_failures"])


def _all_runs(
    machine: Machine,
    routing: str,
    settled: Settled,
    inputs: Mapping[str, Any],
    told: tuple[Outage, ...],
    round_s: float,
    settle_s: float,
    duration_s: float,
) -> Runs:
    count = inputs["runs_count"] if by_chance(machine, inputs) else 1
    seed = (inputs["seed"], 0 if routing == "rotation" else 1)
    rate = settled.round_per_s
    spacing = 1.0 if rate is None or rate <= 0.0 else 1.0 / rate
    balls = _first_guess(machine, settled, inputs)
    struck = bool(told) or inputs["random_failures"]
    phases = 1 + (2 if struck else 0)
    most = int(MOST_EVENTS / (2 if inputs["routing"] == "both" else 1))
    ahead_s = max(duration_s, _ROUNDS_AHEAD * round_s)
    seconds = (settle_s + duration_s) * count * phases
    if machine.entry is not None and "moving_count" not in inputs:
        seconds += (settle_s + ahead_s) * _RUNS_AHEAD
    _check_work(machine, settled, seconds, most, inputs)
    budget = [most]

    def run(
        machine_now: Machine, balls_now: int, number: int, end_s: float, **options: Any
    ) -> History:
        try:
            found = follow(
                machine_now,
                balls=balls_now,
                spacing_s=spacing,
                settle_s=settle_s,
                end_s=end_s,
                seed=(*seed, number),
                most_events=budget[0],
                **options,
            )
        except TooMuchWork:
            raise Refused(*_too_much(inputs)) from None
        budget[0] -= found.events
        return found

    if machine.entry is not None and "moving_count" not in inputs:
        # What waits by chance is on top of what travels: runs ahead show how many balls it takes.
        travelling = float(settled.held.sum()) - _standing(machine)
        for ahead in range(_RUNS_AHEAD):
            history = run(machine, balls, 1_000_000 + ahead, ahead_s)
            waiting = waiting_by_chance(machine, history, ahead_s)
            wanted = max(math.ceil(travelling + waiting - 0.1), 1)
            if wanted == balls:
                break
            balls = min(wanted, MOST_BALLS)
    calm = [run(machine, balls, k, duration_s) for k in range(count)]
    usual = math.fsum(h.usual_waiting for h in calm) / count
    held = _with_usual_room(machine, usual) if "network" not in inputs else machine
    outages = [_outages(held, told, inputs, duration_s, (*seed, k, 7)) for k in range(count)]
    watches = _watches(held, inputs, usual)
    every = duration_s / SAMPLES
    hit: list[History] = []
    room: list[History] = []
    if struck:
        options: dict[str, Any] = {
            "watches": [w for _, _, w in watches],
            "usual_most": max(h.most_waiting for h in calm),
        }
        for k in range(count):
            hit.append(
                run(held, balls, k, duration_s, outages=outages[k], sample_every_s=every, **options)
            )
            room.append(
                run(
                    without_limits(held),
                    balls,
                    k,
                    duration_s,
                    outages=outages[k],
                    sample_every_s=every,
                )
            )
    return Runs(routing, held, balls, calm, usual, hit, room, outages, watches)


def _first_guess(machine: Machine, settled: Settled, inputs: Mapping[str, Any]) -> int:
    if machine.entry is None:
        return 0
    if "moving_count" in inputs:
        return int(inputs["moving_count"])
    balls = round(float(settled.held.sum()) - _standing(machine))
    if balls > MOST_BALLS:
        pointer = "/required_balls_per_min"
        raise Refused(pointer, f"{balls} balls would move; at most {MOST_BALLS} are followed.")
    return max(balls, 1)


def _with_usual_room(machine: Machine, usual: float) -> Machine:
    """Free places lie behind what usually waits: the first line of the way round gets both."""
    lines = machine.indices("line")
    extra = round(usual)
    places = list(machine.places)
    if len(lines) == 1 and places[lines[0]].id == LINE and places[lines[0]].places is not None:
        room = (places[lines[0]].places or 0) + extra
        places[lines[0]] = replace(places[lines[0]], places=room)
    return replace(machine, places=tuple(places))


def _outages(
    machine: Machine,
    told: tuple[Outage, ...],
    inputs: Mapping[str, Any],
    end_s: float,
    seed: Sequence[int],
) -> tuple[Outage, ...]:
    if not inputs["random_failures"]:
        return told
    try:
        return merged([*told, *at_random(machine, end_s, seed, 20_000)])
    except OverflowError:
        reason = "Lifts stop over 20,000 times in one run: follow a shorter time."
        raise Refused("/duration_s", reason) from None


def _watches(
    machine: Machine, inputs: Mapping[str, Any], usual: float
) -> tuple[tuple[str, int, Watch], ...]:
    index = {place.id: k for k, place in enumerate(machine.places)}
    lines = machine.indices("line")
    extra = round(usual) if "network" not in inputs else 0
    found = []
    for mark in inputs["marks"]:
        place = index.get(mark["place"]) if "place" in mark else lines[0]
        if place is not None:
            count = mark["waiting_count"]
            beyond = extra if place == lines[0] else 0
            found.append((mark["id"], count, Watch(place, count + beyond)))
    return tuple(found)


def _check_work(
    machine: Machine,
    settled: Settled,
    seconds: float,
    most: int,
    inputs: Mapping[str, Any],
) -> None:
    per_s = 0.0
    for k, place in enumerate(machine.places):
        if place.kind in ("station", "lift", "feed") or place.time_s > 0.0:
            per_s += float(settled.rates.passed[k])
        if place.kind == "lift":
            per_s += 1.0 / place.hook_s
    if per_s * seconds > most:
        raise Refused(*_too_much(inputs))


def _too_much(inputs: Mapping[str, Any]) -> tuple[str, str]:
    pointer = "/runs_count" if inputs["runs_count"] > 1 else "/duration_s"
    if inputs["runs_count"] <= 1 and "duration_s" not in inputs and "settle_s" in inputs:
        pointer = "/settle_s"
    what = "fewer runs" if pointer == "/runs_count" else "a shorter time"
    reason = (
        f"Balls, hooks, seconds and runs together make over {MOST_EVENTS:,} events: ask for "
        f"{what}, or for one routing."
    )
    return pointer, reason
