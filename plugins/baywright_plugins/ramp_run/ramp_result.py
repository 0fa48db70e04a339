"""What comes out."""

from baywright_service.contract import (
    Choice,
    Column,
    Flag,
    Key,
    ListOf,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)


class KnownOut(ResultSchema):
    pair = Text(title="Pair of materials")
    low_ratio = Num("1", title="Rolling resistance over load, low")
    high_ratio = Num("1", title="Rolling resistance over load, high")
    source = Text(title="Where it is from")


class ResistanceOut(ResultSchema):
    min_ratio = Num("1", title="Used, at least")
    max_ratio = Num("1", title="Used, at most")
    origin = Text(title="Where the range is from")
    how_to_measure = Text(title="A test with a ramp and a tape measure")
    table = ListOf(KnownOut, title="Known ranges")


class SupportOut(ResultSchema):
    id = Key(title="Name")
    kind = Text(title="Kind")
    holds = Flag(title="The ball does not fall through")
    contacts_count = Whole(title="Places where the ball touches")
    effective_radius_mm = Num("mm", title="Axis of turning to the contacts")
    contact_angle_deg = Num("deg", title="Each contact beside the lowest point")
    contact_spread_mm = Num("mm", title="Contacts, one to the other")
    sink_mm = Num("mm", title="Lowest point below the tops of what bears the ball")
    acceleration_ratio = Num(
        "1", title="Acceleration over what gravity pulls along the slope, without resistance"
    )
    resistance_min_ratio = Num("1", title="Rolling resistance on it, at least")
    resistance_max_ratio = Num("1", title="Rolling resistance on it, at most")
    slope_min_percent = Num("%", title="Slope that keeps the slowest ball going")
    slope_slip_percent = Num("%", title="Slope from which a ball may slide (least friction)")
    holds_sideways_deg = Num("deg", title="Sideways push it holds, off straight down")
    wedges = Flag(title="The ball jams between steep walls")
    clear_gap_mm = Num("mm", title="Gap below the ball, at its widest")


class CurveOut(ResultSchema):
    speed_limit_m_per_s = Num("m/s", title="Faster balls leave; absent where none does")
    speed_least_m_per_s = Num("m/s", title="Slower balls run down the bank")
    lean_low_deg = Num("deg", title="Push off the track's normal, outward, least")
    lean_high_deg = Num("deg", title="Push off the track's normal, outward, most")
    bank_low_deg = Num("deg", title="Bank without any push sideways, slowest ball")
    bank_high_deg = Num("deg", title="Bank without any push sideways, fastest ball")
    guard_needed_mm = Num(
        "mm", title="Guard that holds the fastest ball, above the line of rolling"
    )
    holds = Flag(title="Every ball stays in the curve")


class ArcOut(ResultSchema):
    path_radius_mm = Num("mm", title="Radius of the ball's centre")
    speed_limit_m_per_s = Num("m/s", title="Crest: faster balls leave at its steepest end")
    loop_start_min_mm = Num("mm", title="Loop: least start above its bottom, without losses")
    loop_speed_min_m_per_s = Num("m/s", title="Loop: least speed at its bottom, without losses")
    load_least_ratio = Num(
        "1", title="Pressed on the track, least, over the weight; below 0 it flies"
    )
    holds = Flag(title="Every ball stays on the track")


class JointOut(ResultSchema):
    joints_count = Whole(title="How many are crossed")
    on_ground = Flag(title="The ball runs on the ground between ribs and climbs each")
    sink_mm = Num("mm", title="How deep a ball sits in one")
    speed_kept_ratio = Num("1", title="Share of speed kept at one that is hugged")
    speed_needed_m_per_s = Num("m/s", title="Least speed that passes one")
    slope_to_leave_percent = Num("%", title="Slope on which a resting ball rolls out")
    slope_to_keep_rolling_percent = Num(
        "%", title="Slope that keeps balls rolling over them, rolling resistance aside"
    )
    speed_flies_m_per_s = Num("m/s", title="Faster balls fly over part of it and lose less")
    settled_low_m_per_s = Num("m/s", title="Speed balls settle to on leaving one, slowest")
    settled_high_m_per_s = Num("m/s", title="Speed balls settle to on leaving one, fastest")
    settled_unbraked_m_per_s = Num(
        "m/s", title="The same without rolling resistance and air, every edge felt"
    )


