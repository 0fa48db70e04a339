"""What comes out for a floor over several sections."""

from baywright_service.contract import (
    Column,
    Flag,
    Key,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)


class StretchOut(ResultSchema):
    id = Text(title="Section")
    start_mm = Num("mm", title="First node plane")
    end_mm = Num("mm", title="Last node plane")
    bays_count = Whole(title="Bays")


class BayRatioOut(ResultSchema):
    bay = Text(title="Bay pitch")
    bay_mm = Num("mm", title="Its length")
    fits = Flag(title="A ratio holds within the play")
    bays_count = Num("1", title="Bays of the smallest ratio, or of the nearest")
    panels_count = Whole(title="Panels against them")
    misfit_mm = Num("mm", title="Bays less panels")
    play_mm = Num("mm", title="Play of one repeat")
    inside_bays_count = Num("1", title="Bays, where they meet sooner at a node inside a bay")
    inside_panels_count = Whole(title="Panels against these")
    why = Text(title="Why it holds, or what is missing")
    steps = Text(title="Common step of the two, and how they count in it")


class JointOut(ResultSchema):
    between = Names(title="The two sections")
    start_mm = Num("mm", title="Last node plane of the first")
    end_mm = Num("mm", title="First node plane of the second")
    clear_gap_mm = Num("mm", title="Free gap between hub ends")
    comes_apart = Flag(title="A panel joint lies in it, so that nothing comes off")
    parts_at_mm = Num("mm", title="Panel joint at which the floor comes apart")
    sticks_out_mm = Num("mm", title="Floor beyond the hub ends of a section that has parted")
    sticks_out_of = Text(title="Section it sticks out of most")
    pieces_off_mm = Column("mm", width=2, title="Pieces that come off, from and to")


class PiecesOut(ResultSchema):
    start_mm = Column("mm", title="From")
    end_mm = Column("mm", title="To")
    kind = Names(title="whole, cut, whole-off or cut-off (comes off at a joint)")
    edges_on_bearers_count = Column("1", whole=True, title="Edges on a bearer that lies there")


class BearersOut(ResultSchema):
    at_mm = Column("mm", title="Middle of the bearer")
    kind = Names(title="frame, add-at-node or add-between")


class WayOut(ResultSchema):
    way = Text(title="run-through or start-anew")
    starts_mm = Column("mm", title="Where whole panels begin, one for each sheet")
    panel_edges_count = Whole(title="Panel edges")
    on_bearers_count = Whole(title="Of these on a bearer that lies there")
    on_nodes_count = Whole(title="On a node plane without one")
    bearers_to_add_count = Whole(title="Bearers to add")
    strips_count = Whole(title="Pieces less than a panel")
    coming_off_count = Whole(title="Pieces that come off where sections part")
    bad_strips_count = Whole(title="Strips too narrow or under a landing")
    work_count = Whole(title="Bearers to add, strips and pieces that come off, together")
    chosen = Flag(title="The one laid out")


class DirectionOut(ResultSchema):
    from_mm = Num("mm", title="Front edge of the floor; 0 is the first node plane")
    to_mm = Num("mm", title="Back edge of the floor")
    panel_mm = Num("mm", title="Panel pitch")
    joint_play_mm = Num("mm", title="How far a joint may lie off its bearer")
    free_span_mm = Num("mm", title="Span that panels bridge")
    stretches = ListOf(StretchOut, title="Sections")
    ratios = ListOf(BayRatioOut, title="Panel against each bay pitch")
    starts_compared_count = Whole(title="Starts compared; no other can be better")
    ways = ListOf(WayOut, title="Ways to lay it that no other beats, best first")
    way = Text(title="The way laid out")
    start_mm = Num("mm", title="Where its first whole panel begins")
    joints = ListOf(JointOut, title="Separation joints")
    pieces = Part(PiecesOut, title="Pieces in order")
    bearers = Part(BearersOut, title="Bearers")
    whole_count = Whole(title="Whole panels in a row")
    strips_count = Whole(title="Pieces less than a panel in a row")
    coming_off_count = Whole(title="Pieces of a row that come off where sections part")


class EdgeOut(ResultSchema):
    side = Text(title="Side")
    piece_mm = Num("mm", title="Width of the last piece")
    piece = Text(title="whole or cut")
    overhang_mm = Num("mm", title="Beyond the outer bearer")
    rests = Flag(title="Reaches back to that bearer")
    stays_down = Flag(title="No more than half of it hangs over")
    gap_mm = Num("mm", title="Gap to the wall")
    ball = Text(title="closed, sinks, swallows, runs-in or open")
    sink_mm = Num("mm", title="How deep a ball hangs in the gap")
    leave_percent = Num("%", title="Fall away from the wall that lets it out")


class CornerOut(ResultSchema):
    sides = Names(title="The two sides")
    along_mm = Num("mm", title="Size of the corner piece along")
    across_mm = Num("mm", title="Size of the corner piece across")
    ball = Text(title="closed, sinks, swallows, runs-in or open")
    sink_mm = Num("mm", title="How deep a ball hangs in the corner")
    leave_percent = Num("%", title="Fall out of the corner that frees it")


