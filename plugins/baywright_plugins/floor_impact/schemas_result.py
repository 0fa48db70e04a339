"""What comes out, with units."""

from baywright_service.contract import Column, Flag, ListOf, Num, Part, ResultSchema, Text, Whole


class BallOut(ResultSchema):
    fall_speed_m_per_s = Num("m/s", title="Speed down on landing")
    landing_speed_m_per_s = Num("m/s", title="Whole speed on landing")
    landing_angle_deg = Num("deg", title="Angle to the floor; 90 is straight down")
    energy_j = Num("J", title="Energy that presses the floor")
    whole_energy_j = Num("J", title="Energy with that along the floor")
    lost_min_j = Num("J", title="Energy the ball does not get back, at least")
    lost_max_j = Num("J", title="Energy the ball does not get back, at most")
    rebound_min_mm = Num("mm", title="Rebound, at least")
    rebound_max_mm = Num("mm", title="Rebound, at most")
    wall_needed_mm = Num("mm", title="Wall that keeps a bouncing ball in")
    bouncing_max_s = Num("s", title="Longest time until bouncing ends")
    hits_per_day_count = Num("1", title="Hits on this panel in a day")


class TouchOut(ResultSchema):
    """The touch with one kind of target that does not move: the hardest it can be."""

    target = Text(title="hub, rod-along, rod-across or deck")
    modulus_min_n_per_mm2 = Num("N/mm2", title="Shared modulus E*, at least")
    modulus_max_n_per_mm2 = Num("N/mm2", title="Shared modulus E*, at most")
    force_min_n = Num("N", title="Largest force; at least, where the dent crushes")
    force_max_n = Num("N", title="Largest force; at most, all springing back")
    dent_min_mm = Num("mm", title="Both dents together, stiffest")
    dent_max_mm = Num("mm", title="Both dents together, softest")
    duration_min_ms = Num("ms", title="Touching, shortest")
    duration_max_ms = Num("ms", title="Touching, longest")
    patch_long_mm = Num("mm", title="Half length of the patch at the largest force")
    patch_short_mm = Num("mm", title="Half width of the patch at the largest force")
    pressure_n_per_mm2 = Num("N/mm2", title="Largest pressure if nothing yields")
    yields_at_n_per_mm2 = Num("N/mm2", title="Pressure at which a dent stays; absent: unknown")
    ball_gravities_ratio = Num("1", title="Deceleration of the ball, at most, in g")
    logger_min_gravities_ratio = Num(
        "1", title="What a shock logger reads as a half sine, at least, in g"
    )
    logger_max_gravities_ratio = Num(
        "1", title="What a shock logger reads as a half sine, at most, in g"
    )


class HitOut(ResultSchema):
    along_mm = Num("mm", title="Where it lands, along")
    across_mm = Num("mm", title="Where it lands, across")
    over = Text(title="hub, rod-along, rod-across or between-rods")
    stiffness_n_per_mm = Num("N/mm", title="Stiffness there")
    moving_kg = Num("kg", title="Mass of the panel that moves with the hit")
    energy_min_j = Num("J", title="Energy the panel takes, at least")
    energy_max_j = Num("J", title="Energy the panel takes, at most")
    deflection_min_mm = Num("mm", title="Deflection, at least")
    deflection_max_mm = Num("mm", title="Deflection, at most")
    force_min_n = Num("N", title="Force on the panel, at least")
    force_series_n = Num("N", title="Force with dent and panel in series, nothing lost")
    force_max_n = Num("N", title="Force on the panel, at most")
    touch_min_n = Num("N", title="Force between ball and panel, at least")
    touch_max_n = Num("N", title="Force between ball and panel, at most")
    seat_slips_n = Num("N", title="Steady force at which the first seat slips")
    gives_n = Num("N", title="Steady force at which the first seat or rod gives")
    allowed_n = Num("N", title="Steady force that may come again and again")
    bears_j = Num("J", title="Energy the panel springs there before anything gives")
    utilisation_min_ratio = Num("1", title="Share of what may be repeated, at least")
    utilisation_max_ratio = Num("1", title="Share of what may be repeated, at most")
    still_ratio = Num("1", title="The same by steady forces alone, at most")
    gives_first = Text(title="What gives first")
    part = Text(title="Which rod, in words")
    back_min_n = Num("N", title="Push up as the panel swings back, at least")
    back_max_n = Num("N", title="Push up as the panel swings back, at most")
    lifts_min_n = Num("N", title="Largest pull up at one support, at least; 0 where it stays down")
    lifts_max_n = Num("N", title="Largest pull up at one support, at most; 0 where it stays down")


