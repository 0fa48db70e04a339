"""What the builder should know about the flow of balls."""

from collections.abc import Callable, Mapping
from typing import Any

from baywright_service.contract import Finding, Inputs, Measure, Remedy, Result

from ..lift_redundancy.cross_checks import MOST_LIFTS
from .wording import balls, number, plain, routing, span

Value = Mapping[str, Any]
Rerun = Callable[[Inputs, Mapping[str, Any]], Result | None]

#: From here on a place has little left for a bunch of balls. Common practice, no source.
NEARLY_FULL = 0.95
#: A machine that runs this much slower after a stop lacks balls. A choice, not a standard.
SLOWER = 0.95


def flow_findings(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    """From the settled rates alone."""
    found = []
    if value["piles_up"]:
        found += [_pile(inputs, value, k, rerun) for k in range(len(value["piles_up"]))]
    elif "required_balls_per_min" in value and "short_by_per_min" not in value:
        flow = value["flow_per_min"]
        message = f"{flow:.3g} balls a minute come round, as asked; nothing gathers."
        measure = Measure(flow, value["required_balls_per_min"], "/min")
        found.append(Finding("flow-as-asked", "ok", message, ("/result/flow_per_min",), measure))
    if "short_by_per_min" in value and not value["piles_up"]:
        found.append(_too_few_moving(value))
    found += [
        _nearly_full(k, place)
        for k, place in enumerate(value["places"])
        if place.get("used_ratio", 0.0) >= NEARLY_FULL
        and not value["piles_up"]
        and place["kind"] != "lift"
        and "overflow_per_min" not in place
    ]
    if "balls_count" in inputs:
        found += _balls_at_hand(inputs["balls_count"], value["balls"])
    return found


def _pile(inputs: Inputs, value: Value, row: int, rerun: Rerun) -> Finding:
    pile = value["piles_up"][row]
    where = plain(pile["id"])
    asked = value.get("required_balls_per_min", value["flow_per_min"])
    goes = (
        f"spill from the {where} into the {plain(pile['overflows_to'])}"
        if "overflows_to" in pile
        else f"gather at the {where}"
    )
    message = f"At {asked:.4g} balls a minute {pile['balls_per_min']:.3g} a minute {goes}"
    message += (
        f": at most {value['most_per_min']:.4g} come round." if "most_per_min" in value else "."
    )
    measure = Measure(asked, value.get("most_per_min"), "/min")
    remedy = None if inputs.proving else _more_lifts(inputs, rerun)
    if remedy is None:
        remedy = Remedy(f"Let more through after the {where}, or ask for fewer balls a minute.")
    return Finding("balls-pile-up", "stop", message, (f"/result/piles_up/{row}",), measure, remedy)


def _more_lifts(inputs: Inputs, rerun: Rerun) -> Remedy | None:
    """One more of the first lifts, or two or three, if that is seen to suffice."""
    lifts = inputs.raw.get("lifts")
    if not lifts or "divider_lanes" in inputs:
        return None
    have = sum(entry["count"] for entry in inputs["lifts"])
    for more in (1, 2, 3):
        if have + more > MOST_LIFTS:
            return None
        count = inputs["lifts"][0]["count"] + more
        patch = {"lifts": [{**lifts[0], "count": count}, *lifts[1:]]}
        result = rerun(inputs, patch)
        if result is not None and not result.value["piles_up"]:
            name = plain(lifts[0]["id"])
            what = "one more" if more == 1 else f"{number(more)} more"
            return Remedy(f"Add {what} like {name}: {have + more} lifts in all.", patch)
    return None


def _too_few_moving(value: Value) -> Finding:
    flow, asked = value["flow_per_min"], value["required_balls_per_min"]
    return Finding(
        "too-few-balls-move",
        "watch",
        f"With the balls that move {flow:.4g} a minute come round; {asked:.4g} are asked for.",
        ("/inputs/moving_count",),
        Measure(flow, asked, "/min"),
        Remedy(
            "Put more balls on the machine, or leave moving_count out to see how many it takes."
        ),
    )


def _nearly_full(k: int, place: Value) -> Finding:
    return Finding(
        "nearly-full",
        "watch",
        f"The {plain(place['id'])} passes {place['rate_per_min']:.4g} balls a minute of at most "
        f"{place['capacity_per_min']:.4g}: a bunch of balls waits long there.",
        (f"/result/places/{k}",),
        Measure(place["used_ratio"], NEARLY_FULL),
        Remedy("Let more through here, or ask for fewer balls a minute."),
    )


def _balls_at_hand(have: int, counted: Value) -> list[Finding]:
    needed, order = counted["needed_count"], counted["order_count"]
    at = ("/inputs/balls_count", "/result/balls")
    if have < needed:
        message = f"{have} balls are at hand; {needed} are in use while it runs."
        remedy = Remedy(f"Get {order - have} more balls: {order} with spares.")
        return [Finding("too-few-balls", "stop", message, at, Measure(have, needed), remedy)]
    if have < order:
        message = f"{have} balls are at hand: {needed} in use leave {have - needed} spare."
        remedy = Remedy(f"Get {order - have} more for {order - needed} spares.")
        return [Finding("few-spare-balls", "watch", message, at, Measure(have, order), remedy)]
    return []


def stop_findings(value: Value, lifts: int) -> list[Finding]:
    """From the simulated stops, one routing after the other."""
    found: list[Finding] = []
    for row, simulation in enumerate(value["simulations"]):
        if "stop" in simulation:
            found += _of_stop(row, simulation, lifts)
    return found


def _of_stop(row: int, simulation: Value, lifts: int) -> list[Finding]:
    stop = simulation["stop"]
    at = (f"/result/simulations/{row}/stop",)
    stopped = len(stop["lifts_stopped"])
    what = f"{number(stopped).capitalize()} of {number(lifts)} lifts stopped"
    if not stopped:
        what = "Lifts stopping at random"
    how = f"balls parting {routing(simulation['routing'])}"
    found = []
    if stop["overflow_ratio"] > 0.0:
        often = "" if stop["overflow_ratio"] == 1.0 else f" in {stop['overflow_ratio']:.0%} of runs"
        message = (
            f"{what}, {how}: the first ball leaves the machine after {span(stop['overflow_s'])}"
            f"{often}; up to {balls(stop['balls_off_most_count'])} lie off it at a time."
        )
        room = stop["peak_extra_high_count"]
        remedy = Remedy(
            f"Make room for {room:.0f} balls beyond the usual (it suffices in 95 % of runs), or "
            "set a basket under the overflow."
        )
        measure = Measure(stop["balls_off_count"], 0.0)
        found.append(Finding("overflow-after-stop", "watch", message, at, measure, remedy))
    else:
        message = (
            f"{what}, {how}: no ball leaves the machine; {stop['peak_extra_count']:.1f} more than "
            "usual wait at the most."
        )
        measure = Measure(stop["peak_extra_count"])
        found.append(Finding("stop-held", "ok", message, at, measure))
    return found + _after(stop, simulation, at)


def _after(stop: Value, simulation: Value, at: tuple[str, ...]) -> list[Finding]:
    found = []
    how = f"Balls parting {routing(simulation['routing'])}"
    came_back = stop["down_s"] > 0.0 and stop["lifts_stopped"]
    if came_back and stop["recovered_ratio"] == 1.0:
        message = f"{how}: back to usual {span(stop['recovery_s'])} after the lifts run again."
        measure = Measure(stop["recovery_s"], unit="s")
        found.append(Finding("back-to-usual", "ok", message, at, measure))
    elif came_back:
        message = (
            f"{how}: in {1.0 - stop['recovered_ratio']:.0%} of runs it is not back to "
            "usual when the time followed ends."
        )
        remedy = Remedy("Put balls back that left the machine, or follow it for a longer time.")
        measure = Measure(stop["recovered_ratio"], 1.0)
        found.append(Finding("not-back-to-usual", "watch", message, at, measure, remedy))
    after, before = stop.get("flow_after_per_min"), simulation["flow_per_min"]
    if came_back and after is not None and after < SLOWER * before:
        message = (
            f"{how}: with {balls(stop['balls_off_count'])} off the machine {after:.3g} a minute "
            f"come round at the end, {before:.3g} before."
        )
        remedy = Remedy("Put the balls back at the top, one by one, once all lifts run.")
        found.append(
            Finding(
                "slower-after-stop", "watch", message, at, Measure(after, before, "/min"), remedy
            )
        )
    return found
