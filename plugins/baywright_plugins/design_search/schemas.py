"""What design-search takes."""

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
    Text,
    Whole,
)

from ..frame.schemas import CrossFacesSchema, FittingSchema, SideFacesSchema
from ..grid_fit.schemas import ProtrusionSchema
from ..kit import KitSchema, StockSchema
from ..part_count.schemas import BuildSchema
from ..route_fit.route_schemas import RouteClearancesSchema, RoutePassageSchema
from ..truss_check.resting import RESTING_IDS
from ..truss_check.schemas import HandlingSchema
from ..truss_check.schemas_travel import LeaningSchema, PartialFactorsSchema
from .objectives import OBJECTIVES

MOST_SECTIONS = 8
MOST_OWN = 5
MOST_LIFTS = 12
MOST_LISTED = 40


def _size(title: str, **options: Any) -> Num:
    return Num("mm", minimum=0, maximum=20_000, title=title, **options)


def _in_order(data: dict[str, Any], *names: str) -> dict[str, Any]:
    """Faults of pairs name_min.. above name_max.., by field."""
    faults: dict[str, Any] = {}
    for name in names:
        low, high = name.format("min"), name.format("max")
        if low in data and high in data and data[low] > data[high]:
            faults[low] = [Fault("out-of-range", f"Must be at most {high}.")]
    return faults


