"""What chain-drive answers."""

from baywright_service.contract import (
    Column,
    Flag,
    ListOf,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)


class AdjustmentResult(ResultSchema):
    shortest_mm = Num("mm", title="Shafts closest together")
    longest_mm = Num("mm", title="Shafts farthest apart")
    tighten_left_mm = Num("mm", title="Travel left to tighten, new chain")
    slacken_left_mm = Num("mm", title="Travel left to slacken, new chain")
    wear_needs_mm = Num("mm", title="Travel that the wear reserve uses up")
    wear_reached_percent = Num("%", title="Wear at which the adjuster ends")
    two_links_out_from_percent = Num("%", title="Wear from which two links can come out")
    links_possible_count = Column("1", whole=True, title="Even numbers of links it can tighten")
    links_addable_count = Whole(title="Links that can be added, new chain")
    links_removable_count = Whole(title="Links that can be taken out, new chain")


class LoopResult(ResultSchema):
    length_pitches = Num("1", title="Length at the distance wanted, handbook formula, in pitches")
    exact_length_pitches = Num("1", title="The same by exact geometry")
    links_count = Whole(title="Links")
    offset_link = Flag(title="An offset link is needed")
    centre_distance_mm = Num("mm", title="Head to tail with these links, exact geometry")
    handbook_centre_distance_mm = Num("mm", title="Head to tail with these links, handbook")
    moved_mm = Num("mm", title="More (or less) than the distance wanted")
    head_pitch_diameter_mm = Num("mm", title="Pitch diameter, head")
    tail_pitch_diameter_mm = Num("mm", title="Pitch diameter, tail")
    head_outside_diameter_mm = Num("mm", title="Outside diameter, head")
    tail_outside_diameter_mm = Num("mm", title="Outside diameter, tail")
    wrap_deg = Num("deg", title="Wrap on the smaller sprocket")
    speed_fluctuation_percent = Num("%", title="Rise and fall of speed, smaller sprocket")
    new_length_mm = Num("mm", title="Length of the new chain")
    replace_length_mm = Num("mm", title="Length at which to replace it")
    sag_allowed_mm = Num("mm", title="Sag allowed in the slack run")
    sag_uses_mm = Num("mm", title="Chain that this sag uses up")
    slack_off_mm = Num("mm", title="Shafts may stand closer than taut by this for that sag")
    adjustment = Part(AdjustmentResult, title="Adjuster")


class SpacingResult(ResultSchema):
    spacing_links_count = Whole(title="Links from hook to hook")
    hooks_count = Whole(title="Hooks")
    gap_mm = Num("mm", title="Hook to hook")
    same_kind_of_link = Flag(title="Hooks all sit on one kind of link")
    hooks_per_min_same_speed = Num("/min", title="Hooks a minute, chain speed kept")
    balls_per_min_same_speed = Num("/min", title="Balls a minute, chain speed kept")
    chain_speed_same_hooks_mm_s = Num("mm/s", title="Chain speed, hooks a minute kept")
    tooth_passing_same_hooks_hz = Num("Hz", title="Tooth passing, hooks a minute kept")
    clear_of_frame = Flag(title="Then clear of the frame's own frequencies")


class ExcitationResult(ResultSchema):
    id = Text(title="What shakes")
    frequency_hz = Num("Hz", title="Its frequency")
    nearest_frame_hz = Num("Hz", title="The frame's nearest own frequency")
    apart_percent = Num("%", title="Distance, as a share of the frame's")


class MotionResult(ResultSchema):
    spacing_divides = Flag(title="The spacing divides the links")
    hooks_count = Whole(title="Hooks; absent: the spacing does not divide the links")
    chain_speed_mm_s = Num("mm/s", title="Chain speed")
    chain_speed_min_mm_s = Num("mm/s", title="Lowest speed as teeth pass")
    shaft_turns_per_min = Num("/min", title="Head shaft, turns a minute")
    tooth_passing_hz = Num("Hz", title="Tooth passing")
    shaft_hz = Num("Hz", title="Head shaft")
    hooks_hz = Num("Hz", title="Hooks")
    balls_per_min = Num("/min", title="Balls a minute")
    excitations = ListOf(ExcitationResult, title="Held against the frame")


class TorqueResult(ResultSchema):
    loaded_hooks_count = Num("1", title="Hooks on the loaded run")
    lift_s = Num("s", title="Seconds on the loaded run")
    running_torque_n_m = Num("N.m", title="Torque as it runs, every hook full")
    needed_torque_n_m = Num("N.m", title="Torque with the margin for starts and jams")
    needed_power_w = Num("W", title="Power with that margin")
    lifting_power_w = Num("W", title="Power as it runs, hooks filled as given")
    chain_pull_n = Num("N", title="Pull in the chain, with the margin, its weight and preload")
    allowed_pull_n = Num("N", title="Pull allowed")
    breaking_load_n = Num("N", title="Smallest breaking load")
    printed_working_load_n = Num("N", title="Working load as the size's table prints it")
    waiting_drag_n = Num("N", title="Of the drag, what the row of waiting balls rubs")
    run_back_torque_n_m = Num("N.m", title="Torque of the full hooks backwards, no friction")
    run_back_after_friction_n_m = Num("N.m", title="What friction leaves of it")
    hold_needed_n_m = Num("N.m", title="Torque a backstop must hold, with margin")


