"""What truss-check takes and gives on the wire."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    ByKey,
    Choice,
    Column,
    Document,
    Fault,
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

from ..frame import FrameField
from ..kit import KitSchema, StockSchema
from ..kit.buckling_curves import IMPERFECTION
from .handling import CASE_IDS
from .rows import Forces, Supports
from .schemas_bars import BarSchema
from .schemas_bulk import EnvelopeSchema, VariantsResultSchema, VariantsSchema
from .schemas_columns import BuiltUpColumnSchema, ColumnResultSchema, ColumnSchema
from .schemas_joints import (
    BucklingSummarySchema,
    JointsSchema,
    JointStiffnessSchema,
    SemiRigidSchema,
    TwoPartHubsResultSchema,
    TwoPartHubsSchema,
)
from .schemas_suggest import SuggestResultSchema, SuggestSchema
from .schemas_travel import (
    PartialFactorsResultSchema,
    PartialFactorsSchema,
    TravelResultSchema,
    TravelSchema,
)
from .schemas_vibration import ExcitationSchema, vibration_part

ANALYSES = ("linear", "envelope", "any-orientation", "limit-load", "frame-buckling", "vibration")
MOST_MEMBERS = 120_000
#: What can be checked; exactly one is given.
FORMS = ("structure", "column", "built_up_column", "frame")


#: Fields that ask something of sections of a frame.
OF_FRAMES = ("travel", "partial_factors", "excitation", "suggest", "stock")


class MembersSchema(InputSchema):
    """Bars as columns of equal length."""

    start = Column(
        "1", whole=True, minimum=0, maximum=199_999, fewest=1, most=MOST_MEMBERS, required=True,
        title="Node it starts at",
    )  # fmt: skip
    end = Column(
        "1", whole=True, minimum=0, maximum=199_999, fewest=1, most=MOST_MEMBERS, required=True,
        title="Node it ends at",
    )  # fmt: skip
    axial_stiffness_n = Column(
        "N", minimum=1e-9, maximum=1e15, fewest=1, most=MOST_MEMBERS, required=True,
        title="E A of each member",
    )  # fmt: skip
    tension_n = Column(
        "N", minimum=1e-9, maximum=1e12, most=MOST_MEMBERS, title="What it takes in tension"
    )
    compression_n = Column(
        "N", minimum=1e-9, maximum=1e12, most=MOST_MEMBERS, title="What it takes in compression"
    )
    bending_stiffness_n_mm2 = Column(
        "N.mm2", minimum=1e-9, maximum=1e18, most=MOST_MEMBERS, title="E I of each member",
        about="Where given, compression is bounded by the Euler load over buckling_margin.",
    )  # fmt: skip


class StructureCaseSchema(InputSchema):
    """One load case of a structure."""

    id = Text(longest=120, shortest=1, required=True, title="Id")
    forces = Forces(title="Forces at nodes", load_default=list)


class StructureSchema(InputSchema):
    """A pin-jointed truss given node by node."""

    nodes_mm = Column(
        "mm", width=3, minimum=-1e7, maximum=1e7, fewest=2, required=True, title="Nodes"
    )
    members = Part(MembersSchema, required=True, title="Members")
    supports = Supports(title="Supports", load_default=list)
    load_cases = ListOf(
        StructureCaseSchema, most=200, load_default=list, distinct="id", title="Load cases"
    )
    variants = Part(VariantsSchema, title="Variants of the same structure")


class HandlingSchema(InputSchema):
    """How sections stand and are carried."""

    cases = ListOf(
        Choice(*CASE_IDS), fewest=1, most=len(CASE_IDS), title="Cases; left out: all of them"
    )
    dynamic_factor = Num(
        "1", minimum=1, maximum=20, load_default=1.5, title="Weight is multiplied when carried"
    )
    standing_factor = Num(
        "1", minimum=1, maximum=20, load_default=1.0, title="Weight is multiplied when standing"
    )
    grip_spring_n_per_mm = Num(
        "N/mm", minimum=0.01, maximum=1e6, load_default=50.0,
        title="Spring of one gripped hub or foot along gravity",
    )  # fmt: skip
    cross_spring_n_per_mm = Num(
        "N/mm", minimum=1e-6, maximum=1e6, load_default=0.001,
        title="Spring of one gripped hub or foot across gravity",
    )  # fmt: skip
    required_planned_ratio = Num(
        "1", minimum=0.1, maximum=100, title="Factor wanted, planned cases",
        about="Left out: that of partial_factors, 1.65 where none are named.",
    )  # fmt: skip
    required_accidental_ratio = Num(
        "1", minimum=0.1, maximum=100, title="Factor wanted, mishaps",
        about="Left out: that of partial_factors, 1.25 where none are named.",
    )  # fmt: skip
    every_corner = Flag(
        load_default=False,
        title="Try each grip and each foot in the mishap cases",
        about="Otherwise the last corner's grip lets go and the first corner's foot touches.",
    )


def _place() -> Column:
    return Column(
        "1", whole=True, minimum=0, maximum=400, fewest=3, most=3, title="Grid place [i, j, k]"
    )


class FrameSupportSchema(InputSchema):
    """One held hub of a section, by grid place or by number."""

    at = _place()
    node = Whole(minimum=0, maximum=199_999, title="Node of the frame")
    fixed = ListOf(Choice("x", "y", "z"), most=3, load_default=list, title="Cannot move along")
    spring_n_per_mm = Column(
        "N/mm", minimum=0, maximum=1e12, fewest=3, most=3, title="Springs along x, y, z"
    )


class FrameForceSchema(InputSchema):
    """One loaded hub of a section."""

    at = _place()
    node = Whole(minimum=0, maximum=199_999, title="Node of the frame")
    n = Column(
        "N", minimum=-1e9, maximum=1e9, fewest=3, most=3, required=True, title="Force along x, y, z"
    )


class FrameCaseSchema(InputSchema):
    """A load case of the user's own for one section."""

    id = Key(required=True, title="Id")
    title = Text(longest=120, load_default="")
    section = Key(required=True, title="Section")
    kind = Choice("planned", "accidental", load_default="planned", title="Planned, or a mishap")
    weight_factor = Num(
        "1", minimum=0, maximum=100, load_default=1.0, title="Self weight is multiplied by"
    )
    down = Column(
        "1", minimum=-1, maximum=1, fewest=3, most=3, title="Direction of gravity; left out: -z"
    )
    supports = ListOf(FrameSupportSchema, fewest=1, most=2000, required=True, title="Held hubs")
    forces = ListOf(FrameForceSchema, most=2000, load_default=list, title="Forces beside weight")


