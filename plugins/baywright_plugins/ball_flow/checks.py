"""What no single field can check: entries that must fit together."""

from collections.abc import Mapping
from typing import Any

import networkx as nx

from ..lift_redundancy.cross_checks import MOST_LIFTS, STATION_ORDER, Faults, lift_names

Data = Mapping[str, Any]
Place = tuple[str | int, ...]

#: Names of the places that the way round is made of, besides lifts, tracks and lanes.
LINE, BASKET = "foot-of-the-lifts", "spill-basket"
OWN_NAMES = frozenset({name.replace("_", "-") for name in STATION_ORDER} | {LINE, BASKET})

#: Fields that belong to one kind of place alone, and what a kind cannot do without.
_ONLY: Mapping[str, tuple[str, ...]] = {
    "transit_min_s": ("path",),
    "transit_max_s": ("path",),
    "transit_s": ("path", "lift"),
    "capacity_per_min": ("path", "lift", "line"),
    "service_s": ("station",),
    "rate_per_min": ("feed",),
    "put_back_s": ("basket",),
    "hooks_per_min": ("lift",),
    "loaded_height_mm": ("lift",),
    "chain_speed_mm_s": ("lift",),
    "mtbf_h": ("lift",),
    "mttr_h": ("lift",),
    "motor": ("lift",),
    "places_count": ("path", "station", "line"),
    "routing": ("path", "station", "split", "feed", "lift", "basket"),
}


def check_all(data: Data, faults: Faults) -> None:
    """Every fault between entries, added to `faults`."""
    own = "network" in data
    if not own and "lifts" not in data:
        faults.add((), "missing", "Give lifts and paths, or a network.")
    for key in ("lifts", "stations", "divider_lanes", "paths", "queue", "put_back_s"):
        if own and key in data:
            detail = "Give a network of your own or the way round lifts, not both."
            faults.add((key,), "not-unique", detail)
    if own:
        _check_network(data, faults)
    elif "lifts" in data:
        _check_way_round(data, faults)
    _check_incidents(data, faults)
    _check_marks(data, faults)


def _check_way_round(data: Data, faults: Faults) -> None:
    if "paths" not in data:
        detail = "Say how long balls take from the top back to the foot."
        faults.add(("paths",), "missing", detail)
    if not {"required_balls_per_min", "moving_count"} & set(data):
        detail = "Say how many balls shall come round each minute, or how many move."
        faults.add(("required_balls_per_min",), "missing", detail)
    if sum(entry["count"] for entry in data["lifts"]) > MOST_LIFTS:
        faults.add(("lifts",), "too-many", f"At most {MOST_LIFTS} lifts, counting each.")
    taken = set(OWN_NAMES)
    for k, (entry, names) in enumerate(zip(data["lifts"], lift_names(data["lifts"]), strict=True)):
        if "transit_s" not in entry and "lift_transit_s" not in data:
            _check_transit(entry, ("lifts", k), faults)
        _check_hooks(entry, ("lifts", k), faults)
        if taken & set(names):
            faults.add(("lifts", k, "id"), "not-unique", "Something else has this name.")
        taken |= set(names)
    for key in ("paths", "divider_lanes"):
        for k, entry in enumerate(data.get(key, [])):
            if entry["id"] in taken:
                faults.add((key, k, "id"), "not-unique", "Something else has this name.")
            taken.add(entry["id"])
    for k, path in enumerate(data.get("paths", [])):
        _check_span(path, ("paths", k), faults)
    total = sum(path["share_ratio"] for path in data.get("paths", []))
    if "paths" in data and abs(total - 1.0) > 1e-6:
        detail = f"The shares add to {total:.4g}; they must add to 1."
        faults.add(("paths",), "out-of-range", detail)
    _check_lanes(data, faults)


def _check_lanes(data: Data, faults: Faults) -> None:
    lanes = data.get("divider_lanes", [])
    groups = lift_names(data["lifts"])
    known = {name for names in groups for name in names}
    known |= {entry["id"] for entry in data["lifts"]}
    for k, lane in enumerate(lanes):
        for i, name in enumerate(lane["feeds"]):
            if name not in known:
                detail = f"No lift is named {name}."
                faults.add(("divider_lanes", k, "feeds", i), "unknown-reference", detail)
    fed = {name for lane in lanes for name in lane["feeds"]}
    for k, (entry, names) in enumerate(zip(data["lifts"], groups, strict=True)):
        if lanes and entry["id"] not in fed and not set(names) <= fed:
            faults.add(("lifts", k, "id"), "unknown-reference", "No divider lane feeds it.")
    if any("places_count" in lane for lane in lanes) and "free_places_count" in data.get(
        "queue", {}
    ):
        detail = "Give the places of the lanes or the free places of the return lane, not both."
        faults.add(("queue", "free_places_count"), "not-unique", detail)


