"""Inputs and result of part-count."""

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
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)

from ..frame import FrameField
from ..kit import KitSchema, StockSchema
from .build.schemas import BuildPlanOut, TeamSchema
from .build_hours import MODELS
from .programme.schemas_in import MachineSchema, NamedKitSchema, ProgrammeSchema, ShelfSchema
from .programme.schemas_out import PROGRAMME
from .schemas_common import MOST, AccessorySchema


class AssemblySchema(InputSchema):
    """A bill of materials of any kind: wholes and how many of each part one of them takes."""

    tree = ByKey(
        ByKey(Whole(minimum=1, maximum=1_000_000), most=500),
        required=True,
        title="Parts of each whole",
        about="{whole: {part: how many}}; a part with parts of its own is named as a whole too.",
        example={"cart": {"wheel": 4, "axle": 2}},
    )
    top = Key(required=True, title="What is built", example="cart")
    units = Whole(minimum=1, maximum=1_000_000, load_default=1, title="How many are built")


class LightPositionsSchema(InputSchema):
    """Positions pressed lightly enough in every load case to be two rods in line."""

    section = Key(required=True, title="Section")
    light_positions_count = Whole(
        required=True, minimum=0, maximum=MOST, title="Positions light enough"
    )
    rod = Key(title="Rod that stands there; absent: any")


