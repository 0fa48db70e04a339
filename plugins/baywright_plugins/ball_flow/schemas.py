"""What ball-flow takes."""

from collections.abc import Mapping
from typing import Any

from marshmallow import validates_schema

from baywright_service.contract import (
    Choice,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Names,
    Num,
    Part,
    Whole,
)

from ..lift_redundancy.cross_checks import MOST_LIFTS, Faults
from .checks import check_all
from .machine import KINDS


def _rate(title: str, **options: Any) -> Num:
    return Num("/min", minimum=0.01, maximum=100_000, title=title, **options)


def _seconds(title: str, **options: Any) -> Num:
    return Num("s", minimum=0.1, maximum=36_000, title=title, **options)


def _places(title: str, **options: Any) -> Whole:
    return Whole(minimum=0, maximum=100_000, title=title, **options)


class HookFields(InputSchema):
    """What one lift is, however the machine is written down."""

    capacity_per_min = _rate(
        "Balls a minute one lift brings up",
        about="In place of hooks a minute; every hook then carries",
    )
    hooks_per_min = Num("/min", minimum=0.1, maximum=10_000, title="Hooks a minute")
    balls_per_hook_count = Whole(minimum=1, maximum=100, load_default=1, title="Balls on a hook")
    fill_ratio = Num(
        "1",
        minimum=0.01,
        maximum=1,
        load_default=1.0,
        title="Share of hooks (of a hook's places) that take a waiting ball",
    )
    transit_s = _seconds("Seconds from foot to top")
    loaded_height_mm = Num(
        "mm", above=0, maximum=100_000, title="Height over which hooks are loaded"
    )
    chain_speed_mm_s = Num("mm/s", minimum=0.1, maximum=10_000, title="Chain speed")
    mtbf_h = Num(
        "h",
        minimum=0.001,
        maximum=1e7,
        title="Running hours from one stop to the next, on average (MTBF)",
    )
    mttr_h = Num(
        "h", minimum=0.0001, maximum=1e5, title="Hours until it runs again, on average (MTTR)"
    )
    motor = Key(title="Motor", about="Lifts that name one motor stop together")


class FlowLiftSchema(HookFields):
    id = Key(required=True, title="Lift", about="With count 3 the lifts are named lift-1 to lift-3")
    count = Whole(minimum=1, maximum=MOST_LIFTS, load_default=1, title="Lifts alike")
    power_supply = Key(title="Power supply", about="Lifts that name one power supply stop together")


class FlowStationsSchema(InputSchema):
    top_basin_per_min = _rate("Top basin")
    floor_per_min = _rate("Floor")
    return_lane_per_min = _rate("Return lane")
    divider_per_min = _rate("Divider before the lifts")
    collector_per_min = _rate("Collector at the lifts' top")


class FlowPathSchema(InputSchema):
    id = Key(required=True, title="Track from the top back to the foot")
    transit_s = _seconds("Seconds on it")
    transit_min_s = _seconds("Seconds on it, the fastest ball")
    transit_max_s = _seconds("Seconds on it, the slowest ball")
    share_ratio = Num("1", minimum=0, maximum=1, required=True, title="Share of the balls")
    capacity_per_min = _rate("Balls a minute it can carry")


class FlowLaneSchema(InputSchema):
    id = Key(required=True, title="Divider lane")
    feeds = Names(required=True, fewest=1, most=MOST_LIFTS, title="Lifts it feeds")
    places_count = _places("Balls it holds; the next one goes to the next lane")
    capacity_per_min = _rate("Balls a minute it lets in; more go to the next lane")


class FlowQueueSchema(InputSchema):
    usual_count = Num(
        "1", minimum=0, maximum=100_000, load_default=0.0, title="Balls usually waiting"
    )
    free_places_count = _places("Places free behind them on the return lane")
    basin_count = Num(
        "1", minimum=0, maximum=100_000, load_default=0.0, title="Balls that lie in the basin"
    )


class FlowPlaceSchema(HookFields):
    id = Key(required=True, title="Place")
    kind = Choice(
        *KINDS,
        required=True,
        title="Kind",
        about="path: balls travel; station: they wait for a server; line: they wait for a lift's "
        "hook; split: sent on at once; feed: they come in; drain: they go out as planned; "
        "basket: they are off the machine",
    )
    transit_min_s = _seconds("Seconds on a path, the fastest ball")
    transit_max_s = _seconds("Seconds on a path, the slowest ball")
    service_s = Num(
        "s", minimum=0.001, maximum=36_000, title="Seconds a station takes for a ball, on average"
    )
    servers_count = Whole(minimum=1, maximum=1000, load_default=1, title="Balls served at a time")
    times = Choice(
        "fixed",
        "exponential",
        load_default="fixed",
        title="How times (of a path, a station, between balls of a feed) spread",
    )
    places_count = _places(
        "Balls that may wait (line, station) or be on it (path)", about="No limit when absent"
    )
    standing_count = Num(
        "1",
        minimum=0,
        maximum=100_000,
        load_default=0.0,
        title="Balls that always lie there, on top of those that move",
    )
    rate_per_min = _rate("Balls a minute a feed brings in")
    put_back_s = _seconds(
        "Seconds for each ball put back from a basket, once all lifts run; absent: never"
    )
    routing = Choice(
        "random", "rotation", title="Where balls part: at random or in strict rotation, always"
    )