class CurveOut(ResultSchema):
    time_ms = Column("ms", title="Time since the first touch")
    touch_n = Column("N", title="Force between ball and panel")
    panel_n = Column("N", title="Force with which the panel answers")
    touch_peak_n = Num("N", title="Largest force between ball and panel")
    panel_peak_n = Num("N", title="Largest answer of the panel")


class PanelOut(ResultSchema):
    orientation = Text(title="on-edge or flat")
    rods_count = Whole(title="Rods")
    hubs_count = Whole(title="Hubs")
    mass_kg = Num("kg", title="Mass")
    height_mm = Num("mm", title="Height of hub centres, bottom to top")
    own_weight_ratio = Num("1", title="Share of strength its own weight takes")
    mirrored_along = Flag(title="Places beyond the middle are mirror images")
    hits = ListOf(HitOut, title="Landing places; mirror images left out")
    worst = Part(HitOut, title="The landing place that sets it")
    passes = Flag(title="Bears the hardest hit again and again")
    followed_ms = Num("ms", title="How long the swing was followed")


class ComparisonOut(ResultSchema):
    better = Text(title="Orientation that wins")
    built = Text(title="Orientation that the findings speak of")
    advantage_ratio = Num("1", title="Utilisation of the other one over that of the better")
    why = Text(title="Why")


class RepeatedOut(ResultSchema):
    seat_slips_n = Num("N", title="Steady force at which the first seat slips, worst place")
    slips = Text(title="never, perhaps or at every hit")
    hits_per_day_count = Num("1", title="Hits on this panel in a day")
    slip_per_hit_max_mm = Num("mm", title="Slip of the pulled seat in one hit, at most")
    turn_per_hit_max_deg = Num("deg", title="Turn of the bent seat in one hit, at most")
    seat_depth_mm = Num("mm", title="Depth of rod in the seat")
    hits_to_lose_seat_count = Num("1", title="Hits until a third of the depth is lost, at least")
    days_to_lose_seat_days = Num("d", title="The same in days, if all land on the worst place")


class StopOut(ResultSchema):
    allowed_n = Num("N", title="Force the weakest place may take again and again")
    evenly_mm = Num("mm", title="Way to stop if slowed evenly, at least")
    spring_mm = Num("mm", title="Way to stop on a spring (felt, net)")
    spring_n_per_mm = Num("N/mm", title="Stiffness of that spring")
    average_gravities_ratio = Num("1", title="Average deceleration over the even way, in g")
    free_height_mm = Num("mm", title="Fall that needs no slowing")


class PlanOut(ResultSchema):
    failures_allowed_count = Whole(title="Failures allowed")
    drops_count = Whole(title="Drops")


class CurvePointOut(ResultSchema):
    drops_count = Whole(title="Drops without failure")
    shown_ratio = Num("1", title="Reliability they show")


class TestOut(ResultSchema):
    reliability_ratio = Num("1", title="Reliability to be shown")
    confidence_ratio = Num("1", title="Confidence")
    plans = ListOf(PlanOut, title="Drops to be made, by failures allowed")
    drops_count = Whole(title="Drops of the plan chosen")
    shown_by_drops = ListOf(CurvePointOut, title="What so many drops without failure show")
    rig_min = Num("min", title="Time at the machine's own rate")
    day_reliability_ratio = Num("1", title="A day without failure, if each drop is that reliable")
    for_a_day_count = Num("1", title="Drops that show the reliability for a whole day")
    for_a_day_h = Num("h", title="The same at the machine's own rate")
    drop_height_mm = Num("mm", title="Height to drop from")
    steps = ListOf(Text(), title="How to run it, step by step")
    shown_so_far_ratio = Num("1", title="Reliability the drops already made show")


class MeasureOut(ResultSchema):
    what = Text(title="What to change")
    utilisation_max_ratio = Num("1", title="Utilisation at most, after it")
    passes = Flag(title="Bears the hardest hit again and again")


class FloorImpactResult(ResultSchema):
    ball = Part(BallOut, title="Ball as it lands and bounces")
    touch = ListOf(TouchOut, title="Touch with each kind of target")
    panels = ListOf(PanelOut, title="The panel in each orientation")
    comparison = Part(ComparisonOut, title="Which orientation wins")
    repeated = Part(RepeatedOut, title="Again and again")
    stop = Part(StopOut, title="Slowing the ball; absent where nothing helps")
    softest = Part(CurveOut, title="Time course at the worst place: soft dent, dull bounce")
    hardest = Part(CurveOut, title="Time course at the worst place: stiff dent, springy bounce")
    test = Part(TestOut, title="Drop test")
    measures = ListOf(MeasureOut, title="What else would do, each worked through")
    length_mm = Num("mm", title="Length of the panel")
    width_mm = Num("mm", title="Width of the panel")
    opening_mm = Num("mm", title="Clear opening between rods; absent with a deck")
