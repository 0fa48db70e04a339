"""Joints on the wire: hubs that turn stiffly, hubs in two halves, seats that slip, buckling."""

from baywright_service.contract import (
    ByKey,
    Choice,
    Column,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)

from ..frame.two_part_hubs import OPEN_RULES
from .joint_stiffness import MODELS
from .schemas_bars import BarSchema, place
from .two_part import MOVING


class JointsSchema(InputSchema):
    """Whether hubs resist turning."""

    model = Choice(
        *MODELS, load_default="pinned", title="Hubs turn freely, stiffly, or not at all",
        about="pinned is the safe side; semi-rigid and rigid are answered beside it.",
    )  # fmt: skip
    rotational_stiffness_n_mm_per_rad = Num(
        "N.mm/rad", minimum=1e-6, maximum=1e12,
        title="Turning stiffness of one seat; left out: that of the kit's hub",
    )  # fmt: skip


class OneTwoPartHubSchema(InputSchema):
    """One hub put in otherwise than the rule says."""

    at = Column(
        "1", whole=True, minimum=0, maximum=400, fewest=3, most=3, required=True,
        title="Grid place [i, j, k]",
    )  # fmt: skip
    opens = Choice("+", "-", title="Way along its axis in which it opens")
    plane = Choice("x", "y", "z", title="Normal of the plane that its moving half lies in")
    one_piece = Flag(load_default=False, title="A hub in one piece stands here")


class TwoPartHubsSchema(InputSchema):
    """Hubs in two halves wherever no diagonal lies across their sliding axis."""

    hub = Key(title="Two-part hub of the kit; left out: its first")
    axis = Choice("x", "y", "z", title="Sliding axis; left out: any that is free at the hub")
    rule = Choice(
        *OPEN_RULES, load_default="alternate",
        title="Open ends: turn about from row to row, or all the same way",
    )  # fmt: skip
    moving = Choice(
        *MOVING, load_default="either",
        title="Plane of the moving half: first or second that holds the axis",
        about="either: it was not minded, so only hubs locked both ways count as held.",
    )  # fmt: skip
    nodes = ByKey(
        ListOf(OneTwoPartHubSchema, most=5000),
        most=60,
        load_default=dict,
        title="Hubs put in otherwise, by section",
    )


class LooseHubSchema(ResultSchema):
    at = place()
    node = Whole(title="Node of the frame")
    opens = Text(title="Way it opens, as -x or +z")
    turnable = Flag(title="Turned about its axis, with its neighbours, it would be locked")


class TwoPartHubsResultSchema(ResultSchema):
    """Two-part hubs of one section."""

    hub = Text(title="Hub")
    two_part_count = Whole(title="Hubs in two halves")
    locked_count = Whole(title="Locked by diagonals")
    loose_count = Whole(title="That slide apart")
    one_piece_count = Whole(title="Hubs in one piece")
    tension_held_n = Num("N", title="Pull-out where halves are locked")
    tension_free_n = Num("N", title="Pull-out where they are loose")
    members_held_count = Whole(title="Members with their full pull-out at both ends")
    members_free_count = Whole(title="Members with a loose hub at an end")
    loose = ListOf(LooseHubSchema, title="Loose hubs, at most 60")


class BeamBucklingSchema(ResultSchema):
    """One beam of a section as a laced column."""

    axis = Choice("x", "y", "z", title="Runs along")
    first_bay = place()
    bays = Whole(title="Bays between corners")
    length_mm = Num("mm", title="Between the middles of the corner bays")
    length_factor = Num("1", title="1 between corners, 2 where an end is free")
    bows_along = Choice("x", "y", "z", title="Weaker way")
    critical_load_n = Num("N", title="Smaller of column and chords")
    governs = Text(title="whole-column or chord")
    euler_n = Num("N", title="Without shear")
    engesser_n = Num("N", title="Bending and shearing")
    chord_n = Num("N", title="Four chords between hubs")
    shear_stiffness_n = Num("N", title="Of the lacing, seats in series")
    compression_n = Num("N", title="Largest compression in any case")
    case = Text(title="In this case")
    factor = Num("1", title="Critical load over compression")


