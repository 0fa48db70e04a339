"""What lift-redundancy takes and gives."""

from collections.abc import Iterable, Mapping
from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Column,
    Fault,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)

MOST_LIFTS = 12
STATION_ORDER = ("top_basin", "floor", "return_lane", "divider", "collector")


def _rate(title: str, **options: Any) -> Num:
    return Num("/min", minimum=0, maximum=100_000, title=title, **options)


def _mtbf() -> Num:
    return Num(
        "h",
        minimum=0.001,
        maximum=1e7,
        title="Running hours from one stop to the next, on average (MTBF)",
    )


def _mttr() -> Num:
    return Num(
        "h", minimum=0.0001, maximum=1e5, title="Hours until it runs again, on average (MTTR)"
    )


def _availability() -> Num:
    return Num(
        "1",
        minimum=0,
        maximum=1,
        title="Share of time it runs, in place of the two times",
    )


class LiftSchema(InputSchema):
    id = Key(required=True, title="Lift", about="With count 3 the lifts are named lift-1 to lift-3")
    count = Whole(minimum=1, maximum=MOST_LIFTS, load_default=1, title="Lifts alike")
    capacity_per_min = _rate("Balls a minute one lift brings up")
    hooks_per_min = _rate(
        "Hooks a minute",
        about="With balls per hook and fill, in place of the capacity; the chain's when absent",
    )
    balls_per_hook_count = Whole(minimum=1, maximum=100, title="Balls on a hook")
    fill_ratio = Num("1", above=0, maximum=1, title="Share of hooks that carry a ball")
    mtbf_h = _mtbf()
    mttr_h = _mttr()
    availability_ratio = _availability()
    motor = Key(title="Motor", about="Lifts that name one motor stop together")
    power_supply = Key(title="Power supply", about="Lifts that name one power supply stop together")


class SharedCauseSchema(InputSchema):
    id = Key(required=True, title="A motor or power supply that lifts name")
    mtbf_h = _mtbf()
    mttr_h = _mttr()
    availability_ratio = _availability()


class StationsSchema(InputSchema):
    top_basin_per_min = _rate("Top basin")
    floor_per_min = _rate("Floor")
    return_lane_per_min = _rate("Return lane")
    divider_per_min = _rate("Divider before the lifts")
    collector_per_min = _rate("Collector at the lifts' top")


class LaneSchema(InputSchema):
    id = Key(required=True, title="Divider lane")
    capacity_per_min = _rate("Balls a minute it lets through")
    feeds = Names(required=True, fewest=1, most=MOST_LIFTS, title="Lifts it feeds")


class PathSchema(InputSchema):
    id = Key(required=True, title="Track from the top back to the foot")
    transit_s = Num("s", minimum=0.1, maximum=36_000, required=True, title="Seconds on it")
    share_ratio = Num("1", minimum=0, maximum=1, required=True, title="Share of the balls")
    capacity_per_min = _rate("Balls a minute it can carry")


class QueueSchema(InputSchema):
    usual_count = Num(
        "1", minimum=0, maximum=100_000, load_default=0.0, title="Balls usually waiting"
    )
    free_places_count = Num(
        "1", minimum=0, maximum=100_000, title="Places free behind them on the return lane"
    )
    basin_count = Num("1", minimum=0, maximum=100_000, load_default=0.0, title="Balls in the basin")


class NodeSchema(InputSchema):
    id = Key(required=True, title="Node", about="A lift's id makes the node that lift")
    capacity_per_min = _rate("Balls a minute through it", about="No limit when absent")
    mtbf_h = _mtbf()
    mttr_h = _mttr()
    availability_ratio = _availability()


class LinkSchema(InputSchema):
    id = Key(title="Link", about="Named start-end where absent")
    start = Key(required=True, title="From node")
    end = Key(required=True, title="To node")
    both_ways = Flag(load_default=False, title="Balls may pass either way")
    capacity_per_min = _rate("Balls a minute through it", about="No limit when absent")
    mtbf_h = _mtbf()
    mttr_h = _mttr()
    availability_ratio = _availability()


