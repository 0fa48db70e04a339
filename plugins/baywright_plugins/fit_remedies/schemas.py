"""What fit-remedies takes and gives."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Anything,
    Choice,
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
from ..grid_fit.schemas import AxesCountOut, AxesMmOut
from ..kit import KitSchema, StockSchema
from ..route_fit.route_schemas import (
    RouteClearancesSchema,
    RoutePassageSchema,
    RouteProtrusionSchema,
)
from .rows import KINDS


def _weight(title: str, usual: float) -> Num:
    return Num("1", minimum=0, maximum=1000, load_default=usual, title=title)


class WeightsSchema(InputSchema):
    """What counts as how much when ways are compared; a part taken out or put in counts 1."""

    hub_out = _weight("Each hub taken out", 1.0)
    hub_in = _weight("Each hub put in", 1.0)
    rod_out = _weight("Each rod taken out", 1.0)
    rod_in = _weight("Each rod put in", 1.0)
    identity_broken = _weight("Each section that is no longer like its twin", 50.0)
    uncoupled_face = _weight("Each joint whose faces are no longer flush, where allowed", 100.0)
    bare_face = _weight("Each face left without a diagonal, where allowed", 20.0)
    millimetre_lost = _weight("Each millimetre that a section loses along an axis", 0.0)


class FitRemediesInputs(InputSchema):
    """A machine, its route, and what may be done to it."""

    kit = Document("kit", KitSchema, required=True, title="Kit")
    stock = Document("stock", StockSchema, title="Stock; absent: as many parts as it takes")
    frame = FrameField(required=True, title="Frame, as a layout of sections")
    passages = ListOf(
        RoutePassageSchema, required=True, fewest=1, most=30, distinct="id",
        title="Passages on the route, in order",
    )  # fmt: skip
    clearances = Part(RouteClearancesSchema, title="Clearances")
    protrusions = ListOf(
        RouteProtrusionSchema, load_default=list, most=200, title="What sticks out of sections"
    )
    flush_axes = ListOf(
        Choice("x", "y", "z"), load_default=list, most=3, title="Axes with flush outer hubs"
    )
    allow = ListOf(
        Choice(*KINDS),
        load_default=lambda: list(KINDS),
        fewest=1,
        most=len(KINDS),
        title="What may be done to the frame",
        about="bay-out: bays taken out; bay-in: bays put in, to keep a length; rod-exchanged: "
        "the rods of a bay exchanged; joint-moved: bays handed to the neighbour; split: a "
        "section cut in two.",
    )
    fixed_sections = Names(load_default=tuple, most=60, title="Sections that must stay as they are")
    most_bays = Whole(
        minimum=1, maximum=6, load_default=3,
        title="Bays of one row taken out, put in, exchanged or handed over, at most",
    )  # fmt: skip
    fewest_bays = Whole(
        minimum=1, maximum=20, load_default=1,
        title="Bays that a row which is shortened, and each piece of a cut, keeps at least",
    )  # fmt: skip
    rods = Names(fewest=1, most=60, title="Rods that may be put in; absent: all of the kit")
    split_rod = Key(
        title="Rod that couples two pieces; absent: that of the first joint, else the shortest",
        example="R60",
    )
    allow_unbraced = Flag(
        load_default=False, title="Faces may be left without a diagonal (seldom wise)"
    )
    allow_in_line = Flag(load_default=False, title="Diagonals may be two rods in line on a mid-hub")
    allow_uncoupled = Flag(load_default=False, title="Coupled faces may cease to be flush")
    keep_identity = Flag(load_default=False, title="Identical sections must stay identical")
    keep_length = ListOf(
        Choice("x", "y", "z"), load_default=list, most=3,
        title="Axes along which sections one behind the other keep their length together",
    )  # fmt: skip
    keep_length_tolerance_mm = Num(
        "mm", minimum=0, maximum=5000, load_default=0.0, title="How far that length may be off"
    )
    weights = Part(WeightsSchema, title="Weights")
    most_ways = Whole(minimum=1, maximum=10, load_default=5, title="Ways to write out, at most")

    @validates_schema
    def _each_once(self, data: dict[str, Any], **kwargs: Any) -> None:
        for name in ("allow", "keep_length", "flush_axes"):
            words = data.get(name, ())
            if len(set(words)) < len(words):
                raise ValidationError({name: [Fault("not-unique", "Each may stand once.")]})


class RodCountOut(ResultSchema):
    rod = Text(title="Rod")
    count = Whole(title="Pieces; below 0 where more are needed")


class SectionOut(ResultSchema):
    """A section, and the passage that governs for it."""

    id = Text(title="Id")
    of_section = Text(title="The section it comes from")
    bays = Part(AxesCountOut, title="Bays")
    outside_mm = Part(AxesMmOut, title="Size over all, with what sticks out")
    twin_of = Text(title="The first section it is identical to")
    hubs_count = Whole(title="Hubs")
    unbraced_faces_count = Whole(title="Faces that want a diagonal and have none that closes")
    passes = Flag(title="Gets through every passage")
    passage = Text(title="The passage that governs")
    attitude = Text(title="upright, on-back, on-end or tilted: the position there")
    how = Text(title="How it is taken there")
    obstacle = Text(title="What it is there: opening, inside, corner, flight ...")
    tight = Text(title="What decides there")
    needed_mm = Num("mm", title="Room it needs there")
    allowed_mm = Num("mm", title="Room it has there")
    spare_mm = Num("mm", title="Room left there; below 0 it sticks")
    width_mm = Num("mm", title="Its width as it is taken there")
    height_mm = Num("mm", title="Its height as it is taken there")
    length_mm = Num("mm", title="Its length as it is taken there, carriers included")
    angle_deg = Num("deg", title="Its lean there")
    sticks_at = Names(title="Passages it does not get through")


class JointOut(ResultSchema):
    between = Names(title="The two sections")
    axis = Text(title="Axis across the gap")
    rods_count = Whole(title="Rods that couple them")
    matches = Flag(title="Every corner hub of the smaller face has a partner")


class PartsOut(ResultSchema):
    hubs_count = Whole(title="Hubs")
    rods = ListOf(RodCountOut, title="Rods, joints included")


class PassageOut(ResultSchema):
    """A passage; sizes where it has an opening."""

    id = Text(title="Id")
    title = Text(title="Title")
    clear_width_mm = Num("mm", title="Clear width")
    clear_height_mm = Num("mm", title="Clear height")
    allowed_width_mm = Num("mm", title="Width less room for hands")
    allowed_height_mm = Num("mm", title="Height less room above and lifting")
    lifted_mm = Num("mm", title="Lifted off the floor, or over the threshold")


class ChangeOut(ResultSchema):
    kind = Text(title="bay-out, bay-in, rod-exchanged, joint-moved or split")
    axis = Text(title="Axis it changes")
    sections = Names(title="Sections it changes")
    message = Text(title="What to do")


class FacesOut(ResultSchema):
    section = Text(title="Section")
    faces_count = Whole(title="Faces left without a diagonal")
    mechanisms_count = Whole(title="Mechanisms of that section then")


class ShortOut(ResultSchema):
    item = Text(title="Part")
    needed_count = Whole(title="Needed in all")
    short_count = Whole(title="Of which the shelf lacks")


class WayOut(ResultSchema):
    """One way to bring everything through, shown by calculating again."""

    rank = Whole(title="Place in the list")
    message = Text(title="What to do")
    changes = ListOf(ChangeOut, title="One by one")
    cost = Num("1", title="Cost by the weights")
    bound = Num("1", title="No way unlike the earlier ones costs less than this")
    gap_ratio = Num("1", title="How far the bound lies below the cost, as a share of it")
    proven_best = Flag(title="No way unlike the earlier ones costs less")
    proven = Flag(title="Built and taken along the whole route again")
    parts_changed_count = Whole(title="Parts taken out and put in, section by section")
    hubs_saved_count = Whole(title="Hubs saved in all; below 0: added")
    rods_saved = ListOf(RodCountOut, title="Rods saved in all, by kind; below 0: added")
    sections = ListOf(SectionOut, title="Sections afterwards")
    governing_section = Text(title="Section with least to spare")
    governing_passage = Text(title="Passage where that is")
    spare_mm = Num("mm", title="Room left there")
    cleared_spare_mm = Num("mm", title="Least room left, on the whole route, of what stuck before")
    identity_kept = Flag(title="Identical sections stay identical")
    twins_broken = Names(title="Sections that are no longer like their twin")
    coupling_faces_match = Flag(title="Coupled faces stay flush")
    coupling_faces_mismatched_count = Whole(title="Joints whose faces are no longer flush")
    braced_by = Text(title="one-rod, two-in-line (on mid-hubs) or not: what braces every bay")
    in_line_faces_count = Whole(title="Faces whose diagonal is two rods in line on a mid-hub")
    left_without_diagonal = ListOf(FacesOut, title="Faces left without a diagonal")
    size_lost_mm = Part(AxesMmOut, title="How much smaller the whole machine is; below 0: larger")
    outdone_by = Whole(title="Place of a way that is no worse in parts, twins and size, and better")
    short = ListOf(ShortOut, title="Parts of which the shelf holds too few then")
    notes = ListOf(Text(), title="What it does beside its purpose")
    stale = ListOf(Text(), title="What else must be worked out again")
    patch = Anything(objects=True, title="Merge patch on the inputs")


class IdentityOut(ResultSchema):
    """What it costs to keep identical sections identical."""

    twins_count = Whole(title="Sections that have a twin before them")
    kept_parts_changed_count = Whole(title="Parts changed at least, all twins kept; absent: no way")
    free_parts_changed_count = Whole(title="Parts changed at least, twins or not; absent: no way")
    extra_parts_count = Whole(title="What keeping them costs in parts")
    proven = Flag(title="Both are proven least")


class SearchOut(ResultSchema):
    """How far the search went."""

    options_count = Whole(title="Options of all sections that pass the route and may be built")
    options_used_count = Whole(title="Of which took part; the others cost too much to matter")
    exhausted = Flag(title="There is no further way unlike those listed")
    broken_off = Flag(title="There may be further ways: the search is bounded")
    refused_count = Whole(title="Ways ruled out since building them did not bear them out")
    hopeless_sections = Names(title="Sections that nothing looked at brings through")
    proven = Flag(title="Every way listed is proven the cheapest unlike those before it")


class AlternativeOut(ResultSchema):
    """What can be done without touching the frame's grid."""

    kinds = Names(title="leaf-off, part-off, flush-hubs")
    message = Text(title="What to do")
    passes = Flag(title="Everything gets through")
    proven = Flag(title="Shown by calculating again")
    section = Text(title="Section that decides")
    passage = Text(title="Passage where it does")
    outside_mm = Part(AxesMmOut, title="Size of that section then")
    spare_mm = Num("mm", title="Room left there; below 0 it sticks")
    over_mm = Num("mm", title="What is still too much")
    sticking_count = Whole(title="Sections that stick still")
    hubs_exchanged_count = Whole(title="Hubs to be exchanged for flush ones")
    asks_the_venue = Flag(title="Changes the venue, not the machine")
    stale = ListOf(Text(), title="What else must be seen to")
    patch = Anything(objects=True, title="Merge patch on the inputs")


class FitRemediesResult(ResultSchema):
    passes = Flag(title="Everything gets through as it is")
    sections = ListOf(SectionOut, title="Sections as they are")
    joints = ListOf(JointOut, title="Joints as they are")
    parts = Part(PartsOut, title="Parts as they are")
    overall_centreline_mm = Part(AxesMmOut, title="Whole machine between the outer nodes")
    passages = ListOf(PassageOut, title="Passages on the route")
    ways = ListOf(WayOut, title="Ways to bring everything through, cheapest first")
    identity = Part(IdentityOut, title="Twins")
    search = Part(SearchOut, title="The search")
    alternatives = ListOf(AlternativeOut, title="What can be done without touching the grid")
    frame_after = FrameField(title="The frame after the best way; as it is where nothing sticks")
