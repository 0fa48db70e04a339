"""What lift-redundancy takes and gives."""

from collections.abc import Mapping
from typing import Any

from marshmallow import validates_schema

from baywright_service.contract import (
    Choice,
    Column,
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

from .cross_checks import MOST_LIFTS, Faults, check_all
from .deeper_schemas import (
    ORDERS,
    CommonCauseSchema,
    ImportanceResult,
    ImprovementCostSchema,
    ImprovementResult,
    MaintenanceResult,
    MaintenanceSchema,
    MayStopResult,
    MeasuresResult,
    PlannedWorkResult,
    ShowResult,
    SpareResult,
    StationPartSchema,
    TourSchema,
    availability,
    mtbf,
    mttr,
)


def _rate(title: str, **options: Any) -> Num:
    return Num("/min", minimum=0, maximum=100_000, title=title, **options)


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
    mtbf_h = mtbf()
    mttr_h = mttr()
    availability_ratio = availability()
    motor = Key(title="Motor", about="Lifts that name one motor stop together")
    power_supply = Key(title="Power supply", about="Lifts that name one power supply stop together")


class SharedCauseSchema(InputSchema):
    id = Key(required=True, title="A motor or power supply that lifts name")
    mtbf_h = mtbf()
    mttr_h = mttr()
    availability_ratio = availability()


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
    mtbf_h = mtbf()
    mttr_h = mttr()
    availability_ratio = availability()


class PathSchema(InputSchema):
    id = Key(required=True, title="Track from the top back to the foot")
    transit_s = Num("s", minimum=0.1, maximum=36_000, required=True, title="Seconds on it")
    share_ratio = Num("1", minimum=0, maximum=1, required=True, title="Share of the balls")
    capacity_per_min = _rate("Balls a minute it can carry")
    mtbf_h = mtbf()
    mttr_h = mttr()
    availability_ratio = availability()


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
    mtbf_h = mtbf()
    mttr_h = mttr()
    availability_ratio = availability()


class LinkSchema(InputSchema):
    id = Key(title="Link", about="Named start-end where absent")
    start = Key(required=True, title="From node")
    end = Key(required=True, title="To node")
    both_ways = Flag(load_default=False, title="Balls may pass either way")
    capacity_per_min = _rate("Balls a minute through it", about="No limit when absent")
    mtbf_h = mtbf()
    mttr_h = mttr()
    availability_ratio = availability()


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
    station_parts = ListOf(
        StationPartSchema,
        most=5,
        distinct="id",
        load_default=list,
        title="Stations that can stop, or that stand several side by side",
    )
    common_cause = Part(
        CommonCauseSchema, title="Stops of all lifts at once, whatever the cause (beta factor)"
    )
    divider_lanes = ListOf(
        LaneSchema, most=MOST_LIFTS, distinct="id", title="Divider lanes in overflow order"
    )
    paths = ListOf(PathSchema, fewest=1, most=8, distinct="id", title="Tracks; shares add to 1")
    network = Part(NetworkSchema, title="A network of your own, in place of stations and lanes")
    repair_crews_count = Whole(
        minimum=1, maximum=64, load_default=1, title="People who can each mend one lift at a time"
    )
    repair_order = Choice(
        *ORDERS,
        load_default="shared",
        title="What the repairers mend first",
        about="shared: they share their time equally among all that is stopped",
    )
    maintenance = Part(MaintenanceSchema, title="Planned work on one lift at a time")
    tour = Part(TourSchema, title="Spares in the box for a tour")
    improvement_costs = ListOf(
        ImprovementCostSchema,
        most=10,
        distinct="kind",
        load_default=list,
        title="What improvements cost: the ranking is then by minutes saved for the money",
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
    ball_diameter_mm = Num("mm", minimum=1, maximum=1000, title="Diameter of a ball")
    chain = Part(ChainSchema, title="The chain of one lift")
    gravity_m_s2 = Num("m/s2", minimum=0.1, maximum=30, load_default=9.80665, title="Gravity")

    @validates_schema
    def _fits_together(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        faults = Faults()
        check_all(data, faults)
        faults.raise_if_any()


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
    states_followed_count = Whole(
        title="States, fewest lifts stopped first, whose return lane was followed; absent: all"
    )
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
    importance = ListOf(ImportanceResult, title="What stops as one, ranked")
    show = Part(ShowResult, title="A show of the hours a day given")
    may_stop = ListOf(MayStopResult, title="How many lifts may stop, and for how long")
    planned_work = ListOf(PlannedWorkResult, title="One lift out on purpose")
    maintenance = Part(MaintenanceResult, title="Planned work counted in")
    spares = ListOf(SpareResult, title="Spares for the tour")
    measures_now = Part(MeasuresResult, title="What improvements are held against")
    improvements = ListOf(ImprovementResult, title="What to improve next, best first")
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
