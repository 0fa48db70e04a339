"""What carry-and-stand gives."""

from baywright_service.contract import (
    Anything,
    Choice,
    Column,
    Flag,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)

from .carrying import WAYS


class StandingRow(ResultSchema):
    """One thing in one state, over its least steady edge."""

    state = Text(title="standing, or on castors")
    mass_kg = Num("kg", title="Mass, ballast counted in")
    centre_mm = Num("mm", title="Centre of mass above the floor")
    lever_mm = Num("mm", title="Centre of mass inside the edge it tips over")
    toward = Text(title="Side it tips to")
    tip_deg = Num("deg", title="Tip angle on a level floor")
    slope_left_deg = Num("deg", title="Tip angle left on the slope of the floor")
    ten_degree_ok = Flag(title="Stands the 10 degree test")
    push_test_n = Num("N", title="Test push: 13 % of weight, 250 N at most")
    push_test_at_mm = Num("mm", title="Height of the test push")
    push_tips_n = Num("N", title="Push that tips it at that height")
    push_test_ok = Flag(title="Stands the test push")
    down_test_n = Num("N", title="Test weight on what sticks out: half the weight, 100 N at most")
    overhang_mm = Num("mm", title="Most that the outside box sticks out beyond the feet")
    down_test_ok = Flag(title="Stands the test weight there")
    lean_at_mm = Num("mm", title="Height of the leaning person's push")
    lean_moment_nm = Num("N.m", title="Tipping moment of leaning, no factor")
    holding_moment_nm = Num("N.m", title="Holding moment of the weight, no factor")
    lean_tips_n = Num("N", title="Push that tips it at that height, no factor")
    lean_most_n = Num("N", title="Most leaning that both factors allow")
    lean_ok = Flag(title="Stands the leaning person with both factors")
    lean_used_ratio = Num("1", title="Leaning over what is allowed")


class EndRow(ResultSchema):
    """One end of a carried section."""

    end = Text(title="Which end")
    share_kg = Num("kg", title="Load of this end; negative: must be held down")
    share_percent = Num("%", title="Of the section")
    people_count = Whole(title="People at this end")
    each_kg = Num("kg", title="Load of each of them")
    crew = Column("1", whole=True, title="Places in the crew's list")


class WayRow(ResultSchema):
    """One way of carrying a section."""

    way = Choice(*WAYS, title="Way")
    pose = Choice("upright", "lying", title="How the section is held")
    tilt_deg = Num("deg", title="Tilt")
    span_mm = Num("mm", title="Between the grips")
    hands_mm = Num("mm", title="Hands above the floor, upright and level")
    above_mm = Num("mm", title="Centre of mass above the grips")
    ends = ListOf(EndRow, title="Lower end first")
    people_count = Whole(title="People; absent: more than the guidance and the crew allow")
    team_bears_kg = Num("kg", title="What so many bear together, or at most three of the crew")


class LiftRow(ResultSchema):
    """The lifting equation at one end of the lift."""

    hands_mm = Num("mm", title="Hands above the floor")
    limit_kg = Num("kg", title="Recommended weight limit for one person")
    multipliers = Column("1", title="H, V, D, A, F, C")
    load_kg = Num("kg", title="Load of the fullest hands")
    index_ratio = Num("1", title="Lifting index; absent where the limit is zero")


class LiftingResult(ResultSchema):
    """The revised NIOSH lifting equation for the people counted."""

    origin = Part(LiftRow, title="Where the lift starts")
    destination = Part(LiftRow, title="Where it ends")
    people_for_one_count = Whole(title="Fewest people for an index of 1; absent: not with three")


class GripsRow(ResultSchema):
    """Where hands go."""

    height_mm = Num("mm", title="Above the floor, upright")
    lying_low_mm = Num("mm", title="Lower grip of the lying section, from its feet")
    lying_high_mm = Num("mm", title="Upper grip of the lying section, from its feet")


class CastorsRow(ResultSchema):
    """Wheels under one section."""

    loads_n = Column("N", title="Left front, right front, left back, right back")
    worst_n = Num("N", title="Most loaded")
    proof_n = Num("N", title="Proof load, four times that")
    design_kg = Num("kg", title="Each good for a third of all")
    rated_ok = Flag(title="The rating covers both")
    stands_on_three = Flag(title="Stays up with any one castor away")
    step_mm = Num("mm", title="Threshold")
    push_ratio = Num("1", title="Push at the axle over the load of the wheel; absent: not over it")
    push_low_n = Num("N", title="Push at axle height for both leading wheels")
    push_n = Num("N", title="Push at the grips; absent: it pitches over first")
    push_below_mm = Num("mm", title="Push below this height above the floor")