class LandingOut(ResultSchema):
    touch_low_mm = Num("mm", title="First touch-down from the end, nearest")
    touch_high_mm = Num("mm", title="First touch-down from the end, farthest")
    flight_low_s = Num("s", title="Time in the air, least")
    flight_high_s = Num("s", title="Time in the air, most")
    angle_low_deg = Num("deg", title="Touch-down below the level, flattest")
    angle_high_deg = Num("deg", title="Touch-down below the level, steepest")
    speed_low_m_per_s = Num("m/s", title="Speed at touch-down, least")
    speed_high_m_per_s = Num("m/s", title="Speed at touch-down, most")
    energy_high_j = Num("J", title="Energy of the hardest touch-down")
    tips_over = Flag(title="The slowest ball tips over the end instead of flying straight on")
    rebound_low_mm = Num("mm", title="First bounce, lowest")
    rebound_high_mm = Num("mm", title="First bounce, highest")
    second_low_mm = Num("mm", title="Second touch-down from the end, nearest")
    second_high_mm = Num("mm", title="Second touch-down from the end, farthest")
    rests_low_mm = Num("mm", title="Bouncing ends, nearest")
    rests_high_mm = Num("mm", title="Bouncing ends, farthest")
    wall_needed_mm = Num("mm", title="Wall that no ball bounces over")
    wall_distance_min_mm = Num("mm", title="A wall nearer than this is hit in flight")
    slow_path_mm = Column("mm", width=2, title="Slowest ball's centre: ahead, up from the landing")
    fast_path_mm = Column("mm", width=2, title="Fastest ball's centre: ahead, up from the landing")


class SegmentOut(ResultSchema):
    name = Text(title="Name")
    kind = Text(title="Kind")
    support = Key(title="Support")
    start_mm = Num("mm", title="Begins after so much track")
    length_mm = Num("mm", title="Path of the ball")
    run_mm = Num("mm", title="Level length")
    fall_mm = Num("mm", title="Fall")
    height_start_mm = Num("mm", title="Height where it begins")
    height_end_mm = Num("mm", title="Height where it ends")
    outline_mm = Column("mm", width=2, title="Its shape from the side: level distance, height")
    slope_start_percent = Num("%", title="Slope where it begins; absent where upright")
    slope_end_percent = Num("%", title="Slope where it ends; absent where upright")
    reached = Choice("always", "sometimes", "never", title="Do balls get there")
    passed = Choice("always", "sometimes", "never", title="Do balls get past it")
    ends = Text(title="Why a ball goes no further")
    stops_at_mm = Num("mm", title="Where on it the slowest ball stops")
    speed_in_low_m_per_s = Num(
        "m/s", title="Speed where it begins, once on it, slowest that gets there"
    )
    speed_in_high_m_per_s = Num("m/s", title="Speed where it begins, once on it, fastest")
    speed_out_low_m_per_s = Num("m/s", title="Speed where it ends, slowest that gets there")
    speed_out_high_m_per_s = Num("m/s", title="Speed where it ends, fastest")
    speed_most_m_per_s = Num("m/s", title="Highest speed on it")
    time_low_s = Num("s", title="Time on it, least")
    time_high_s = Num("s", title="Time on it, most, of balls that pass")
    slope_min_percent = Num("%", title="Slope that keeps the slowest ball going")
    fall_min_mm = Num("mm", title="Fall that keeps the slowest ball going")
    slips = Choice("never", "sometimes", "always", title="Does the ball slide")
    hop_mm = Num("mm", title="Longest hop where it begins, over a change of slope")
    curve = Part(CurveOut, title="Curve")
    arc = Part(ArcOut, title="Crest, dip or loop")
    joint = Part(JointOut, title="Joint or ribs")
    landing = Part(LandingOut, title="Landing")


class TraceOut(ResultSchema):
    """One ball down the ramp, point by point."""

    choice = Text(title="Which coefficients it stands for")
    distance_mm = Column("mm", title="Along the path")
    run_mm = Column("mm", title="Level distance from the start")
    height_mm = Column("mm", title="Height of the track")
    speed_m_per_s = Column("m/s", title="Speed")
    time_s = Column("s", title="Time since the start")


class RampResult(ResultSchema):
    run_mm = Num("mm", title="Level length of the ramp")
    length_mm = Num("mm", title="Path of the ball")
    fall_mm = Num("mm", title="Fall from start to end")
    rolling_run_mm = Num("mm", title="Level length of straights, curves and ribs")
    slope_min_percent = Num("%", title="One slope that keeps the slowest ball going on all of them")
    fall_min_mm = Num("mm", title="Fall that keeps the slowest ball going on all of them")
    fall_fixed_mm = Num("mm", title="Fall of crests, dips, joints and drops")
    arrives = Choice("always", "sometimes", "never", title="Do balls get to the end")
    transit_low_s = Num("s", title="Time to the end, least")
    transit_high_s = Num("s", title="Time to the end, most; absent where some balls stop")
    end_speed_low_m_per_s = Num("m/s", title="Speed at the end, slowest that gets there")
    end_speed_high_m_per_s = Num("m/s", title="Speed at the end, fastest")
    speed_most_m_per_s = Num("m/s", title="Highest speed anywhere")
    balls_low_count = Num("1", title="Balls on the ramp at the given rate, least")
    balls_high_count = Num("1", title="Balls on the ramp at the given rate, most")
    capacity_per_min = Num(
        "/min", title="Balls a minute above which they touch at the slowest place"
    )
    corners_count = Whole(title="Choices of coefficients that were run")
    rolling_resistance = Part(ResistanceOut, title="Rolling resistance")
    supports = ListOf(SupportOut, title="Supports")
    segments = ListOf(SegmentOut, title="Segments")
    slow = Part(TraceOut, title="The slowest ball")
    fast = Part(TraceOut, title="The fastest ball")