def _check_hooks(entry: Data, where: Place, faults: Faults) -> None:
    given = {"capacity_per_min", "hooks_per_min"} & set(entry)
    if not given:
        detail = "Give hooks_per_min or capacity_per_min."
        faults.add((*where, "hooks_per_min"), "missing", detail)
    if len(given) == 2:
        detail = "Give the capacity or the hooks a minute, not both."
        faults.add((*where, "hooks_per_min"), "not-unique", detail)
    times = {"mtbf_h", "mttr_h"} & set(entry)
    if len(times) == 1:
        absent = ({"mtbf_h", "mttr_h"} - times).pop()
        faults.add((*where, absent), "missing", "Both times are needed, or neither.")


def _check_transit(entry: Data, where: Place, faults: Faults) -> None:
    if len({"loaded_height_mm", "chain_speed_mm_s"} & set(entry)) != 2:
        detail = "Give the seconds from foot to top, or loaded height and chain speed."
        faults.add((*where, "transit_s"), "missing", detail)
    elif entry["loaded_height_mm"] / entry["chain_speed_mm_s"] > 36_000:
        detail = "At this chain speed the ride takes over ten hours."
        faults.add((*where, "chain_speed_mm_s"), "out-of-range", detail)


def _check_span(path: Data, where: Place, faults: Faults) -> None:
    span = {"transit_min_s", "transit_max_s"} & set(path)
    if not span and "transit_s" not in path:
        faults.add((*where, "transit_s"), "missing", "Give transit_s, or the fastest and slowest.")
    if span and "transit_s" in path:
        detail = "Give one time, or the fastest and the slowest, not both."
        faults.add((*where, "transit_s"), "not-unique", detail)
    if len(span) == 1:
        absent = ({"transit_min_s", "transit_max_s"} - span).pop()
        faults.add((*where, absent), "missing", "Both times are needed.")
    if len(span) == 2 and path["transit_min_s"] > path["transit_max_s"]:
        detail = "The slowest ball takes at least as long as the fastest."
        faults.add((*where, "transit_max_s"), "out-of-range", detail)


def _check_network(data: Data, faults: Faults) -> None:
    network = data["network"]
    places = {place["id"]: place for place in network["places"]}
    for k, place in enumerate(network["places"]):
        _check_place(place, ("network", "places", k), faults)
    for k, link in enumerate(network["links"]):
        for key in ("start", "end"):
            if link[key] not in places:
                detail = f"No place is named {link[key]}."
                faults.add(("network", "links", k, key), "unknown-reference", detail)
    if faults.tree:
        return
    _check_ways(network, places, faults)
    feeds = [place for place in network["places"] if place["kind"] == "feed"]
    if "entry" in network:
        if network["entry"] not in places:
            detail = f"No place is named {network['entry']}."
            faults.add(("network", "entry"), "unknown-reference", detail)
        elif places[network["entry"]]["kind"] in ("lift", "feed", "drain", "basket"):
            detail = "Balls are put in at a path, station, line or split."
            faults.add(("network", "entry"), "out-of-range", detail)
        if feeds:
            detail = "Balls are put in once, or fed all the time; not both."
            faults.add(("network", "entry"), "not-unique", detail)
        if not {"required_balls_per_min", "moving_count"} & set(data):
            detail = "Say how many balls shall come round each minute, or how many move."
            faults.add(("required_balls_per_min",), "missing", detail)
    elif not feeds:
        detail = "Name the place where balls are put in, or give a feed."
        faults.add(("network", "entry"), "missing", detail)
    elif "moving_count" in data:
        faults.add(("moving_count",), "not-unique", "The feeds say how many balls come.")
    if feeds and not any(p["kind"] in ("drain", "basket") for p in network["places"]):
        detail = "Balls are fed in and never leave: add a drain or a basket."
        faults.add(("network", "places"), "missing", detail)


def _check_place(place: Data, where: Place, faults: Faults) -> None:
    kind = place["kind"]
    for key, kinds in _ONLY.items():
        if key in place and kind not in kinds:
            detail = f"A {kind} has no {key}; it belongs to a {' or '.join(kinds)}."
            faults.add((*where, key), "unknown-field", detail)
    if kind == "path":
        _check_span(place, where, faults)
        if place["times"] == "exponential" and "transit_min_s" in place:
            detail = (
                "Times from fastest to slowest are spread evenly; exponential ones have a mean."
            )
            faults.add((*where, "times"), "not-unique", detail)
    elif kind == "lift":
        _check_hooks(place, where, faults)
        if "transit_s" not in place:
            _check_transit(place, where, faults)
    elif kind == "station" and "service_s" not in place:
        faults.add((*where, "service_s"), "missing", "Say how long it takes for a ball.")
    elif kind == "feed" and "rate_per_min" not in place:
        faults.add((*where, "rate_per_min"), "missing", "Say how many balls it brings in.")