class NetworkSchema(InputSchema):
    nodes = ListOf(NodeSchema, most=60, distinct="id", load_default=list, title="Nodes")
    links = ListOf(LinkSchema, fewest=1, most=120, required=True, title="Links")
    source = Key(required=True, title="Node where balls come in")
    sink = Key(required=True, title="Node that they must reach")


class ChainSchema(InputSchema):
    pitch_mm = Num("mm", minimum=1, maximum=200, required=True, title="Chain pitch")
    teeth_count = Whole(minimum=5, maximum=300, required=True, title="Teeth of the head sprocket")
    tail_teeth_count = Whole(
        minimum=5, maximum=300, title="Teeth of the tail sprocket", about="As the head when absent"
    )
    centre_distance_mm = Num(
        "mm", minimum=1, maximum=100_000, title="Head to tail, shaft to shaft, as wanted"
    )
    links_count = Whole(minimum=6, maximum=100_000, title="Links, where the chain is already there")
    hook_spacing_links_count = Whole(minimum=1, maximum=10_000, title="Links from hook to hook")
    hooks_per_min = _rate("Hooks a minute past the top")
    shaft_turns_per_min = _rate("Turns of the head shaft a minute, in place of hooks")
    balls_per_hook_count = Whole(minimum=1, maximum=100, load_default=1, title="Balls on a hook")
    fill_ratio = Num(
        "1", above=0, maximum=1, load_default=1.0, title="Share of hooks that carry a ball"
    )
    ball_mass_kg = Num("kg", above=0, maximum=50, title="Mass of a ball")
    loaded_height_mm = Num(
        "mm", above=0, maximum=100_000, title="Height over which hooks are loaded"
    )
    efficiency_ratio = Num(
        "1", above=0, maximum=1, load_default=0.5, title="Efficiency of chain and bearings"
    )
    service_factor = Num(
        "1", minimum=1, maximum=20, load_default=2.0, title="Margin on torque for starts and jams"
    )
    frame_frequencies_hz = Column(
        "Hz", minimum=0.001, maximum=10_000, most=50, title="The frame's own frequencies"
    )
    keep_apart_ratio = Num(
        "1",
        minimum=0,
        maximum=1,
        load_default=0.2,
        title="Distance asked for from each own frequency, as a share of it",
    )