class VanRow(ResultSchema):
    """Upright in a vehicle."""

    ratio = Num("1", title="Half base over height of centre, the way that decides")
    limit_ratio = Num("1", title="Least wanted")
    when = Text(title="When it would tip first")
    upright_ok = Flag(title="May travel upright, strapped")
    lying_ratio = Num("1", title="The same lying on its back or largest side")


class CarriedSection(ResultSchema):
    """One section: how it is carried and how it stands alone."""

    id = Text(title="Section")
    title = Text(title="Title")
    mass_kg = Num("kg", title="Mass")
    size_mm = Column("mm", title="Outside size x, y, z")
    centre_mm = Column("mm", title="Centre of mass from the outside corner, z above its feet")
    base_mm = Column("mm", title="Feet apart along x and y")
    base_at_mm = Column("mm", title="First foot from the outside corner, x and y")
    people_count = Whole(title="People to carry it on the level; absent: use wheels or halve it")
    people_by_mass_count = Whole(title="By mass alone")
    people_by_size_count = Whole(title="By size alone")
    people_stairs_count = Whole(title="On stairs")
    why = Text(title="What sets the number")
    trip_s = Num("s", title="One trip from the van, rests counted in")
    rests_count = Whole(title="Rests on the way")
    grips = Part(GripsRow, title="Grips")
    ways = ListOf(WayRow, title="Ways of carrying")
    lifting = Part(LiftingResult, title="Lifting equation")
    standing = ListOf(StandingRow, title="Standing alone: on its feet, on castors")
    castors = Part(CastorsRow, title="Castors")
    van = Part(VanRow, title="In the van")


class StepRow(ResultSchema):
    """One section set up."""

    section = Text(title="Section")
    coupled_to = Names(title="Coupled to")
    alone_tip_deg = Num("deg", title="Tip angle by itself before it is coupled")
    least_tip_deg = Num("deg", title="Tip angle of the least steady thing that stands then")


class SetUpResult(ResultSchema):
    """The order that keeps what stands as steady as can be."""

    steps = ListOf(StepRow, title="Steps")
    least_tip_deg = Num("deg", title="Least tip angle of all states")
    worst_order_deg = Num("deg", title="The same in the worst order")
    every_order_weighed = Flag(title="Every order was weighed")


class RemedyRow(ResultSchema):
    """One way to let the machine stand a leaning person."""

    kind = Choice("ballast", "outriggers", "tie", "rail", title="Kind")
    message = Text(title="What to do")
    ballast_kg = Num("kg", title="Ballast")
    outrigger_mm = Num("mm", title="Length of outriggers")
    tie_n = Num("N", title="Pull in a tie at its height, either way")
    tie_at_mm = Num("mm", title="Height of tie or rail")
    leaning_most_n = Num("N", title="Leaning that a rail may let through")
    patch = Anything(objects=True, title="Change to the inputs")
    proven = Flag(title="Run again with the change and found to stand")


class MachineResult(ResultSchema):
    """All sections coupled."""

    mass_kg = Num("kg", title="Mass of all sections and loose things")
    sections_kg = Num("kg", title="Mass of the sections")
    centre_mm = Column("mm", title="Centre of mass from the outside corner, z above the floor")
    size_mm = Column("mm", title="Outside size")
    standing = Part(StandingRow, title="Standing")
    tie_n = Num("N", title="Pull in the ties that are there")
    coupled = Flag(title="All sections are coupled to one another")
    remedies = ListOf(RemedyRow, title="Ways to let it stand a leaning person")


class JourneyResult(ResultSchema):
    """The carrying as a whole."""

    trips_count = Whole(title="Trips")
    total_min = Num("min", title="One team after the other")
    person_min = Num("min", title="People times minutes")
    most_people_count = Whole(title="Most people at once")
    crew_bears_two_kg = Num("kg", title="What the first two of the crew bear together")
    crew_bears_three_kg = Num("kg", title="What the first three bear together")


class LabelResult(ResultSchema):
    """A label to print and tie to a section."""

    section = Text(title="Section")
    lines = Names(title="Lines, in order")
    up_arrow = Flag(title="This side up")
    centre_front_mm = Column("mm", title="Mark on the front: from the left, from the floor")
    centre_side_mm = Column("mm", title="Mark on the left side: from the front, from the floor")


class CarryAndStandResult(ResultSchema):
    """Who carries what, and what stands how."""

    sections = ListOf(CarriedSection, title="Sections")
    machine = Part(MachineResult, title="The machine")
    set_up = Part(SetUpResult, title="Order of setting up")
    journey = Part(JourneyResult, title="Carrying")
    labels = ListOf(LabelResult, title="Labels")
