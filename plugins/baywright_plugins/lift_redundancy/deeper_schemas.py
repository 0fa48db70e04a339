"""What lift-redundancy takes and gives beyond the machine as it stands: other causes, planned work,
spares, and what to improve next."""

from baywright_service.contract import (
    Choice,
    Column,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Num,
    ResultSchema,
    Text,
    Whole,
)

STATIONS = ("top-basin", "floor", "return-lane", "divider", "collector")
ORDERS = ("shared", "listed-first", "quickest-first", "important-first")
IMPROVEMENTS = (
    "one-more-lift",
    "faster-lifts",
    "one-more-repairer",
    "quicker-repair",
    "fewer-stops",
    "own-motors-and-supplies",
    "fewer-common-stops",
    "second-station",
    "wider-station",
    "longer-return-lane",
)


def mtbf() -> Num:
    return Num(
        "h",
        minimum=0.001,
        maximum=1e7,
        title="Running hours from one stop to the next, on average (MTBF)",
    )


def mttr() -> Num:
    return Num(
        "h", minimum=0.0001, maximum=1e5, title="Hours until it runs again, on average (MTTR)"
    )


def availability() -> Num:
    return Num(
        "1",
        minimum=0,
        maximum=1,
        title="Share of time it runs, in place of the two times",
    )


class StationPartSchema(InputSchema):
    id = Choice(*STATIONS, required=True, title="Station")
    count = Whole(
        minimum=1,
        maximum=4,
        load_default=1,
        title="Of these side by side",
        about="Each lets the station's own flow through",
    )
    mtbf_h = mtbf()
    mttr_h = mttr()
    availability_ratio = availability()


class CommonCauseSchema(InputSchema):
    beta_ratio = Num(
        "1",
        minimum=0,
        maximum=1,
        required=True,
        title="Share of a lift's stops that stop all lifts at once (beta factor)",
    )
    mttr_h = mttr()


class MaintenanceSchema(InputSchema):
    duration_h = Num(
        "h", above=0, maximum=1000, required=True, title="Hours one lift is out for planned work"
    )
    interval_h = Num(
        "h",
        above=0,
        maximum=1e6,
        required=True,
        title="Running hours from one such work to the next",
    )


class SparePartSchema(InputSchema):
    id = Key(required=True, title="Part in the box, such as motor, chain or whole lift")
    in_machine_count = Whole(minimum=1, maximum=1000, required=True, title="Of it in the machine")
    mtbf_h = Num(
        "h",
        minimum=0.001,
        maximum=1e7,
        required=True,
        title="Running hours from one breakage to the next, of one",
    )
    in_box_count = Whole(minimum=0, maximum=1000, title="Spares in the box now")
    renewed_after_h = Num(
        "h",
        above=0,
        maximum=1e6,
        title="Running hours until a broken one is back in the box, mended or bought",
        about="Absent: nothing comes back during the tour",
    )


class TourSchema(InputSchema):
    running_hours_h = Num(
        "h", above=0, maximum=100_000, required=True, title="Running hours of the tour"
    )
    confidence_ratio = Num(
        "1",
        minimum=0.5,
        maximum=0.9999,
        load_default=0.95,
        title="Chance asked for that the box suffices",
    )
    parts = ListOf(SparePartSchema, fewest=1, most=30, required=True, distinct="id", title="Parts")


class ImprovementCostSchema(InputSchema):
    kind = Choice(*IMPROVEMENTS, required=True, title="Improvement")
    cost = Num(
        "1", minimum=0.01, maximum=1e9, required=True, title="What it costs, in any one currency"
    )


class ImportanceResult(ResultSchema):
    id = Text(title="What stops as one")
    kind = Choice("lift", "shared-cause", "common-cause", "part", title="Kind")
    rank = Whole(title="Rank by the chance that it is what is wrong (criticality), then Birnbaum")
    birnbaum_ratio = Num("1", title="Birnbaum: chance that all hangs on it")
    criticality_ratio = Num(
        "1", title="Criticality: of the time short, share in which mending it alone would end it"
    )
    fussell_vesely_ratio = Num(
        "1",
        title="Fussell-Vesely: of the time short, share in which it belongs to a cut that is down",
    )
    gain_min = Num("min", title="Minutes short a day saved if it never stopped")
    gain_balls = Num("1", title="Balls a day more if it never stopped")


