"""What no single field can check: entries that must fit together."""

from collections.abc import Iterable, Mapping
from typing import Any

from marshmallow import ValidationError

from baywright_service.contract import Fault

MOST_LIFTS = 12
COMMON_CAUSE = "common-cause"
STATION_ORDER = ("top_basin", "floor", "return_lane", "divider", "collector")


class Faults:
    """Faults by place, in the nested shape that the contract flattens to pointers."""

    def __init__(self) -> None:
        self.tree: dict[Any, Any] = {}

    def add(self, place: tuple[str | int, ...], code: str, detail: str) -> None:
        branch = self.tree
        for part in place:
            branch = branch.setdefault(part, {})
        branch.setdefault("_schema", []).append(Fault(code, detail))

    def raise_if_any(self) -> None:
        if self.tree:
            raise ValidationError(self.tree)


def lift_names(lifts: Iterable[Mapping[str, Any]]) -> list[list[str]]:
    """Names of the single lifts of each entry: its id, or id-1, id-2 ... where it counts several.

    >>> lift_names([{"id": "a", "count": 1}, {"id": "b", "count": 2}])
    [['a'], ['b-1', 'b-2']]
    """
    return [
        [entry["id"]]
        if entry["count"] == 1
        else [f"{entry['id']}-{k}" for k in range(1, entry["count"] + 1)]
        for entry in lifts
    ]


def station_copies(data: Mapping[str, Any]) -> set[str]:
    """Names of stations that stand several side by side, and of what stops all lifts."""
    names = {
        f"{part['id']}-{k}"
        for part in data.get("station_parts", [])
        for k in range(1, part["count"] + 1)
        if part["count"] > 1
    }
    return names | ({COMMON_CAUSE} if "common_cause" in data else set())


def check_all(data: Mapping[str, Any], faults: Faults) -> None:
    """Every fault between entries, added to `faults`."""
    if not any(key in data for key in ("lifts", "network", "chain")):
        faults.add((), "missing", "Give lifts, a network or a chain; one at least.")
    _check_lifts(data, faults)
    _check_shared_causes(data, faults)
    _check_lanes_and_paths(data, faults)
    check_deeper(data, faults)
    if "network" in data:
        _check_network(data, faults)
    if "chain" in data:
        _check_chain(data["chain"], faults)


def _check_lifts(data: Mapping[str, Any], faults: Faults) -> None:
    lifts = data.get("lifts", [])
    if lifts and "required_balls_per_min" not in data:
        detail = "Lifts are held against it: say how many balls must come round each minute."
        faults.add(("required_balls_per_min",), "missing", detail)
    if sum(entry["count"] for entry in lifts) > MOST_LIFTS:
        faults.add(("lifts",), "too-many", f"At most {MOST_LIFTS} lifts, counting each.")
    chain_rate = {"hooks_per_min", "shaft_turns_per_min"} & set(data.get("chain", {}))
    taken = {name.replace("_", "-") for name in STATION_ORDER} | {"start", "end"}
    taken |= station_copies(data)
    taken |= {entry["id"] for entry in data.get("paths", []) + data.get("divider_lanes", [])}
    for k, (entry, names) in enumerate(zip(lifts, lift_names(lifts), strict=True)):
        if "capacity_per_min" in entry and "hooks_per_min" in entry:
            detail = "Give the capacity or the hooks a minute, not both."
            faults.add(("lifts", k, "hooks_per_min"), "not-unique", detail)
        if "capacity_per_min" not in entry and "hooks_per_min" not in entry and not chain_rate:
            detail = "Give capacity_per_min or hooks_per_min, here or in the chain."
            faults.add(("lifts", k, "capacity_per_min"), "missing", detail)
        check_times(entry, ("lifts", k), faults)
        if "network" not in data and taken & set(names):
            detail = "A station, track, lane or other lift has this name."
            faults.add(("lifts", k, "id"), "not-unique", detail)
        taken |= set(names)


def check_times(entry: Mapping[str, Any], place: tuple[str | int, ...], faults: Faults) -> None:
    given = {"mtbf_h", "mttr_h"} & set(entry)
    if len(given) == 1:
        absent = ({"mtbf_h", "mttr_h"} - given).pop()
        faults.add((*place, absent), "missing", "Both times are needed, or neither.")
    if given and "availability_ratio" in entry:
        detail = "Give the two times or the availability, not both."
        faults.add((*place, "availability_ratio"), "not-unique", detail)


def _check_shared_causes(data: Mapping[str, Any], faults: Faults) -> None:
    lifts = data.get("lifts", [])
    named = {entry[key] for entry in lifts for key in ("motor", "power_supply") if key in entry}
    lift_ids = {name for names in lift_names(lifts) for name in names}
    for k, cause in enumerate(data["shared_causes"]):
        if cause["id"] not in named:
            detail = "No lift names it as its motor or power supply."
            faults.add(("shared_causes", k, "id"), "unknown-reference", detail)
        if cause["id"] in lift_ids:
            faults.add(("shared_causes", k, "id"), "not-unique", "A lift has this name.")
        if not {"mtbf_h", "mttr_h", "availability_ratio"} & set(cause):
            detail = "Give mtbf_h and mttr_h, or availability_ratio."
            faults.add(("shared_causes", k, "mtbf_h"), "missing", detail)
        check_times(cause, ("shared_causes", k), faults)


