"""Inputs and result of build-sheets on the wire."""

from baywright_service.contract import (
    ByKey,
    Choice,
    Column,
    Document,
    Flag,
    InputSchema,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
    table_of,
)

from ..frame import FrameField
from ..kit import KitSchema, StockSchema
from .sheets import KINDS


class InputsSchema(InputSchema):
    """A frame with its kit, and which sheet to show."""

    kit = Document("kit", KitSchema, required=True, title="Kit")
    frame = FrameField(required=True)
    stock = Document(
        "stock",
        StockSchema,
        title="What is on the shelf",
        about="Only decides which kind of hub goes where, as in the parts list.",
    )
    sheet = Text(
        longest=200,
        title="Sheet to show",
        about="Its id, such as section-S2, layer-S2-3, beam-S2-4 or joint-S1-S2; without it the "
        "first one.",
    )
    kinds = ListOf(
        Choice(*KINDS), fewest=1, most=4, load_default=lambda: list(KINDS), title="Kinds of sheet"
    )
    sections = Names(most=60, load_default=tuple, title="Only these sections; none: all of them")
    paper = Choice("a4", "a3", load_default="a4", title="Paper that sizes of text are right for")
    bays_per_step_count = Whole(
        minimum=1, maximum=50, load_default=6, title="Bays in a full step of the assembly"
    )


def _count(title: str) -> Whole:
    return Whole(required=True, title=title)


def _items(title: str) -> ByKey:
    return ByKey(Whole(), required=True, title=title)


class SheetSchema(ResultSchema):
    """One sheet of the set."""

    id = Text(required=True, title="Id, for the input sheet")
    title = Text(required=True, title="Title")
    kind = Choice(*KINDS, required=True, title="What it shows")
    section = Text(required=True, title="Section; the first one of a joint")
    rods_count = _count("Rods counted on it")
    hubs_count = _count("Hubs counted on it")
    rods = _items("Rods by item")
    hubs = _items("Hubs by item")
    over_hub_ends_mm = Column("mm", required=True, title="Over the hub ends along x, y and z")
    scale_a4 = Num("1", required=True, title="Scale on A4: the number behind 1:")
    scale_a3 = Num(
        "1", required=True, title="Scale on A3, where drawn for it: the number behind 1:"
    )
    least_bay_mm = Num("mm", required=True, title="Shortest bay on the chosen paper")
    first_step = _count("First step; 0 for coupling rods, which come last")
    last_step = _count("Last step")


class StepSchema(ResultSchema):
    """One step of the assembly of a section."""

    section = Text(required=True, title="Section")
    step = _count("Number in the section")
    rods = _items("Rods by item")
    hubs = _items("Hubs by item")


class SheetsSchema(ResultSchema):
    """The set of sheets, and when each part is put in."""

    sheet = Text(required=True, title="Sheet that is shown")
    paper = Choice("a4", "a3", required=True, title="Paper that sizes are right for")
    sheets_count = _count("Sheets")
    sheets = ListOf(SheetSchema, most=2000, required=True, title="Sheets")
    rods_total = _items("Rods of the whole machine, couplings with them")
    hubs_total = _items("Hubs of the whole machine")
    steps = ListOf(StepSchema, most=50_000, required=True, title="Steps, in order in each section")
    by_bays = Flag(required=True, title="Whether steps are bays; otherwise whole levels")
    bays = Part(
        table_of(
            section=Names(title="Section"),
            bay=Column("1", width=3, whole=True, title="Place along x, y, z from 1"),
            step=Column("1", whole=True, title="Step"),
        ),
        required=True,
        title="Bays",
    )
    rods = Part(
        table_of(
            item=Names(title="Rod"),
            step=Column("1", whole=True, title="Step; 0 for coupling rods"),
            bay=Column("1", whole=True, title="Place among the bays; -1 for none"),
        ),
        required=True,
        title="Rods, in the order of the frame's members",
    )
    hubs = Part(
        table_of(
            item=Names(title="Hub; empty where none fits"),
            step=Column("1", whole=True, title="Step"),
            bay=Column("1", whole=True, title="Place among the bays; -1 for none"),
        ),
        required=True,
        title="Hubs, in the order of the frame's nodes",
    )
