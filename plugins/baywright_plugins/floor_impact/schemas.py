"""What goes in, with units and bounds."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Document,
    Fault,
    Flag,
    InputSchema,
    Key,
    Num,
    Part,
    Text,
    Whole,
)

from ..kit import KitSchema
from .materials import MATERIALS
from .panel_spec import ORIENTATIONS

MOST_BAYS = 24
SUPPORTS = ("ends", "edges", "corners", "bearers", "net")
PATTERNS = ("lean-in", "alternating", "crossed", "none")


class MaterialSchema(InputSchema):
    """What is pressed where a ball lands: a known material, or numbers of your own."""

    known = Choice(*MATERIALS, title="A material from the list")
    modulus_min_n_per_mm2 = Num("N/mm2", minimum=0.1, maximum=1e6, title="Modulus, at least")
    modulus_max_n_per_mm2 = Num("N/mm2", minimum=0.1, maximum=1e6, title="Modulus, at most")
    poisson_ratio = Num("1", minimum=0, maximum=0.5, load_default=0.35, title="Poisson's ratio")
    yield_n_per_mm2 = Num(
        "N/mm2",
        minimum=0.01,
        maximum=1e5,
        title="Yield strength where it is pressed",
        about="Left out with own numbers: dents are taken to spring back.",
    )

    @validates_schema
    def _known_or_numbers(self, data: dict[str, Any], **kwargs: Any) -> None:
        numbers = [name for name in _MODULI if name in data]
        if "known" in data:
            given = [name for name in (*_MODULI, "yield_n_per_mm2") if name in data]
            detail = "Give known or numbers of your own, one of them."
            faults = {name: [Fault("not-unique", detail)] for name in given}
        elif len(numbers) < 2:
            detail = "Give both bounds of the modulus, or known."
            faults = {n: [Fault("missing", detail)] for n in _MODULI if n not in data}
        elif data[_MODULI[0]] > data[_MODULI[1]]:
            detail = "Must not be below modulus_min_n_per_mm2."
            faults = {_MODULI[1]: [Fault("out-of-range", detail)]}
        else:
            faults = {}
        if faults:
            raise ValidationError(faults)


_MODULI = ("modulus_min_n_per_mm2", "modulus_max_n_per_mm2")


class BallSchema(InputSchema):
    diameter_mm = Num("mm", required=True, minimum=1, maximum=500, title="Ball diameter")
    mass_kg = Num("kg", required=True, minimum=0.0001, maximum=20, title="Ball mass")
    restitution_min_ratio = Num(
        "1",
        required=True,
        minimum=0,
        maximum=0.99,
        title="Restitution on the floor, at least",
        about="Root of rebound over drop: 97 mm from 480 mm is 0.45.",
    )
    restitution_max_ratio = Num(
        "1", required=True, minimum=0, maximum=0.99, title="Restitution on the floor, at most"
    )
    material = Part(
        MaterialSchema, load_default=lambda: {"known": "beech-ball"}, title="What the ball is of"
    )

    @validates_schema
    def _in_order(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data["restitution_min_ratio"] > data["restitution_max_ratio"]:
            fault = Fault("out-of-range", "Must not be below restitution_min_ratio.")
            raise ValidationError({"restitution_max_ratio": [fault]})


class DropSchema(InputSchema):
    height_mm = Num("mm", required=True, minimum=1, maximum=10_000, title="Fall onto the floor")
    horizontal_speed_m_per_s = Num(
        "m/s",
        load_default=0.0,
        minimum=0,
        maximum=20,
        title="Speed along the floor as it lands",
        about="Tells the angle and the whole energy; only the vertical part presses the floor.",
    )
    balls_per_min = Num(
        "/min", load_default=60.0, minimum=0, maximum=10_000, title="Balls a minute"
    )
    share_ratio = Num(
        "1", load_default=1.0, minimum=0, maximum=1, title="Share that lands on this panel"
    )
    hours_per_day = Num("h", load_default=6.0, minimum=0, maximum=24, title="Hours a day")
    wall_mm = Num("mm", minimum=0, maximum=10_000, title="Wall around the floor")


class DeckSchema(InputSchema):
    """A sheet in one piece that lies on the panel without being fixed to it."""

    thickness_mm = Num("mm", required=True, minimum=0.2, maximum=50, title="Thickness")
    modulus_n_per_mm2 = Num(
        "N/mm2", required=True, minimum=1, maximum=3e5, title="Modulus of elasticity in bending"
    )
    poisson_ratio = Num("1", load_default=0.3, minimum=0, maximum=0.49, title="Poisson's ratio")
    density_kg_per_m3 = Num(
        "kg/m3", load_default=680.0, minimum=10, maximum=20_000, title="Density"
    )


class SupportsSchema(InputSchema):
    rests_on = Choice(
        *SUPPORTS,
        load_default="ends",
        title="What the panel rests on",
        about="ends: a bearer under each end of the bays along; edges: all round; corners: four "
        "hubs; bearers: one every so many bays; net: hung all round on springs.",
    )
    bearer_every_bays_count = Whole(
        load_default=1, minimum=1, maximum=36, title="Bays from bearer to bearer"
    )
    stiffness_n_per_mm = Num(
        "N/mm",
        minimum=0.001,
        maximum=1e6,
        title="Stiffness under each hub that rests",
        about="Left out: does not give, which is the harder case. A net needs it.",
    )
    clipped = Flag(load_default=False, title="The panel is held down where it rests")

    @validates_schema
    def _net_gives(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data["rests_on"] == "net" and "stiffness_n_per_mm" not in data:
            fault = Fault("missing", "A net gives: say by how much.")
            raise ValidationError({"stiffness_n_per_mm": [fault]})


class PanelSchema(InputSchema):
    """A panel of kit rods: as flat trusses on edge, tied across, or as a flat grid."""

    bays_along_count = Whole(required=True, minimum=1, maximum=12, title="Bays along")
    bays_across_count = Whole(required=True, minimum=1, maximum=12, title="Bays across")
    bay_rod = Key(required=True, title="Rod along", example="R60")
    cross_rod = Key(title="Rod across", about="Left out: as bay_rod. Trusses stand this far apart.")
    depth_rod = Key(title="Rod of the posts on edge", about="Left out: as bay_rod.")
    diagonals = Choice(*PATTERNS, load_default="lean-in", title="Diagonals of the trusses on edge")
    built = Choice(
        *ORIENTATIONS, title="How it is built", about="Left out: the better of both is taken."
    )
    deck = Part(DeckSchema, title="Sheet on top")
    supports = Part(SupportsSchema, load_default=lambda: SupportsSchema().load({}))
    damping_min_ratio = Num(
        "1",
        load_default=0.02,
        minimum=0,
        maximum=0.3,
        title="Damping of the panel, at least, as a share of the critical",
        about="Rods that sit loosely rub; 0.02 to 0.1 is common practice, no source.",
    )
    damping_max_ratio = Num(
        "1", load_default=0.1, minimum=0, maximum=0.3, title="Damping of the panel, at most"
    )
    halves_held = Flag(
        title="Halves of two-part hubs are tied together",
        about="Left out: yes for hubs in one piece, no for two-part hubs.",
    )
    seat_turning_n_mm_per_rad = Num(
        "N.mm/rad",
        minimum=0,
        maximum=1e9,
        title="Turning stiffness of a seat",
        about="Left out: from the kit. Without it a flat grid is a mechanism.",
    )
    seat_moment_n_mm = Num(
        "N.mm",
        minimum=1e-3,
        maximum=1e7,
        title="Bending moment a seat holds",
        about="Left out: pull-out times half the rod's diameter, a guess to be tested.",
    )
    seat_depth_mm = Num(
        "mm",
        minimum=0.1,
        maximum=500,
        title="Depth of rod in the seat",
        about="Left out: the hub's overhang less its inset.",
    )
    rod_bending_strength_n_per_mm2 = Num(
        "N/mm2", load_default=40.0, minimum=1, maximum=2000, title="Bending strength of the rods"
    )
    rod_shear_strength_n_per_mm2 = Num(
        "N/mm2", load_default=4.0, minimum=0.1, maximum=1000, title="Shear strength of the rods"
    )
    rod_material = Part(
        MaterialSchema,
        load_default=lambda: {"known": "beech-across"},
        title="What a rod is of, pressed across",
    )
    hub_material = Part(
        MaterialSchema, load_default=lambda: {"known": "printed-plastic"}, title="What a hub is of"
    )
    deck_material = Part(
        MaterialSchema,
        load_default=lambda: {"known": "plywood-across"},
        title="What the deck is of, pressed through its thickness",
    )

    @validates_schema
    def _damping_in_order(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data["damping_min_ratio"] > data["damping_max_ratio"]:
            fault = Fault("out-of-range", "Must not be below damping_min_ratio.")
            raise ValidationError({"damping_max_ratio": [fault]})

    @validates_schema
    def _not_too_many(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data["bays_along_count"] * data["bays_across_count"] > MOST_BAYS:
            detail = f"Must make at most {MOST_BAYS} bays in all: take one panel of the floor."
            raise ValidationError({"bays_across_count": [Fault("too-many", detail)]})


class SlowingSchema(InputSchema):
    """Something soft on top: felt, foam, or a net that a ball runs into first."""

    title = Text(longest=80, load_default="felt", title="What it is")
    travel_mm = Num(
        "mm",
        required=True,
        minimum=0.1,
        maximum=2000,
        title="How far it gives before it is flat",
        about="Felt gives about half of its thickness; common practice, no source.",
    )
    stiffness_n_per_mm = Num(
        "N/mm", required=True, minimum=1e-4, maximum=1e6, title="Stiffness under one ball"
    )


class TestSchema(InputSchema):
    """What the drop test shall show."""

    reliability_ratio = Num(
        "1", load_default=0.95, minimum=0.5, maximum=0.9999, title="Reliability to be shown"
    )
    confidence_ratio = Num(
        "1", load_default=0.9, minimum=0.5, maximum=0.999, title="With this confidence"
    )
    failures_allowed_count = Whole(
        load_default=0, minimum=0, maximum=10, title="Failures the plan may bear"
    )
    drops_done_count = Whole(minimum=1, maximum=10_000_000, title="Drops already made")
    failures_seen_count = Whole(
        load_default=0, minimum=0, maximum=10_000_000, title="Failures among them"
    )

    @validates_schema
    def _seen_among_done(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data["failures_seen_count"] > data.get("drops_done_count", 0):
            fault = Fault("out-of-range", "More failures than drops_done_count.")
            raise ValidationError({"failures_seen_count": [fault]})


class Inputs(InputSchema):
    kit = Document("kit", KitSchema, required=True, title="Rods and hubs")
    ball = Part(BallSchema, required=True, title="Ball")
    drop = Part(DropSchema, required=True, title="The fall, and how often")
    panel = Part(PanelSchema, required=True, title="Panel")
    slowing = Part(SlowingSchema, title="Something soft on top")
    test = Part(TestSchema, load_default=lambda: TestSchema().load({}), title="Drop test")
    reserve_ratio = Num(
        "1",
        load_default=1.65,
        minimum=1,
        maximum=10,
        title="Reserve of seats against slip under repeated hits",
        about="Friction couplers of class A (EN 74-1) slip at 10 kN and are used to 6.1 kN: 1.64.",
    )
    gravity_m_s2 = Num("m/s2", load_default=9.80665, minimum=1, maximum=30, title="Gravity")
