"""What route-fit takes and gives."""

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
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)

from ..frame import FrameField
from ..grid_fit.schemas import AxesMmOut
from ..kit import KitSchema
from .route_schemas import (
    RouteBoxSchema,
    RouteClearancesSchema,
    RoutePassageSchema,
    RouteProtrusionSchema,
)
from .vehicle import VehicleOut, VehicleSchema


class RouteFitInputs(InputSchema):
    """A route, and what goes along it: a frame's sections, boxes, or both."""

    kit = Document("kit", KitSchema, title="Kit; needed with a frame")
    frame = FrameField(title="The machine; each of its sections is carried in one piece")
    boxes = ListOf(
        RouteBoxSchema,
        load_default=list,
        most=100,
        distinct="id",
        title="Other things on the route",
    )
    passages = ListOf(
        RoutePassageSchema,
        required=True,
        fewest=1,
        most=60,
        distinct="id",
        title="Passages from the workshop to the place of show, in order",
    )
    clearances = Part(RouteClearancesSchema, title="Clearances")
    protrusions = ListOf(
        RouteProtrusionSchema, load_default=list, most=200, title="What sticks out of sections"
    )
    flush_axes = ListOf(
        Choice("x", "y", "z"), load_default=list, most=3, title="Axes with flush outer hubs"
    )
    keep_upright = Names(
        load_default=tuple, most=60, title="Sections that must stay upright: this side up"
    )

    vehicle = Part(VehicleSchema, title="Van or trailer that everything is packed into")

    @validates_schema
    def _something_to_carry(self, data: dict[str, Any], **kwargs: Any) -> None:
        if "frame" not in data and not data.get("boxes"):
            raise ValidationError([Fault("missing", "Give at least one of: frame, boxes.")])


class BlockOut(ResultSchema):
    low_mm = Column("mm", title="Lower corner x, y, z from the outer corner over all")
    high_mm = Column("mm", title="Upper corner")


class ThingOut(ResultSchema):
    id = Text(title="Id")
    title = Text(title="Title")
    kind = Text(title="Section or Box")
    outside_mm = Part(AxesMmOut, title="Over all, with what sticks out when it is carried")
    over_hubs_mm = Part(AxesMmOut, title="Over the hub ends")
    outline = ListOf(BlockOut, title="Its true outline as blocks; absent: counted as a box")
    keep_upright = Flag(title="This side up")
    mass_kg = Num("kg", title="Mass with its fittings, without what sticks out")
    twin_of = Text(title="The first section it is identical to")
    passes = Flag(title="Gets through every passage")
    governing_passage = Text(title="The passage that leaves it least room")
    spare_mm = Num("mm", title="Room left there; below 0 it sticks")
    attitude = Text(title="Attitude there")
    how = Text(title="Way it is taken there")
    governs = Text(title="What decides there")
    turnings_count = Whole(title="Times it is laid down or stood up on the way")


class WayOut(ResultSchema):
    """One way past one obstacle."""

    obstacle = Text(title="opening, turn-before, turn-behind, corner-1.., flight, landing-1..")
    attitude = Text(title="upright, on-back, on-end or tilted")
    how = Text(
        title="straight, weaving, rolled, turning, sliding, level, along-the-stairs or on-end"
    )
    face_down = Text(title="The side it lies on, where that matters: z-minus when upright")
    carried = Text(title="by-hand (a carrier at each end, where it turns) or on-skid")
    travel_axis = Text(title="Its own axis that leads")
    passes = Flag(title="Gets past")
    spare_mm = Num("mm", title="Least room left; below 0 it sticks")
    governs = Text(title="What decides: width, height, depth, corner, passage, headroom ..")
    tight_axis = Text(title="Its own axis that lies along it, where it stands straight")
    needed_mm = Num("mm", title="Room it needs there")
    allowed_mm = Num("mm", title="Room it has there")
    angle_deg = Num("deg", title="Lean, or angle where turning is tightest, or slope of the stairs")
    width_mm = Num("mm", title="Its width as it is led")
    height_mm = Num("mm", title="Its height as it is led")
    length_mm = Num("mm", title="Its length as it is led, carriers included")
    exactness = Text(title="exact, or conservative: it may go where this says it sticks")


class PassageRowOut(WayOut):
    """A section or box at a passage: the way that decides."""

    section = Text(title="Section or box")
    passage = Text(title="Passage")
    upright = Flag(title="Gets through upright")
    ways = ListOf(WayOut, title="The way to take past each obstacle of the passage")
    others = ListOf(WayOut, title="The best way past each obstacle in every attitude tried")


class HardwareOut(ResultSchema):
    side = Text(title="left or right")
    projects_mm = Num("mm", title="How far it stands into the opening")
    from_mm = Num("mm", title="Lower edge")
    to_mm = Num("mm", title="Upper edge")


