"""What the stock programme gives."""

from baywright_service.contract import (
    ByKey,
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


class AimSchema(ResultSchema):
    """One thing that is made least, after those before it."""

    aim = Key(title="What is made least")
    value = Num("1", title="What was reached")
    at_least = Num("1", title="Proven: nothing can come below")
    proven = Flag(title="Proven best")


class SupplySchema(ResultSchema):
    """One part: what for, and where from."""

    item = Key(title="Part")
    title = Text(title="What it is")
    kind = Text(title="rod, hub, mid-hub or the kit's kind of item")
    needed_count = Whole(title="Needed as stated, before anything is changed")
    built_in_count = Whole(title="Built in, after changes")
    sawn_up_count = Whole(title="Sawn into shorter ones")
    reserve_count = Whole(title="Spares asked for")
    on_shelf_count = Whole(title="Free on the shelves")
    from_shelf_count = Whole(title="Taken from the shelves")
    salvaged_count = Whole(title="Taken from old machines")
    sawn_count = Whole(title="Sawn from longer ones")
    bought_count = Whole(title="Bought, in whole packs")
    still_short_count = Whole(title="Missing for what is built in")
    reserve_short_count = Whole(title="Missing for spares")
    left_count = Whole(title="Left over in the end, spares not counted")
    shelves = ByKey(Whole(), title="Taken, by shelf")


class ClassSchema(ResultSchema):
    """Positions of one section that take the same rod and may be changed alike."""

    machine = Key(title="Machine")
    section = Key(title="Section")
    pattern = Key(title="Brace pattern; as-stated: that of the layout")
    rod = Key(title="Rod that stands there")
    positions_count = Whole(title="Positions in one copy")
    may_be_pair = Flag(title="Light enough for two rods in line, and crossed by no other diagonal")
    may_be_left_out = Flag(title="Strength can spare it")
    as_is_count = Whole(title="Rods as stated, in all copies")
    pairs_count = Whole(title="Two rods in line, in all copies")
    left_out_count = Whole(title="Left out, in all copies")


class LightSchema(ResultSchema):
    """Positions pressed lightly enough in every load case to be two rods in line."""

    machine = Key(title="Machine")
    section = Key(title="Section")
    rod = Key(title="Rod")
    positions_count = Whole(title="Positions of this rod")
    light_positions_count = Whole(title="Pressed with no more than is allowed")
    uncrossed_count = Whole(title="Of these, crossed by no other diagonal")
    compression_limit_n = Num("N", title="A pair folds at this compression, with margin")
    compression_allowed_n = Num("N", title="The same over the required factor")


class ChangeSchema(ResultSchema):
    """One member that is changed."""

    machine = Key(title="Machine")
    copies = Column("1", whole=True, title="Which copies, the first is 1")
    section = Key(title="Section")
    what = Key(title="pair or left-out")
    rod = Key(title="Rod that stood there")
    first = Key(title="First rod of the pair")
    second = Key(title="Second rod of the pair")
    mid_hub = Key(title="Hub between them")
    member = Whole(title="Number of the member in the machine's frame")
    from_mm = Column("mm", title="From")
    to_mm = Column("mm", title="To")
    compression_as_stated_n = Num("N", title="Greatest compression in any case, as stated")
    compression_n = Num("N", title="The same, solved again with all changes")
    compression_allowed_n = Num("N", title="What a pair there may take")


class CaseSchema(ResultSchema):
    """One load case before and after."""

    id = Text(title="Case")
    kind = Text(title="planned or accidental")
    required_factor = Num("1", title="Factor it needs")
    as_stated_factor = Num("1", title="First slip as stated")
    changed_factor = Num("1", title="First slip with all changes")


class StrengthSchema(ResultSchema):
    """One section solved again with what was chosen."""

    machine = Key(title="Machine")
    section = Key(title="Section")
    copies_count = Whole(title="Copies made alike")
    pattern = Key(title="Brace pattern")
    changes_count = Whole(title="Members changed in each")
    as_stated_factor = Num("1", title="Least first slip as stated, over all cases")
    changed_factor = Num("1", title="Least first slip with all changes, over all cases")
    worst_case = Text(title="Case that sets it")
    cases = ListOf(CaseSchema, title="Cases")


class PurchaseSchema(ResultSchema):
    """One line of the purchase list."""

    item = Key(title="Part")
    title = Text(title="What it is")
    count = Whole(title="Pieces")
    packs_count = Whole(title="Packs")
    pieces_per_pack_count = Whole(title="Pieces in a pack")
    price = Num("1", title="Price of a pack")
    total = Num("1", title="Price of the line")
    why = Text(title="Why")


class CutSchema(ResultSchema):
    """Lengths that are sawn alike."""

    source = Key(title="Rod or raw dowel that is sawn")
    count = Whole(title="How many")
    pieces = ByKey(Whole(), title="Rods from each")
    length_mm = Num("mm", title="Its length")
    offcut_mm = Num("mm", title="Left over from each")


class SalvageSchema(ResultSchema):
    """One group of an old machine to take apart."""

    order_count = Whole(title="Turn; 1 is first")
    old_machine = Key(title="Old machine")
    group = Key(title="Section, bag or box")
    dismantle_min = Num("min", title="To take it apart")
    covers = ByKey(Whole(), title="Missing parts that it covers")
    gives = ByKey(Whole(), title="Parts it gives that are still good")


class ReserveSchema(ResultSchema):
    """Spares of one part."""

    item = Key(title="Part")
    method = Key(title="share, or poisson: enough with the confidence asked for")
    reserve_count = Whole(title="Spares")
    expected_breakages = Num("1", title="Breakages to expect on the tour")
    enough_ratio = Num("1", title="How sure it is that they are enough")


class BuiltMachineSchema(ResultSchema):
    """One machine of the request."""

    id = Key(title="Machine")
    copies_count = Whole(title="How many are built")
    hubs_count = Whole(title="Hubs of one frame")
    rods_count = Whole(title="Rods of one frame, joints included")


class ProgrammeOut(ResultSchema):
    """The best set of changes and where every part comes from."""

    proven_best = Flag(title="Proven: nothing is missing that need not be, at the least cost")
    gap_ratio = Num(
        "1", title="Largest share of pieces missing, cost or pieces bought that is not proven"
    )
    aims = ListOf(AimSchema, title="What is made least, in order of rank")
    cost = Num("1", title="Cost in the currency of the prices")
    missing_count = Whole(title="Pieces missing for what is built in")
    purchase_total = Num("1", title="Price of the purchase list")
    dismantle_min = Num("min", title="Minutes of taking old machines apart")
    rounds_count = Whole(title="Choices tried until all load cases held")
    refused_positions_count = Whole(title="Positions that the strength check turned down")
    machines = ListOf(BuiltMachineSchema, title="Machines")
    supplies = ListOf(SupplySchema, title="Parts and where they come from")
    classes = ListOf(ClassSchema, title="Classes of positions")
    light_positions = ListOf(LightSchema, title="Where two rods in line may stand")
    changes = ListOf(ChangeSchema, title="Members that are changed")
    changes_count = Whole(title="Members changed in all copies of all machines")
    strength = ListOf(StrengthSchema, title="Sections solved again")
    purchases = ListOf(PurchaseSchema, title="Purchase list")
    cuts = ListOf(CutSchema, title="Sawing list")
    salvage = ListOf(SalvageSchema, title="What to take apart, in this order")
    reserve = ListOf(ReserveSchema, title="Spares")


PROGRAMME = Part(ProgrammeOut, title="How a shortage is mended at the least cost")
