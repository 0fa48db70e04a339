"""What carry-and-stand takes."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
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
)

from ..frame import FrameField
from ..kit import KitSchema
from .lifting_equation import COUPLINGS, DURATIONS


def _place(title: str, **options: Any) -> Column:
    return Column("mm", fewest=3, most=3, title=title, **options)


class StatedSectionSchema(InputSchema):
    """A section by its mass, size and centre, where no frame is at hand."""

    id = Key(required=True, title="Id", example="S1")
    title = Text(longest=120, load_default="", title="Title")
    mass_kg = Num("kg", required=True, minimum=0.01, maximum=5000, title="Mass")
    size_mm = _place("Outside size x, y, z", required=True, minimum=1, maximum=20_000)
    centre_mm = _place("Centre of mass from the lower corner", minimum=1, maximum=20_000)
    base_mm = Column(
        "mm", fewest=2, most=2, minimum=1, maximum=20_000,
        title="Feet apart along x and y, in the middle; absent: the whole size",
    )  # fmt: skip
    at_mm = _place("Lower corner in the machine; absent: in a row", minimum=-1e5, maximum=1e5)

    @validates_schema
    def _inside(self, data: dict[str, Any], **kwargs: Any) -> None:
        size = data.get("size_mm")
        if size is None:
            return
        for name, words in (("centre_mm", "inside the section"), ("base_mm", "within the size")):
            inner = data.get(name)
            if inner is not None and any(a > b for a, b in zip(inner, size, strict=False)):
                raise ValidationError({name: [Fault("out-of-range", f"Must lie {words}.")]})


class GripSchema(InputSchema):
    """Where hands hold a section, if not at seven twelfths of its height."""

    section = Key(required=True, title="Section", example="S1")
    height_mm = Num("mm", minimum=0, maximum=20_000, title="Grips above the floor, upright")
    lying_low_mm = Num(
        "mm", minimum=0, maximum=20_000, title="Lower grip of the lying section, from its feet"
    )
    lying_high_mm = Num(
        "mm", minimum=0, maximum=20_000, title="Upper grip of the lying section, from its feet"
    )

    @validates_schema
    def _in_order(self, data: dict[str, Any], **kwargs: Any) -> None:
        low, high = data.get("lying_low_mm"), data.get("lying_high_mm")
        if (low is None) != (high is None):
            missing = "lying_low_mm" if low is None else "lying_high_mm"
            raise ValidationError({missing: [Fault("missing", "Both lying grips or none.")]})
        if low is not None and high is not None and high - low < 1:
            fault = Fault("out-of-range", f"Must lie above lying_low_mm, {low:g}.")
            raise ValidationError({"lying_high_mm": [fault]})


class LiftingSchema(InputSchema):
    """How a section is lifted."""

    reach_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=400.0, title="Hands ahead of the ankles"
    )
    lifted_mm = Num("mm", minimum=0, maximum=2000, load_default=100.0, title="Raised by")
    twist_deg = Num("deg", minimum=0, maximum=180, load_default=0.0, title="Turned sideways by")
    lifts_per_min = Num("/min", minimum=0, maximum=60, load_default=0.2, title="Lifts a minute")
    duration = Choice(*DURATIONS, load_default="up-to-1-h", title="Lifting goes on for")
    grip = Choice(*COUPLINGS, load_default="fair", title="How good the grip is")


class JourneySchema(InputSchema):
    """The way from the van to the place."""

    distance_m = Num("m", minimum=0, maximum=2000, load_default=30.0, title="Distance")
    rest_every_m = Num("m", minimum=1, maximum=100, load_default=10.0, title="Rest after")
    rest_s = Num("s", minimum=0, maximum=600, load_default=20.0, title="Length of a rest")
    speed_m_per_s = Num("m/s", minimum=0.05, maximum=2, load_default=0.5, title="Walking, loaded")
    handling_s = Num(
        "s", minimum=0, maximum=3600, load_default=60.0, title="Taking up and setting down"
    )
    stairs = Flag(load_default=True, title="Are there stairs")
    stairs_slope_deg = Num("deg", minimum=0, maximum=50, load_default=32.0, title="Stairs' slope")
    tilt_deg = Num(
        "deg", minimum=0, maximum=30, load_default=5.0, title="Tilt on ramps or by unequal carriers"
    )


class TrolleySchema(InputSchema):
    """Four castors, on a trolley or under the frame."""

    raised_mm = Num("mm", minimum=0, maximum=1000, load_default=150.0, title="Raised by")
    inset_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=40.0,
        title="Wheels inside the feet, swivel counted in",
    )  # fmt: skip
    wheel_radius_mm = Num("mm", minimum=5, maximum=500, load_default=50.0, title="Wheel radius")
    step_mm = Num("mm", minimum=0, maximum=500, load_default=20.0, title="Highest threshold")
    rated_kg = Num("kg", minimum=0.1, maximum=5000, title="Rated load of one castor")
    sections = Names(most=60, title="Sections that ride on it; absent: all")


class LeaningSchema(InputSchema):
    """Somebody leans against what stands."""

    force_n = Num("N", minimum=0, maximum=5000, load_default=300.0, title="Force")
    height_mm = Num("mm", minimum=100, maximum=5000, load_default=1200.0, title="Height")
    restoring_factor = Num("1", minimum=0.1, maximum=1, load_default=0.9, title="On what holds")
    overturning_factor = Num("1", minimum=1, maximum=5, load_default=1.5, title="On what tips")


class HoldingSchema(InputSchema):
    """What keeps the machine from tipping, beside its own weight."""

    ballast_kg = Num("kg", minimum=0, maximum=20_000, load_default=0.0, title="Ballast")
    ballast_height_mm = Num(
        "mm", minimum=0, maximum=5000, load_default=50.0, title="Its centre above the floor"
    )
    outrigger_mm = Num(
        "mm", minimum=0, maximum=5000, load_default=0.0, title="Feet reach outward by, all round"
    )
    tie_height_mm = Num(
        "mm", minimum=100, maximum=10_000,
        title="Height of level ties to a wall, or of a rail that holds it, to both sides",
    )  # fmt: skip


class CarryAndStandInputs(InputSchema):
    """A machine in sections, the people who carry it, and the floor it stands on."""

    kit = Document("kit", KitSchema, title="Kit of the frame")
    frame = FrameField()
    sections = ListOf(
        StatedSectionSchema, fewest=1, most=60, distinct="id", title="Sections without a frame"
    )
    coupled = Flag(
        load_default=True, title="Stated sections are coupled to the next one in the list"
    )
    first_node_plane_mm = Num(
        "mm", minimum=1, maximum=1000,
        title="Centres of the lowest hubs above the floor; absent: the hub's overhang",
    )  # fmt: skip
    loose_kg = Num(
        "kg", minimum=0, maximum=5000, load_default=0.0,
        title="Balls and loose things in the standing machine, at its centre of mass",
    )  # fmt: skip
    grips = ListOf(GripSchema, load_default=list, most=60, distinct="section", title="Grips")
    crew_kg = Column(
        "kg", minimum=1, maximum=60, fewest=1, most=12, load_default=[25.0, 16.0, 16.0],
        title="What each of the crew lifts alone, at knuckle height and close",
    )  # fmt: skip
    two_people_from_mm = Num(
        "mm", minimum=100, maximum=10_000, load_default=1000.0,
        title="A side as long as this takes two people, however light",
    )  # fmt: skip
    lifting = Part(LiftingSchema, load_default=lambda: LiftingSchema().load({}), title="Lifting")
    journey = Part(
        JourneySchema, load_default=lambda: JourneySchema().load({}), title="Way to the place"
    )
    slope_deg = Num("deg", minimum=0, maximum=30, load_default=0.0, title="Slope of the floor")
    trolley = Part(TrolleySchema, title="Trolley or castors")
    leaning = Part(LeaningSchema, load_default=lambda: LeaningSchema().load({}), title="Leaning")
    holding = Part(
        HoldingSchema, load_default=lambda: HoldingSchema().load({}), title="What holds it"
    )
    gravity_m_s2 = Num("m/s2", minimum=1, maximum=30, load_default=9.80665, title="Gravity")

    @validates_schema(skip_on_field_errors=False)
    def _one_source(self, data: dict[str, Any], **kwargs: Any) -> None:
        if "frame" in data and "sections" in data:
            fault = Fault("not-unique", "Give a frame or sections, not both.")
            raise ValidationError({"sections": [fault]})
        if "frame" not in data and "sections" not in data:
            raise ValidationError({"frame": [Fault("missing", "Give a frame or sections.")]})
        if "frame" in data and "kit" not in data:
            raise ValidationError({"kit": [Fault("missing", "A frame needs its kit.")]})
