"""The machine as a network: from the top basin round to the collector, or a network as given."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from .availability import steady_availability
from .cross_checks import COMMON_CAUSE, STATION_ORDER, lift_names, link_name
from .failure_states import Unit
from .network import Element, FlowNetwork

NEVER_RUNS = 1e15  # odds of being stopped that stand for an availability of 0
SMALLEST_BETA = 1e-9  # below it, no cause in common


@dataclass(frozen=True)
class Lift:
    """One lift of its own: where it stands in the inputs, what it brings up, how it fails."""

    id: str
    entry: int
    capacity_per_min: float
    failure: Mapping[str, float]
    causes: tuple[str, ...]


@dataclass(frozen=True)
class Circuit:
    """A machine ready to be asked: the network, its lifts, its units, and what may be taken out.

    `groups` maps each part or shared cause to the elements that stop with it, in the order in
    which balls meet them; `kinds` says what each is.
    """

    network: FlowNetwork
    lifts: tuple[Lift, ...]
    units: tuple[Unit, ...]
    groups: Mapping[str, tuple[str, ...]]
    kinds: Mapping[str, str]


def lifts_of(inputs: Mapping[str, Any], chain_hooks_per_min: float | None) -> tuple[Lift, ...]:
    """The single lifts; what an entry leaves out about hooks is the chain's."""
    entries = inputs.get("lifts", [])
    chain = inputs.get("chain", {})
    lifts = []
    for place, (entry, names) in enumerate(zip(entries, lift_names(entries), strict=True)):
        capacity = entry.get("capacity_per_min")
        if capacity is None:
            hooks = entry.get("hooks_per_min", chain_hooks_per_min)
            balls = entry.get("balls_per_hook_count", chain.get("balls_per_hook_count", 1))
            capacity = hooks * balls * entry.get("fill_ratio", chain.get("fill_ratio", 1.0))
        causes = tuple(entry[key] for key in ("motor", "power_supply") if key in entry)
        failure = {
            key: entry[key] for key in ("mtbf_h", "mttr_h", "availability_ratio") if key in entry
        }
        lifts += [Lift(name, place, float(capacity), failure, causes) for name in names]
    return tuple(lifts)


def circuit_of(inputs: Mapping[str, Any], lifts: Sequence[Lift]) -> Circuit:
    """The network around the lifts, what stops as one, and what could be a single point."""
    elements, arcs, source, sink, kinds = (
        _own_network(inputs["network"], lifts) if "network" in inputs else _round(inputs, lifts)
    )
    causes = {
        cause: tuple(lift.id for lift in lifts if cause in lift.causes)
        for cause in dict.fromkeys(c for lift in lifts for c in lift.causes)
    }
    groups: dict[str, tuple[str, ...]] = {e.id: (e.id,) for e in elements}
    kinds = dict(kinds)
    for cause, stopped in causes.items():
        if len(stopped) > 1 and cause not in groups:
            groups[cause] = stopped
            kinds[cause] = "shared-cause"
    units = _units(inputs, lifts, causes)
    if "network" not in inputs:
        units += _round_units(inputs)
    units += _network_units(inputs.get("network"), {lift.id for lift in lifts})
    return Circuit(
        FlowNetwork(elements, arcs, source, sink), tuple(lifts), tuple(units), groups, kinds
    )


_Built = tuple[list[Element], list[tuple[str, str]], str, str, dict[str, str]]


def _round(inputs: Mapping[str, Any], lifts: Sequence[Lift]) -> _Built:
    """The way round in the order that balls take, opened between collector and top basin."""
    stations = inputs.get("stations", {})
    elements: list[Element] = []
    arcs: list[tuple[str, str]] = []
    kinds: dict[str, str] = {}
    open_ends = ["start"]

    def side_by_side(parts: Sequence[tuple[str, float | None]], kind: str) -> None:
        nonlocal open_ends
        for name, capacity in parts:
            elements.append(Element(name, capacity))
            kinds[name] = kind
            arcs.extend((end, name) for end in open_ends)
        if parts:
            open_ends = [name for name, _ in parts]

    def station(key: str) -> None:
        if f"{key}_per_min" in stations:
            names = station_names(inputs, key)
            side_by_side([(name, stations[f"{key}_per_min"]) for name in names], "station")

    station(STATION_ORDER[0])
    side_by_side([(p["id"], p.get("capacity_per_min")) for p in inputs.get("paths", [])], "track")
    for key in STATION_ORDER[1:4]:
        station(key)
    lanes = inputs.get("divider_lanes", [])
    side_by_side([(lane["id"], lane.get("capacity_per_min")) for lane in lanes], "lane")
    if lanes:
        for lift in lifts:
            elements.append(Element(lift.id, lift.capacity_per_min))
            kinds[lift.id] = "lift"
        fed = lanes_feed(lanes, inputs["lifts"], lifts)
        arcs += [
            (lane["id"], lifts[i].id) for lane, ids in zip(lanes, fed, strict=True) for i in ids
        ]
        open_ends = [lift.id for lift in lifts]
    else:
        side_by_side([(lift.id, lift.capacity_per_min) for lift in lifts], "lift")
    station(STATION_ORDER[4])
    arcs.extend((end, "end") for end in open_ends)
    return elements, arcs, "start", "end", kinds