class FlowLinkSchema(InputSchema):
    start = Key(required=True, title="From place")
    end = Key(required=True, title="To place")
    share_ratio = Num("1", minimum=0, maximum=1, load_default=1.0, title="Share of the balls")
    overflow = Flag(load_default=False, title="Taken when the start is full, and only then")


class FlowNetworkSchema(InputSchema):
    places = ListOf(
        FlowPlaceSchema, fewest=1, most=60, distinct="id", required=True, title="Places"
    )
    links = ListOf(FlowLinkSchema, fewest=1, most=200, required=True, title="Links")
    entry = Key(
        title="Place where balls are put in",
        about="For a machine whose balls go round; leave it out where a feed brings them",
    )


class IncidentSchema(InputSchema):
    lift = Key(required=True, title="What stops: a lift, lifts of one entry, a motor, a supply")
    stops_at_s = Num("s", minimum=0, maximum=86_400, load_default=0.0, title="Stops at")
    back_at_s = Num(
        "s", minimum=0, maximum=864_000, title="Runs again at", about="Not at all when absent"
    )


class MarkSchema(InputSchema):
    id = Key(required=True, title="Point that the waiting balls reach back to")
    place = Key(title="Place where they wait", about="The first line when absent")
    waiting_count = Whole(
        minimum=1,
        maximum=100_000,
        required=True,
        title="Balls waiting, beyond the usual ones, when they reach it",
    )


class BallFlowInputs(InputSchema):
    required_balls_per_min = Num(
        "/min", minimum=0.01, maximum=100_000, title="Balls that shall come round each minute"
    )
    lifts = ListOf(FlowLiftSchema, fewest=1, most=MOST_LIFTS, distinct="id", title="Lifts")
    lift_transit_s = _seconds("Seconds from foot to top, where a lift does not say")
    stations = Part(
        FlowStationsSchema,
        title="What each station on the way round lets through",
        about="A station with no entry limits nothing",
    )
    divider_lanes = ListOf(
        FlowLaneSchema, most=MOST_LIFTS, distinct="id", title="Divider lanes in overflow order"
    )
    paths = ListOf(FlowPathSchema, fewest=1, most=8, distinct="id", title="Tracks; shares add to 1")
    queue = Part(FlowQueueSchema, title="Balls at the foot of the lifts and in the basin")
    network = Part(
        FlowNetworkSchema, title="A machine of your own, in place of lifts, stations and paths"
    )
    put_back_s = _seconds(
        "Seconds for each ball put back from the spill basket, once all lifts run; absent: never"
    )
    moving_count = Whole(
        minimum=1,
        maximum=5000,
        title="Balls that move, standing ones left out",
        about="When absent: as many as the required balls a minute take",
    )
    balls_count = Whole(minimum=0, maximum=1_000_000, title="Balls at hand")
    spares_ratio = Num("1", minimum=0, maximum=10, load_default=0.15, title="Spare balls, as share")
    ball_diameter_mm = Num("mm", minimum=1, maximum=500, title="Ball, across")
    incidents = ListOf(
        IncidentSchema, most=40, load_default=list, title="Lifts that stop and come back"
    )
    random_failures = Flag(
        load_default=False, title="Lifts stop at random by their running and mending times"
    )
    marks = ListOf(
        MarkSchema, most=20, distinct="id", load_default=list, title="Points along the way back"
    )
    routing = Choice(
        "both",
        "random",
        "rotation",
        load_default="both",
        title="Where balls part: each by chance, in strict rotation, or both one after the other",
    )
    seed = Whole(minimum=0, maximum=2**53, load_default=1, title="Seed of the random numbers")
    runs_count = Whole(minimum=1, maximum=1000, load_default=20, title="Repeated runs")
    settle_s = Num(
        "s", minimum=0, maximum=36_000, title="Seconds to settle before time 0", about="Five rounds"
    )
    duration_s = Num(
        "s",
        minimum=1,
        maximum=86_400,
        title="Seconds followed from time 0",
        about="When absent: until four rounds after the last incident, or ten rounds",
    )

    @validates_schema
    def _fits_together(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        faults = Faults()
        check_all(data, faults)
        faults.raise_if_any()
