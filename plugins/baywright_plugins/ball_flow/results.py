"""What ball-flow gives."""

from baywright_service.contract import (
    Choice,
    Column,
    Flag,
    ListOf,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)


class PileResult(ResultSchema):
    id = Text(title="Place")
    balls_per_min = Num("/min", title="Balls a minute that gather there or spill from there")
    overflows_to = Text(title="Where they go; absent: they gather")


class ConservationResult(ResultSchema):
    put_in_per_min = Num("/min", title="Put in at the entry, or fed")
    returned_per_min = Num("/min", title="Back at the entry, or out by drains")
    off_per_min = Num("/min", title="Into baskets")
    gathering_per_min = Num("/min", title="Gathering on the machine")
    difference_per_min = Num("/min", title="What is missing: zero but for rounding")


class FlowBallsResult(ResultSchema):
    on_tracks_count = Num("1", title="On tracks and at stations")
    on_lifts_count = Num("1", title="On the lifts")
    in_queue_count = Num("1", title="Usually waiting")
    in_basin_count = Num("1", title="Lying in basins")
    in_use_count = Num("1", title="In use")
    needed_count = Whole(title="In use, rounded up")
    order_count = Whole(title="With spares")
    spare_count = Whole(title="Spares")
    spill_basket_count = Whole(title="Places a spill basket needs: everything on the tracks")
    round_s = Num("s", title="Seconds once round, waiting left out")


class ClosedResult(ResultSchema):
    model = Text(title="Queue model")
    mean_count = Num("1", title="Balls there, mean")
    mean_wait_s = Num("s", title="Wait before service, mean")
    busy_ratio = Num("1", title="Share that finds every server busy")
    lost_ratio = Num("1", title="Share turned away")
    agrees = Flag(title="The simulated mean count lies within its interval of this one")


class SimulatedPlaceResult(ResultSchema):
    rate_per_min = Num("/min", title="Balls a minute arriving")
    rate_half_width_per_min = Num("/min", title="Half the 95 % interval")
    mean_count = Num("1", title="Balls there, mean over time; standing ones left out")
    mean_count_half_width = Num("1", title="Half the 95 % interval")
    stay_s = Num("s", title="Stay of a ball, mean")
    little_gap_ratio = Num(
        "1", title="Mean count against rate times stay, difference as share (Little's law)"
    )
    peak_count = Whole(title="Most balls there in any run")
    busy_ratio = Num("1", title="Share of arrivals that found every server busy")
    busy_half_width_ratio = Num("1", title="Half the 95 % interval")
    lost_ratio = Num("1", title="Share of arrivals turned away")
    lost_half_width_ratio = Num("1", title="Half the 95 % interval")


class PlaceResult(ResultSchema):
    id = Text(title="Place")
    kind = Text(title="Kind")
    rate_per_min = Num("/min", title="Balls a minute arriving, settled")
    capacity_per_min = Num("/min", title="Most it passes on; absent: no limit")
    used_ratio = Num("1", title="Share of its capacity in use")
    hold_up_count = Num("1", title="Balls there, rate times time and what always lies there")
    overflow_per_min = Num("/min", title="Balls a minute over to the next place, settled")
    simulated = Part(SimulatedPlaceResult, title="As simulated, settled")
    closed_solution = Part(ClosedResult, title="Closed solution, where the place has one")


class ReachedResult(ResultSchema):
    id = Text(title="Point marked, or line that fills up")
    waiting_count = Whole(
        title="Balls that wait when it is reached; of a line: all its places, full"
    )
    reached_ratio = Num("1", title="Share of runs in which it is reached")
    reached_low_ratio = Num("1", title="Lower end of the 95 % interval (Wilson)")
    reached_high_ratio = Num("1", title="Upper end")
    median_s = Num("s", title="Seconds after the first stop, median of the runs that reach it")
    earliest_s = Num("s", title="Seconds after the first stop, earliest")