class PictureSchema(InputSchema):
    """What the drawings show; left out: the worst."""

    section = Key(title="Section")
    case = Text(longest=120, title="Load case")
    mechanism = Whole(minimum=0, maximum=1000, title="Number of the mechanism")
    mode = Whole(minimum=0, maximum=100, title="Number of the mode of vibration")


def _diagonals(title: str) -> ByKey:
    pair = ListOf(_place(), fewest=2, most=2)
    return ByKey(
        ListOf(pair, most=2000),
        most=60,
        load_default=dict,
        title=title,
        about="By section id: pairs of grid places across one face, [[i, j, k], [i, j, k]].",
    )


class TrussCheckInputs(InputSchema):
    """A `structure`, a `frame` with its `kit`, a `column` or a `built_up_column`."""

    structure = Part(StructureSchema, title="Structure")
    column = Part(ColumnSchema, title="One straight rod or tube pressed along its length")
    built_up_column = Part(BuiltUpColumnSchema, title="A laced column of several chords")
    kit = Document("kit", KitSchema, title="Kit")
    frame = FrameField()
    node_mass_kg = Column("kg", minimum=0, maximum=1e9, title="Mass at each node of the structure")
    gravity_m_s2 = Num("m/s2", minimum=0.01, maximum=1000, load_default=9.80665, title="Gravity")
    analyses = ListOf(
        Choice(*ANALYSES), most=len(ANALYSES), title="What to compute",
        about="Left out: linear, any-orientation and limit-load, where the inputs allow.",
    )  # fmt: skip
    buckling_margin_ratio = Num(
        "1", minimum=1, maximum=10, load_default=1.5, title="Divides the Euler load of a rod"
    )
    joints = Part(JointsSchema, title="Whether hubs resist turning")
    two_part_hubs = Part(TwoPartHubsSchema, title="How hubs in two halves are put in")
    seat_after_slip_ratio = Num(
        "1", minimum=0, maximum=1, title="Share of its force that a seat keeps after it slips",
        about="Below 0.8 it is a detent, and no collapse factor is given. Left out: all of it.",
    )  # fmt: skip
    rod_compression_strength_n_per_mm2 = Num(
        "N/mm2", minimum=1e-3, maximum=1e6,
        title="Strength of rods; then crookedness is reckoned with",
    )  # fmt: skip
    rod_buckling_curve = Choice(
        *IMPERFECTION, load_default="c", title="Buckling curve of crooked rods, EN 1993-1-1"
    )
    mode_count = Whole(minimum=1, maximum=20, load_default=4, title="Buckling and vibration modes")
    handling = Part(HandlingSchema, title="How sections stand and are carried")
    travel = Part(TravelSchema, title="On the way, and among people")
    partial_factors = Part(PartialFactorsSchema, title="Partial factors, by named set")
    excitation = Part(ExcitationSchema, title="What shakes the standing machine")
    suggest = Part(SuggestSchema, title="Look for diagonals to add, turn or leave out")
    stock = Document("stock", StockSchema, title="Shelf that suggestions may take rods from")
    sections = Names(fewest=1, most=60, title="Only these sections")
    added_diagonals = _diagonals("Diagonals beside those of the frame")
    left_out_diagonals = _diagonals("Diagonals of the frame that are left out")
    load_cases = ListOf(
        FrameCaseSchema, most=100, load_default=list, distinct="id", title="Own load cases"
    )
    detail = Choice("summary", "full", load_default="summary", title="How much to answer")
    seek_remedies = Flag(load_default=True, title="Look for what would mend it")
    picture = Part(PictureSchema, title="What the drawings show")

    @validates_schema
    def _one_of_two(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        given = [name for name in FORMS if name in data]
        if len(given) > 1:
            detail = f"Give a {given[0]} or a {given[-1]}, not both."
            faults[given[-1]] = [Fault("not-unique", detail)]
        elif not given:
            faults["frame"] = [Fault("missing", "Give a frame with its kit, or a structure.")]
        elif "frame" in data and "kit" not in data:
            faults["kit"] = [Fault("missing", "A frame needs the kit it is made from.")]
        elif "frame" not in data:
            detail = f"Only a frame has this, not a {given[0]}."
            faults = {name: [Fault("not-unique", detail)] for name in OF_FRAMES if name in data}
        if faults:
            raise ValidationError(faults)


class CaseStateSchema(ResultSchema):
    """Answer to one load case of a structure."""

    id = Text(title="Load case")
    member_force_n = Column("N", title="Tension positive, order of members")
    displacement_mm = Column("mm", width=3, title="Order of nodes")
    reaction_n = Column("N", width=3, title="What supports push on nodes, order of supports")
    residual_ratio = Num("1", title="Force left over at a node, share of the largest load")
    utilisation_max = Num("1", title="Largest share of capacity used")
    governing_member = Whole(title="Member that uses it")


class MissingSchema(ResultSchema):
    """One place that a mechanism points to."""

    number = Whole(title="Number of the mechanism")
    words = Text(title="Where, in words")
    normal = Choice("x", "y", "z", title="Axis across the face")
    kind = Choice("side", "cross", title="Outer face, or between two bays")
    missing_diagonal = ListOf(_place(), title="Diagonal that would hold it, as grid places")
    nodes = Column("1", whole=True, title="Nodes that a member would hold, order of nodes")
    rod = Text(title="Rod of the kit that spans it")
    moving_nodes = Column("1", whole=True, title="Nodes that move by more than a tenth")
    movement = Column("1", width=3, title="How nodes move, largest 1")


class StabilitySchema(ResultSchema):
    """Mechanisms and states of self-stress, by the rank of the geometry."""

    mechanisms = Whole(title="Independent mechanisms")
    self_stress_states = Whole(title="Independent states of self-stress")
    degrees_of_freedom = Whole(title="Free directions of all nodes")
    members = Whole(title="Members")
    springs = Whole(title="Spring supports, counted with the members")
    rigid_motions = Whole(title="Ways to move as one rigid body, among the mechanisms")
    moving_nodes = Column("1", whole=True, title="Nodes that some mechanism moves")
    node_mobility = Column("1", title="Share of each node in the mechanisms; sums to their number")
    member_redundancy = Column("1", title="Share of each member in the self-stress states")
    self_stressed_members = Column("1", whole=True, title="Members that can be stressed by others")
    places = ListOf(MissingSchema, title="Where mechanisms are")


class OrientationSchema(ResultSchema):
    """Self weight in the worst of all directions."""

    worst_member_force_n = Column("N", title="Largest force of each member")
    direction = Column("1", width=3, title="Direction of gravity that pulls it hardest")
    first_slip_factor = Num("1", title="Over all members and directions")
    governing_member = Whole(title="Member that sets it")
    governing_direction = Column("1", title="Direction of gravity that sets it")
    load_factor = Num("1", title="Weight is multiplied by")


class LimitSchema(ResultSchema):
    """First slip and collapse of one load case; absent where nothing limits it."""

    load_case = Text()
    first_slip_factor = Num("1", title="Load multiplier at first slip")
    collapse_factor = Num("1", title="Load multiplier at collapse, lower bound")
    upper_bound_factor = Num("1", title="The same from the motion found, upper bound")
    governing_member = Whole(title="Member that slips first")
    mode = Choice("tension", "compression", title="How it gives")
    collapse_members = Column("1", whole=True, title="Members that give at collapse")
    collapse_left_out = Text(title="Why there is no collapse factor")


class BucklingSchema(ResultSchema):
    load_case = Text()
    critical_factors = Column("1", title="Load multipliers, lowest first")


class VibrationSchema(ResultSchema):
    frequencies_hz = Column("Hz", title="Lowest first")


class ReactionSchema(ResultSchema):
    node = Whole(title="Node of the frame")
    at = _place()
    n = Column("N", title="Force on the hub along x, y, z")


class CaseSchema(ResultSchema):
    """One case of one section."""

    id = Text()
    title = Text()
    kind = Choice("planned", "accidental")
    first_slip_factor = Num("1", title="Load multiplier at first slip")
    required_factor = Num("1", title="Factor wanted")
    collapse_factor = Num("1", title="Load multiplier at collapse, lower bound")
    upper_bound_factor = Num("1", title="The same, upper bound")
    governing = Part(BarSchema, title="Bar that slips first")
    collapse_members = ListOf(BarSchema, title="Bars that give at collapse, at most 30")
    collapse_members_count = Whole(title="How many give at collapse")
    collapse_left_out = Text(title="Why there is no collapse factor")
    utilisation_max = Num("1", title="Largest share of capacity used")
    displacement_max_mm = Num("mm", title="Largest movement of a hub against the held ones")
    member_force_n = Column("N", title="Order of the section's members (detail full)")
    displacement_mm = Column("mm", width=3, title="Order of the section's nodes (detail full)")
    reactions = ListOf(ReactionSchema, title="What holds it (detail full)")


class SectionOrientationSchema(ResultSchema):
    first_slip_factor = Num("1", title="Over all members and directions, carried")
    direction = Column("1", title="Direction of gravity that sets it")
    governing = Part(BarSchema)


class SectionResultSchema(ResultSchema):
    """One section as a rigid body of its own."""

    section = Text()
    title = Text()
    same_as = Text(title="Section it is identical with")
    mass_kg = Num("kg", title="Mass with fittings")
    stability = Part(StabilitySchema)
    first_slip_factor = Num("1", title="Lowest factor over the planned cases")
    utilisation_max = Num("1", title="Largest share of capacity used, but in drops and leaning")
    cases = ListOf(CaseSchema)
    left_out = ListOf(Text(), title="Cases that do not apply, and why")
    any_orientation = Part(SectionOrientationSchema)
    worst_members = ListOf(BarSchema, title="The ten most used members")
    members = Column("1", whole=True, title="Numbers in the frame, -1 for an added diagonal (full)")
    utilisation_ratio = Column("1", title="Most used share of each member over all cases (full)")
    added_diagonals = ListOf(ListOf(_place()), title="Diagonals added by this request")
    left_out_diagonals = ListOf(ListOf(_place()), title="Diagonals left out by this request")
    travel = Part(TravelResultSchema, title="Dropped, over a threshold, leaned on")
    suggest = Part(SuggestResultSchema, title="Diagonals to add, turn or leave out")
    vibration = vibration_part()
    two_part_hubs = Part(TwoPartHubsResultSchema, title="Hubs in two halves")
    joint_stiffness = Part(JointStiffnessSchema, title="With hubs that turn stiffly")
    buckling = Part(BucklingSummarySchema, title="What buckles first")
    critical_factors = Column("1", title="Elastic buckling of the whole section, standing")
    frequencies_hz = Column("Hz", title="Natural frequencies, feet held")


class PictureResultSchema(ResultSchema):
    """What the drawings show."""

    section = Text()
    case = Text()
    utilisation_ratio = Column("1", title="Of each member in this case")
    force_n = Column("N", title="Of each member in this case")
    displacement_mm = Column("mm", width=3)
    down = Column("1", title="Direction of gravity in this case")
    held_nodes = Column("1", whole=True, title="Held hubs, order of the section's nodes")
    labels = ListOf(BarSchema, title="Bars with a label")
    orientation_ratio = Column("1", title="Of each member in its worst orientation")
    orientation_direction = Column("1", title="Direction of gravity shown")
    mechanism = Whole(title="Number of the mechanism shown")
    movement = Column("1", width=3, title="How nodes move in it, largest 1")
    collapse_motion = Column("1", width=3, title="How nodes move at collapse, largest 1")
    collapse_members = Column("1", whole=True, title="Members that give then")
    collapse_factor = Num("1", title="Load multiplier at collapse")
    first_slip_factor = Num("1", title="Load multiplier at first slip in this case")
    collapse_left_out = Text(title="Why there is no collapse to show")
    buckling_case = Text(title="Case of the buckling mode")
    buckling_factor = Num("1", title="Its load factor")
    buckling_motion = Column("1", width=3, title="How nodes move in it, largest 1")
    mode = Whole(title="Number of the mode of vibration shown")
    mode_hz = Num("Hz", title="Its natural frequency")
    mode_shape = Column("1", width=3, title="How nodes move in it, largest 1")


class TrussCheckResult(ResultSchema):
    """Structures fill load_cases, limit_load and the like; frames fill sections."""

    column = Part(ColumnResultSchema, title="Of a column or a built-up column")

    load_cases = ListOf(CaseStateSchema)
    envelope = Part(EnvelopeSchema)
    variants = Part(VariantsResultSchema)
    stability = Part(StabilitySchema)
    any_orientation = Part(OrientationSchema)
    limit_load = ListOf(LimitSchema)
    frame_buckling = ListOf(BucklingSchema)
    buckling = Part(BucklingSummarySchema, title="What of a structure buckles first")
    semi_rigid = Part(SemiRigidSchema, title="A structure with joints that turn stiffly")
    vibration = Part(VibrationSchema)
    sections = ListOf(SectionResultSchema)
    first_slip_factor = Num("1", title="Lowest factor over all planned cases")
    utilisation_max = Num("1", title="Largest share of capacity used, but in drops and leaning")
    partial_factors = Part(PartialFactorsResultSchema, title="Partial factors that were used")
    machine_vibration = vibration_part()
    picture = Part(PictureResultSchema)
