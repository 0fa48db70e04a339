"""What the stock programme takes."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Fault,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Num,
    Part,
    Whole,
)

from ...frame import FrameField
from ...frame.patterns import PATTERNS
from ...kit import KitSchema, StockSchema
from ...truss_check.schemas import HandlingSchema
from ..schemas_common import AccessorySchema
from .choices import WAYS

MOST_COUNT = 1_000_000


class MachineSchema(InputSchema):
    """One machine to build, so many times over."""

    id = Key(required=True, title="Id", example="road-show")
    frame = FrameField(required=True, title="Frame")
    count = Whole(minimum=1, maximum=50, load_default=1, title="How many of it are built")
    kit = Key(title="Kit it is built from, one of more_kits; absent: kit")
    accessories = ListOf(AccessorySchema, most=300, load_default=list, title="Beside the frame")


class NamedKitSchema(InputSchema):
    """A further kit. Parts with one id in two kits are one part, and lie on one shelf."""

    id = Key(required=True, title="Id", example="long-rods")
    kit = Part(KitSchema, required=True, title="Kit")


class ShelfSchema(InputSchema):
    """A further shelf."""

    id = Key(required=True, title="Id", example="club-cellar")
    stock = Part(StockSchema, required=True, title="What is on it")
    piece_cost = Num(
        "1", minimum=0, maximum=1e6, load_default=0.0, title="Cost of fetching one piece from it"
    )


class OfferSchema(InputSchema):
    """A pack that can be bought."""

    item = Key(required=True, title="Part", example="R170")
    pieces_count = Whole(minimum=1, maximum=MOST_COUNT, load_default=1, title="Pieces in a pack")
    price = Num("1", required=True, minimum=0, maximum=1e6, title="Price of a pack")
    most_packs_count = Whole(minimum=0, maximum=MOST_COUNT, title="Packs that can be had")


class BreakageRowSchema(InputSchema):
    """Spares of one part."""

    item = Key(required=True, title="Part", example="R170")
    share_ratio = Num("1", minimum=0, maximum=1, title="Spares, as a share of the pieces")
    broken_per_1000_pieces_per_show = Num(
        "1", minimum=0, maximum=1000, title="Pieces of a thousand that break in one show"
    )

    @validates_schema
    def _one_of_two(self, data: dict[str, Any], **kwargs: Any) -> None:
        given = [k for k in ("share_ratio", "broken_per_1000_pieces_per_show") if k in data]
        if len(given) != 1:
            code = "missing" if not given else "not-unique"
            fault = Fault(code, "Give a share, or how many break; not both.")
            raise ValidationError({"share_ratio": [fault]})


class BreakageSchema(InputSchema):
    """How long the tour is, and what breaks on it."""

    shows_count = Whole(
        minimum=1, maximum=10_000, load_default=20, title="Shows before spares can be bought"
    )
    confidence_ratio = Num(
        "1", minimum=0.5, maximum=0.9999, load_default=0.95,
        title="How sure it must be that the spares of a part are enough",
    )  # fmt: skip
    parts = ListOf(BreakageRowSchema, required=True, most=300, distinct="item", title="Parts")


class BarSchema(InputSchema):
    """Raw dowel that rods can be sawn from."""

    id = Key(required=True, title="Id", example="dowel-1000")
    length_mm = Num("mm", required=True, minimum=1, maximum=20_000, title="Length")
    diameter_mm = Num("mm", required=True, minimum=0.5, maximum=200, title="Diameter")
    on_hand_count = Whole(minimum=0, maximum=MOST_COUNT, load_default=0, title="On the shelf")
    price = Num("1", minimum=0, maximum=1e6, title="Price of one; absent: none can be bought")


class SawingSchema(InputSchema):
    """What may be sawn, and what a cut takes."""

    kerf_mm = Num("mm", minimum=0, maximum=20, load_default=2.0, title="Width of a saw cut")
    cut_cost = Num("1", minimum=0, maximum=1e6, load_default=0.0, title="Cost of one cut")
    rods_may_be_cut = Flag(load_default=True, title="Longer rods may be cut down")
    bars = ListOf(BarSchema, most=20, load_default=list, distinct="id", title="Raw dowel")


class BagSchema(InputSchema):
    """Parts that come off together: a section, a bag, a box."""

    id = Key(required=True, title="Id", example="tower-top")
    parts = ListOf(AccessorySchema, required=True, fewest=1, most=300, title="What is in it")
    dismantle_min = Num("min", required=True, minimum=0, maximum=1e5, title="To take it apart")


class OldMachineSchema(InputSchema):
    """An old machine that can be taken apart, as a frame or as lists of parts."""

    id = Key(required=True, title="Id", example="old-tower")
    frame = FrameField(title="Its frame: each section comes off as a whole")
    kit = Key(title="Kit of the frame, one of more_kits; absent: kit")
    groups = ListOf(BagSchema, fewest=1, most=60, distinct="id", title="Or what comes off together")
    dismantle_min_per_rod = Num(
        "min", minimum=0, maximum=60, load_default=0.1, title="To take out one rod of the frame"
    )
    usable_ratio = Num(
        "1", minimum=0, maximum=1, load_default=0.9, title="Share of its parts still good"
    )

    @validates_schema
    def _one_form(self, data: dict[str, Any], **kwargs: Any) -> None:
        given = [key for key in ("frame", "groups") if key in data]
        if len(given) != 1:
            code = "missing" if not given else "not-unique"
            fault = Fault(code, "Give the old machine's frame, or its groups of parts.")
            raise ValidationError({"groups": [fault]})


class ProgrammeSchema(InputSchema):
    """How a shortage may be mended, at the least cost."""

    ways = ListOf(
        Choice(*WAYS), most=len(WAYS), title="What may be changed; left out: two rods in line",
        about="pairs: two shorter rods in line. leave-out: diagonals that strength can spare. "
        "patterns: another brace pattern, as `patterns` names them.",
    )  # fmt: skip
    patterns = ListOf(
        Choice(*PATTERNS), most=len(PATTERNS), load_default=list, title="Brace patterns to try"
    )
    may_buy = Flag(load_default=True, title="Parts may be bought")
    offers = ListOf(
        OfferSchema, most=300, load_default=list, title="Packs",
        about="A part that is offered is bought in these packs only; others by the piece.",
    )  # fmt: skip
    pair_cost = Num(
        "1", minimum=0, maximum=1e6, load_default=0.0, title="Cost of one pair, beside its parts"
    )
    shelf_value_ratio = Num(
        "1", minimum=0, maximum=1, load_default=0.0,
        title="What a part from the shelf counts, as a share of its price",
    )  # fmt: skip
    minute_cost = Num(
        "1", minimum=0, maximum=1e6, load_default=0.0, title="Cost of a minute of taking apart"
    )
    sawing = Part(SawingSchema, title="Sawing; left out: nothing is sawn")
    breakage = Part(BreakageSchema, title="Spares for a tour")
    salvage = ListOf(
        OldMachineSchema, most=20, load_default=list, distinct="id", title="Old machines"
    )
    handling = Part(HandlingSchema, title="How sections stand and are carried")
    recheck_strength = Flag(
        load_default=True,
        title="Solve every load case again with what was chosen",
        about="Without it compressions are those of the frame as stated.",
    )
