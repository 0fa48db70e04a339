"""Passages, clearances and what is carried: what grid-fit takes, and more."""

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Column,
    Fault,
    Flag,
    InputSchema,
    ListOf,
    Num,
    Part,
    Text,
)

from ..grid_fit.schemas import BoxSchema, ClearancesSchema, PassageSchema, ProtrusionSchema
from .published_openings import EN_13698_1, OPENINGS, listed, with_library

MOST_HARDWARE, MOST_CORRIDORS, MOST_LANDINGS, MOST_PARTS = 8, 9, 12, 24


def _room(title: str, **options: Any) -> Num:
    return Num("mm", minimum=1, maximum=100_000, title=title, **options)


class HardwareSchema(InputSchema):
    """A handle, crash bar or closer that stands into the opening."""

    side = Choice("left", "right", "top", required=True, title="Where it sits, seen on the way in")
    projects_mm = Num(
        "mm", required=True, above=0, maximum=5000, title="How far it stands into the opening"
    )
    from_mm = Num(
        "mm", minimum=0, maximum=50_000, load_default=0.0, title="Its lower edge, above the floor"
    )
    to_mm = Num("mm", minimum=0, maximum=50_000, title="Its upper edge; absent: to the top")
    title = Text(longest=120, load_default="hardware", title="What it is")
    removable = Flag(load_default=False, title="Comes off")
    taken_off = Flag(load_default=False, title="Is off when you come")

    @validates_schema
    def _in_order(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data.get("to_mm", data.get("from_mm", 0.0)) < data.get("from_mm", 0.0):
            fault = Fault("out-of-range", "The upper edge lies below the lower one.")
            raise ValidationError({"to_mm": [fault]})


class FlightSchema(InputSchema):
    """A flight of stairs: all its steps alike."""

    going_mm = Num("mm", required=True, minimum=50, maximum=2000, title="Going of one step")
    rise_mm = Num("mm", required=True, minimum=10, maximum=1000, title="Rise of one step")
    width_mm = _room("Clear width between walls or handrails")
    headroom_mm = _room(
        "Headroom",
        required=True,
        about="Measured plumb, from the line through the step edges up to the lowest thing above.",
    )


class LandingSchema(InputSchema):
    """What lies at the end of a flight; the next flight is like the first."""

    turn = Choice("straight", "quarter", "half", load_default="straight", title="Turn on it")
    length_mm = _room("Clear length, in the direction of the flight before it", required=True)
    width_mm = _room("Clear width across; absent: as the flight")
    headroom_mm = _room("Headroom over it; absent: as the flight")


class RoutePassageSchema(PassageSchema):
    """An opening, corner, corridor, stairs, lift or bay on the route, in the order they come."""

    library = Choice(
        *OPENINGS,
        title="A published opening that supplies what is left out",
        about=f"A first guess only; the tape measure decides. {listed()}.",
    )
    hardware = ListOf(
        HardwareSchema, load_default=list, most=MOST_HARDWARE, title="What stands into the opening"
    )
    reveal_mm = Num(
        "mm", minimum=0, maximum=5000, title="Depth of the wall or frame at the opening"
    )
    before_mm = _room("Width of the passage along the wall in front, where it must be turned into")
    behind_mm = _room("Width of the passage along the wall behind")
    inside_width_mm = _room("Clear width inside (lift car, van, trailer)")
    inside_height_mm = _room("Clear height inside")
    corridors_mm = Column(
        "mm", minimum=1, maximum=50_000, fewest=2, most=MOST_CORRIDORS,
        title="Widths of corridors that meet at right angles, in order",
    )  # fmt: skip
    legs_mm = Column(
        "mm", minimum=1, maximum=1_000_000, most=MOST_CORRIDORS,
        title="Clear length, end wall to end wall, of each corridor between two turns",
    )  # fmt: skip
    ceiling_mm = _room("Ceiling, here and just before and after")
    flight = Part(FlightSchema, title="Stairs")
    landings = ListOf(
        LandingSchema,
        load_default=list,
        most=MOST_LANDINGS,
        title="Landings, in the order they come; the last may be the top",
    )

    @validates_schema
    def _opening_or_corner(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults = route_faults(with_library(data))
        if faults:
            raise ValidationError(faults)


def route_faults(data: Mapping[str, Any]) -> dict[str, Any]:
    """What a passage lacks, by field, once the library has supplied what it can."""
    faults: dict[str, Any] = {}
    given = {"width_mm", "height_mm"} & set(data)
    other = {"corner_mm", "corridors_mm", "flight"} & set(data)
    needs = {"before_mm", "behind_mm", "inside_width_mm", "inside_height_mm"} & set(data)
    if len(given) == 1 or not (given or other) or (needs and not given and "library" not in data):
        fault = Fault(
            "missing", "An opening needs its width and height; a corner its corridors; stairs "
            "their flight.",
        )  # fmt: skip
        faults |= {name: [fault] for name in ("width_mm", "height_mm") if name not in data}
    if data.get("leaf_off") and "leaf_off_width_mm" not in data:
        faults["leaf_off_width_mm"] = [Fault("missing", "Say how wide it is with the leaf off.")]
    between = len(data["corridors_mm"]) - 2 if "corridors_mm" in data else 0
    legs = len(data.get("legs_mm", ()))
    if legs and legs != between:
        fault = Fault("out-of-range", f"There are {between} corridors between two turns.")
        faults["legs_mm"] = [fault]
    elif between > 0 and not legs:
        faults["legs_mm"] = [Fault("missing", "Say how long each corridor between two turns is.")]
    if "flight" in data and "width_mm" not in data["flight"]:
        faults["flight"] = {"width_mm": [Fault("missing", "Say how wide the flight is.")]}
    if data.get("landings") and "flight" not in data:
        faults["flight"] = [Fault("missing", "Landings need a flight.")]
    return faults


class RouteClearancesSchema(ClearancesSchema):
    """Room kept free when a section is carried, on the level and on stairs."""

    stairs_each_side_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=30.0, title="For hands on stairs, each side"
    )
    stairs_lifted_mm = Num(
        "mm", minimum=0, maximum=2000, load_default=50.0, title="Kept clear of the steps, plumb"
    )
    stairs_above_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=50.0, title="Above on stairs, plumb"
    )


