"""What separation-joints takes."""

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
    Whole,
)

from ..frame import FrameField
from ..frame.schemas import MOST_BAYS
from ..kit import KitSchema

BRIDGES = ("floor", "rail", "track", "cover", "chain", "cable", "net", "other")


def _between(**options: Any) -> Names:
    return Names(fewest=2, most=2, title="The two sections of the joint, in order", **options)


class CutSchema(InputSchema):
    """A section to be cut in two: the plane of hubs is doubled, rods couple the halves."""

    section = Key(required=True, title="Section to cut", example="S2")
    axis = Choice("x", "y", "z", load_default="x", title="Axis it is cut across")
    after_bay = Whole(
        required=True, minimum=1, maximum=MOST_BAYS, title="Bays left before the cut", example=5
    )
    rod = Key(required=True, title="Coupling rod", example="R60")
    ends = Choice(
        "closed",
        "open",
        load_default="closed",
        title="Whether each piece gets a frame of beams on its new end",
        about="open: the bays stay as they are and only the plane of hubs is doubled. Sections "
        "with beams of their own are always cut open.",
    )


class LookForCutsSchema(InputSchema):
    """Every plane of one axis of a section, tried as a cut."""

    section = Key(required=True, title="Section to cut", example="S1")
    axis = Choice("x", "y", "z", title="Axis; absent: the longest")
    rod = Key(title="Coupling rod; absent: that of the first joint, else the shortest rod")
    ends = Choice("closed", "open", load_default="closed", title="New ends, as under cuts")


class JointDiagonalSchema(InputSchema):
    """A rod across the gap, from a hub of the first section to one of the second."""

    between = _between(required=True)
    ends = ListOf(
        Column("1", whole=True, minimum=0, maximum=MOST_BAYS, fewest=3, most=3),
        fewest=2,
        most=2,
        required=True,
        title="Grid place in the first section, and in the second",
    )


class BridgeSchema(InputSchema):
    """What crosses a joint when the machine stands: floor panels, rails, chains, cables, nets."""

    id = Key(required=True, title="Id", example="floor-strip")
    title = Text(longest=120, load_default="", title="Title")
    kind = Choice(*BRIDGES, load_default="other", title="Kind")
    between = _between()
    how = Choice(
        "over",
        "in",
        "loose",
        load_default="over",
        title="Lies over the gap with an end on each side, fills it, or hangs loose across it",
    )
    rests_on = Choice(
        "rods",
        "hub-ends",
        load_default="rods",
        title="Measured from the rods of the two end planes, or between the hub ends",
    )
    length_mm = Num(
        "mm", required=True, above=0, maximum=100_000, title="Length of a piece across the gap"
    )
    width_mm = Num("mm", above=0, maximum=100_000, title="Width of a piece along the gap")
    count = Whole(minimum=1, maximum=10_000, load_default=1, title="Pieces at each joint")
    mass_kg = Num("kg", minimum=0, maximum=1000, load_default=0.0, title="Mass of a piece")
    bearing_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=5.0, title="Wanted bearing on each side"
    )
    tolerance_mm = Num(
        "mm",
        minimum=0,
        maximum=1000,
        load_default=1.0,
        title="What it bears",
        about="over: how much the gap may open and close; in: the widest slit that may be left; "
        "loose: the slack that must be left.",
    )
    growth_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=0.0, title="Growth by damp or warmth"
    )
    height_mm = Num(
        "mm", minimum=0, maximum=50_000, title="Height above the lowest hubs; absent: at the rods"
    )
    fastened = Flag(load_default=False, title="Fastened to both sections, so that it braces")
    lies = Choice("flat", "upright", load_default="flat", title="Flat or upright, if fastened")


class WantedSchema(InputSchema):
    """What the builder asks of sections and joints."""

    section_mass_max_kg = Num("kg", above=0, maximum=10_000, title="Heaviest section")
    clear_gap_min_mm = Num("mm", minimum=0, maximum=5000, title="Least gap between hub ends")
    clear_gap_max_mm = Num("mm", minimum=0, maximum=5000, title="Widest gap between hub ends")
    alignment_mm = Num("mm", above=0, maximum=1000, title="How far two sections may be out of line")

    @validates_schema
    def _a_range(self, data: dict[str, Any], **kwargs: Any) -> None:
        low, high = data.get("clear_gap_min_mm"), data.get("clear_gap_max_mm")
        if low is not None and high is not None and low > high:
            fault = Fault("out-of-range", f"Must be at least clear_gap_min_mm, {low:g}.")
            raise ValidationError({"clear_gap_max_mm": [fault]})


class SeparationJointsInputs(InputSchema):
    """A machine of sections, and what is asked of the places where it comes apart."""

    kit = Document("kit", KitSchema, required=True, title="Kit")
    frame = FrameField(required=True)
    cuts = ListOf(CutSchema, load_default=list, most=10, title="Cuts, as if made")
    look_for_cuts = ListOf(
        LookForCutsSchema, load_default=list, most=4, distinct="section", title="Where to cut"
    )
    joint_diagonals = ListOf(
        JointDiagonalSchema, load_default=list, most=200, title="Rods across the gaps"
    )
    bridges = ListOf(
        BridgeSchema, load_default=list, most=50, distinct="id", title="What bridges the gaps"
    )
    wanted = Part(WantedSchema, title="What is wanted")
    pull_per_person_n = Num(
        "N", minimum=1, maximum=5000, load_default=150.0, title="What one person pulls, starting"
    )
    floor_friction_ratio = Num(
        "1", minimum=0, maximum=2, load_default=0.4, title="Friction of feet on the floor"
    )
    gravity_m_s2 = Num("m/s2", minimum=0.1, maximum=100, load_default=9.80665, title="Gravity")