class LandingOut(ResultSchema):
    turn = Text(title="straight, quarter or half")
    length_mm = Num("mm", title="Length")
    width_mm = Num("mm", title="Width")
    headroom_mm = Num("mm", title="Headroom")


class FlightOut(ResultSchema):
    going_mm = Num("mm", title="Going")
    rise_mm = Num("mm", title="Rise")
    width_mm = Num("mm", title="Clear width")
    headroom_mm = Num("mm", title="Headroom, plumb")
    slope_deg = Num("deg", title="Slope of the line through the step edges")
    perpendicular_headroom_mm = Num("mm", title="Headroom square to that line")
    landings = ListOf(LandingOut, title="Landings")


class OpeningOut(ResultSchema):
    """A passage, and what hands, lifting and headroom leave of it."""

    id = Text(title="Id")
    title = Text(title="Title")
    kind = Text(title="Kind")
    clear_width_mm = Num("mm", title="Clear width")
    clear_height_mm = Num("mm", title="Clear height")
    allowed_width_mm = Num("mm", title="Width less room for hands")
    allowed_height_mm = Num("mm", title="Height less room above and lifting")
    lifted_mm = Num("mm", title="Lifted off the floor, or over the threshold")
    threshold_mm = Num("mm", title="Threshold")
    hardware = ListOf(HardwareOut, title="What stands into it")
    reveal_mm = Num("mm", title="Depth of wall or frame")
    before_mm = Num("mm", title="Width of the passage in front")
    behind_mm = Num("mm", title="Width of the passage behind")
    depth_mm = Num("mm", title="Clear depth inside")
    inside_width_mm = Num("mm", title="Clear width inside")
    inside_height_mm = Num("mm", title="Clear height inside")
    corridors_mm = Column("mm", title="Widths of corridors")
    legs_mm = Column("mm", title="Lengths of the corridors between two turns")
    longest_rod_mm = Num("mm", title="Longest thin rod that turns every corner level")
    ceiling_mm = Num("mm", title="Ceiling")
    flight = Part(FlightOut, title="Stairs")
    library = Text(title="Published opening that supplied sizes")
    all_pass = Flag(title="Everything gets through")
    tightest = Text(title="The section or box it leaves least room")
    spare_mm = Num("mm", title="Room left then; below 0 it sticks")


class GoverningOut(ResultSchema):
    """What governs the whole machine."""

    section = Text(title="Section or box")
    passage = Text(title="Passage")
    obstacle = Text(title="Obstacle of that passage")
    passes = Flag(title="Gets through")
    spare_mm = Num("mm", title="Room left; below 0 it sticks")
    attitude = Text(title="Attitude")
    how = Text(title="Way it is taken")
    governs = Text(title="What decides")
    needed_mm = Num("mm", title="Room it needs there")
    allowed_mm = Num("mm", title="Room it has there")
    exactness = Text(title="exact or conservative")


class TurningOut(ResultSchema):
    """Laying a thing down, or standing it up, between two passages."""

    section = Text(title="Section or box")
    after = Text(title="Passage it comes from; absent: at the start")
    before = Text(title="Passage it goes to; absent: at the end")
    from_attitude = Text(title="From")
    to_attitude = Text(title="To")
    height_needed_mm = Num("mm", title="Ceiling needed while it is turned")
    ceiling_mm = Num("mm", title="The higher of the ceilings given on either side")
    fits = Flag(title="The ceiling is high enough; absent: nobody gave one")


class LibraryOut(ResultSchema):
    """A published opening that supplied sizes."""

    name = Text(title="Name")
    title = Text(title="What it is")
    source = Text(title="Source")
    clause = Text(title="Clause")
    status = Text(title="read in a source, or from memory")
    note = Text(title="Note")
    upper_bound = Flag(title="The clear opening is smaller than this")
    passages = Names(title="Passages that use it")


class CaseOut(ResultSchema):
    section = Text(title="Section or box")
    passage = Text(title="Passage")


class ChangeOut(ResultSchema):
    kind = Text(title="leaf-off, part-off, hardware-off or all-of-these")
    message = Text(title="What to do")
    clears = ListOf(CaseOut, title="What stuck and now gets through, shown by a re-run")
    sticking_count = Whole(title="Cases that stick still")
    asks_the_venue = Flag(title="Changes the venue, not the machine")
    patch = Anything(objects=True, title="Merge patch on the inputs")


class RouteFitResult(ResultSchema):
    governing = Part(GoverningOut, title="The passage that governs the whole machine")
    sections = ListOf(ThingOut, title="What goes along the route")
    passages = ListOf(PassageRowOut, title="Each section or box at each passage")
    openings = ListOf(OpeningOut, title="The passages, in order, and what they leave")
    turnings = ListOf(TurningOut, title="Where things are laid down or stood up")
    library = ListOf(LibraryOut, title="Published openings used: measure before you rely on them")
    changes = ListOf(ChangeOut, title="Simple changes that help, shown by a re-run")
    vehicle = Part(VehicleOut, title="Everything packed into the vehicle")
