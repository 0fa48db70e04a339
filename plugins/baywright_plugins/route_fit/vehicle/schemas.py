"""What the packing of a vehicle takes and gives."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Column,
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

from ...grid_fit.schemas import SizeSchema

MOST_THINGS = 24


def _length(title: str, **options: Any) -> Num:
    return Num("mm", minimum=1, maximum=100_000, title=title, **options)


class BlockedSchema(InputSchema):
    """Something fixed to the floor of the bay: a wheel arch, a box of tools."""

    title = Text(longest=120, load_default="wheel arch")
    at_mm = Column(
        "mm", minimum=0, maximum=100_000, fewest=2, most=2, required=True,
        title="Its corner: from the front wall, and from the left wall seen from the door",
    )  # fmt: skip
    size_mm = Column(
        "mm", minimum=1, maximum=100_000, fewest=3, most=3, required=True,
        title="Size along the bay, across it, and height above the floor",
    )  # fmt: skip
    bears = Flag(load_default=False, title="Things may stand on it")


class VehicleItemSchema(InputSchema):
    """How one section or box may travel."""

    id = Key(required=True, title="Section or box", example="S1")
    this_side_up = Flag(load_default=False, title="Must stay upright; may be turned about")
    do_not_stack = Flag(load_default=False, title="Nothing may stand on it")
    may_lie_on = ListOf(
        Choice("x", "y", "z"),
        fewest=1,
        most=3,
        title="Its own axes that may point up; absent: all (z is upright)",
    )
    led_along = Choice("x", "y", "z", title="Its own axis that must lie along the bay; absent: any")
    load_on_top_kg_max = Num(
        "kg", minimum=0, maximum=100_000, title="Most that may stand on it; absent: no limit"
    )
    mass_kg = Num("kg", minimum=0, maximum=100_000, title="Mass, where not known otherwise")
    centre_height_mm = Num(
        "mm", above=0, maximum=100_000,
        title="Centre of mass above its underside, upright; absent: mid-height",
    )  # fmt: skip
    base_mm = Column(
        "mm", minimum=1, maximum=100_000, fewest=2, most=2,
        title="Distance between its outer feet along x and y, upright; absent: its outside",
    )  # fmt: skip

    @validates_schema
    def _some_way_up(self, data: dict[str, Any], **kwargs: Any) -> None:
        ups = set(data.get("may_lie_on", "xyz"))
        if data.get("this_side_up"):
            ups &= {"z"}
        if not ups:
            detail = "This side up leaves only z to point up; the list leaves it out."
            raise ValidationError({"may_lie_on": [Fault("out-of-range", detail)]})
        if ups == {data.get("led_along")}:
            detail = "The only axis that may point up cannot lie along the bay as well."
            raise ValidationError({"led_along": [Fault("out-of-range", detail)]})


class VehicleBoxSchema(InputSchema):
    """Something else that goes into the vehicle."""

    id = Key(required=True, title="Id", example="tools")
    title = Text(longest=120, load_default="")
    size_mm = Part(SizeSchema, required=True, title="Outside size as it stands")
    mass_kg = Num("kg", minimum=0, maximum=100_000, title="Mass")

    @validates_schema
    def _has_a_size(self, data: dict[str, Any], **kwargs: Any) -> None:
        flat = [axis for axis, side in data.get("size_mm", {}).items() if side <= 0]
        if flat:
            fault = Fault("out-of-range", "Must be above 0.")
            raise ValidationError({"size_mm": {axis: [fault] for axis in flat}})


class VehicleSchema(InputSchema):
    """The load bay of a van or trailer, and what else goes in."""

    title = Text(longest=120, load_default="van")
    length_mm = _length("Load bay, front wall to door", required=True)
    width_mm = _length("Load bay, clear width", required=True)
    height_mm = _length("Load bay, clear height", required=True)
    door_width_mm = _length("Door, clear width; absent: as wide as the bay")
    door_height_mm = _length("Door, clear height; absent: as high as the bay")
    blocked = ListOf(
        BlockedSchema, load_default=list, most=6, title="Wheel arches and what else is fixed"
    )
    gap_between_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=0.0, title="Room between things side by side"
    )
    gap_walls_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=0.0, title="Room to walls, door and roof"
    )
    gap_door_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=10.0,
        title="Room in the door opening, each side and above",
    )  # fmt: skip
    max_payload_kg = Num("kg", above=0, maximum=100_000, title="Payload, at most")
    rear_only = Flag(
        load_default=True, title="Loaded through the door at the rear only; false: open above"
    )
    aim = Choice(
        "free-length",
        "free-width",
        load_default="free-length",
        title="Leave the most length free at the door, or the most width along one wall",
    )
    items = ListOf(
        VehicleItemSchema,
        load_default=list,
        most=100,
        distinct="id",
        title="How sections and boxes may travel; others: any way up, anything on top",
    )
    boxes = ListOf(
        VehicleBoxSchema,
        load_default=list,
        most=MOST_THINGS,
        distinct="id",
        title="What else goes into the vehicle",
    )


class PlacementOut(ResultSchema):
    """Where one thing travels."""

    id = Text(title="Section or box")
    title = Text(title="Title")
    order = Whole(title="Place in the order of loading, from 1")
    at_mm = Column("mm", title="Corner: from the front wall, from the left wall, above the floor")
    size_mm = Column("mm", title="Size along the bay, across it, and height, as it travels")
    attitude = Text(title="upright, on-back or on-end")
    along_axis = Text(title="Its own axis that lies along the bay")
    across_axis = Text(title="Its own axis that lies across the bay")
    on = ListOf(Text(), title="What it stands on: floor, or the ids of things below")
    shift_mm = Num("mm", title="How far to shift it sideways once it is through the door")
    mass_kg = Num("kg", title="Mass, where known")
    load_on_top_kg = Num("kg", title="What stands on it in all, where masses are known")
    tips_across_ratio = Num("1", title="Half base over height of centre across the vehicle")
    tips_along_ratio = Num("1", title="The same along the vehicle")
    stack_across_ratio = Num(
        "1", title="The same across the vehicle for it and all that stands on it, taken as one"
    )
    centre_assumed = Flag(title="The height of its centre of mass is assumed: half its height")


class BlockedOut(ResultSchema):
    title = Text(title="Title")
    at_mm = Column("mm", title="Its corner from the front wall and the left wall")
    size_mm = Column("mm", title="Size along, across, height")


class TriedOut(ResultSchema):
    """A change that would let everything in."""

    change = Text(title="leave-out, stack or turn")
    id = Text(title="Section or box to be left for another trip")


class VehicleOut(ResultSchema):
    """Everything in the vehicle, or why not."""

    title = Text(title="Title")
    bay_mm = Column("mm", title="Load bay: length, width, height")
    door_mm = Column("mm", title="Door: width, height")
    blocked = ListOf(BlockedOut, title="What is fixed to its floor")
    answer = Text(title="fits, does-not-fit or not-decided")
    decided_by = Text(
        title="exact-search, bound, quick-search, size of one thing, or nothing: the search gave up"
    )
    aim = Text(title="free-length or free-width")
    placements = ListOf(PlacementOut, title="Where each thing travels, in the order of loading")
    loading_order = ListOf(Text(), title="Ids, from front to rear")
    used_length_mm = Num("mm", title="From the front wall to the end of the load")
    used_width_mm = Num("mm", title="From the left wall to the side of the load")
    used_height_mm = Num("mm", title="From the floor to the top of the load")
    free_length_mm = Num("mm", title="Left at the door")
    free_width_mm = Num("mm", title="Left along the right wall")
    aim_proven = Flag(title="No packing does better by the aim: proven")
    least_mm = Num(
        "mm", title="No packing of them all is shorter (or narrower, by the aim) than this"
    )
    floor_used_ratio = Num("1", title="Share of the floor that is stood on")
    nodes_searched_count = Whole(title="Steps of the search")
    nodes_most_count = Whole(title="Steps at which the search gives up")
    mass_kg = Num("kg", title="Mass of all whose mass is known")
    mass_unknown = ListOf(Text(), title="Ids of those whose mass is not known")
    max_payload_kg = Num("kg", title="Payload, at most")
    centre_of_mass_mm = Column(
        "mm", title="Centre of mass from the front wall, the left wall and the floor"
    )
    would_help = ListOf(TriedOut, title="Changes that were tried and let everything in")