class RouteProtrusionSchema(ProtrusionSchema):
    """What sticks out of sections beyond their hub ends, and where on its side it sits."""

    place = Choice(
        "whole-side", "four-corners", "patches", load_default="whole-side", title="Where it sits"
    )
    pad_mm = Num(
        "mm", above=0, maximum=5000, load_default=60.0,
        title="Side of each square pad, for four corners",
    )  # fmt: skip
    patches_mm = Column(
        "mm", width=4, minimum=0, maximum=100_000, fewest=1, most=MOST_PARTS,
        title="Patches: from and to along the side's two axes",
        about="[from, from, to, to] along the two other axes in the order x, y, z, measured from "
        "the section's lower corner over its hub ends.",
    )  # fmt: skip

    @validates_schema
    def _patches(self, data: dict[str, Any], **kwargs: Any) -> None:
        wanted = data.get("place") == "patches"
        if wanted and "patches_mm" not in data:
            raise ValidationError({"patches_mm": [Fault("missing", "Say where the patches are.")]})
        if "patches_mm" in data and (data["patches_mm"][:, :2] > data["patches_mm"][:, 2:]).any():
            fault = Fault("out-of-range", "Each patch must give from before to.")
            raise ValidationError({"patches_mm": [fault]})


class PartOfOutlineSchema(InputSchema):
    """A block of an outline."""

    low_mm = Column(
        "mm", minimum=0, maximum=100_000, fewest=3, most=3, required=True,
        title="Lower corner x, y, z, from the lower corner of the whole",
    )  # fmt: skip
    high_mm = Column(
        "mm", minimum=0, maximum=100_000, fewest=3, most=3, required=True, title="Upper corner"
    )

    @validates_schema
    def _in_order(self, data: dict[str, Any], **kwargs: Any) -> None:
        if len(data) == 2 and (data["low_mm"] > data["high_mm"]).any():
            fault = Fault("out-of-range", "The upper corner lies below the lower one.")
            raise ValidationError({"high_mm": [fault]})


class RouteBoxSchema(BoxSchema):
    """Anything else that goes the same way, as a box or as blocks."""

    outline = ListOf(
        PartOfOutlineSchema,
        load_default=list,
        most=MOST_PARTS,
        title="Its true outline as blocks; absent: the whole box",
    )
    keep_upright = Flag(load_default=False, title="This side up")
    on_pallet = Choice(EN_13698_1.name, title="Travels upright on this pallet")

    @validates_schema
    def _can_be_led(self, data: dict[str, Any], **kwargs: Any) -> None:
        upright = data.get("keep_upright") or "on_pallet" in data
        if upright and data.get("led_along") == "z":
            fault = Fault("out-of-range", "What is kept upright cannot be led along z.")
            raise ValidationError({"led_along": [fault]})
        if "on_pallet" in data and data.get("outline"):
            fault = Fault("out-of-range", "On a pallet it counts as a box: leave the outline out.")
            raise ValidationError({"outline": [fault]})
