"""What a kit and a stock look like on the wire."""

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
    Num,
    Part,
    Text,
    Whole,
)


class RodSchema(InputSchema):
    """One kind of rod, named by its pitch."""

    id = Key(required=True, title="Id", example="R120")
    pitch_mm = Num(
        "mm", required=True, minimum=1, maximum=5000, title="Node centre to node centre, seated"
    )
    cut_mm = Num("mm", minimum=0.1, maximum=5000, title="Length of the bare rod")
    diameter_mm = Num("mm", required=True, minimum=0.5, maximum=200, title="Diameter")
    modulus_n_per_mm2 = Num(
        "N/mm2", required=True, minimum=1, maximum=1e7, title="Modulus of elasticity along the rod"
    )
    mass_g = Num("g", required=True, minimum=0, maximum=1e6, title="Mass of one")
    price = Num("1", minimum=0, maximum=1e6, load_default=0.0, title="Price of one, any currency")


class TensionSchema(InputSchema):
    """Pull-out of one seat, by whether both diagonals of a face tie the hub's halves together."""

    held = Num("N", required=True, above=0, maximum=1e6, title="Halves tied together")
    free = Num("N", required=True, above=0, maximum=1e6, title="Halves not tied")


class HubSchema(InputSchema):
    """One kind of hub and its seats."""

    id = Key(required=True, title="Id", example="H18")
    title = Text(longest=120, load_default="")
    ports = Column(
        "1",
        width=3,
        whole=True,
        minimum=-1,
        maximum=1,
        fewest=1,
        most=26,
        required=True,
        title="Directions with a seat",
        about="Each -1, 0 or 1 along x, y, z: [1, 0, 0] along an axis, [1, 1, 0] at 45 degrees.",
    )
    mass_g = Num("g", required=True, minimum=0, maximum=1e5, title="Mass of one")
    overhang_mm = Num(
        "mm", required=True, minimum=0, maximum=500, title="Reach beyond the node centre, each side"
    )
    blank_overhang_mm = Num(
        "mm", minimum=0, maximum=500, title="Reach on a side without a port (a flush hub)"
    )
    two_part = Flag(load_default=False, title="Two halves that slide apart")
    slides_along = Column(
        "1", whole=True, minimum=-1, maximum=1, fewest=3, most=3, title="Axis the halves slide on"
    )
    role = Choice(
        "frame", "middle", "other", load_default="frame", title="Node of the frame, or mid-hub"
    )
    seat_inset_mm = Num(
        "mm", required=True, minimum=0, maximum=500, title="Node centre to the end of the rod"
    )
    seat_play_mm = Num(
        "mm", required=True, minimum=0, maximum=10, title="Play of a seated rod, each way"
    )
    seat_stiffness_n_per_mm = Num(
        "N/mm", required=True, above=0, maximum=1e9, title="Axial stiffness of one seat"
    )
    tension_n = Part(TensionSchema, required=True, title="Pull-out, design value")
    compression_n = Num("N", required=True, above=0, maximum=1e6, title="Bearing, design value")
    rotational_stiffness_n_mm_per_rad = Num(
        "N.mm/rad", minimum=0, maximum=1e12, title="Turning stiffness of one seat"
    )
    price = Num("1", minimum=0, maximum=1e6, load_default=0.0, title="Price of one")

    @validates_schema
    def _slides_somewhere(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data.get("two_part") and "slides_along" not in data:
            fault = Fault("missing", "A two-part hub needs the axis its halves slide on.")
            raise ValidationError({"slides_along": [fault]})

    @validates_schema
    def _seats_face_somewhere(self, data: dict[str, Any], **kwargs: Any) -> None:
        nowhere = {
            place: [Fault("out-of-range", "A seat faces somewhere: not all three may be 0.")]
            for place, port in enumerate(data.get("ports", ()))
            if not any(port)
        }
        if nowhere:
            raise ValidationError({"ports": nowhere})


class ItemSchema(InputSchema):
    """Anything else that is counted: balls, floor panels, spacers, chain links."""

    id = Key(required=True, title="Id", example="floor-tile")
    title = Text(longest=120, load_default="")
    kind = Choice(
        "ball", "panel", "spacer", "chain", "fitting", "other", load_default="other", title="Kind"
    )
    mass_g = Num("g", minimum=0, maximum=1e6, load_default=0.0, title="Mass of one")
    diameter_mm = Num("mm", minimum=0, maximum=1000, title="Diameter")
    pitch_mm = Num("mm", minimum=0, maximum=10_000, title="Pitch at which it repeats")
    price = Num("1", minimum=0, maximum=1e6, load_default=0.0, title="Price of one")


class KitSchema(InputSchema):
    """Rods and hubs that fit one another, and the loose items that go with them."""

    title = Text(longest=200, load_default="")
    rods = ListOf(RodSchema, required=True, fewest=1, most=60, distinct="id", title="Rods")
    hubs = ListOf(HubSchema, required=True, fewest=1, most=30, distinct="id", title="Hubs")
    items = ListOf(ItemSchema, load_default=list, most=200, distinct="id", title="Other items")

    @validates_schema
    def _names_and_a_frame_hub(self, data: dict[str, Any], **kwargs: Any) -> None:
        taken: set[str] = set()
        faults: dict[str, Any] = {}
        for group in ("rods", "hubs", "items"):
            for place, part in enumerate(data.get(group, ())):
                if part["id"] in taken:
                    detail = f"“{part['id']}” already names another part of this kit."
                    where = faults.setdefault(group, {})
                    where[place] = {"id": [Fault("not-unique", detail)]}
                taken.add(part["id"])
        if not any(hub["role"] == "frame" for hub in data.get("hubs", ())):
            faults["hubs"] = [Fault("missing", "At least one hub needs the role frame.")]
        if faults:
            raise ValidationError(faults)


class CountSchema(InputSchema):
    """How many of one part are there."""

    item = Key(required=True, title="Part of the kit", example="R120")
    on_hand_count = Whole(required=True, minimum=0, maximum=10_000_000, title="On the shelf")
    reserved_count = Whole(
        minimum=0, maximum=10_000_000, load_default=0, title="Promised elsewhere or kept as spares"
    )


class StockSchema(InputSchema):
    """What is on the shelf. A part that is not listed is not there."""

    title = Text(longest=200, load_default="")
    kit = Document("kit", KitSchema, title="The kit these parts belong to")
    counts = ListOf(CountSchema, required=True, most=300, distinct="item", title="Counts")