class MotorResult(ResultSchema):
    id = Text(title="Motor")
    shaft_torque_n_m = Num("N.m", title="Torque at the head shaft, with its duty")
    margin_ratio = Num("1", title="That over the torque needed")
    shaft_turns_per_min = Num("/min", title="Turns of the head shaft a minute")
    balls_per_min = Num("/min", title="Balls a minute at that speed")
    stall_torque_n_m = Num("N.m", title="Torque at the head shaft when held still")
    fits = Flag(title="Strong enough and within 10 percent of the speed, or faster")


class WeakPointResult(ResultSchema):
    id = Text(title="What lets go")
    torque_n_m = Num("N.m", title="Torque at the head shaft at which it does")


class FuseResult(ResultSchema):
    low_n_m = Num("N.m", title="Must not slip below")
    high_n_m = Num("N.m", title="Must slip by")
    open = Flag(title="There is a torque that does both")
    weakest = Text(title="What lets go first")
    best_setting_n_m = Num("N.m", title="Middle of the window")
    scatter_allowed_percent = Num("%", title="Scatter allowed there, plus-minus")
    setting_low_n_m = Num("N.m", title="The fuse given, lowest")
    setting_high_n_m = Num("N.m", title="The fuse given, highest")
    jam_force_n = Num("N", title="Push on what jams when it slips at its highest")
    weak_points = ListOf(WeakPointResult, title="What may break, weakest first")


class RibResult(ResultSchema):
    tooth = Whole(title="Tooth, from 0 on the left")
    side = Text(title="Side of the tooth")
    rib = Whole(title="Rib on that side, from 0 on the left")
    nominal_mm = Num("mm", title="Clearance as drawn")
    likely_mm = Num("mm", title="Clearance, root-sum-square of the tolerances")
    worst_mm = Num("mm", title="Clearance, worst case")


class CombResult(ResultSchema):
    gap_mm = Num("mm", title="Gap between ribs")
    teeth_count = Whole(title="Teeth of the hook")
    least_nominal_mm = Num("mm", title="Least clearance as drawn")
    least_likely_mm = Num("mm", title="Least clearance, root-sum-square")
    least_worst_mm = Num("mm", title="Least clearance, worst case")
    binding_tooth = Whole(title="Tooth that binds")
    binding_rib = Whole(title="Rib that it meets")
    binding_side = Text(title="On its left or right")
    widest_tooth_mm = Num("mm", title="Widest tooth that leaves the clearance wanted, worst case")
    widest_tooth_likely_mm = Num("mm", title="The same, root-sum-square")
    narrowest_gap_mm = Num("mm", title="Narrowest gap that does, worst case")
    narrowest_gap_likely_mm = Num("mm", title="The same, root-sum-square")
    best_offset_mm = Num("mm", title="Move the hook by this to share the clearance")
    best_worst_mm = Num("mm", title="Least clearance then, worst case")
    best_datum_rib = Whole(title="Rib to place the others from, for the most clearance")
    best_datum_worst_mm = Num("mm", title="Least clearance then, worst case")
    ball_sink_mm = Num("mm", title="How deep a ball sits between two ribs")
    clearances = ListOf(RibResult, title="Each side of each tooth")


class LoadingResult(ResultSchema):
    free_s = Num("s", title="The ball's way is free between two hooks")
    roll_s = Num("s", title="The ball needs; absent: it does not roll")
    waiting_push_n = Num("N", title="Push of the waiting row on what passes")
    steepness_needed_deg = Num("deg", title="Least slope that is quick enough")
    fastest_chain_mm_s = Num("mm/s", title="Fastest chain at this slope")


class HingeResult(ResultSchema):
    sideways_mm = Num("mm", title="Hook moves across the ribs, plus-minus")
    depth_mm = Num("mm", title="Hook moves towards the tongue, plus-minus")
    droop_mm = Num("mm", title="Hook moves up and down, plus-minus")
    room_sideways_mm = Num("mm", title="Repeat allowed across the ribs, the rest at its worst")
    most_play_mm = Num("mm", title="Most play in a hinge that keeps that")
    stop_needed = Flag(title="A locating stop or cone is needed")


class GuardResult(ResultSchema):
    needed_child_mm = Num("mm", title="Distance asked for, from 3 years")
    needed_grown_mm = Num("mm", title="Distance asked for, from 14 years")
    pinching_gaps = ListOf(Text(), title="Gaps that pinch a finger")


class ChainDriveResult(ResultSchema):
    loop = Part(LoopResult, title="Chain")
    spacings = ListOf(SpacingResult, title="Hook spacings that divide the links")
    motion = Part(MotionResult, title="Speed and what it shakes")
    torque = Part(TorqueResult, title="Torque, power, pull")
    motors = ListOf(MotorResult, title="Motors")
    best_motor = Text(title="Smallest motor that fits")
    fuse = Part(FuseResult, title="Window for a fuse or clutch")
    comb = Part(CombResult, title="Hook and tongue")
    loading = Part(LoadingResult, title="Ball onto hook")
    hinge = Part(HingeResult, title="Swinging cage")
    guard = Part(GuardResult, title="Guard")