class LiftRedundancyInputs(InputSchema):
    required_balls_per_min = Num(
        "/min", above=0, maximum=100_000, title="Balls that must come round each minute"
    )
    tolerate_stopped_count = Whole(
        minimum=0,
        maximum=MOST_LIFTS,
        load_default=1,
        title="Lifts that may stop with the flow still met",
        about="Lifts that stop together (one motor) count once",
    )
    lifts = ListOf(LiftSchema, fewest=1, most=MOST_LIFTS, distinct="id", title="Lifts")
    shared_causes = ListOf(
        SharedCauseSchema,
        most=4,
        distinct="id",
        load_default=list,
        title="Motors and power supplies with failure times of their own",
        about="Their lifts then fail apart as well as together; otherwise they count as one lift",
    )
    stations = Part(
        StationsSchema,
        title="What each station on the way round lets through",
        about="A station with no entry is left out",
    )
    divider_lanes = ListOf(
        LaneSchema, most=MOST_LIFTS, distinct="id", title="Divider lanes in overflow order"
    )
    paths = ListOf(PathSchema, fewest=1, most=8, distinct="id", title="Tracks; shares add to 1")
    network = Part(NetworkSchema, title="A network of your own, in place of stations and lanes")
    repair_crews_count = Whole(
        minimum=1, maximum=64, load_default=1, title="People who can each mend one lift at a time"
    )
    hours_per_day_h = Num("h", above=0, maximum=24, load_default=6.0, title="Running hours a day")
    short_limit_min = Num(
        "min",
        minimum=0,
        maximum=1440,
        load_default=5.0,
        title="Minutes a day too few balls are borne",
        about="A choice, not a standard",
    )
    queue = Part(QueueSchema, title="Balls at the foot of the lifts and in the basin")
    lift_transit_s = Num(
        "s",
        minimum=0.1,
        maximum=36_000,
        title="Seconds from foot to top; from the chain when absent",
    )
    spares_ratio = Num("1", minimum=0, maximum=10, load_default=0.15, title="Spare balls, as share")
    balls_count = Whole(minimum=0, maximum=1_000_000, title="Balls at hand")
    chain = Part(ChainSchema, title="The chain of one lift")
    gravity_m_s2 = Num("m/s2", minimum=0.1, maximum=30, load_default=9.80665, title="Gravity")

    @validates_schema
    def _fits_together(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        faults = _Faults()
        if not any(key in data for key in ("lifts", "network", "chain")):
            faults.add((), "missing", "Give lifts, a network or a chain; one at least.")
        _check_lifts(data, faults)
        _check_shared_causes(data, faults)
        _check_lanes_and_paths(data, faults)
        if "network" in data:
            _check_network(data, faults)
        if "chain" in data:
            _check_chain(data["chain"], faults)
        faults.raise_if_any()


class _Faults:
    """Faults by place, in the nested shape that the contract flattens to pointers."""

    def __init__(self) -> None:
        self.tree: dict[Any, Any] = {}

    def add(self, place: tuple[str | int, ...], code: str, detail: str) -> None:
        branch = self.tree
        for part in place[:-1]:
            branch = branch.setdefault(part, {})
        branch.setdefault(place[-1] if place else "_schema", []).append(Fault(code, detail))

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


def _check_lifts(data: Mapping[str, Any], faults: _Faults) -> None:
    lifts = data.get("lifts", [])
    if lifts and "required_balls_per_min" not in data:
        detail = "Lifts are held against it: say how many balls must come round each minute."
        faults.add(("required_balls_per_min",), "missing", detail)
    if sum(entry["count"] for entry in lifts) > MOST_LIFTS:
        faults.add(("lifts",), "too-many", f"At most {MOST_LIFTS} lifts, counting each.")
    chain_rate = {"hooks_per_min", "shaft_turns_per_min"} & set(data.get("chain", {}))
    taken = {name.replace("_", "-") for name in STATION_ORDER} | {"start", "end"}
    taken |= {entry["id"] for entry in data.get("paths", []) + data.get("divider_lanes", [])}
    for k, (entry, names) in enumerate(zip(lifts, lift_names(lifts), strict=True)):
        if "capacity_per_min" in entry and "hooks_per_min" in entry:
            detail = "Give the capacity or the hooks a minute, not both."
            faults.add(("lifts", k, "hooks_per_min"), "not-unique", detail)
        if "capacity_per_min" not in entry and "hooks_per_min" not in entry and not chain_rate:
            detail = "Give capacity_per_min or hooks_per_min, here or in the chain."
            faults.add(("lifts", k, "capacity_per_min"), "missing", detail)
        _check_times(entry, ("lifts", k), faults)
        if "network" not in data and taken & set(names):
            detail = "A station, track, lane or other lift has this name."
            faults.add(("lifts", k, "id"), "not-unique", detail)
        taken |= set(names)


def _check_times(entry: Mapping[str, Any], place: tuple[str | int, ...], faults: _Faults) -> None:
    given = {"mtbf_h", "mttr_h"} & set(entry)
    if len(given) == 1:
        absent = ({"mtbf_h", "mttr_h"} - given).pop()
        faults.add((*place, absent), "missing", "Both times are needed, or neither.")
    if given and "availability_ratio" in entry:
        detail = "Give the two times or the availability, not both."
        faults.add((*place, "availability_ratio"), "not-unique", detail)


def _check_shared_causes(data: Mapping[str, Any], faults: _Faults) -> None:
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
        _check_times(cause, ("shared_causes", k), faults)


def _check_lanes_and_paths(data: Mapping[str, Any], faults: _Faults) -> None:
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


def _check_network(data: Mapping[str, Any], faults: _Faults) -> None:
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
        _check_times(node, ("network", "nodes", k), faults)
        if node["id"] in lift_ids and len(node) > 1:
            detail = "Its capacity and times stand with the lift."
            faults.add(("network", "nodes", k, "id"), "not-unique", detail)
    taken = nodes | causes
    for k, link in enumerate(network["links"]):
        _check_times(link, ("network", "links", k), faults)
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


def _check_chain(chain: Mapping[str, Any], faults: _Faults) -> None:
    if "centre_distance_mm" not in chain and "links_count" not in chain:
        detail = "Give the distance between the shafts, or the number of links."
        faults.add(("chain", "centre_distance_mm"), "missing", detail)
    if "hooks_per_min" in chain and "shaft_turns_per_min" in chain:
        detail = "Give hooks or turns a minute, not both."
        faults.add(("chain", "shaft_turns_per_min"), "not-unique", detail)
    if "hooks_per_min" in chain and "hook_spacing_links_count" not in chain:
        detail = "Hooks a minute need the links from hook to hook."
        faults.add(("chain", "hook_spacing_links_count"), "missing", detail)


class UnitResult(ResultSchema):
    id = Text(title="What stops as one")
    lifts = ListOf(Text(), title="Lifts that stop with it")
    capacity_per_min = Num("/min", title="What its lifts bring up")
    availability_ratio = Num("1", title="Share of time it runs")
    importance_ratio = Num(
        "1", title="Birnbaum importance: availability gained if it never stopped over always"
    )


class StateResult(ResultSchema):
    stopped = ListOf(Text(), title="Units stopped (one of the states alike)")
    lifts_stopped_count = Whole(title="Lifts stopped")
    ways_count = Whole(title="States alike")
    enough = Flag(title="The flow required comes round; without a requirement, any flow does")
    probability_ratio = Num("1", title="Share of time, everyone repaired at once")
    probability_with_crews_ratio = Num("1", title="Share of time, with the crews given")
    capacity_per_min = Num("/min", title="Most that can come round")
    flow_per_min = Num("/min", title="What comes round: at most the flow required")
    short_by_per_min = Num("/min", title="Short by")
    peak_extra_balls = Num("1", title="Most extra balls on the return lane")
    overflow_s = Num("s", title="Seconds until the return lane overflows; absent: it does not")


class ByStoppedResult(ResultSchema):
    stopped_count = Whole(title="Lifts stopped")
    ways_count = Whole(title="States")
    flow_worst_per_min = Num("/min", title="Flow, worst state")
    flow_best_per_min = Num("/min", title="Flow, best state")
    short_by_per_min = Num("/min", title="Short by, worst state")
    probability_ratio = Num("1", title="Share of time, everyone repaired at once")
    probability_with_crews_ratio = Num("1", title="Share of time, with the crews given")
    time_s = Column("s", title="Corners of the line of extra balls, worst state: seconds")
    extra_balls = Column("1", title="Corners of the line: extra balls")
    peak_extra_balls = Num("1", title="Most extra balls")
    peak_s = Num("s", title="Seconds until the most")
    overflow_s = Num("s", title="Seconds until the return lane overflows; absent: it does not")


class AvailabilityResult(ResultSchema):
    independent_ratio = Num("1", title="Share of time the flow is met, all repaired at once")
    with_crews_ratio = Num("1", title="Share of time the flow is met, with the crews given")
    crews_count = Whole(title="Repair crews")
    minutes_short_independent_min = Num("min", title="Minutes short in a day, all repaired at once")
    minutes_short_with_crews_min = Num("min", title="Minutes short in a day, with the crews")
    short_spells_per_day = Num("1", title="Times a day it becomes short, with the crews")
    mean_short_spell_min = Num("min", title="Mean length of one, with the crews")
    mean_time_to_short_h = Num(
        "h", title="Mean running hours from all running to the first shortage; absent: never"
    )


class SinglePointResult(ResultSchema):
    id = Text(title="Part")
    kind = Choice("lift", "shared-cause", "station", "track", "lane", "node", "link", title="Kind")
    flow_left_per_min = Num("/min", title="Flow left without it")


class LimitResult(ResultSchema):
    id = Text(title="Part")
    capacity_per_min = Num("/min", title="Its capacity")


class LaneResult(ResultSchema):
    id = Text(title="Lane")
    flow_per_min = Num("/min", title="Balls a minute with all lifts running")


class BallsResult(ResultSchema):
    on_tracks_count = Num("1", title="On the tracks")
    on_lifts_count = Num("1", title="On the lifts")
    in_queue_count = Num("1", title="Waiting at the foot")
    in_basin_count = Num("1", title="In the basin")
    in_use_count = Num("1", title="In use")
    needed_count = Whole(title="In use, rounded up")
    order_count = Whole(title="With spares")
    lift_transit_s = Num("s", title="Seconds from foot to top")
    spill_basket_count = Whole(title="Places a spill basket needs: everything on the tracks")


class ExcitationResult(ResultSchema):
    id = Choice("tooth-passing", "shaft", "hooks", title="What excites")
    frequency_hz = Num("Hz", title="Frequency")
    nearest_frame_hz = Num("Hz", title="The frame's nearest own frequency")
    apart_ratio = Num("1", title="Distance, as share of the frame's")


class ChainResult(ResultSchema):
    length_pitches = Num("1", title="Length asked for, in pitches")
    links_count = Whole(title="Links")
    offset_link = Flag(title="An offset link is needed")
    centre_distance_mm = Num("mm", title="Head to tail with these links")
    take_up_mm = Num("mm", title="More (or less) than the distance wanted")
    hooks_count = Whole(title="Hooks; absent: the spacing does not divide the links")
    even_spacings_links_count = Column("1", whole=True, title="Spacings that divide the links")
    clear_spacings_links_count = Column(
        "1", whole=True, title="Of these, spacings whose tooth passing is clear of the frame"
    )
    pitch_diameter_mm = Num("mm", title="Pitch diameter, head")
    tail_pitch_diameter_mm = Num("mm", title="Pitch diameter, tail")
    outside_diameter_mm = Num("mm", title="Outside diameter, head")
    wrap_deg = Num("deg", title="Wrap on the smaller sprocket, at the distance wanted")
    wrap_as_built_deg = Num("deg", title="Wrap on the smaller sprocket, with these links")
    chordal_variation_ratio = Num("1", title="Rise and fall of speed as teeth pass")
    hooks_per_min = Num("/min", title="Hooks a minute")
    chain_speed_mm_s = Num("mm/s", title="Chain speed")
    shaft_turns_per_min = Num("/min", title="Head shaft, turns a minute")
    tooth_passing_hz = Num("Hz", title="Tooth passing")
    lift_transit_s = Num("s", title="Seconds over the loaded height")
    loaded_hooks_count = Num("1", title="Hooks on the loaded run")
    shaft_torque_n_m = Num("N.m", title="Torque at the head shaft, all hooks full, with margin")
    shaft_power_w = Num("W", title="Power at the head shaft, all hooks full, with margin")
    lifting_power_w = Num("W", title="Power for the balls brought up, without margin")
    new_length_mm = Num("mm", title="Length of the new chain")
    replace_length_mm = Num("mm", title="Length at which to replace it (3 % worn)")
    excitations = ListOf(ExcitationResult, title="What the drive excites")


class LiftRedundancyResult(ResultSchema):
    required_balls_per_min = Num("/min", title="Flow required")
    lift_count = Whole(title="Lifts")
    lift_capacity_per_min = Column("/min", title="What each lift brings up")
    needed_lift_count = Whole(
        title="Lifts that must run, whichever they are",
        about="Absent: not even all of these suffice",
    )
    capacity_per_min = Num("/min", title="Most that can come round, all running; absent: no limit")
    flow_per_min = Num("/min", title="What comes round, all running; absent: nothing limits it")
    limited_by = ListOf(LimitResult, title="Minimum cut: the parts that set the capacity")
    units = ListOf(UnitResult, title="What stops as one")
    by_stopped = ListOf(ByStoppedResult, title="By number of lifts stopped")
    states = ListOf(StateResult, most=4096, title="Every failure state, alike ones together")
    availability = Part(AvailabilityResult, title="Share of time the flow is met")
    single_points = ListOf(SinglePointResult, title="Parts that the flow cannot do without")
    minimal_cuts = ListOf(
        ListOf(Text()), most=1100, title="Smallest sets of parts whose stopping is too much"
    )
    minimal_cuts_largest_count = Whole(title="Sets of more parts than this were not looked for")
    minimal_paths = ListOf(
        ListOf(Text()), most=1100, title="Smallest sets of parts that suffice; small networks only"
    )
    lanes = ListOf(LaneResult, title="Divider lanes, filled in overflow order")
    spill_per_min = Num("/min", title="Balls a minute over the last lane, all running")
    balls = Part(BallsResult, title="Balls in circulation")
    chain = Part(ChainResult, title="The chain")
