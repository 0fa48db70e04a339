"""Do the lifts bring enough, and how many may stop?"""

from collections.abc import Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Inputs, Measure, Remedy

from .circuit import Circuit
from .cross_checks import COMMON_CAUSE, MOST_LIFTS
from .failure_states import Unit
from .study import StateFlow, by_lifts_alone
from .wording import Rerun, Value, and_words, clears, num, plural

MOST_ADDED_LIFTS = 4


def lift_findings(
    inputs: Inputs,
    value: Value,
    circuit: Circuit,
    flows: Sequence[StateFlow],
    rerun: Rerun,
) -> list[Finding]:
    required = inputs["required_balls_per_min"]
    if not flows[0].enough:
        return [not_met(inputs, value, _more_lifts(inputs, circuit, rerun))]
    found: list[Finding] = []
    flows = by_lifts_alone(circuit, flows)
    tolerate = min(inputs["tolerate_stopped_count"], len(circuit.units))
    shared = [u for u in circuit.units if len(u.lifts) > 1 and u.id != COMMON_CAUSE]
    bad = {f.stopped[0] for f in flows if len(f.stopped) == 1 and not f.enough}
    alike = {u.id: u.alike for u in circuit.units}
    bad_kinds = {alike[name] for name in bad}
    short_units = [u for u in circuit.units if u.alike in bad_kinds and u.lifts]
    for unit in shared:
        found.append(_shared(inputs, circuit, unit, unit in short_units, tolerate, rerun))
    single = [u for u in short_units if len(u.lifts) == 1]
    if single:
        found.append(_lift_single(inputs, value, circuit, single, flows, tolerate, rerun))
    elif tolerate >= 2:
        beyond = [f for f in flows if len(f.stopped) <= tolerate and not f.enough]
        if beyond and not short_units:
            worst = min(beyond, key=lambda f: (f.flow_per_min or 0.0, f.row))
            found.append(_too_few_spare(inputs, circuit, worst, tolerate, rerun))
    if not single and "stop" not in {f.level for f in found}:
        found.append(_met(circuit, flows, required))
    return found


def not_met(inputs: Inputs, value: Value, remedy: Remedy | None) -> Finding:
    required, flow = inputs["required_balls_per_min"], value["flow_per_min"]
    names = [part["id"] for part in value["limited_by"]]
    where = f"; {and_words(names)} let no more through" if names else ""
    if remedy is None and names:
        remedy = Remedy(
            f"Widen or double {and_words(names)} by {num(required - flow)} balls per minute, "
            "or ask for less."
        )
    return Finding(
        "required-flow-not-met",
        "stop",
        f"With everything running {num(flow)} balls per minute come round; {num(required)} are "
        f"required{where}.",
        ("/required_balls_per_min",),
        Measure(flow, required, "/min"),
        remedy,
    )


def _more_lifts(inputs: Inputs, circuit: Circuit, rerun: Rerun, *unwanted: str) -> Remedy | None:
    """The fewest more lifts like those of the first entry that clear the findings, proven."""
    if inputs.proving or "network" in inputs or not inputs.get("lifts"):
        return None
    first = inputs.raw["lifts"][0]["id"]
    room = MOST_LIFTS - len(circuit.lifts)
    like = f" like {first}" if len(inputs.raw["lifts"]) > 1 else ""
    for more in range(1, min(MOST_ADDED_LIFTS, room) + 1):
        patch = with_more_lifts(inputs, more)
        if clears(rerun(inputs, patch), *unwanted, "required-flow-not-met"):
            return Remedy(
                f"Build {plural(more, 'more lift')}{like}: {len(circuit.lifts) + more} in all.",
                patch,
            )
    return None


def with_more_lifts(inputs: Inputs, more: int) -> dict[str, Any]:
    """The patch that adds lifts like those of the first entry."""
    raw = [dict(entry) for entry in inputs.raw["lifts"]]
    now = raw[0].get("count", 1)
    patch: dict[str, Any] = {"lifts": [{**raw[0], "count": now + more}, *raw[1:]]}
    lanes = _lanes_with(inputs, raw[0], now, more)
    if lanes is not None:
        patch["divider_lanes"] = lanes
    return patch


def _lanes_with(
    inputs: Inputs, first: Mapping[str, Any], now: int, more: int
) -> list[dict[str, Any]] | None:
    """Lanes that name single lifts by num, with the new ones on the last such lane."""
    lanes = inputs.raw.get("divider_lanes")
    if not lanes:
        return None
    name = first["id"]
    old = {name} if now == 1 else {f"{name}-{k}" for k in range(1, now + 1)}
    changed = [dict(lane) for lane in lanes]
    if any(name in lane["feeds"] for lane in changed):
        return None
    renamed = {name: f"{name}-1"} if now == 1 else {}
    feeding = [lane for lane in changed if old & set(lane["feeds"])]
    for lane in feeding:
        lane["feeds"] = [renamed.get(x, x) for x in lane["feeds"]]
    if feeding:
        new = [f"{name}-{k}" for k in range(now + 1, now + more + 1)]
        feeding[-1]["feeds"] = [*feeding[-1]["feeds"], *new]
    return changed