def _check_ways(network: Data, places: Mapping[str, Data], faults: Faults) -> None:
    where: Place = ("network", "links")
    into_lifts: set[str] = set()
    shares: dict[str, list[float]] = {}
    overflows: dict[str, int] = {}
    seen: set[tuple[str, str, bool]] = set()
    for k, link in enumerate(network["links"]):
        if (link["start"], link["end"], link["overflow"]) in seen:
            faults.add((*where, k), "not-unique", "This link stands twice.")
        seen.add((link["start"], link["end"], link["overflow"]))
        start, end = places[link["start"]], places[link["end"]]
        if end["kind"] == "feed":
            faults.add((*where, k, "end"), "out-of-range", "Nothing leads into a feed.")
        if start["kind"] == "drain":
            faults.add((*where, k, "start"), "out-of-range", "Nothing leads out of a drain.")
        if link["overflow"]:
            overflows[link["start"]] = overflows.get(link["start"], 0) + 1
            limited = "places_count" in start or (
                start["kind"] == "line" and "capacity_per_min" in start
            )
            if not limited:
                detail = f"{link['start']} is never full: give it places_count."
                faults.add((*where, k, "overflow"), "out-of-range", detail)
            if end["kind"] == "lift":
                faults.add((*where, k, "end"), "out-of-range", "A lift takes balls from a line.")
            continue
        shares.setdefault(link["start"], []).append(link["share_ratio"])
        if (start["kind"] == "line") != (end["kind"] == "lift"):
            detail = "A line leads to lifts and to nothing else; a lift takes balls from lines."
            faults.add((*where, k, "end"), "out-of-range", detail)
        if end["kind"] == "lift":
            into_lifts.add(end["id"])
    _check_each(network, shares, overflows, into_lifts, faults)
    _check_no_ring(network, places, faults)


def _check_each(
    network: Data,
    shares: Mapping[str, list[float]],
    overflows: Mapping[str, int],
    into_lifts: set[str],
    faults: Faults,
) -> None:
    for k, place in enumerate(network["places"]):
        where: Place = ("network", "places", k, "id")
        name, kind = place["id"], place["kind"]
        if overflows.get(name, 0) > 1:
            faults.add(where, "not-unique", "It overflows to one place only.")
        if kind == "drain" or (kind == "basket" and "put_back_s" not in place):
            continue
        if name not in shares:
            faults.add(where, "missing", "No link leads on from it.")
        elif kind != "line" and abs(sum(shares[name]) - 1.0) > 1e-6:
            detail = f"The shares of its links add to {sum(shares[name]):.4g}; they must add to 1."
            faults.add(where, "out-of-range", detail)
        if kind == "lift" and name not in into_lifts:
            faults.add(where, "missing", "No line leads to this lift.")


def _check_no_ring(network: Data, places: Mapping[str, Data], faults: Faults) -> None:
    """No ball may go round without time passing."""
    at_once: Any = nx.DiGraph()
    for link in network["links"]:
        if link["overflow"] or places[link["start"]]["kind"] == "split":
            at_once.add_edge(link["start"], link["end"])
    if not nx.is_directed_acyclic_graph(at_once):
        detail = "Splits and overflows lead in a ring that takes no time: put a path into it."
        faults.add(("network", "links"), "out-of-range", detail)


def _check_incidents(data: Data, faults: Faults) -> None:
    known = stoppable(data)
    for k, incident in enumerate(data["incidents"]):
        if incident["lift"] not in known:
            detail = f"No lift, motor or power supply is named {incident['lift']}."
            faults.add(("incidents", k, "lift"), "unknown-reference", detail)
        if incident.get("back_at_s", 1e9) <= incident["stops_at_s"]:
            detail = "It runs again after it stops."
            faults.add(("incidents", k, "back_at_s"), "out-of-range", detail)
    if data["random_failures"] and not any("mtbf_h" in entry for entry in _lift_entries(data)):
        detail = "No lift has a running time and a mending time."
        faults.add(("random_failures",), "missing", detail)


def _check_marks(data: Data, faults: Faults) -> None:
    if "network" in data:
        known = {place["id"] for place in data["network"]["places"]}
        if any("place" not in mark for mark in data["marks"]) and not any(
            place["kind"] == "line" for place in data["network"]["places"]
        ):
            faults.add(("marks",), "missing", "Name the place: the network has no line.")
    else:
        known = set(OWN_NAMES) | {
            e["id"] for key in ("paths", "divider_lanes") for e in data.get(key, [])
        }
    for k, mark in enumerate(data["marks"]):
        if mark.get("place", None) is not None and mark["place"] not in known:
            detail = f"No place is named {mark['place']}."
            faults.add(("marks", k, "place"), "unknown-reference", detail)


def _lift_entries(data: Data) -> list[Data]:
    if "network" in data:
        return [place for place in data["network"]["places"] if place["kind"] == "lift"]
    return list(data.get("lifts", []))


def stoppable(data: Data) -> dict[str, list[str]]:
    """What an incident may name, and the lifts that stop with it."""
    found: dict[str, list[str]] = {}
    entries = _lift_entries(data)
    groups = [[entry["id"]] for entry in entries] if "network" in data else lift_names(entries)
    for entry, names in zip(entries, groups, strict=True):
        for name in names:
            found[name] = [name]
        found.setdefault(entry["id"], []).extend(n for n in names if n != entry["id"])
    for entry, names in zip(entries, groups, strict=True):
        for key in ("motor", "power_supply"):
            if key in entry:
                found.setdefault(entry[key], []).extend(
                    n for n in names if n not in found.get(entry[key], [])
                )
    return found
