"""From inputs to the one model: places and links."""

from collections.abc import Mapping
from typing import Any

from ..lift_redundancy.cross_checks import STATION_ORDER, lift_names
from .checks import BASKET, LINE
from .machine import EXPONENTIAL, FIXED, FLOOR, UNIFORM, Link, Machine, Place

Data = Mapping[str, Any]


def machine_of(inputs: Data) -> Machine:
    """The machine written down as a network, or as lifts and the way round them."""
    return _network(inputs["network"]) if "network" in inputs else _way_round(inputs)


def _lift(name: str, entry: Data, transit_s: float | None) -> Place:
    per_hook = entry["balls_per_hook_count"]
    fill = entry["fill_ratio"]
    hooks = entry.get("hooks_per_min")
    if hooks is None:
        hooks, fill = entry["capacity_per_min"] / per_hook, 1.0
    if "transit_s" in entry:
        transit_s = entry["transit_s"]
    elif "loaded_height_mm" in entry and "chain_speed_mm_s" in entry:
        transit_s = max(entry["loaded_height_mm"] / entry["chain_speed_mm_s"], 0.1)
    assert transit_s is not None, "checked with the inputs"
    hours = {
        f"{key}_s": entry[f"{key}_h"] * 3600.0 for key in ("mtbf", "mttr") if f"{key}_h" in entry
    }
    return Place(
        name,
        "lift",
        time_s=transit_s,
        hook_s=60.0 / hooks,
        per_hook=per_hook,
        fill=fill,
        group=entry.get("motor", entry.get("power_supply", "")),
        **hours,
    )


def _headway(entry: Data, key: str = "capacity_per_min") -> float:
    return 60.0 / entry[key] if key in entry else 0.0


def _path(entry: Data) -> Place:
    if "transit_s" in entry:
        times = entry.get("times", FIXED)
        middle, half = entry["transit_s"], 0.0
    else:
        low, high = entry["transit_min_s"], entry["transit_max_s"]
        middle, half = (low + high) / 2.0, (high - low) / 2.0
        times = UNIFORM if half > 0.0 else FIXED
    return Place(
        entry["id"],
        "path",
        time_s=middle,
        half_s=half,
        times=times,
        headway_s=_headway(entry),
        places=entry.get("places_count"),
        standing=entry.get("standing_count", 0.0),
        rotation=_turns(entry),
    )


def _turns(entry: Data) -> bool | None:
    return {"rotation": True, "random": False}.get(entry.get("routing", ""))


def _way_round(inputs: Data) -> Machine:
    """Top basin, tracks, floor, return lane, divider, lanes or one line, lifts, collector."""
    stations, queue = inputs.get("stations", {}), inputs.get("queue", {})
    places: list[Place] = []
    links: list[tuple[str, str, float, bool]] = []

    def gate(key: str, standing: float = 0.0) -> str:
        name = key.replace("_", "-")
        headway = _headway(stations, f"{key}_per_min")
        places.append(Place(name, "path", headway_s=headway, standing=standing))
        return name

    top = gate(STATION_ORDER[0], queue.get("basin_count", 0.0))
    ends = []
    for entry in inputs["paths"]:
        places.append(_path(entry))
        links.append((top, entry["id"], entry["share_ratio"], False))
        ends.append(entry["id"])
    for key in STATION_ORDER[1:4]:
        if f"{key}_per_min" in stations:
            name = gate(key)
            links += [(end, name, 1.0, False) for end in ends]
            ends = [name]
    lines, spills = _lines(inputs, places, links)
    links += [(end, lines[0], 1.0, False) for end in ends]
    after = gate("collector") if "collector_per_min" in stations else top
    if after != top:
        links.append((after, top, 1.0, False))
    for entry, names in zip(inputs["lifts"], lift_names(inputs["lifts"]), strict=True):
        for name in names:
            places.append(_lift(name, entry, inputs.get("lift_transit_s")))
            links.append((name, after, 1.0, False))
    if spills:
        places.append(Place(BASKET, "basket", put_back_s=inputs.get("put_back_s")))
        if "put_back_s" in inputs:
            links.append((BASKET, top, 1.0, False))
    return _made(places, links, top)


def _lines(
    inputs: Data, places: list[Place], links: list[tuple[str, str, float, bool]]
) -> tuple[list[str], bool]:
    """The lines before the lifts in overflow order, and whether the last one can spill."""
    queue = inputs.get("queue", {})
    groups = lift_names(inputs["lifts"])
    by_name = {entry["id"]: names for entry, names in zip(inputs["lifts"], groups, strict=True)}
    every = [name for names in groups for name in names]
    lanes = inputs.get("divider_lanes", [])
    usual, free = queue.get("usual_count", 0.0), queue.get("free_places_count")
    if not lanes:
        places.append(Place(LINE, "line", places=free, standing=usual))
        links += [(LINE, lift, 1.0, False) for lift in every]
        if free is not None:
            links.append((LINE, BASKET, 1.0, True))
        return [LINE], free is not None
    spills = False
    for k, lane in enumerate(lanes):
        last = k + 1 == len(lanes)
        room = lane.get("places_count", free if last else None)
        headway = _headway(lane)
        # What usually waits stands before the lifts as a whole: it is counted with the first lane.
        places.append(
            Place(
                lane["id"], "line", places=room, headway_s=headway, standing=usual if not k else 0
            )
        )
        fed = {lift for name in lane["feeds"] for lift in by_name.get(name, [name])}
        links += [(lane["id"], lift, 1.0, False) for lift in every if lift in fed]
        if room is not None or headway > 0.0:
            links.append((lane["id"], BASKET if last else lanes[k + 1]["id"], 1.0, True))
            spills = spills or last
    return [lane["id"] for lane in lanes], spills


def _network(network: Data) -> Machine:
    places = [_place(entry) for entry in network["places"]]
    links = [
        (link["start"], link["end"], link["share_ratio"], link["overflow"])
        for link in network["links"]
    ]
    kinds = {place.id: place for place in places}
    spilling = {start for start, _, _, overflow in links if overflow}
    without = [
        place.id
        for place in kinds.values()
        if place.id not in spilling
        and (place.places is not None or (place.kind == "line" and place.headway_s > 0.0))
    ]
    if without:
        name = FLOOR
        while name in kinds:
            name += "-2"
        places.append(Place(name, "basket"))
        links += [(place, name, 1.0, True) for place in without]
    return _made(places, links, network.get("entry"))


def _place(entry: Data) -> Place:
    kind = entry["kind"]
    if kind == "path":
        return _path(entry)
    if kind == "lift":
        return _lift(entry["id"], entry, None)
    return Place(
        entry["id"],
        kind,
        time_s=entry.get("service_s", 0.0),
        times=EXPONENTIAL if entry["times"] == EXPONENTIAL else FIXED,
        servers=entry["servers_count"],
        places=entry.get("places_count"),
        headway_s=_headway(entry),
        feed_per_s=entry.get("rate_per_min", 0.0) / 60.0,
        put_back_s=entry.get("put_back_s"),
        standing=entry["standing_count"],
        rotation=_turns(entry),
    )


def _made(
    places: list[Place], links: list[tuple[str, str, float, bool]], entry: str | None
) -> Machine:
    index = {place.id: k for k, place in enumerate(places)}
    return Machine(
        tuple(places),
        tuple(Link(index[a], index[b], share, overflow) for a, b, share, overflow in links),
        None if entry is None else index[entry],
    )