class RodBucklingSchema(ResultSchema):
    """The rod that is nearest to buckling."""

    factor = Num("1", title="Critical load over compression")
    case = Text(title="Case")
    governing = Part(BarSchema, title="Which rod")
    free_length_mm = Num("mm", title="Between its seats")
    length_factor = Num("1", title="Effective length over free length")
    euler_n = Num("N", title="Straight and elastic")
    imperfect_load_n = Num("N", title="Crooked, where a strength is given")
    critical_load_n = Num("N", title="The smaller of both")
    member = Whole(title="Member of the structure")


class FrameBucklingSchema(ResultSchema):
    """The whole frame."""

    factor = Num("1", title="Lowest load factor")
    case = Text(title="Case")
    critical_factors = Column("1", title="Lowest first")


class BucklingSummarySchema(ResultSchema):
    """Rods, beams as built-up columns and the whole frame; the smallest governs."""

    governs = Choice("rod", "beam", "frame", "none", title="What buckles first")
    factor = Num("1", title="At this load factor")
    rods = Part(RodBucklingSchema)
    beams = ListOf(BeamBucklingSchema, title="Beams, lowest factor first, at most 20")
    beams_count = Whole(title="Beams in all")
    unlaced_count = Whole(title="Beams with a bay without diagonals, for which no load is given")
    frame = Part(FrameBucklingSchema)


class JointStiffnessSchema(ResultSchema):
    """A section with hubs that turn stiffly, beside the same with pinned hubs."""

    model = Choice("semi-rigid", "rigid", title="Model of the hubs")
    rotational_stiffness_n_mm_per_rad = Num("N.mm/rad", title="Of one seat; absent for rigid")
    holds_by = Choice("bracing", "hub-stiffness", "nothing", title="What keeps it from folding")
    sway_mm_per_n = Column("mm/N", title="Of the top rings along x and y, feet held")
    twist_rad_per_nm = Num("rad/(N.m)", title="Of the top rings about the upright, feet held")
    pinned_sway_mm_per_n = Column("mm/N", title="The same with pinned hubs")
    pinned_twist_rad_per_nm = Num("rad/(N.m)", title="The same with pinned hubs")
    critical_factors = Column("1", title="Elastic buckling of the whole section, standing")
    frequencies_hz = Column("Hz", title="Natural frequencies, feet held")
    moment_max_n_mm = Num("N.mm", title="Largest bending moment that a seat gets")
    moment_case = Text(title="In this case")
    moment_member = Part(BarSchema, title="At this member")
    first_slip_factor = Num("1", title="Lowest over the cases, by forces along rods alone")
    first_slip_case = Text(title="In this case")
    displacement_max_mm = Num("mm", title="Largest movement in any case")


class StiffCaseSchema(ResultSchema):
    """One load case of a structure with stiff joints."""

    id = Text(title="Load case")
    member_force_n = Column("N", title="Tension positive, order of members")
    displacement_mm = Column("mm", width=3, title="Order of nodes")
    rotation_rad = Column("rad", width=3, title="Order of nodes")
    end_moment_n_mm = Column("N.mm", width=2, title="Bending at start and end, order of members")
    critical_factors = Column("1", title="Elastic buckling of the whole, lowest first")


class SemiRigidSchema(ResultSchema):
    """A structure with stiff joints, beside the pinned answers."""

    model = Choice("semi-rigid", "rigid", title="Model of the joints")
    rotational_stiffness_n_mm_per_rad = Num("N.mm/rad", title="Absent for rigid")
    holds_by = Choice("bracing", "hub-stiffness", "nothing", title="What keeps it from folding")
    load_cases = ListOf(StiffCaseSchema)
    frequencies_hz = Column("Hz", title="Lowest first, where node_mass_kg is given")
    moment_max_n_mm = Num("N.mm", title="Largest bending moment at a member's end")