def _check_lanes_and_paths(data: Mapping[str, Any], faults: Faults) -> None:
    names = lift_names(data.get("lifts", []))
    known = {name for group in names for name in group}
    known |= {entry["id"] for entry in data.get("lifts", [])}
    for k, lane in enumerate(data.get("divider_lanes", [])):
        for i, name in enumerate(lane["feeds"]):
            if name not in known:
                detail = f"No lift is named {name}."
                faults.add(("divider_lanes", k, "feeds", i), "unknown-reference", detail)
    paths = data.get("paths", [])
    taken = {name.replace("_", "-") for name in STATION_ORDER} | {"start", "end"}
    taken |= station_copies(data)
    for key in ("paths", "divider_lanes"):
        for k, entry in enumerate(data.get(key, [])):
            if entry["id"] in taken:
                detail = f"Something else on the way round is named {entry['id']}."
                faults.add((key, k, "id"), "not-unique", detail)
            taken.add(entry["id"])
    total = sum(path["share_ratio"] for path in paths)
    if paths and abs(total - 1.0) > 1e-6:
        detail = f"The shares add to {total:.4g}; they must add to 1."
        faults.add(("paths",), "out-of-range", detail)
    for key in ("stations", "divider_lanes"):
        if key in data and "network" in data:
            detail = "Give a network of your own or stations and lanes, not both."
            faults.add((key,), "not-unique", detail)
        elif key in data and "lifts" not in data:
            detail = "Stations and lanes stand around lifts: give the lifts too."
            faults.add(("lifts",), "missing", detail)


def _check_network(data: Mapping[str, Any], faults: Faults) -> None:
    network = data["network"]
    ends = {link[key] for link in network["links"] for key in ("start", "end")}
    nodes = {node["id"] for node in network["nodes"]} | ends
    for key in ("source", "sink"):
        if network[key] not in ends:
            detail = f"No link starts or ends at {network[key]}."
            faults.add(("network", key), "unknown-reference", detail)
    if network["source"] == network["sink"]:
        faults.add(("network", "sink"), "not-unique", "Source and sink must differ.")
    for k, names in enumerate(lift_names(data.get("lifts", []))):
        for name in names:
            if name not in nodes:
                detail = f"No node of the network is named {name}."
                faults.add(("lifts", k, "id"), "unknown-reference", detail)
    lift_ids = {name for names in lift_names(data.get("lifts", [])) for name in names}
    causes = {cause["id"] for cause in data["shared_causes"]}
    for k, node in enumerate(network["nodes"]):
        check_times(node, ("network", "nodes", k), faults)
        if node["id"] in lift_ids and len(node) > 1:
            detail = "Its capacity and times stand with the lift."
            faults.add(("network", "nodes", k, "id"), "not-unique", detail)
    taken = nodes | causes
    for k, link in enumerate(network["links"]):
        check_times(link, ("network", "links", k), faults)
        if link["start"] == link["end"]:
            faults.add(("network", "links", k, "end"), "not-unique", "It ends where it starts.")
        name = link_name(link)
        if name in taken:
            detail = f"Something else is named {name}; give this link an id of its own."
            faults.add(("network", "links", k, "id"), "not-unique", detail)
        taken.add(name)


def link_name(link: Mapping[str, Any]) -> str:
    """A link's id, or start-end where it has none."""
    return str(link.get("id", f"{link['start']}-{link['end']}"))


def _check_chain(chain: Mapping[str, Any], faults: Faults) -> None:
    if "centre_distance_mm" not in chain and "links_count" not in chain:
        detail = "Give the distance between the shafts, or the number of links."
        faults.add(("chain", "centre_distance_mm"), "missing", detail)
    if "hooks_per_min" in chain and "shaft_turns_per_min" in chain:
        detail = "Give hooks or turns a minute, not both."
        faults.add(("chain", "shaft_turns_per_min"), "not-unique", detail)
    if "hooks_per_min" in chain and "hook_spacing_links_count" not in chain:
        detail = "Hooks a minute need the links from hook to hook."
        faults.add(("chain", "hook_spacing_links_count"), "missing", detail)


def check_deeper(data: Mapping[str, Any], faults: Faults) -> None:
    """Stations, lanes and tracks that can stop, and stops of all lifts at once."""
    for k, part in enumerate(data["station_parts"]):
        if f"{part['id'].replace('-', '_')}_per_min" not in data.get("stations", {}):
            detail = "Say under stations what it lets through."
            faults.add(("station_parts", k, "id"), "unknown-reference", detail)
        check_times(part, ("station_parts", k), faults)
    for key in ("paths", "divider_lanes"):
        for k, part in enumerate(data.get(key, [])):
            check_times(part, (key, k), faults)
    lifts = data.get("lifts", [])
    if "common_cause" in data:
        if sum(entry["count"] for entry in lifts) < 2:
            detail = "A common cause takes two lifts or more."
            faults.add(("common_cause",), "out-of-range", detail)
        for k, entry in enumerate(lifts):
            if "mtbf_h" not in entry:
                detail = "The share of its stops that it has in common needs its times."
                faults.add(("lifts", k, "mtbf_h"), "missing", detail)
    if "maintenance" in data and not lifts:
        faults.add(("lifts",), "missing", "Planned work takes a lift out: give the lifts.")