def station_names(inputs: Mapping[str, Any], key: str) -> list[str]:
    """A station's name, or name-1, name-2 ... where several stand side by side."""
    name = key.replace("_", "-")
    counts = {part["id"]: part["count"] for part in inputs["station_parts"]}
    count = counts.get(name, 1)
    return [name] if count == 1 else [f"{name}-{k}" for k in range(1, count + 1)]


def lanes_feed(
    lanes: Sequence[Mapping[str, Any]],
    entries: Sequence[Mapping[str, Any]],
    lifts: Sequence[Lift],
) -> list[list[int]]:
    """For each lane the indices of the lifts it feeds; an entry's id means all its lifts."""
    by_entry = {entry["id"]: place for place, entry in enumerate(entries)}
    return [
        [
            i
            for i, lift in enumerate(lifts)
            if lift.id in lane["feeds"]
            or any(by_entry.get(name) == lift.entry for name in lane["feeds"])
        ]
        for lane in lanes
    ]


def _own_network(network: Mapping[str, Any], lifts: Sequence[Lift]) -> _Built:
    elements: list[Element] = []
    kinds: dict[str, str] = {}
    capacity = {lift.id: lift.capacity_per_min for lift in lifts}
    for node in network["nodes"]:
        name = node["id"]
        if name in capacity or len(node) > 1:
            elements.append(Element(name, capacity.get(name, node.get("capacity_per_min"))))
            kinds[name] = "lift" if name in capacity else "node"
    for lift in lifts:
        if lift.id not in kinds:
            elements.append(Element(lift.id, lift.capacity_per_min))
            kinds[lift.id] = "lift"
    arcs: list[tuple[str, str]] = []
    for link in network["links"]:
        start, end = link["start"], link["end"]
        if not _is_element(link):
            arcs.append((start, end))
            if link["both_ways"]:
                arcs.append((end, start))
            continue
        name = link_name(link)
        elements.append(Element(name, link.get("capacity_per_min")))
        kinds[name] = "link"
        arcs += [(start, name), (name, end)]
        if link["both_ways"]:
            arcs += [(end, name), (name, start)]
    return elements, arcs, network["source"], network["sink"], kinds


def _is_element(link: Mapping[str, Any]) -> bool:
    """A link with an id, a capacity or failure times can be taken out; others only connect."""
    return bool({"id", "capacity_per_min", "mtbf_h", "availability_ratio"} & set(link))


def _rates(failure: Mapping[str, float]) -> dict[str, float | None]:
    if "mtbf_h" in failure:
        return {
            "availability": steady_availability(failure["mtbf_h"], failure["mttr_h"]),
            "odds_down": failure["mttr_h"] / failure["mtbf_h"],
            "failure_per_h": 1.0 / failure["mtbf_h"],
            "repair_per_h": 1.0 / failure["mttr_h"],
        }
    if "availability_ratio" in failure:
        up = failure["availability_ratio"]
        return {"availability": up, "odds_down": (1.0 - up) / up if up > 0.0 else NEVER_RUNS}
    return {}


def _units(
    inputs: Mapping[str, Any], lifts: Sequence[Lift], causes: Mapping[str, tuple[str, ...]]
) -> list[Unit]:
    """Lifts that stop together are one unit, unless their shared cause fails on its own."""
    apart = {cause["id"] for cause in inputs["shared_causes"]}
    groups = _merged(lifts, {name: ids for name, ids in causes.items() if name not in apart})
    beta = inputs.get("common_cause", {}).get("beta_ratio", 0.0)
    beta = beta if beta > SMALLEST_BETA else 0.0
    feeds: dict[str, list[str]] = {lift.id: [] for lift in lifts}
    lanes = inputs.get("divider_lanes", [])
    for lane, fed in zip(lanes, lanes_feed(lanes, inputs.get("lifts", []), lifts), strict=True):
        for i in fed:
            feeds[lifts[i].id].append(lane["id"])
    network = inputs.get("network")
    units = []
    for group in groups:
        alike = sorted(
            repr(
                (
                    lift.capacity_per_min,
                    feeds[lift.id],
                    sorted(set(lift.causes) & apart),
                    _neighbours(network, lift.id),
                )
            )
            for lift in group
        )
        failure = _own_share(_worst_times(group), beta)
        name = group[0].id if len(group) == 1 else "+".join(lift.id for lift in group)
        ids = tuple(lift.id for lift in group)
        units.append(
            Unit(name, ids, ids, repr((alike, sorted(failure.items()))), **_rates(failure))
        )
    for cause in inputs["shared_causes"]:
        ids = causes[cause["id"]]
        times = {k: v for k, v in cause.items() if k != "id"}
        units.append(Unit(cause["id"], ids, ids, f"cause {cause['id']}", **_rates(times)))
    if beta > 0.0:
        units.append(_common(inputs["common_cause"], lifts))
    return units