class EnvelopeSchema(InputSchema):
    """The space the coupled machine may fill, over the outer hub ends."""

    length_min_mm = _size("Shortest, along x", load_default=0.0)
    length_max_mm = _size("Longest, along x", required=True)
    width_min_mm = _size("Narrowest, along y", load_default=0.0)
    width_max_mm = _size("Widest, along y", required=True)
    height_min_mm = _size("Lowest, along z (up), of its tallest section", load_default=0.0)
    height_max_mm = _size("Highest, along z (up)", required=True)

    @validates_schema
    def _ordered(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults = _in_order(data, "length_{}_mm", "width_{}_mm", "height_{}_mm")
        if faults:
            raise ValidationError(faults)


class SectionWishSchema(InputSchema):
    """One section of a split: how long and high it may be, and what it carries."""

    id = Key(required=True, title="Id", example="S1")
    title = Text(longest=120, load_default="")
    twin_of = Key(title="Section earlier in the list that it is the same size as")
    length_min_mm = _size("Shortest over the hub ends", load_default=0.0)
    length_max_mm = _size("Longest over the hub ends; absent: as the machine")
    height_min_mm = _size("Lowest over the hub ends", load_default=0.0)
    height_max_mm = _size("Highest over the hub ends; absent: as the machine")
    fittings = ListOf(FittingSchema, most=20, load_default=list, title="Equipment it carries")

    @validates_schema
    def _ordered(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults = _in_order(data, "length_{}_mm", "height_{}_mm")
        if faults:
            raise ValidationError(faults)


class SplitSchema(InputSchema):
    """One way to split the machine into sections in a row along x."""

    id = Key(required=True, title="Id", example="four-sections")
    title = Text(longest=120, load_default="")
    sections = ListOf(
        SectionWishSchema, fewest=1, most=MOST_SECTIONS, distinct="id", title="Sections in order"
    )
    alike_count = Whole(
        minimum=1, maximum=MOST_SECTIONS, title="In place of sections: so many, all alike"
    )
    fittings = ListOf(
        FittingSchema, most=20, load_default=list, title="Equipment in each of those alike"
    )

    @validates_schema
    def _sections_or_alike(self, data: dict[str, Any], **kwargs: Any) -> None:
        if ("sections" in data) == ("alike_count" in data):
            code = "not-unique" if "sections" in data else "missing"
            fault = Fault(code, "Give sections or alike_count, one of them.")
            raise ValidationError({"sections": [fault]})
        earlier: dict[str, bool] = {}
        faults: dict[int, Any] = {}
        for place, section in enumerate(data.get("sections", ())):
            twin = section.get("twin_of")
            if twin is not None and not earlier.get(twin, False):
                detail = "No section earlier in the list, with sizes of its own, has this id."
                faults[place] = {"twin_of": [Fault("unknown-reference", detail)]}
            earlier[section["id"]] = twin is None
        if sum(earlier.values()) > MOST_OWN:
            detail = f"At most {MOST_OWN} sections may have sizes of their own; name twins."
            raise ValidationError({"sections": [Fault("too-many", detail)]})
        if faults:
            raise ValidationError({"sections": faults})


def _place() -> Column:
    return Column(
        "1", whole=True, minimum=0, maximum=400, fewest=3, most=3, title="Grid place [i, j, k]"
    )


class BracingSchema(InputSchema):
    """One way to brace all sections."""

    id = Key(required=True, title="Id", example="lean-in")
    title = Text(longest=120, load_default="")
    side_faces = Part(SideFacesSchema, title="Brace patterns")
    cross_faces = Part(CrossFacesSchema, title="Diaphragms")
    second_at_grips = Choice(
        "none", "below-lower", "around-lower", "around-both", load_default="none",
        title="Second diagonals at the corner columns where a lying section is held",
        about="below-lower: in the bay below the lower grips; around-lower: in the bays on either "
        "side of them; around-both: of the upper grips too.",
    )  # fmt: skip
    second_diagonals = ByKey(
        ListOf(ListOf(_place(), fewest=2, most=2), most=500),
        most=MOST_SECTIONS,
        load_default=dict,
        title="Second diagonals by section id, beside those at grips",
        about="Each a pair of grid places across one face; a machine whose sections do not have "
        "these faces is left out.",
    )


class PanelSchema(InputSchema):
    """A floor panel that could be laid."""

    id = Key(required=True, title="Id", example="tile")
    item = Key(title="Item of the kit, where panels are counted among the parts")
    pitch_mm = Num("mm", minimum=10, maximum=5000, title="Pitch; absent: that of the item")
    play_mm = Num("mm", minimum=0, maximum=4, load_default=0.0, title="What one gives each way")


class FloorSchema(InputSchema):
    """Floor panels, and where they lie."""

    panels = ListOf(PanelSchema, required=True, fewest=1, most=6, distinct="id", title="Panels")
    most_bays_count = Whole(
        minimum=1, maximum=40, load_default=12, title="Bays after which panels must meet the frame"
    )
    sections = Names(fewest=1, most=MOST_SECTIONS, title="Sections with a floor; absent: all")


class PartsOfLiftSchema(InputSchema):
    item = Key(required=True, title="Part of the kit", example="R240")
    count = Whole(required=True, minimum=0, maximum=100_000, title="How many for each lift")


class LiftsSchema(InputSchema):
    """Lifts alike, side by side."""

    required_balls_per_min = Num(
        "/min", required=True, above=0, maximum=100_000, title="Balls to bring up each minute"
    )
    may_fail_count = Whole(
        minimum=0, maximum=4, load_default=1, title="Lifts that may stop with the flow still met"
    )
    capacity_per_min = Num(
        "/min", required=True, above=0, maximum=100_000, title="Balls a minute one lift brings up"
    )
    fewest_count = Whole(minimum=1, maximum=MOST_LIFTS, load_default=1, title="Fewest lifts")
    most_count = Whole(minimum=1, maximum=MOST_LIFTS, load_default=6, title="Most lifts")
    parts_each = ListOf(
        PartsOfLiftSchema, most=40, load_default=list, distinct="item", title="Parts of one lift"
    )
    mass_each_kg = Num("kg", minimum=0, maximum=800, load_default=0.0, title="Mass of one lift")
    section = Key(title="Section that carries the lifts' mass; absent: the first")
    levels = Column(
        "1", whole=True, minimum=-400, maximum=400, fewest=1, most=40,
        title="Node levels that carry it; absent: 0 and 1",
    )  # fmt: skip

    @validates_schema
    def _ordered(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults = _in_order(data, "count_{}")
        if faults:
            raise ValidationError(faults)


class StrengthSchema(InputSchema):
    """What every section must bear."""

    handling = Part(HandlingSchema, title="How sections stand and are carried")
    partial_factors = Part(PartialFactorsSchema, title="Partial factors, by named set")
    resting = ListOf(
        Choice(*RESTING_IDS), fewest=1, most=len(RESTING_IDS), title="Laid down on the floor"
    )
    leaning = Part(LeaningSchema, title="Leaned on; where guarded, it does not count")
    buckling_margin_ratio = Num(
        "1", minimum=1, maximum=10, load_default=1.5, title="Divides the Euler load of a rod"
    )


class ExtraPartSchema(InputSchema):
    """Parts beside frame, lifts and floor."""

    item = Key(required=True, title="Part of the kit", example="R60")
    count = Whole(required=True, minimum=0, maximum=1_000_000, title="How many")
    title = Text(longest=120, load_default="", title="What for")


class ScatterSchema(InputSchema):
    """Which two objectives the scatter picture shows."""

    across = Choice(*OBJECTIVES, load_default="parts", title="Across")
    up = Choice(*OBJECTIVES, load_default="strength_reserve", title="Up")

    @validates_schema
    def _two(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data.get("across") == data.get("up"):
            fault = Fault("not-unique", "Choose two different objectives.")
            raise ValidationError({"up": [fault]})


class DesignSearchInputs(InputSchema):
    """An envelope, a kit, and what may vary."""

    kit = Document("kit", KitSchema, required=True, title="Kit")
    stock = Document("stock", StockSchema, title="Stock; without it no shortage is reckoned")
    gravity_m_s2 = Num("m/s2", minimum=0.01, maximum=1000, load_default=9.80665, title="Gravity")
    envelope = Part(EnvelopeSchema, required=True, title="Envelope of the coupled machine")
    bay_rods = Names(fewest=1, most=8, title="Rods that bays may be made of; absent: the kit's")
    bay_rods_x = Names(fewest=1, most=8, title="Rods along x, where others than bay_rods")
    bay_rods_y = Names(fewest=1, most=8, title="Rods along y, where others than bay_rods")
    bay_rods_z = Names(fewest=1, most=8, title="Rods along z, where others than bay_rods")
    splits = ListOf(
        SplitSchema, fewest=1, most=6, distinct="id", title="Ways to split; absent: one section"
    )
    joint_rod = Key(title="Rod that couples two sections", example="R60")
    bracings = ListOf(
        BracingSchema, fewest=1, most=8, distinct="id",
        title="Ways to brace; absent: alternating diagonals, and both on every side face",
    )  # fmt: skip
    passages = ListOf(
        RoutePassageSchema, load_default=list, most=20, distinct="id", title="Passages on the route"
    )
    clearances = Part(RouteClearancesSchema, title="Clearances")
    protrusions = ListOf(
        ProtrusionSchema, load_default=list, most=60, title="What sticks out of sections"
    )
    floor = Part(FloorSchema, title="Floor")
    lifts = Part(LiftsSchema, title="Lifts")
    strength = Part(StrengthSchema, title="Loads, and what is wanted of the strength")
    accessories = ListOf(ExtraPartSchema, most=60, load_default=list, title="Other parts")
    use_substitutes = Flag(load_default=False, title="Put two rods in line where a rod is short")
    most_to_buy_count = Whole(
        minimum=0, maximum=10_000_000, title="Pieces that may be missing on the shelf; absent: any"
    )
    build = Part(BuildSchema, title="Build time")
    objectives = ListOf(
        Choice(*OBJECTIVES), fewest=1, most=len(OBJECTIVES),
        title="What machines are compared by; absent: all",
    )  # fmt: skip
    scatter = Part(ScatterSchema, title="The scatter picture")
    seed = Whole(
        minimum=0, maximum=2**31 - 1, load_default=1, title="Seed of the search of large spaces"
    )
    most_evaluations = Whole(
        minimum=1, maximum=2000, load_default=1000, title="Machines worked out to the end, at most"
    )
    most_listed = Whole(
        minimum=1, maximum=MOST_LISTED, load_default=20, title="Machines written out as plans"
    )

    @validates_schema
    def _fits_together(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        several = any(
            len(split.get("sections", ())) > 1 or split.get("alike_count", 1) > 1
            for split in data.get("splits", ())
        )
        if several and "joint_rod" not in data:
            fault = Fault("missing", "Several sections need the rod that couples them.")
            faults["joint_rod"] = [fault]
        objectives = data.get("objectives", ())
        if len(set(objectives)) < len(objectives):
            faults["objectives"] = [Fault("not-unique", "Each objective may stand once.")]
        for name in ("shortage",) if "stock" not in data else ():
            if name in objectives:
                faults["objectives"] = [Fault("missing", "A shortage needs a stock.")]
            if "most_to_buy_count" in data:
                faults["most_to_buy_count"] = [Fault("missing", "A shortage needs a stock.")]
        if faults:
            raise ValidationError(faults)