class BuildSchema(InputSchema):
    """How long a bay takes, and how quickly the builder learns."""

    first_bay_min = Num("min", minimum=0.01, maximum=10_000, load_default=9.0, title="First bay")
    learning_ratio = Num(
        "1", minimum=0.5, maximum=1, load_default=0.9, title="Time left when the count doubles"
    )
    floor_min = Num("min", minimum=0, maximum=10_000, load_default=3.5, title="Quickest bay")
    learning_model = Choice(*MODELS, load_default="unit", title="What falls with each doubling")
    bays_count = Whole(minimum=1, maximum=1_000_000, title="Bays, in place of those of the frame")
    snap_push_n = Num("N", minimum=0, maximum=1000, title="Push to seat one rod end")

    @validates_schema
    def _floor_below_first(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data.get("floor_min", 0) > data.get("first_bay_min", 1e9):
            fault = Fault("out-of-range", "The quickest bay cannot take longer than the first.")
            raise ValidationError({"floor_min": [fault]})


class InputsSchema(InputSchema):
    """A frame with its kit, or any assembly."""

    kit = Document("kit", KitSchema, title="Kit (needed with a frame)")
    frame = FrameField(title="Frame")
    assembly = Part(AssemblySchema, title="A bill of materials in place of a frame")
    stock = Document("stock", StockSchema, title="What is on the shelf")
    accessories = ListOf(AccessorySchema, most=300, load_default=list, title="Beside the frame")
    reserve_ratio = Num(
        "1", minimum=0, maximum=1, load_default=0.0, title="Spares, as a share of each part"
    )
    pieces_per_bag = Whole(
        minimum=1, maximum=MOST, load_default=100, title="Pieces in one bag, of any part"
    )
    bag_sizes = ByKey(
        Whole(minimum=1, maximum=MOST),
        most=300,
        load_default=dict,
        title="Pieces in a bag, by part",
    )
    use_substitutes = Flag(
        load_default=False,
        title="Put two rods in line where a rod is short",
        about="Two shorter rods and a mid-hub in place of one rod, as far as the shelf reaches.",
    )
    light_positions = ListOf(
        LightPositionsSchema, most=300, title="Where two rods in line may stand"
    )
    member_compression_n = Column(
        "N",
        minimum=0,
        maximum=1e9,
        title="Greatest compression of each member in any load case, in the order of members",
        about="Where given, it decides in place of light_positions.",
    )
    required_slip_factor = Num(
        "1",
        minimum=1,
        maximum=10,
        load_default=1.65,
        title="Factor that two rods in line keep to their limit",
    )
    fold_margin = Num(
        "1", minimum=1, maximum=10, load_default=1.5, title="Margin on folding of two rods in line"
    )
    port_tolerance_deg = Num(
        "deg", minimum=0, maximum=10, load_default=2.0, title="Lean of a rod from its port"
    )
    build = Part(BuildSchema, title="Build time")
    team = Part(TeamSchema, title="Who builds the frame: asks for steps, bags, days")
    machines = ListOf(
        MachineSchema, fewest=1, most=12, distinct="id",
        title="Several machines from one shelf, in place of a frame",
    )  # fmt: skip
    more_kits = ListOf(
        NamedKitSchema, most=10, load_default=list, distinct="id", title="Further kits, by id"
    )
    more_shelves = ListOf(
        ShelfSchema, most=10, load_default=list, distinct="id", title="Further shelves"
    )
    programme = Part(
        ProgrammeSchema,
        title="Mend shortages at the least cost",
        about="Chooses exactly what stands where and where every part comes from, and solves every "
        "load case again with it. Runs by itself for several machines or shelves.",
    )
    gravity_m_s2 = Num(
        "m/s2", minimum=0.1, maximum=100, load_default=9.80665, title="Gravity, for the programme"
    )
    buckling_margin_ratio = Num(
        "1", minimum=1, maximum=10, load_default=1.5,
        title="Margin on buckling of rods, for the programme",
    )  # fmt: skip

    @validates_schema
    def _frame_or_assembly(self, data: dict[str, Any], **kwargs: Any) -> None:
        given = [key for key in ("frame", "assembly", "machines") if key in data]
        if len(given) > 1:
            fault = Fault("not-unique", f"Give one of {' and '.join(given)}, not all of them.")
            raise ValidationError({given[1]: [fault]})
        if not given:
            fault = Fault("missing", "Give a frame (with its kit), machines or an assembly.")
            raise ValidationError({"frame": [fault]})
        if "frame" not in given and data.get("accessories"):
            where = "in the tree" if "assembly" in given else "with their machine"
            fault = Fault("not-unique", f"Accessories go with a frame; name these {where}.")
            raise ValidationError({"accessories": [fault]})
        if "assembly" not in given and "kit" not in data:
            fault = Fault("missing", "A frame needs the kit its rods and hubs belong to.")
            raise ValidationError({"kit": [fault]})
        _only_where_it_counts(given[0], data)


def _only_where_it_counts(form: str, data: dict[str, Any]) -> None:
    """Refuse what would be lost."""
    if form != "frame" and "team" in data:
        fault = Fault("not-unique", "A team goes with one frame, whose steps it builds.")
        raise ValidationError({"team": [fault]})
    of_frames = ("programme", "more_shelves", "more_kits")
    lost = [field for field in of_frames if data.get(field) is not None and data[field] != []]
    if form == "assembly" and lost:
        fault = Fault("not-unique", "This goes with a frame or machines, not with an assembly.")
        raise ValidationError({lost[0]: [fault]})
    if form == "machines" and "member_compression_n" in data:
        fault = Fault("not-unique", "This goes with one frame; machines are solved.")
        raise ValidationError({"member_compression_n": [fault]})


class PartRowSchema(ResultSchema):
    """One kind of part."""

    item = Key(title="Part")
    title = Text(title="What it is")
    kind = Text(title="rod, hub, mid-hub, assembly, part, or the kit's kind of item")
    sections = ByKey(Whole(), title="Count by section, or by machine where there are several")
    joints_count = Whole(title="In joints between sections")
    accessories_count = Whole(title="In accessories of no section")
    needed_count = Whole(title="Needed, before any substitution")
    replaced_count = Whole(title="Replaced by two rods in line")
    substitute_count = Whole(title="Used in substitutions")
    total_count = Whole(title="Built in: needed - replaced + substitute")
    reserve_count = Whole(title="Spares asked for")
    on_hand_count = Whole(title="On the shelf")
    free_count = Whole(title="On the shelf and not reserved")
    short_count = Whole(title="Missing for what is needed, before any substitution")
    to_buy_count = Whole(title="Missing for what is built in")
    left_count = Whole(title="Left on the shelf")
    bags_count = Whole(title="Bags, packed by section")
    mass_kg = Num("kg", title="Mass of all built in")
    cost = Num("1", title="Cost of all built in")


class SectionRowSchema(ResultSchema):
    """One section."""

    id = Key(title="Section")
    title = Text(title="What it is")
    hubs_count = Whole(title="Hubs of the frame")
    rods_count = Whole(title="Rods of the frame")
    bays_count = Whole(title="Bays")
    beams_count = Whole(title="Beams")
    frame_mass_kg = Num("kg", title="Rods and hubs of the frame")
    fittings_mass_kg = Num("kg", title="Equipment it carries")
    accessories_mass_kg = Num("kg", title="Accessories named for it")
    mass_kg = Num("kg", title="In all")


class TotalsSchema(ResultSchema):
    """The machine."""

    sections_count = Whole(title="Sections")
    beams_count = Whole(title="Beams")
    bays_count = Whole(title="Bays")
    hubs_count = Whole(title="Hubs of the frame")
    mid_hubs_count = Whole(title="Mid-hubs, built in")
    rods_count = Whole(title="Rods, built in, accessories included")
    snaps_count = Whole(title="Rod ends to seat")
    pieces_count = Whole(title="Pieces of every kind, built in")
    bags_count = Whole(title="Bags")
    parts_mass_kg = Num("kg", title="Parts, built in")
    fittings_mass_kg = Num("kg", title="Equipment the frame carries")
    mass_kg = Num("kg", title="In all")
    cost = Num("1", title="Cost of all parts, in the currency of the kit's prices")


class HubKindSchema(ResultSchema):
    """One kind of hub of the frame."""

    hub = Key(title="Hub")
    two_part = Flag(title="Two halves")
    can_stand_count = Whole(title="Nodes where it can stand")
    only_this_count = Whole(title="Nodes where no other kind can stand")
    used_count = Whole(title="Nodes that take it")
    by_section = ByKey(Whole(), title="Nodes that take it, by section")
    to_buy_count = Whole(title="Of these not on the shelf")


class HubKindsSchema(ResultSchema):
    """What can stand at the nodes of the frame."""

    one_piece_needed_count = Whole(title="No two-part hub can stand")
    three_planes_count = Whole(title="Of these: diagonals in three planes")
    unlocked_count = Whole(title="Of these: no diagonal that would lock two halves")
    two_part_possible_count = Whole(title="A two-part hub can stand")
    no_kind_count = Whole(title="No kind of the kit can stand")
    kinds = ListOf(HubKindSchema, title="By kind")


class SubstitutionSchema(ResultSchema):
    """Two rods in line with a mid-hub in place of one rod."""

    rod = Key(title="Rod that is short")
    short_count = Whole(title="Missing")
    first = Key(title="First rod of the pair")
    second = Key(title="Second rod of the pair")
    mid_hub = Key(title="Hub between them")
    misfit_mm = Num("mm", title="Pair longer than the rod by")
    pairs_count = Whole(title="Rods that can be replaced")
    mid_hubs_left_count = Whole(title="Mid-hubs left then")
    first_left_count = Whole(title="First rods left then")
    second_left_count = Whole(title="Second rods left then")
    still_short_count = Whole(title="Rods still missing after all ways")
    light_positions_count = Whole(title="Positions light enough, where known")
    compression_limit_n = Num("N", title="Folds up in line at this compression, with margin")
    compression_allowed_n = Num("N", title="The same over the required factor")
    applied = Flag(title="Built in")


class PositionSchema(ResultSchema):
    """A member chosen for two rods in line."""

    member = Whole(title="Number of the member")
    section = Key(title="Section")
    rod = Key(title="Rod it replaces")
    from_mm = Column("mm", title="From")
    to_mm = Column("mm", title="To")
    compression_n = Num("N", title="Greatest compression in any load case")


class CountedSchema(ResultSchema):
    """Hubs and rods by one way of counting."""

    hubs_count = Whole(title="Hubs")
    rods_count = Whole(title="Rods")
    axis_rods_count = Whole(title="Rods along the edges of bays")


class BeamRuleSchema(ResultSchema):
    """Hubs and axis rods by the closed rule for beams that share whole bays."""

    hubs_count = Whole(title="Sum of 4 (n + 1) over beams, less 8 (m - 1) per shared bay")
    axis_rods_count = Whole(title="Sum of 8 n + 4 over beams, less 12 (m - 1) per shared bay")


class StructureSchema(ResultSchema):
    """The product structure, counted three ways."""

    counted_once = Part(CountedSchema, title="Shared parts once, joints included")
    counted_by_beam = Part(CountedSchema, title="Each beam by itself")
    counted_by_bay = Part(CountedSchema, title="Each bay by itself")
    beam_rule = Part(BeamRuleSchema, title="By rule")


class BuildTimeSchema(ResultSchema):
    """Build time with and without learning."""

    bays_count = Whole(title="Bays")
    learning_model = Text(title="Model")
    learning_exponent = Num("1", title="b in T_n = T_1 n^b")
    hours = Num("h", title="With learning")
    hours_without_learning = Num("h", title="Without")
    first_bay_min = Num("min", title="First bay")
    last_bay_min = Num("min", title="Last bay")
    floor_from_bay_count = Whole(title="First bay at the floor")


class AssemblyRowSchema(ResultSchema):
    """One item of the bill of materials."""

    item = Key(title="Item")
    level_count = Whole(title="Levels below the top, the longest way")
    assembled = Flag(title="Has parts of its own")
    count = Whole(title="Gross: quantities along every path, summed over paths")
    from_stock_count = Whole(title="Taken from the shelf")
    to_get_count = Whole(title="To build or buy then")


class PartListSchema(ResultSchema):
    """What the machine takes."""

    counts = ByKey(Whole(), title="Needed of each part, before any substitution")
    parts = ListOf(PartRowSchema, title="Parts")
    totals = Part(TotalsSchema, title="In all")
    sections = ListOf(SectionRowSchema, title="Sections")
    hub_kinds = Part(HubKindsSchema, title="Kinds of hub")
    substitutions = ListOf(SubstitutionSchema, title="Two rods in line for one")
    substitute_positions = ListOf(PositionSchema, title="Lightest members chosen for it")
    structure = Part(StructureSchema, title="Product structure")
    assembly = ListOf(AssemblyRowSchema, title="Bill of materials")
    build = Part(BuildTimeSchema, title="Build time")
    programme = PROGRAMME
    build_plan = Part(BuildPlanOut, title="How a team builds it")