def _own_share(failure: Mapping[str, float], beta: float) -> dict[str, float]:
    """A lift's times without the stops that all lifts have in common."""
    if beta <= 0.0:
        return dict(failure)
    if beta >= 1.0:
        return {"availability_ratio": 1.0}
    return {"mtbf_h": failure["mtbf_h"] / (1.0 - beta), "mttr_h": failure["mttr_h"]}


def _common(common: Mapping[str, float], lifts: Sequence[Lift]) -> Unit:
    """What stops all lifts at once: beta times the mean rate of a lift's stops.

    Source: the beta-factor model; K. N. Fleming (1975); NUREG/CR-4780 (from memory).
    """
    mean_rate = sum(1.0 / lift.failure["mtbf_h"] for lift in lifts) / len(lifts)
    longest = max(lift.failure["mttr_h"] for lift in lifts)
    times = {
        "mtbf_h": 1.0 / (common["beta_ratio"] * mean_rate),
        "mttr_h": common.get("mttr_h", longest),
    }
    ids = tuple(lift.id for lift in lifts)
    return Unit(COMMON_CAUSE, ids, ids, COMMON_CAUSE, **_rates(times))


def _round_units(inputs: Mapping[str, Any]) -> list[Unit]:
    """Stations, tracks and lanes that can stop."""
    found: list[tuple[str, str, Mapping[str, Any]]] = []
    for part in inputs["station_parts"]:
        names = station_names(inputs, part["id"].replace("-", "_"))
        found += [(name, f"station {part['id']}", part) for name in names]
    for key in ("paths", "divider_lanes"):
        found += [(part["id"], f"part {part['id']}", part) for part in inputs.get(key, [])]
    units = []
    for name, alike, part in found:
        times = {k: part[k] for k in ("mtbf_h", "mttr_h", "availability_ratio") if k in part}
        if times:
            units.append(Unit(name, (name,), (), alike, **_rates(times)))
    return units


def _merged(lifts: Sequence[Lift], causes: Mapping[str, tuple[str, ...]]) -> list[list[Lift]]:
    """Lifts joined by any chain of shared motors and supplies, in the order of the lifts."""
    leader = {lift.id: lift.id for lift in lifts}

    def lead(name: str) -> str:
        while leader[name] != name:
            name = leader[name]
        return name

    for ids in causes.values():
        for other in ids[1:]:
            leader[lead(other)] = lead(ids[0])
    groups: dict[str, list[Lift]] = {}
    for lift in lifts:
        groups.setdefault(lead(lift.id), []).append(lift)
    return list(groups.values())


def _worst_times(group: Sequence[Lift]) -> dict[str, float]:
    """One lift's times for lifts that stop as one: the shortest MTBF, the longest MTTR.

    Empty where any of them has none.
    """
    if any(not lift.failure for lift in group):
        return {}
    if all("mtbf_h" in lift.failure for lift in group):
        return {
            "mtbf_h": min(lift.failure["mtbf_h"] for lift in group),
            "mttr_h": max(lift.failure["mttr_h"] for lift in group),
        }
    return {"availability_ratio": min(_share(lift.failure) for lift in group)}


def _share(failure: Mapping[str, float]) -> float:
    if "mtbf_h" in failure:
        return steady_availability(failure["mtbf_h"], failure["mttr_h"])
    return failure["availability_ratio"]


def _neighbours(network: Mapping[str, Any] | None, name: str) -> Any:
    """What a lift hangs on in a network of one's own; a link that is a part makes it unlike."""
    if network is None:
        return ()
    around = [
        link_name(link) if _is_element(link) else (link["start"], link["end"], link["both_ways"])
        for link in network["links"]
        if name in (link["start"], link["end"])
    ]
    return sorted(repr(item).replace(repr(name), "self") for item in around)


def _network_units(network: Mapping[str, Any] | None, lift_ids: set[str]) -> list[Unit]:
    if network is None:
        return []
    units = []
    named = [(node["id"], node) for node in network["nodes"] if node["id"] not in lift_ids]
    named += [(link_name(link), link) for link in network["links"]]
    for name, part in named:
        times = {k: part[k] for k in ("mtbf_h", "mttr_h", "availability_ratio") if k in part}
        if times:
            units.append(Unit(name, (name,), (), f"part {name}", **_rates(times)))
    return units
