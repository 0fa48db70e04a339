"""What the builder should know, from inputs and result; remedies are proven by running again."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from baywright_service.contract import Finding, Inputs, Measure, Remedy, Result

from .chain import links_for_spacing
from .circuit import Circuit
from .failure_states import Unit
from .schemas import MOST_LIFTS, STATION_ORDER, link_name
from .study import StateFlow

Rerun = Callable[[Inputs, Mapping[str, Any]], Result | None]
Value = Mapping[str, Any]
MOST_ADDED_LIFTS = 4
LEAST_WRAP_DEG = 120.0


def all_findings(
    inputs: Inputs,
    value: Value,
    circuit: Circuit | None,
    flows: Sequence[StateFlow],
    rerun: Rerun,
) -> list[Finding]:
    """Lifts first, then the network, the balls, the chain."""
    found: list[Finding] = []
    if circuit is not None and "required_balls_per_min" in inputs:
        if circuit.lifts:
            found += _flow(inputs, value, circuit, flows, rerun)
        elif not flows[0].enough:
            found.append(_not_met(inputs, value, None))
    if circuit is not None:
        found += _single_points(inputs, value, circuit)
        found += _paths_overloaded(inputs)
        found += _minutes_short(inputs, value)
        found += _overflow(inputs, value, rerun)
        found += _spill(inputs, value)
        found += _balls(inputs, value, rerun)
    if "chain" in value:
        found += _links(inputs, value["chain"], rerun)
        found += _hooks(inputs, value["chain"], rerun)
        found += _frequencies(inputs, value["chain"], rerun)
        found += _wrap(value["chain"])
    return found


def codes(result: Result | None) -> set[str]:
    """Finding codes of a run above "ok"; a run that failed clears nothing."""
    return set() if result is None else {f.code for f in result.findings if f.level != "ok"}


def _clears(result: Result | None, *unwanted: str) -> bool:
    return result is not None and not codes(result) & {*unwanted, "required-flow-not-met"}


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _n(number: float) -> str:
    return f"{number:.4g}"


def _plural(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


# Lifts


def _flow(
    inputs: Inputs,
    value: Value,
    circuit: Circuit,
    flows: Sequence[StateFlow],
    rerun: Rerun,
) -> list[Finding]:
    required = inputs["required_balls_per_min"]
    if not flows[0].enough:
        return [_not_met(inputs, value, _more_lifts(inputs, circuit, rerun))]
    found: list[Finding] = []
    tolerate = min(inputs["tolerate_stopped_count"], len(circuit.units))
    shared = [u for u in circuit.units if len(u.lifts) > 1]
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
        found.append(_flow_met(circuit, flows, required))
    return found


def _not_met(inputs: Inputs, value: Value, remedy: Remedy | None) -> Finding:
    required, flow = inputs["required_balls_per_min"], value["flow_per_min"]
    names = [part["id"] for part in value["limited_by"]]
    where = f"; {_and(names)} let no more through" if names else ""
    if remedy is None and names:
        remedy = Remedy(
            f"Widen or double {_and(names)} by {_n(required - flow)} balls per minute, "
            "or ask for less."
        )
    return Finding(
        "required-flow-not-met",
        "stop",
        f"With everything running {_n(flow)} balls per minute come round; {_n(required)} are "
        f"required{where}.",
        ("/required_balls_per_min",),
        Measure(flow, required, "/min"),
        remedy,
    )


def _more_lifts(inputs: Inputs, circuit: Circuit, rerun: Rerun, *unwanted: str) -> Remedy | None:
    """The fewest more lifts like those of the first entry that clear the findings, proven."""
    if inputs.proving or "network" in inputs or not inputs.get("lifts"):
        return None
    raw = [dict(entry) for entry in inputs.raw["lifts"]]
    room = MOST_LIFTS - len(circuit.lifts)
    now = raw[0].get("count", 1)
    like = f" like {raw[0]['id']}" if len(raw) > 1 else ""
    for more in range(1, min(MOST_ADDED_LIFTS, room) + 1):
        first = {**raw[0], "count": now + more}
        patch: dict[str, Any] = {"lifts": [first, *raw[1:]]}
        lanes = _lanes_with(inputs, raw[0], now, more)
        if lanes is not None:
            patch["divider_lanes"] = lanes
        if _clears(rerun(inputs, patch), *unwanted):
            return Remedy(
                f"Build {_plural(more, 'more lift')}{like}: {len(circuit.lifts) + more} in all.",
                patch,
            )
    return None


def _lanes_with(
    inputs: Inputs, first: Mapping[str, Any], now: int, more: int
) -> list[dict[str, Any]] | None:
    """Lanes that name single lifts by number, with the new ones on the last such lane."""
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
    who = "Each lift is" if len(names) == count else f"{_and(names)} {_is(names)}"
    first = f"{count} lifts are exactly the {needed} needed" if needed == count else "No spare"
    if needed is not None and needed != count:
        first = f"{needed} of {count} lifts must run"
    message = (
        f"{first}. {who} a single point of failure: with one stopped {_n(left)} balls per minute "
        f"come round, {_n(required - left)} short of {_n(required)}."
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
        f"{tolerate} may stop by the plan, but with {_and(worst.stopped)} stopped only "
        f"{_n(worst.flow_per_min or 0.0)} of {_n(required)} balls per minute come round.",
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
        f"{_and(list(lifts))} stop together, {why}: without them {_n(left)} of {_n(required)} "
        "balls per minute come round."
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
        if _clears(rerun(inputs, patch), "lifts-share-a-motor", "lift-single-point"):
            text = f"Give {_and(list(lifts))} a motor and a supply each."
            remedy = Remedy(text, patch)
        else:
            remedy = Remedy(
                f"Give {_and(list(lifts))} a motor and a supply each; more lifts are needed too."
            )
    return Finding(
        "lifts-share-a-motor",
        "stop" if short and tolerate >= 1 else "watch",
        message,
        tuple(f"/lifts/{k}" for k in entries),
        Measure(left, required, "/min"),
        remedy,
    )


def _flow_met(circuit: Circuit, flows: Sequence[StateFlow], required: float) -> Finding:
    lifts, units = len(circuit.lifts), len([u for u in circuit.units if u.lifts])
    short = min((len(flow.stopped) for flow in flows if not flow.enough), default=units + 1)
    together = "" if units == lifts else ", counting lifts that stop together as one"
    still = f"; any {short - 1} may stop{together}, and it is still met" if short > 1 else ""
    return Finding(
        "flow-met",
        "ok",
        f"{_plural(lifts, 'lift')} bring {_n(required)} balls per minute round{still}.",
        ("/lifts",),
        Measure(flows[0].flow_per_min or 0.0, required, "/min"),
    )


def _minutes_short(inputs: Inputs, value: Value) -> list[Finding]:
    share = value.get("availability")
    if share is None or "required_balls_per_min" not in inputs:
        return []
    alone, crew = share["minutes_short_independent_min"], share["minutes_short_with_crews_min"]
    limit, hours = inputs["short_limit_min"], inputs["hours_per_day_h"]
    crews = _plural(share["crews_count"], "repairer")
    return [
        Finding(
            "minutes-short",
            "ok" if crew <= limit else "watch",
            f"Too few balls come round for {_short(alone)} minutes in {_n(hours)} hours when every "
            f"stopped lift is mended at once, {_short(crew)} with {crews}; {_n(limit)} are borne.",
            ("/short_limit_min",),
            Measure(crew, limit, "min"),
            None
            if crew <= limit
            else Remedy("Add a lift, mend faster, or make lifts that run longer between stops."),
        )
    ]


def _short(minutes: float) -> str:
    return f"{minutes:.0f}" if minutes >= 10 else f"{minutes:.1f}"


# The network around the lifts


def _single_points(inputs: Inputs, value: Value, circuit: Circuit) -> list[Finding]:
    told_above = ("lift", "shared-cause")
    points = [p for p in value.get("single_points", []) if p["kind"] not in told_above]
    if not points:
        return []
    names = [p["id"] for p in points]
    others = len(circuit.groups)
    text = "is a single point" if len(names) == 1 else "are single points"
    return [
        Finding(
            "single-point-of-failure",
            "watch",
            f"{_and(names)} {text} of failure: the flow falls short when "
            f"{'it' if len(names) == 1 else 'any one of them'} is blocked.",
            _places_of(inputs, names),
            Measure(float(len(names)), float(others), "1"),
            Remedy(
                "Make each easy to reach and quick to clear, and keep a spare of what can break; "
                "a second one beside it would lift the limit."
            ),
        )
    ]


def _places_of(inputs: Inputs, names: Sequence[str]) -> tuple[str, ...]:
    """Pointers into the inputs to parts by name."""
    places = {key.replace("_", "-"): f"/stations/{key}_per_min" for key in STATION_ORDER}
    for key in ("paths", "divider_lanes"):
        places |= {e["id"]: f"/{key}/{k}" for k, e in enumerate(inputs.get(key, []))}
    if "network" in inputs:
        own = inputs["network"]
        places = {node["id"]: f"/network/nodes/{k}" for k, node in enumerate(own["nodes"])}
        places |= {link_name(e): f"/network/links/{k}" for k, e in enumerate(own["links"])}
    return tuple(places[name] for name in names)


def _paths_overloaded(inputs: Inputs) -> list[Finding]:
    required = inputs.get("required_balls_per_min")
    found = []
    for k, path in enumerate(inputs.get("paths", [])):
        capacity = path.get("capacity_per_min")
        if required is None or capacity is None:
            continue
        load = required * path["share_ratio"]
        if load > capacity * (1 + 1e-9):
            found.append(
                Finding(
                    "track-overloaded",
                    "stop",
                    f"Track {path['id']} gets {_n(load)} balls per minute by its share and "
                    f"carries {_n(capacity)}.",
                    (f"/paths/{k}",),
                    Measure(load, capacity, "/min"),
                    Remedy(
                        f"Send it at most {_n(100 * capacity / required)} percent of the balls."
                    ),
                )
            )
    return found


def _spill(inputs: Inputs, value: Value) -> list[Finding]:
    spill = value.get("spill_per_min", 0.0)
    if spill <= 0.0:
        return []
    return [
        Finding(
            "divider-spills",
            "stop",
            f"The divider lanes pass {_n(inputs['required_balls_per_min'] - spill)} balls per "
            f"minute; {_n(spill)} run over the last lane.",
            ("/divider_lanes",),
            Measure(spill, 0.0, "/min"),
            Remedy("Widen a lane, or let it feed a lift that has room."),
        )
    ]


def _overflow(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    """The fewest lifts whose stop overflows the return lane, and the stop of all of them."""
    free = inputs.get("queue", {}).get("free_places_count")
    rows = [row for row in value.get("by_stopped", []) if row["stopped_count"] > 0]
    if free is None or not rows or "peak_extra_balls" not in rows[-1]:
        return []
    count = value["lift_count"]
    over = [row for row in rows if "overflow_s" in row]
    partly = [row for row in over if row["stopped_count"] < count][:1]
    wholly = [row for row in over if row["stopped_count"] == count]
    found = [_overflow_finding(inputs, row, count, free, rerun) for row in partly + wholly]
    held = [row["stopped_count"] for row in rows if row not in over]
    if held and not partly:
        most = max(held)
        peak = max(row["peak_extra_balls"] for row in rows if row not in over)
        found.append(
            Finding(
                "return-lane-holds",
                "ok",
                f"With up to {most} of {count} lifts stopped at most {_n(peak)} extra balls "
                f"gather on the return lane; it has {_n(free)} free places.",
                ("/queue/free_places_count",),
                Measure(peak, free, "1"),
            )
        )
    return found


def _overflow_finding(
    inputs: Inputs, row: Mapping[str, Any], count: int, free: float, rerun: Rerun
) -> Finding:
    stopped, peak = row["stopped_count"], row["peak_extra_balls"]
    who = f"all {count}" if stopped == count else f"{stopped} of {count}"
    places = float(-(-peak // 1))
    remedy = Remedy(f"Make room for {_n(places)} extra balls, or lead the overflow to a basket.")
    if not inputs.proving:
        patch = {"queue": {"free_places_count": places}}
        again = rerun(inputs, patch)
        rows = again.value["by_stopped"] if again is not None else []
        same = [r for r in rows if r["stopped_count"] == stopped]
        if same and "overflow_s" not in same[0]:
            remedy = Remedy(remedy.message, patch)
    return Finding(
        "return-lane-overflows",
        "stop" if stopped <= inputs["tolerate_stopped_count"] else "watch",
        f"With {who} lifts stopped the return lane overflows after "
        f"{row['overflow_s']:.0f} s: {_n(peak)} extra balls gather, {_n(free)} places are free.",
        ("/queue/free_places_count",),
        Measure(peak, free, "1"),
        remedy,
    )


def _balls(inputs: Inputs, value: Value, rerun: Rerun) -> list[Finding]:
    balls = value.get("balls")
    if balls is None:
        return []
    needed, order = balls["needed_count"], balls["order_count"]
    sum_up = (
        f"{needed} balls are in use: {_n(balls['on_tracks_count'])} on the tracks, "
        f"{_n(balls['on_lifts_count'])} on the lifts, {_n(balls['in_queue_count'])} waiting, "
        f"{_n(balls['in_basin_count'])} in the basin"
    )
    at_hand = inputs.get("balls_count")
    if at_hand is None or at_hand >= order:
        end = f"order {order} with spares" if at_hand is None else f"{at_hand} are at hand"
        measure = Measure(float(needed), None if at_hand is None else float(at_hand), "1")
        return [Finding("balls-needed", "ok", f"{sum_up}; {end}.", ("/balls_count",), measure)]
    patch = {"balls_count": order}
    proven = not inputs.proving and _clears_balls(rerun(inputs, patch))
    return [
        Finding(
            "too-few-balls",
            "stop" if at_hand < needed else "watch",
            f"{sum_up}; {at_hand} are at hand"
            + ("." if at_hand < needed else f", without the spares that make it {order}."),
            ("/balls_count",),
            Measure(float(at_hand), float(needed if at_hand < needed else order), "1"),
            Remedy(f"Get {order - at_hand} more balls.", patch if proven else None),
        )
    ]


def _clears_balls(result: Result | None) -> bool:
    return result is not None and "too-few-balls" not in codes(result)


# The chain


def _links(inputs: Inputs, chain: Value, rerun: Rerun) -> list[Finding]:
    links = chain["links_count"]
    if chain["offset_link"]:
        patch = {"chain": {"links_count": links + 1}}
        proven = not inputs.proving and "odd-links" not in codes(rerun(inputs, patch))
        return [
            Finding(
                "odd-links",
                "watch",
                f"{links} links are odd: the chain needs an offset link, its weakest, and hooks "
                "cannot all sit on the same kind of link.",
                ("/chain/links_count",),
                Measure(float(links), float(links + 1), "1"),
                Remedy(f"Use {links + 1} links.", patch if proven else None),
            )
        ]
    moved = ""
    if "take_up_mm" in chain:
        side = "more" if chain["take_up_mm"] >= 0 else "less"
        moved = f", {abs(chain['take_up_mm']):.2f} mm {side} than asked for"
    return [
        Finding(
            "links-even",
            "ok",
            f"{links} links close the loop; head to tail becomes "
            f"{chain['centre_distance_mm']:.2f} mm{moved}.",
            ("/chain",),
            Measure(float(links), None, "1"),
        )
    ]


def _hooks(inputs: Inputs, chain: Value, rerun: Rerun) -> list[Finding]:
    spacing = inputs["chain"].get("hook_spacing_links_count")
    if spacing is None:
        return []
    links = chain["links_count"]
    if "hooks_count" not in chain:
        return [_hooks_uneven(inputs, chain, spacing, rerun)]
    if spacing % 2 == 1:
        return [
            Finding(
                "hooks-on-both-link-kinds",
                "watch",
                f"Hooks every {spacing} links sit on inner and outer links in turn: two kinds of "
                "hook plates are needed.",
                ("/chain/hook_spacing_links_count",),
                Measure(float(spacing), None, "1"),
                Remedy("Choose an even spacing if you have hook plates of one kind only."),
            )
        ]
    return [
        Finding(
            "hooks-even",
            "ok",
            f"Hooks every {spacing} links divide {links} links: {chain['hooks_count']} hooks.",
            ("/chain/hook_spacing_links_count",),
            Measure(float(chain["hooks_count"]), None, "1"),
        )
    ]


def _hooks_uneven(inputs: Inputs, chain: Value, spacing: int, rerun: Rerun) -> Finding:
    links = chain["links_count"]
    gap = links % spacing
    spacings = chain["even_spacings_links_count"].tolist()
    near = sorted(spacings, key=lambda s: (abs(s - spacing), s % 2, s))[:4]
    more = links_for_spacing(links, spacing)
    options: list[tuple[str, dict[str, Any]]] = [
        (f"Use {more} links", {"chain": {"links_count": more}})
    ]
    options += [
        (f"Set hooks every {s} links", {"chain": {"hook_spacing_links_count": s}}) for s in near
    ]
    if (more - links) > links // 10:
        options = [*options[1:], options[0]]
    remedy = Remedy(f"{options[0][0]}.")
    if not inputs.proving:
        for text, patch in options:
            again = rerun(inputs, patch)
            if again is not None and not codes(again) & {"hooks-uneven", "odd-links"}:
                remedy = Remedy(f"{text}: then the spacing is even all round.", patch)
                break
    return Finding(
        "hooks-uneven",
        "watch",
        f"Hooks every {spacing} links do not divide {links} links: one gap is left with {gap} "
        f"links.",
        ("/chain/hook_spacing_links_count",),
        Measure(float(gap), 0.0, "1"),
        remedy,
    )


def _frequencies(inputs: Inputs, chain: Value, rerun: Rerun) -> list[Finding]:
    keep = inputs["chain"]["keep_apart_ratio"]
    words = {
        "tooth-passing": "Tooth passing at {:.2f} Hz is",
        "shaft": "The head shaft at {:.2f} Hz is",
        "hooks": "The hooks at {:.2f} Hz are",
    }
    found = []
    for row in chain.get("excitations", []):
        near = row["apart_ratio"] < keep - 1e-12
        tooth = row["id"] == "tooth-passing"
        text = (
            f"{words[row['id']].format(row['frequency_hz'])} {100 * row['apart_ratio']:.0f} "
            f"percent from the frame's {row['nearest_frame_hz']:.2f} Hz; {100 * keep:.0f} percent "
            "are asked for."
        )
        if near:
            code = "tooth-near-frame-frequency" if tooth else "drive-near-frame-frequency"
            remedy = _spacing_remedy(inputs, chain, rerun) if tooth else None
            level = "watch"
        elif tooth:
            code, remedy, level = "tooth-clear-of-frame", None, "ok"
        else:
            continue
        measure = Measure(row["apart_ratio"], keep, "1")
        found.append(Finding(code, level, text, ("/chain",), measure, remedy))
    return found


def _spacing_remedy(inputs: Inputs, chain: Value, rerun: Rerun) -> Remedy:
    """A spacing that divides the links and is clear; wider first: fewer hooks, shorter lift."""
    spacing = inputs["chain"].get("hook_spacing_links_count")
    general = Remedy("Change the hook spacing or the hooks a minute; more teeth change nothing.")
    clear = chain.get("clear_spacings_links_count")
    if spacing is None or inputs.proving or clear is None:
        return general
    even = [s for s in clear.tolist() if s % 2 == 0 and spacing / 4 <= s <= spacing * 4]
    order = sorted(even, key=lambda s: (s < spacing, abs(s - spacing)))
    unwanted = {"tooth-near-frame-frequency", "drive-near-frame-frequency", "hooks-uneven"}
    for s in order[:6]:
        patch = {"chain": {"hook_spacing_links_count": s}}
        again = rerun(inputs, patch)
        if again is not None and not codes(again) & unwanted:
            row = again.value["chain"]["excitations"][0]
            return Remedy(
                f"Set hooks every {s} links at the same hooks a minute: tooth passing at "
                f"{row['frequency_hz']:.2f} Hz is {100 * row['apart_ratio']:.0f} percent clear.",
                patch,
            )
    return general


def _wrap(chain: Value) -> list[Finding]:
    if chain["wrap_deg"] >= LEAST_WRAP_DEG:
        return []
    return [
        Finding(
            "wrap-too-small",
            "watch",
            f"The chain lies on {chain['wrap_deg']:.0f} degrees of the smaller sprocket; "
            f"{LEAST_WRAP_DEG:.0f} are asked for.",
            ("/chain",),
            Measure(chain["wrap_deg"], LEAST_WRAP_DEG, "deg"),
            Remedy("Move the shafts apart, or take sprockets of more equal size."),
        )
    ]