class TimelineResult(ResultSchema):
    time_s = Column("s", title="Seconds from time 0")
    waiting_mean_count = Column("1", title="Balls waiting, mean of runs")
    waiting_low_count = Column("1", title="5 % of runs have fewer")
    waiting_high_count = Column("1", title="5 % of runs have more")
    off_mean_count = Column("1", title="Balls off the machine, mean of runs")
    off_low_count = Column("1", title="5 % of runs have fewer")
    off_high_count = Column("1", title="5 % of runs have more")


class StopResult(ResultSchema):
    lifts_stopped = ListOf(Text(), title="Lifts that stop as told")
    first_stop_s = Num("s", title="First stop; of random stops the mean")
    down_s = Num("s", title="Seconds that lifts stood and came back, added up, mean of runs")
    peak_extra_count = Num(
        "1", title="Most waiting beyond the usual, with room for all, mean of runs"
    )
    peak_extra_half_width = Num("1", title="Half the 95 % interval")
    peak_extra_high_count = Num("1", title="95 % of runs stay at or below it")
    peak_s = Num("s", title="Seconds after the first stop to that peak, mean of runs")
    overflow_ratio = Num("1", title="Share of runs in which balls leave the machine")
    overflow_low_ratio = Num("1", title="Lower end of the 95 % interval (Wilson)")
    overflow_high_ratio = Num("1", title="Upper end")
    overflow_s = Num("s", title="Seconds after the first stop until the first one leaves, median")
    overflow_earliest_s = Num("s", title="The same, earliest of all runs")
    balls_off_count = Num("1", title="Most balls off the machine at a time, mean of runs")
    balls_off_half_width = Num("1", title="Half the 95 % interval")
    balls_off_most_count = Whole(title="The same, most of all runs")
    recovered_ratio = Num("1", title="Share of runs back to usual within the time followed")
    recovery_s = Num("s", title="Seconds from the last lift back until usual, mean of those runs")
    recovery_half_width_s = Num("s", title="Half the 95 % interval")
    flow_after_per_min = Num("/min", title="Balls a minute in the last quarter of the time")
    reached = ListOf(ReachedResult, title="How far back it reaches, and when")
    timeline = Part(TimelineResult, title="Over time")


class SimulationResult(ResultSchema):
    routing = Choice("rotation", "random", title="Where balls part")
    runs_count = Whole(title="Runs; one where nothing is left to chance")
    moving_count = Whole(title="Balls that move, put in at the entry")
    flow_per_min = Num("/min", title="Balls a minute round, or fed in")
    flow_half_width_per_min = Num("/min", title="Half the 95 % interval")
    usual_waiting_count = Num("1", title="Balls that wait for a hook by chance, mean")
    unaccounted_count = Whole(title="Balls put in less those found at the end: zero")
    events_count = Whole(title="Events followed")
    stop = Part(StopResult, title="When lifts stop and come back")


class FluidResult(ResultSchema):
    stopped = ListOf(Text(), title="Lifts first to stop; they stay so")
    time_s = Column("s", title="Corners of the line of extra balls: seconds after the stop")
    extra_count = Column("1", title="Corners of the line: extra balls")
    peak_extra_count = Num("1", title="Most extra balls")
    peak_s = Num("s", title="Seconds until the most")
    overflow_s = Num("s", title="Seconds until the free places are full; absent: they suffice")


class BallFlowResult(ResultSchema):
    statement = Text(title="In words")
    required_balls_per_min = Num("/min", title="Flow asked for")
    flow_per_min = Num("/min", title="What comes round, settled")
    most_per_min = Num("/min", title="Most that can come round; absent: no limit, or fed")
    short_by_per_min = Num("/min", title="Short of what is asked for")
    piles_up = ListOf(PileResult, title="Where balls gather or spill at the flow asked for")
    conservation = Part(ConservationResult, title="Balls in against balls out, at the flow asked")
    balls = Part(FlowBallsResult, title="Balls in circulation")
    places = ListOf(PlaceResult, title="Every place")
    simulated_routing = Choice("rotation", "random", title="Routing of the simulated columns")
    seed = Whole(title="Seed")
    settle_s = Num("s", title="Seconds settled before time 0")
    duration_s = Num("s", title="Seconds followed")
    simulations = ListOf(SimulationResult, title="By routing")
    fluid = Part(FluidResult, title="Balls as a fluid: the same first stop, for comparison")
