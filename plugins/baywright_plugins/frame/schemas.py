"""What a frame looks like on the wire: a layout of box-truss beams, or nodes and members."""

from typing import Any

from baywright_service.contract import (
    Choice,
    Column,
    InputSchema,
    Key,
    ListOf,
    Names,
    Num,
    OneOfSchemas,
    Part,
    Text,
    Whole,
)

from .patterns import PATTERNS

MOST_BAYS = 400


class RunSchema(InputSchema):
    """Equal rods in a row."""

    rod = Key(required=True, title="Rod", example="R120")
    count = Whole(required=True, minimum=1, maximum=MOST_BAYS, title="How many in a row")


class AxesSchema(InputSchema):
    """The rods along each axis, from the section's corner outward: one rod, one bay."""

    x = ListOf(RunSchema, required=True, fewest=1, most=40, title="Along x")
    y = ListOf(RunSchema, required=True, fewest=1, most=40, title="Along y")
    z = ListOf(RunSchema, required=True, fewest=1, most=40, title="Along z (up)")


def _pattern(title: str, **options: Any) -> Choice:
    return Choice(*PATTERNS, title=title, **options)


class SideFacesSchema(InputSchema):
    """Brace pattern of the faces of one bay, by the side their outward normal points to."""

    default = _pattern("Wherever no side is named", load_default="alternating")
    x_minus = _pattern("Faces that look to -x")
    x_plus = _pattern("Faces that look to +x")
    y_minus = _pattern("Faces that look to -y")
    y_plus = _pattern("Faces that look to +y")
    z_minus = _pattern("Faces that look down")
    z_plus = _pattern("Faces that look up")


class CrossFacesSchema(InputSchema):
    """Diaphragms: diagonals in the faces that two bays share."""

    every = Whole(
        minimum=0,
        maximum=MOST_BAYS,
        load_default=3,
        title="Braced stations",
        about="Stations 1, 1 + every, 1 + 2 every ... and the last inner one; 0 for none.",
    )
    pattern = Choice(
        "alternating",
        "single",
        "crossed",
        load_default="alternating",
        title="Diagonals of a braced station",
    )


class BeamSchema(InputSchema):
    """One box-truss beam of the section's grid, one bay wide and high."""

    at = Column(
        "1", whole=True, minimum=0, maximum=MOST_BAYS, fewest=3, most=3, required=True,
        title="Its first bay, as indices along x, y, z",
    )  # fmt: skip
    axis = Choice("x", "y", "z", required=True, title="Axis it runs along")
    bays = Whole(required=True, minimum=1, maximum=MOST_BAYS, title="Number of bays")
    side_faces = Part(SideFacesSchema, title="Brace patterns of this beam's own faces")


class FittingSchema(InputSchema):
    """Equipment carried by the frame, spread equally over all nodes of the named levels."""

    title = Text(longest=120, load_default="fittings")
    mass_kg = Num("kg", required=True, minimum=0, maximum=10_000, title="Mass")
    levels = Column(
        "1", whole=True, minimum=-MOST_BAYS, maximum=MOST_BAYS, fewest=1, most=MOST_BAYS,
        required=True, title="Node levels along z; -1 is the topmost",
    )  # fmt: skip


def _diagonals(title: str) -> ListOf:
    place = Column("1", whole=True, minimum=0, maximum=MOST_BAYS, fewest=3, most=3)
    return ListOf(
        ListOf(place, fewest=2, most=2),
        most=20_000,
        load_default=list,
        title=title,
        about="Each a pair of grid places [[i, j, k], [i, j, k]] across one face.",
    )


class SectionSchema(InputSchema):
    """One section on a grid of rods. Without beams it is the box frame: a beam on every edge."""

    id = Key(required=True, title="Id", example="S1")
    title = Text(longest=120, load_default="")
    rods = Part(AxesSchema, required=True, title="Rods along each axis")
    beams = ListOf(BeamSchema, fewest=1, most=400, title="Beams, where not on every edge")
    side_faces = Part(SideFacesSchema, title="Brace patterns")
    cross_faces = Part(CrossFacesSchema, title="Diaphragms")
    second_diagonals = _diagonals("Second diagonals")
    left_out_diagonals = _diagonals("Diagonals left out")
    at_mm = Column(
        "mm", minimum=-1e6, maximum=1e6, fewest=3, most=3, title="Corner node in the machine"
    )
    fittings = ListOf(FittingSchema, most=50, load_default=list, title="Equipment it carries")


class JointSchema(InputSchema):
    """Where the machine comes apart: rods that couple two sections along one axis."""

    between = Names(fewest=2, most=2, required=True, title="The two sections, in order")
    axis = Choice("x", "y", "z", load_default="x", title="Axis across the gap")
    rod = Key(required=True, title="Coupling rod", example="R60")


class LayoutSchema(InputSchema):
    """Sections of box trusses on rod grids, and the joints between them."""

    title = Text(longest=200, load_default="")
    sections = ListOf(
        SectionSchema, required=True, fewest=1, most=60, distinct="id", title="Sections"
    )
    joints = ListOf(JointSchema, most=200, load_default=list, title="Separation joints")


class LayoutFrameSchema(InputSchema):
    layout = Part(LayoutSchema, required=True, title="Layout")


class MembersSchema(InputSchema):
    """Members as columns."""

    start = Column("1", whole=True, minimum=0, maximum=200_000, fewest=1, required=True)
    end = Column("1", whole=True, minimum=0, maximum=200_000, fewest=1, required=True)
    rod = Names(fewest=1, required=True, title="Rod of each member")
    section = Names(title="Section of each member; absent: one section")
    role = Names(title="Role of each member")


class ExplicitFrameSchema(InputSchema):
    """Nodes and members given one by one."""

    nodes_mm = Column("mm", width=3, minimum=-1e6, maximum=1e6, fewest=2, required=True)
    members = Part(MembersSchema, required=True)


class FrameField(OneOfSchemas):
    """The field that every calculator takes a frame with."""

    def __init__(self, **options: Any) -> None:
        options.setdefault("title", "Frame")
        super().__init__({"layout": LayoutFrameSchema, "nodes_mm": ExplicitFrameSchema}, **options)
