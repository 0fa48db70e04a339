"""What grid-fit takes and gives."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Anything,
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

from ..frame import FrameField, LayoutSchema
from ..frame.schemas import CrossFacesSchema, SideFacesSchema
from ..kit import KitSchema, StockSchema

MOST_RODS = 400
SIDES = ("x-minus", "x-plus", "y-minus", "y-plus", "z-minus", "z-plus")


def _size(title: str, **options: Any) -> Num:
    return Num("mm", minimum=0, maximum=100_000, title=title, **options)


class SizeSchema(InputSchema):
    """Sizes along the three axes."""

    x = _size("Along x", required=True)
    y = _size("Along y", required=True)
    z = _size("Along z (up)", required=True)


class SectionsEachWaySchema(InputSchema):
    """How many sections stand side by side along each axis."""

    x = Whole(minimum=1, maximum=20, load_default=1, title="Along x")
    y = Whole(minimum=1, maximum=20, load_default=1, title="Along y")
    z = Whole(minimum=1, maximum=20, load_default=1, title="Along z (up)")


class EnvelopeSchema(InputSchema):
    """The space the machine should fill, and how it comes apart."""

    size_mm = Part(SizeSchema, required=True, title="Wanted size")
    measured = Choice(
        "outside",
        "centreline",
        load_default="outside",
        title="Measured over the hub ends, or between the outer node centres",
    )
    sections = Part(SectionsEachWaySchema, title="Sections each way")
    joint_rod = Key(title="Rod that couples two sections", example="R60")
    tolerance_mm = Num(
        "mm", minimum=0, maximum=5000, load_default=0.0, title="How far the size may be off"
    )
    rods = Names(fewest=1, most=60, title="Rods to use for bays; absent: all of the kit")
    side_faces = Part(SideFacesSchema, title="Brace patterns of the sections")
    cross_faces = Part(CrossFacesSchema, title="Diaphragms of the sections")

    @validates_schema
    def _joint_rod_where_it_comes_apart(self, data: dict[str, Any], **kwargs: Any) -> None:
        many = data.get("sections", {})
        if any(many.get(axis, 1) > 1 for axis in "xyz") and "joint_rod" not in data:
            fault = Fault("missing", "Several sections need the rod that couples them.")
            raise ValidationError({"joint_rod": [fault]})


class RodCountSchema(InputSchema):
    rod = Key(required=True, title="Rod", example="R120")
    count = Whole(required=True, minimum=0, maximum=10_000_000, title="Pieces at hand")


class SpanSchema(InputSchema):
    """A length to be spanned by rods end to end."""

    id = Key(required=True, title="Id", example="bridge")
    title = Text(longest=120, load_default="")
    wanted_mm = Num("mm", required=True, above=0, maximum=100_000, title="Length between nodes")
    aim = Choice(
        "close",
        "stay-within",
        load_default="close",
        title="Close on the length, or come as near as possible without passing it",
    )
    most_rods = Whole(minimum=1, maximum=MOST_RODS, title="Rods in the row, at most")
    counts = ListOf(
        RodCountSchema,
        fewest=1,
        most=60,
        distinct="rod",
        title="Rods to use, and pieces at hand; absent: all of the kit, bounded by the stock",
    )


class StepSchema(InputSchema):
    """Equal rods in a row, in one of the 18 directions of axis and 45 degree ports."""

    rod = Key(required=True, title="Rod", example="R120")
    direction = Column(
        "1", whole=True, minimum=-1, maximum=1, fewest=3, most=3, required=True,
        title="Direction along x, y, z",
        about="[1, 0, 0] along an axis, [1, 0, -1] at 45 degrees in a plane of two axes.",
    )  # fmt: skip
    count = Whole(minimum=1, maximum=MOST_RODS, load_default=1, title="How many in a row")

    @validates_schema
    def _one_of_eighteen(self, data: dict[str, Any], **kwargs: Any) -> None:
        if "direction" in data and int((data["direction"] ** 2).sum()) not in (1, 2):
            fault = Fault("out-of-range", "One or two of the three numbers must not be 0.")
            raise ValidationError({"direction": [fault]})


class LoopSchema(InputSchema):
    """A walk of rods that should end where it starts."""

    id = Key(required=True, title="Id", example="ring")
    title = Text(longest=120, load_default="")
    steps = ListOf(StepSchema, required=True, fewest=2, most=200, title="Steps, in order")


class BayPairSchema(InputSchema):
    rods = Names(required=True, fewest=2, most=2, title="The two rods of its sides")


class BoxSchema(InputSchema):
    """Anything else that goes the same way: a trolley, a flight case, a bought part."""

    id = Key(required=True, title="Id", example="trolley")
    title = Text(longest=120, load_default="")
    outside_mm = Part(SizeSchema, required=True, title="Outside size as it stands")
    led_along = Choice("x", "y", "z", title="The axis that must lead; absent: any")


class PassageSchema(InputSchema):
    """An opening or corner on the route."""

    id = Key(required=True, title="Id", example="side-door")
    title = Text(longest=120, load_default="")
    kind = Choice(
        "door", "lift", "corridor-corner", "stairs", "van", "other",
        load_default="door", title="Kind",
    )  # fmt: skip
    width_mm = Num("mm", above=0, maximum=50_000, title="Clear width")
    height_mm = Num("mm", above=0, maximum=50_000, title="Clear height")
    leaf_off_width_mm = Num("mm", above=0, maximum=50_000, title="Clear width with the leaf off")
    leaf_off = Flag(load_default=False, title="The door leaf is off")
    threshold_mm = Num(
        "mm", minimum=0, maximum=2000, load_default=0.0, title="Height of the threshold"
    )
    depth_mm = Num("mm", above=0, maximum=100_000, title="Clear depth behind it (lift car, van)")
    corner_mm = Column(
        "mm", minimum=1, maximum=50_000, fewest=2, most=2, title="Widths of two corridors"
    )

    @validates_schema
    def _opening_or_corner(self, data: dict[str, Any], **kwargs: Any) -> None:
        given = {"width_mm", "height_mm"} & set(data)
        if len(given) == 2 or (not given and "corner_mm" in data):
            if data.get("leaf_off") and "leaf_off_width_mm" not in data:
                fault = Fault("missing", "Say how wide it is with the leaf off.")
                raise ValidationError({"leaf_off_width_mm": [fault]})
            return
        fault = Fault("missing", "An opening needs its width and height; a corner its corridors.")
        raise ValidationError(
            {name: [fault] for name in ("width_mm", "height_mm") if name not in data}
        )


class ClearancesSchema(InputSchema):
    """Room kept free when a section is carried."""

    each_side_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=8.0, title="For hands, each side"
    )
    above_mm = Num("mm", minimum=0, maximum=1000, load_default=15.0, title="Above")
    lifted_mm = Num("mm", minimum=0, maximum=2000, load_default=30.0, title="Lifted off the floor")
    carrier_each_end_mm = Num(
        "mm", minimum=0, maximum=2000, load_default=350.0, title="A carrier at each end"
    )
    little_spare_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=15.0, title="Less than this is called little"
    )


class ProtrusionSchema(InputSchema):
    """What sticks out of sections beyond their hub ends: feet, a sprocket, a handle."""

    sections = Names(fewest=1, most=60, title="Sections; absent: all of them")
    side = Choice(*SIDES, required=True, title="Side it sticks out of")
    mm = Num("mm", required=True, above=0, maximum=5000, title="How far, beyond the hub ends")
    title = Text(longest=120, load_default="protruding part")
    removable = Flag(load_default=True, title="Comes off for carrying")
    taken_off = Flag(load_default=False, title="Is off when carried")


class GridFitInputs(InputSchema):
    """At least one of envelope, layout, spans, loops, bays, boxes."""

    kit = Document("kit", KitSchema, required=True, title="Kit")
    stock = Document("stock", StockSchema, title="Stock")
    envelope = Part(EnvelopeSchema, title="Wanted envelope")
    layout = Part(LayoutSchema, title="Layout of sections, where it is already drawn up")
    spans = ListOf(SpanSchema, load_default=list, most=50, distinct="id", title="Spans")
    loops = ListOf(LoopSchema, load_default=list, most=50, distinct="id", title="Closed loops")
    bays = ListOf(BayPairSchema, load_default=list, most=200, title="Bays to be braced")
    boxes = ListOf(
        BoxSchema, load_default=list, most=100, distinct="id", title="Other things on the route"
    )
    passages = ListOf(
        PassageSchema, load_default=list, most=60, distinct="id", title="Passages on the route"
    )
    clearances = Part(ClearancesSchema, title="Clearances")
    protrusions = ListOf(
        ProtrusionSchema, load_default=list, most=200, title="What sticks out of sections"
    )
    flush_axes = ListOf(
        Choice("x", "y", "z"), load_default=list, most=3, title="Axes with flush outer hubs"
    )
    most_results = Whole(minimum=1, maximum=50, load_default=5, title="Best rows to write out")
    most_rods = Whole(minimum=1, maximum=MOST_RODS, load_default=60, title="Rods in a row, at most")

    @validates_schema
    def _something_to_do(self, data: dict[str, Any], **kwargs: Any) -> None:
        asked = ("envelope", "layout", "spans", "loops", "bays", "boxes")
        if not any(data.get(name) for name in asked):
            detail = f"Give at least one of: {', '.join(asked)}."
            raise ValidationError([Fault("missing", detail)])


class RodNumberOut(ResultSchema):
    rod = Text(title="Rod")
    count = Whole(title="Pieces; below 0 where there are fewer")


class RodPitchOut(ResultSchema):
    rod = Text(title="Rod")
    count = Whole(title="Pieces")
    pitch_mm = Num("mm", title="Pitch")


class RowOut(ResultSchema):
    """Rods end to end."""

    rods = ListOf(RodPitchOut, title="Rods, longest first")
    length_mm = Num("mm", title="Length between the outer nodes")
    misfit_mm = Num("mm", title="Length less the length wanted")
    play_mm = Num("mm", title="Play of the whole row each way")
    play_used_ratio = Num("1", title="Share of the play the misfit takes up")
    rod_count = Whole(title="Rods")
    kind_count = Whole(title="Kinds of rod")
    closes = Flag(title="Closes within its play, or within the tolerance asked for")


class SpanOut(ResultSchema):
    id = Text(title="Id")
    wanted_mm = Num("mm", title="Length wanted")
    aim = Text(title="Aim")
    ways_count = Whole(title="Ways there are in all")
    closes = Flag(title="At least one row closes")
    rows = ListOf(RowOut, title="The best rows")
    nearest = Part(RowOut, title="The nearest miss, where none closes")


class AxisOut(ResultSchema):
    axis = Text(title="Axis")
    wanted_mm = Num("mm", title="Rods and joints wanted, between the outer nodes")
    joints_mm = Num("mm", title="Of which joints between sections")
    ways_count = Whole(title="Ways there are in all")
    closes = Flag(title="At least one row closes")
    rows = ListOf(RowOut, title="The best rows over all sections, joints left out")
    nearest = Part(RowOut, title="The nearest miss, where none closes")


class RunOut(ResultSchema):
    rod = Text(title="Rod")
    count = Whole(title="How many in a row")


class SolutionAxisOut(ResultSchema):
    axis = Text(title="Axis")
    row = Part(RowOut, title="All sections together")
    sections = ListOf(
        ListOf(Part(RunOut)), title="The runs of each section along this axis, in order"
    )
    identical = Flag(title="All sections along this axis are alike")


class SolutionOut(ResultSchema):
    axes = ListOf(SolutionAxisOut, title="x, y, z")
    outside_mm = Part(SizeSchema, title="Size over the hub ends")
    passes_route = Flag(title="Its sections get through every passage")
    unbraceable_pairs_count = Whole(title="Pairs of rods whose bay cannot be braced")
    in_line_pairs_count = Whole(title="Pairs braced only by two rods in line on a mid-hub")
    kind_count = Whole(title="Kinds of rod")
    bays_count = Whole(title="Rods in the three rows")
    identical = Flag(title="All sections are alike")


class BayOut(ResultSchema):
    rods = Names(title="Rods of its two sides")
    needed_mm = Num("mm", title="Diagonal needed")
    closes = Flag(title="Can be braced")
    rod = Text(title="Rod of the diagonal, where it closes")
    in_line_count = Whole(title="1: one rod; 2: two in line on a mid-hub")
    misfit_mm = Num("mm", title="Misfit of that diagonal")
    play_used_ratio = Num("1", title="Share of its play the misfit takes up")
    nearest_rod = Text(title="Nearest single rod")
    nearest_misfit_mm = Num("mm", title="Misfit of the nearest single rod")
    sway_mm = Num("mm", title="Free sway each way with one diagonal")
    faces_count = Whole(title="Faces of this kind in the layout")
    bare_faces_count = Whole(title="Of which carry no diagonal because none closes")
    sections = Names(title="Sections that hold such faces")


class AxesMmOut(ResultSchema):
    x = Num("mm", title="Along x")
    y = Num("mm", title="Along y")
    z = Num("mm", title="Along z (up)")


class AxesCountOut(ResultSchema):
    x = Whole(title="Along x")
    y = Whole(title="Along y")
    z = Whole(title="Along z (up)")


class PlanesOut(ResultSchema):
    x = Column("mm", title="Along x")
    y = Column("mm", title="Along y")
    z = Column("mm", title="Along z (up)")


class SideOut(ResultSchema):
    side = Text(title="Side")
    mm = Num("mm", title="How far, beyond the hub ends")


class SectionOut(ResultSchema):
    id = Text(title="Id")
    title = Text(title="Title")
    bays = Part(AxesCountOut, title="Bays")
    centreline_mm = Part(AxesMmOut, title="Between the outer node centres")
    over_hubs_mm = Part(AxesMmOut, title="Over the hub ends")
    outside_mm = Part(AxesMmOut, title="Over all, with what sticks out")
    node_planes_mm = Part(PlanesOut, title="Node planes from the corner node")
    protrusions = ListOf(SideOut, title="What sticks out when it is carried")
    floor_length_mm = Num("mm", title="Floor between the outer nodes, along x")
    floor_width_mm = Num("mm", title="Floor between the outer nodes, along y")
    tipping_up_mm = Num("mm", title="Ceiling needed to tip it up from its back")
    twin_of = Text(title="The first section it is identical to")
    hubs_count = Whole(title="Hubs")
    rods = ListOf(RodNumberOut, title="Rods")
    bare_side_faces_count = Whole(title="Side faces without a diagonal")
    unbraceable_faces_count = Whole(title="Faces that no rod of the kit braces")


class JointOut(ResultSchema):
    between = Names(title="The two sections")
    axis = Text(title="Axis across the gap")
    rods_count = Whole(title="Rods that couple them")
    possible_count = Whole(title="Rods a full match of the smaller face would take")
    matches = Flag(title="Every corner hub of the smaller face has a partner")


class PartsOut(ResultSchema):
    hubs_count = Whole(title="Hubs")
    rods = ListOf(RodNumberOut, title="Rods, joints included")


class ShortageOut(ResultSchema):
    item = Text(title="Part")
    needed_count = Whole(title="Needed")
    available_count = Whole(title="On the shelf")
    short_count = Whole(title="Short")


class PositionOut(ResultSchema):
    attitude = Text(title="upright, on-back, on-end or tilted")
    travel_axis = Text(title="The section's axis that leads")
    angle_deg = Num("deg", title="Lean of its longer side from the opening's longer side")
    width_mm = Num("mm", title="Its width in the opening")
    height_mm = Num("mm", title="Its height in the opening")
    spare_mm = Num("mm", title="Least room left; below 0 it sticks")
    tight_side = Text(title="What decides: width, height or depth")


class CornerOut(ResultSchema):
    section = Text(title="Section or box")
    passage = Text(title="Passage")
    attitude = Text(title="upright, on-back or on-end")
    carried = Text(title="by-hand (a carrier at each end) or on-skid")
    length_mm = Num("mm", title="Length in plan, carriers included")
    width_mm = Num("mm", title="Width in plan")
    spare_mm = Num("mm", title="Room left; below 0 it sticks")
    way = Text(title="turning in one sweep, or sliding without turning")
    turning_spare_mm = Num("mm", title="Room left turning")
    sliding_spare_mm = Num("mm", title="Room left sliding")
    angle_deg = Num("deg", title="Angle where turning is tightest")
    carriers_mm = Num("mm", title="Of its length, what carriers take, both ends together")
    longest_mm = Num("mm", title="Longest box of this width that turns here")
    passes = Flag(title="Goes round")


class PassageOut(ResultSchema):
    section = Text(title="Section or box")
    passage = Text(title="Passage")
    passes = Flag(title="Gets through")
    outside_mm = Part(AxesMmOut, title="Its outside size")
    upright = Flag(title="Gets through upright")
    attitude = Text(title="Position to use, or that misses by least")
    travel_axis = Text(title="The section's axis that leads")
    angle_deg = Num("deg", title="Lean of its longer side from the opening's longer side")
    tight_side = Text(title="What decides: width, height, depth or corner")
    tight_axis = Text(title="The section's own axis that decides, where it stands straight")
    needed_mm = Num("mm", title="Room it needs there")
    allowed_mm = Num("mm", title="Room it has there, hands and lifting taken off")
    spare_mm = Num("mm", title="Room left; below 0 it sticks")
    turning_helps = Flag(title="False where its smallest size exceeds the opening's smaller side")
    tipping_up_mm = Num("mm", title="Ceiling needed to stand it up again, had it been laid down")
    upright_position = Part(PositionOut, title="Best position standing upright")
    turned_position = Part(PositionOut, title="Best position laid on a face")
    tilted_position = Part(PositionOut, title="Best position leaning, where leaning can help")
    corner = Part(CornerOut, title="Best way round the corner, where there is one")


class OpeningOut(ResultSchema):
    id = Text(title="Id")
    title = Text(title="Title")
    clear_width_mm = Num("mm", title="Clear width")
    clear_height_mm = Num("mm", title="Clear height")
    allowed_width_mm = Num("mm", title="Width less room for hands")
    allowed_height_mm = Num("mm", title="Height less room above and lifting")
    lifted_mm = Num("mm", title="Lifted off the floor, or over the threshold")
    allowed_depth_mm = Num("mm", title="Depth less room for hands")
    corner_mm = Column("mm", title="Widths of two corridors")
    longest_rod_mm = Num("mm", title="Longest thin rod that turns the corner level")
    all_pass = Flag(title="Everything gets through")


class FacesOut(ResultSchema):
    section = Text(title="Section")
    faces_count = Whole(title="Faces left without a diagonal")
    mechanisms_count = Whole(title="Mechanisms that follow")


class CaseOut(ResultSchema):
    section = Text(title="Section")
    passage = Text(title="Passage")


class ChangeOut(ResultSchema):
    kind = Text(title="bay-out, rod-exchanged, flush-hubs, part-off or leaf-off")
    message = Text(title="What to do")
    axis = Text(title="Axis it changes")
    sections = Names(title="Sections it changes")
    passages = Names(title="Passages it was looked for")
    passes = Flag(title="Everything that stuck there gets through, shown by a re-run")
    proven = Flag(title="The re-run could be calculated")
    clears = ListOf(CaseOut, title="What stuck and now gets through")
    sticking_count = Whole(title="Cases that stick still")
    outside_mm = Num("mm", title="Size that decides, after the change")
    spare_mm = Num("mm", title="Room then left")
    over_mm = Num("mm", title="What is still too much")
    hubs_saved_count = Whole(title="Hubs saved")
    rods_saved = ListOf(RodNumberOut, title="Rods saved, by kind; below 0: more are needed")
    parts_changed_count = Whole(title="Hubs and rods taken away or added")
    twins_kept = Flag(title="Identical sections stay identical")
    twins_broken_count = Whole(title="Sections that lose their twin")
    coupling_faces_match = Flag(title="Coupled faces still match")
    coupling_faces_mismatched_count = Whole(title="Joints that no longer match")
    left_without_diagonal = ListOf(FacesOut, title="Faces left without a diagonal")
    leaves_bays_unbraced = Flag(title="Leaves faces without a diagonal: only if you insist")
    asks_the_venue = Flag(title="Changes the venue, not the machine")
    stale = ListOf(Text(), title="What else must be worked out again")
    notes = ListOf(Text(), title="What the change does beside its purpose")
    patch = Anything(objects=True, title="Merge patch on the inputs")


class LoopOut(ResultSchema):
    id = Text(title="Id")
    closes = Flag(title="The seats take up the gap")
    misclosure_mm = Column("mm", title="Gap along x, y, z")
    gap_mm = Num("mm", title="Gap")
    play_used_ratio = Num("1", title="Least share of each seat's play that closes it")
    give_mm = Column("mm", title="What each step gives then")


class GridFitResult(ResultSchema):
    spans = ListOf(SpanOut, title="Spans")
    axes = ListOf(AxisOut, title="Rows of each axis of the envelope")
    solutions = ListOf(SolutionOut, title="Rows of the three axes together, best first")
    bays = ListOf(BayOut, title="Bays: can they be braced")
    sections = ListOf(SectionOut, title="Sections")
    joints = ListOf(JointOut, title="Joints")
    parts = Part(PartsOut, title="Parts of the frame")
    shortages = ListOf(ShortageOut, title="Parts of which the stock holds too few")
    overall_centreline_mm = Part(AxesMmOut, title="Whole machine between the outer nodes")
    overall_outside_mm = Part(AxesMmOut, title="Whole machine over all")
    openings = ListOf(OpeningOut, title="Passages and what they leave")
    passages = ListOf(PassageOut, title="Each section in each passage")
    corners = ListOf(CornerOut, title="Each section round each corner, each way")
    changes = ListOf(ChangeOut, title="Changes that help, best first")
    changes_left_out_count = Whole(title="Changes thought of but not run, the machine being large")
    loops = ListOf(LoopOut, title="Loops")
    frame = FrameField(title="The frame, as the other calculators take it")