def _lift_single(
    inputs: Inputs,
    value: Value,
    circuit: Circuit,
    single: Sequence[Unit],
    flows: Sequence[StateFlow],
    tolerate: int,
    rerun: Rerun,
) -> Finding:
    required, count = inputs["required_balls_per_min"], len(circuit.lifts)
    left = min(f.flow_per_min or 0.0 for f in flows if len(f.stopped) == 1 and not f.enough)
    names = list(dict.fromkeys(unit.lifts[0] for unit in single))
    needed = value.get("needed_lift_count")
    who = "Each lift is" if len(names) == count else f"{and_words(names)} {_is(names)}"
    first = f"{count} lifts are exactly the {needed} needed" if needed == count else "No spare"
    if needed is not None and needed != count:
        first = f"{needed} of {count} lifts must run"
    message = (
        f"{first}. {who} a single point of failure: with one stopped {num(left)} balls per minute "
        f"come round, {num(required - left)} short of {num(required)}."
    )
    places = tuple(dict.fromkeys(f"/lifts/{_entry(circuit, name)}" for name in names))
    measure = Measure(left, required, "/min")
    if tolerate == 0:
        return Finding("lifts-exactly-k", "watch", message, places, measure)
    remedy = _more_lifts(inputs, circuit, rerun, "lift-single-point", "lifts-share-a-motor")
    return Finding("lift-single-point", "stop", message, places, measure, remedy)


def _is(names: Sequence[str]) -> str:
    return "is" if len(names) == 1 else "are each"


def _entry(circuit: Circuit, name: str) -> int:
    return next(lift.entry for lift in circuit.lifts if lift.id == name)


def _too_few_spare(
    inputs: Inputs, circuit: Circuit, worst: StateFlow, tolerate: int, rerun: Rerun
) -> Finding:
    required = inputs["required_balls_per_min"]
    return Finding(
        "too-few-spare-lifts",
        "stop",
        f"{tolerate} may stop by the plan, but with {and_words(worst.stopped)} stopped only "
        f"{num(worst.flow_per_min or 0.0)} of {num(required)} balls per minute come round.",
        ("/tolerate_stopped_count",),
        Measure(worst.flow_per_min or 0.0, required, "/min"),
        _more_lifts(inputs, circuit, rerun, "too-few-spare-lifts", "lift-single-point"),
    )


def _shared(
    inputs: Inputs,
    circuit: Circuit,
    unit: Unit,
    short: bool,
    tolerate: int,
    rerun: Rerun,
) -> Finding:
    required, lifts = inputs["required_balls_per_min"], unit.lifts
    left = min(circuit.network.max_flow(lifts) or 0.0, required)
    entries = list(dict.fromkeys(_entry(circuit, name) for name in lifts))
    apart = unit.id in {cause["id"] for cause in inputs["shared_causes"]}
    why = (
        f"when {unit.id} does"
        if apart
        else "by a motor or power supply they share, and count as one lift"
    )
    message = (
        f"{and_words(list(lifts))} stop together, {why}: without them {num(left)} of "
        f"{num(required)} balls per minute come round."
    )
    remedy = None
    if short and not inputs.proving:
        raw = [dict(entry) for entry in inputs.raw["lifts"]]
        for k in entries:
            raw[k].pop("motor", None)
            raw[k].pop("power_supply", None)
        patch: dict[str, Any] = {"lifts": raw}
        if inputs.raw.get("shared_causes"):
            named = {entry.get(key) for entry in raw for key in ("motor", "power_supply")}
            patch["shared_causes"] = [c for c in inputs.raw["shared_causes"] if c["id"] in named]
        if clears(
            rerun(inputs, patch),
            "lifts-share-a-motor",
            "lift-single-point",
            "required-flow-not-met",
        ):
            text = f"Give {and_words(list(lifts))} a motor and a supply each."
            remedy = Remedy(text, patch)
        else:
            remedy = Remedy(
                f"Give {and_words(list(lifts))} a motor and a supply each; more lifts are needed "
                "too."
            )
    return Finding(
        "lifts-share-a-motor",
        "stop" if short and tolerate >= 1 else "watch",
        message,
        tuple(f"/lifts/{k}" for k in entries),
        Measure(left, required, "/min"),
        remedy,
    )


def _met(circuit: Circuit, flows: Sequence[StateFlow], required: float) -> Finding:
    lifts, units = (
        len(circuit.lifts),
        len([u for u in circuit.units if u.lifts and u.id != COMMON_CAUSE]),
    )
    short = min((len(flow.stopped) for flow in flows if not flow.enough), default=units + 1)
    together = "" if units == lifts else ", counting lifts that stop together as one"
    still = f"; any {short - 1} may stop{together}, and it is still met" if short > 1 else ""
    return Finding(
        "flow-met",
        "ok",
        f"{plural(lifts, 'lift')} bring {num(required)} balls per minute round{still}.",
        ("/lifts",),
        Measure(flows[0].flow_per_min or 0.0, required, "/min"),
    )