class SizeOut(ResultSchema):
    item = Text(title="Item")
    use = Text(title="What for")
    count = Whole(title="How many")
    along_mm = Num("mm", title="Size along")
    across_mm = Num("mm", title="Size across")


class LaidOut(ResultSchema):
    along = Part(DirectionOut, title="Along")
    across = Part(DirectionOut, title="Across")
    edges = ListOf(EdgeOut, title="Edges")
    corners = ListOf(CornerOut, title="Corners")
    sizes = ListOf(SizeOut, title="Pieces by size")
    panels_needed_count = Whole(title="Panels in all, those to be cut too")
    coming_off_count = Whole(title="Pieces that come off where sections part, over the whole floor")


class SupportsOut(ResultSchema):
    along_mm = Column("mm", title="Place along")
    across_mm = Column("mm", title="Place across")
    wanted_mm = Column("mm", title="Height wanted")
    height_mm = Column("mm", title="Height built")
    error_mm = Column("mm", title="Built less wanted")
    modules_count = Column("1", whole=True, title="Module steps")
    pieces = Names(title="Stack on top of them, in words")


class FallOut(ResultSchema):
    across_mm = Num("mm", title="Line of supports")
    start_mm = Num("mm", title="From")
    end_mm = Num("mm", title="To")
    percent = Num("%", title="Fall")


class KinkOut(ResultSchema):
    across_mm = Num("mm", title="Line of supports")
    at_mm = Num("mm", title="Where")
    change_percent = Num("%", title="Change of fall as a ball comes down; negative: gets flatter")
    speed_kept_ratio = Num("1", title="Share of its speed a ball keeps there")
    under_joint = Flag(title="A panel joint lies there, so that no panel is bent; absent: unknown")


class SlopeOut(ResultSchema):
    low_edge_mm = Num("mm", title="Low corner as laid out")
    lowest_mm = Num("mm", title="Lowest support built")
    highest_mm = Num("mm", title="Highest support built")
    rise_mm = Num("mm", title="Highest less lowest")
    rise_wanted_mm = Num("mm", title="The same as wanted")
    error_max_mm = Num("mm", title="Largest error of a support")
    proven = Flag(title="No other height of the low edge in its window is better")
    fall_min_percent = Num("%", title="Least fall between neighbouring supports")
    fall_max_percent = Num("%", title="Greatest fall between neighbouring supports")
    fall_mean_percent = Num("%", title="Fall from end to end")
    fall_across_min_percent = Num("%", title="Least fall across")
    fall_across_max_percent = Num("%", title="Greatest fall across")
    supports = Part(SupportsOut, title="Supports")
    falls = ListOf(FallOut, title="Fall of each span along")
    level_stretches = ListOf(FallOut, title="Spans that are level or rise")
    kinks = ListOf(KinkOut, title="Kinks above the one allowed")
    kink_worst_percent = Num("%", title="Largest change of fall")
    pieces = ListOf(SizeOut, title="Pieces in all")


class NetFitOut(ResultSchema):
    bays_count = Whole(title="Bays of one repeat")
    panels_count = Whole(title="Net panels in it")
    spacers = Names(title="Spacer of each kind")
    spacers_count = Column("1", whole=True, title="How many of it")
    misfit_mm = Num("mm", title="Bays less panels and spacers")
    play_mm = Num("mm", title="Play of one repeat")
    widest_gap_mm = Num("mm", title="Widest gap between two panels")
    gaps_mm = Column("mm", title="What stands at each joint of the repeat")


class WallOut(ResultSchema):
    side = Text(title="Side")
    section = Text(title="Section")
    bays_count = Whole(title="Bays")
    repeats_count = Whole(title="Whole repeats")
    rest_bays_count = Whole(title="Bays left over")
    panels_count = Whole(title="Whole net panels in a row")
    cut_count = Whole(title="Net panels cut in a row")
    cut_to_mm = Num("mm", title="What the cut one measures")
    spacers_count = Column("1", whole=True, title="Spacers of each kind in a row")
    posts_count = Whole(title="Posts")


class NettingOut(ResultSchema):
    bay_mm = Num("mm", title="Bay")
    fits = ListOf(NetFitOut, title="Repeats found, the chosen one first")
    complete = Flag(title="Every repeat within the limits was looked at")
    plain_bays_count = Num("1", title="Bays of the ratio without spacers, if one holds")
    plain_panels_count = Whole(title="Net panels against them")
    wall_needed_mm = Num("mm", title="Wall needed")
    rows_count = Whole(title="Rows of net")
    wall_mm = Num("mm", title="Height of the wall, gap below included")
    largest_ball_through_mm = Num("mm", title="Largest ball that passes an opening")
    walls = ListOf(WallOut, title="Walls")
    posts_count = Whole(title="Posts, corners shared")


class ForCountOut(ResultSchema):
    item = Key(title="Item")
    count = Whole(title="How many")
    title = Text(title="What for")
