"""Numbers and the whole answer in words a builder reads."""

import math
from collections.abc import Mapping
from typing import Any

Value = Mapping[str, Any]
_WORDS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_FEW_SECONDS = 120.0


def number(count: int) -> str:
    return _WORDS[count] if 0 <= count < len(_WORDS) else str(count)


def balls(count: float) -> str:
    whole = round(count)
    return "one ball" if whole == 1 else f"{number(whole)} balls"


def span(seconds: float) -> str:
    """26 s, 3 minutes, 2.5 hours.

    >>> span(26.4), span(185.0), span(7200.0)
    ('26 s', '3 minutes', '2 hours')
    """
    if seconds < _FEW_SECONDS:
        return f"{seconds:.0f} s"
    if seconds < 2.0 * 3600.0:
        return f"{seconds / 60.0:.3g} minutes".replace(".0 ", " ")
    return f"{seconds / 3600.0:.3g} hours"


def routing(word: str) -> str:
    return "in strict rotation" if word == "rotation" else "at random"


def plain(name: str) -> str:
    """A place's id as words.

    >>> plain("foot-of-the-lifts")
    'foot of the lifts'
    """
    return name.replace("-", " ").replace("_", " ")


def statement(value: Value, lifts: int) -> str:
    """The whole answer: how many balls, where they gather, what a stop does."""
    counted = value["balls"]
    flow = f"{value['flow_per_min']:.3g} balls a minute"
    said = [
        f"{flow} come round with {balls(counted['needed_count'])} in use, "
        f"{counted['order_count']} with spares."
        if "moving_count" in (value["simulations"] or [{}])[0]
        else f"{flow} are fed in; {_there(value):.3g} are on the machine on average."
    ]
    if "short_by_per_min" in value:
        piles = " and ".join(plain(pile["id"]) for pile in value["piles_up"])
        where = f"; they gather at {piles}" if piles else ""
        said.append(
            f"That is {value['short_by_per_min']:.3g} a minute short of what is asked for{where}."
        )
    said += [
        _stop(simulation, lifts) for simulation in value["simulations"] if "stop" in simulation
    ]
    return " ".join(said)


def _there(value: Value) -> float:
    return math.fsum(
        place["simulated"]["mean_count"]
        for place in value["places"]
        if place["kind"] != "basket" and "simulated" in place
    )


def _stop(simulation: Value, lifts: int) -> str:
    stop = simulation["stop"]
    stopped = len(stop["lifts_stopped"])
    what = f"{number(stopped).capitalize()} of {number(lifts)} lifts stopped"
    if not stopped:
        what = "Lifts stopping at random"
    how = f"balls parting {routing(simulation['routing'])}"
    if stop["overflow_ratio"] == 0.0:
        over = f"nothing overflows, at most {stop['peak_extra_high_count']:.0f} balls more wait"
    else:
        often = "" if stop["overflow_ratio"] == 1.0 else f" in {stop['overflow_ratio']:.0%} of runs"
        first = span(stop["overflow_s"])
        over = (
            f"{_full(stop)}the first ball leaves the machine after {first}{often}; "
            f"{balls(stop['balls_off_count'])} off the machine"
        )
    return f"{what}, {how}: {over}; {_back(stop)}."


def _full(stop: Value) -> str:
    """When the lines are full, in the order in which that happens."""
    lines = [row for row in stop["reached"] if row["kind"] == "line" and "median_s" in row]
    lines.sort(key=lambda row: float(row["median_s"]))
    return "".join(f"the {plain(row['id'])} full after {span(row['median_s'])}, " for row in lines)


def _back(stop: Value) -> str:
    if "recovery_s" in stop:
        late = stop["recovery_s"]
        after = "at once when" if late < 1.0 else f"{span(late)} after"
        return f"back to usual {after} the lifts run again"
    if stop["down_s"] == 0.0:
        return "the lifts do not come back in the time followed"
    return "not back to usual in the time followed"