class ShowResult(ResultSchema):
    hours_h = Num("h", title="Length of the show, begun with everything running")
    enough_ratio = Num("1", title="Share of the show the flow is met, on average")
    end_ratio = Num("1", title="Chance that the flow is met at its end")
    no_shortage_ratio = Num("1", title="Chance of a whole show without any shortage")


class MayStopResult(ResultSchema):
    stopped_count = Whole(title="Lifts stopped")
    sets_count = Whole(title="Sets of so many lifts")
    sets_that_overflow_count = Whole(title="Of these, sets after which balls leave the machine")
    flow_worst_per_min = Num("/min", title="What comes round, worst set")
    lasts_s = Num(
        "s", title="Seconds until a ball leaves the machine, worst set; absent: none leaves"
    )
    worst_set = ListOf(Text(), title="The worst set")
    statement = Text(title="In words")


class PlannedWorkResult(ResultSchema):
    id = Text(title="Lift out on purpose")
    flow_per_min = Num("/min", title="What comes round with all others running")
    enough = Flag(title="The flow required comes round")
    availability_ratio = Num("1", title="Share of time the flow is met while it is out")
    may_be_out_h = Num(
        "h",
        title="Hours a day it may be out within the minutes short borne; absent: as long as wanted",
    )
    overflow_s = Num("s", title="Seconds until a ball leaves the machine; absent: none leaves")


class MaintenanceResult(ResultSchema):
    out_ratio = Num("1", title="Share of time some lift is out for planned work")
    availability_ratio = Num("1", title="Share of time the flow is met, planned work counted")
    minutes_short_min = Num("min", title="Minutes short a day, planned work counted")
    mean_flow_per_min = Num("/min", title="Balls a minute on average, planned work counted")
    interval_h = Column("h", title="Other intervals")
    availability_at_interval_ratio = Column("1", title="Share of time the flow is met at each")
    mean_flow_at_interval_per_min = Column("/min", title="Balls a minute on average at each")
    shortest_interval_h = Num(
        "h", title="Shortest interval within the minutes short borne; absent: none is"
    )


class SpareResult(ResultSchema):
    id = Text(title="Part")
    expected_stops_count = Num("1", title="Breakages expected on the tour")
    counted = Choice(
        "whole-tour",
        "each-breakage",
        title="Chance that the box lasts the tour, or (broken ones come back) of a spare each time",
    )
    needed_count = Whole(title="Spares needed for the chance asked for")
    chance_ratio = Column("1", title="Chance that the box suffices with 0, 1, 2 ... spares")
    in_box_count = Whole(title="In the box now")
    chance_now_ratio = Num("1", title="Chance that what is in the box suffices")


class MeasuresResult(ResultSchema):
    availability_ratio = Num("1", title="Share of time the flow is met, with the crews")
    minutes_short_min = Num("min", title="Minutes short a day")
    lost_balls = Num("1", title="Balls a day that do not come round")
    spills_per_day = Num("1", title="Times a day a stop lasts until balls leave the machine")


class ImprovementResult(ResultSchema):
    kind = Choice(*IMPROVEMENTS, title="Improvement")
    text = Text(title="What to do")
    rank = Whole(title="Rank")
    availability_ratio = Num("1", title="Share of time the flow is met afterwards")
    minutes_short_min = Num("min", title="Minutes short a day afterwards")
    minutes_saved_min = Num("min", title="Minutes short a day saved")
    lost_balls = Num("1", title="Balls a day that do not come round, afterwards")
    spills_per_day = Num("1", title="Times a day balls leave the machine, afterwards")
    cost = Num("1", title="Cost, where given")
    minutes_saved_per_cost = Num("min", title="Minutes short a day saved for one unit of cost")
