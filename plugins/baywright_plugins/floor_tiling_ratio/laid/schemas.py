"""Inputs of a floor over several sections: panels, slope, edges and netting walls."""

import math
from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Column,
    Fault,
    InputSchema,
    Key,
    ListOf,
    Names,
    Num,
    Part,
    Text,
    Whole,
)

from ...frame import FrameField
from .starts import PREFERENCES

SIDES = ("front", "back", "near", "far")
WAYS = ("choose", "run-through", "start-anew")
MOST_BAYS = 600


def _fault(code: str, detail: str, **extra: Any) -> list[Any]:
    return [Fault(code, detail, **extra)]


class BaysSchema(InputSchema):
    """Equal bays in a row."""

    pitch = Key(required=True, title="Bay pitch", about="An id of pitches.", example="bay")
    count = Whole(required=True, minimum=1, maximum=400, title="How many in a row")


class StretchSchema(InputSchema):
    """What is carried in one piece, as its bays or as its node planes."""

    id = Key(required=True, title="Section", example="S2")
    bays = ListOf(BaysSchema, fewest=1, most=40, title="Its bays, from the front")
    planes_mm = Column(
        "mm",
        minimum=-100_000,
        maximum=100_000,
        fewest=2,
        most=MOST_BAYS,
        title="Its node planes, ascending",
        about="In place of bays; as grid-fit gives them (node_planes_mm).",
    )
    bare_planes = Column(
        "1",
        whole=True,
        minimum=0,
        maximum=MOST_BAYS,
        most=MOST_BAYS,
        load_default=list,
        title="Bay edges without a bearer, 0 is the front one",
    )

    @validates_schema
    def _one_of_two(self, data: dict[str, Any], **kwargs: Any) -> None:
        if ("bays" in data) == ("planes_mm" in data):
            code = "not-unique" if "bays" in data else "missing"
            raise ValidationError({"bays": _fault(code, "Give bays or planes_mm, one of them.")})
        planes = data.get("planes_mm")
        if planes is None:
            return
        low = [k for k in range(1, len(planes)) if planes[k] - planes[k - 1] < 1]
        if low:
            detail = "Each plane must lie at least 1 mm beyond the one before."
            raise ValidationError({"planes_mm": {low[0]: _fault("out-of-range", detail)}})


class JointSchema(InputSchema):
    """Where two stretches come apart."""

    pitch_mm = Num(
        "mm", required=True, minimum=0, maximum=5000, title="From node plane to node plane"
    )
    clear_gap_mm = Num(
        "mm", minimum=0, maximum=5000, title="Free gap between the hub ends of the two sections"
    )

    @validates_schema
    def _gap_within(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data.get("clear_gap_mm", 0) > data["pitch_mm"]:
            detail = "The free gap cannot be wider than the joint."
            raise ValidationError({"clear_gap_mm": _fault("out-of-range", detail)})


class RunSchema(InputSchema):
    """Stretches one behind the other."""

    stretches = ListOf(
        StretchSchema, required=True, fewest=1, most=60, distinct="id", title="Sections, in order"
    )
    joints = ListOf(
        JointSchema, load_default=list, most=59, title="Separation joints, one between each two"
    )

    @validates_schema
    def _one_joint_between(self, data: dict[str, Any], **kwargs: Any) -> None:
        needed = len(data["stretches"]) - 1
        if len(data["joints"]) != needed:
            detail = f"{len(data['stretches'])} sections need {needed} joints between them."
            raise ValidationError({"joints": _fault("out-of-range", detail)})


class EdgeSchema(InputSchema):
    """One side of the floor."""

    side = Choice(
        *SIDES, required=True, title="Side", about="front and back end the direction along."
    )
    overhang_mm = Num(
        "mm", load_default=0.0, minimum=0, maximum=1000, title="Floor beyond the outer bearer"
    )
    wall_mm = Num(
        "mm",
        minimum=0,
        maximum=2000,
        title="Inner face of the wall beyond the outer bearer",
        about="Left out: this side has no wall.",
    )


class ClearSchema(InputSchema):
    """A landing or lane mouth that must hold no strip."""

    name = Text(required=True, longest=80, shortest=1, title="Landing or lane mouth")
    direction = Choice("along", "across", required=True, title="Direction it is measured in")
    from_mm = Num("mm", required=True, minimum=-1000, maximum=100_000, title="From")
    to_mm = Num("mm", required=True, minimum=-1000, maximum=100_000, title="To")

    @validates_schema
    def _forward(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data["to_mm"] <= data["from_mm"]:
            raise ValidationError({"to_mm": _fault("out-of-range", "Must be above from_mm.")})


class LaySchema(InputSchema):
    """Panels over sections and joints."""

    along = Part(RunSchema, title="Sections along the floor, and the joints between them")
    across = Part(RunSchema, title="The same across the floor")
    frame = FrameField(
        title="Frame to read sections and joints from, in place of along and across; needs kit"
    )
    sections = Names(fewest=1, most=60, title="Sections of the frame that bear the floor")
    level = Whole(
        minimum=0,
        maximum=400,
        title="Level of the frame the floor lies at",
        about="Then only planes that rods run through at that level carry; left out: all do.",
    )
    panel = Key(title="Floor panel", about="An id of pitches; left out: the last.")
    panel_across = Key(title="Panel pitch across", about="An id of pitches; left out: as panel.")
    panels_are = Choice(
        "held-together",
        "loose",
        load_default="held-together",
        title="Panels hold together and span from bearer to bearer, or need one at every joint",
    )
    free_span_mm = Num(
        "mm",
        minimum=20,
        maximum=10_000,
        title="Span that panels holding together bridge",
        about="Left out: the longest bay.",
    )
    joint_play_mm = Num(
        "mm",
        minimum=0,
        maximum=50,
        title="How far a panel joint may lie off the middle of its bearer",
        about="Left out: the largest play of one repeat, a tenth of a panel at most.",
    )
    least_strip_mm = Num(
        "mm", load_default=10.0, minimum=0.5, maximum=500, title="Narrowest strip worth cutting"
    )
    way = Choice(
        *WAYS, load_default="choose", title="One grid for the whole run, or anew in each section"
    )
    prefer = Choice(
        *PREFERENCES,
        load_default="least-work",
        title="What comes first where the panels may start",
        about="least-work: fewest bearers to add, strips to cut and panels to take off in all; "
        "bearers: most panel joints on bearers; apart: fewest panels across joints; whole: fewest "
        "strips.",
    )
    edges = ListOf(EdgeSchema, load_default=list, most=4, distinct="side", title="Edges")
    keep_clear = ListOf(
        ClearSchema, load_default=list, most=50, title="Landings and lane mouths: no strip there"
    )
    panel_item = Key(title="Kit item of a panel", about="Left out: the id of its pitch.")
    strip_item = Key(title="Kit item of strips", about="Left out: strips are cut from panels.")
    bearer_item = Key(title="Kit item of a bearer", about="Left out: rods of the frame, or bearer.")
    bearer_pieces_count = Whole(
        load_default=1, minimum=1, maximum=400, title="Items in one added bearer"
    )
    fixing_item = Key(title="Kit item that fixes a panel corner to a node")
    panels_on_hand_count = Whole(minimum=0, maximum=1_000_000, title="Panels on the shelf")

    @validates_schema
    def _frame_or_runs(self, data: dict[str, Any], **kwargs: Any) -> None:
        if "frame" in data:
            both = [way for way in ("along", "across") if way in data]
            if both:
                detail = "The frame already says it."
                raise ValidationError({way: _fault("not-unique", detail) for way in both})
            return
        missing = [way for way in ("along", "across") if way not in data]
        if missing:
            detail = "Give along and across, or a frame."
            raise ValidationError({way: _fault("missing", detail) for way in missing})
        alone = [key for key in ("sections", "level") if key in data]
        if alone:
            raise ValidationError({"frame": _fault("missing", f"Needed by {alone[0]}.")})


class PieceSchema(InputSchema):
    """A spacer, washer, shim or half-level shelf that raises a support."""

    item = Key(required=True, title="Kit item", example="spacer-2")
    height_mm = Num("mm", required=True, minimum=0.05, maximum=1000, title="Height of one")
    most_per_support_count = Whole(
        load_default=3, minimum=1, maximum=8, title="At most so many in one support"
    )
    on_hand_count = Whole(minimum=0, maximum=1_000_000, title="On the shelf")


class SlopeSchema(InputSchema):
    """A floor that falls, on supports of whole module steps and pieces."""

    along_percent = Num(
        "%", load_default=0.0, minimum=0, maximum=20, title="Fall wanted along the floor"
    )
    across_percent = Num(
        "%", load_default=0.0, minimum=0, maximum=20, title="Fall wanted across the floor"
    )
    falls_to = Choice("back", "front", load_default="back", title="End it falls to")
    falls_across_to = Choice("far", "near", load_default="far", title="Side it falls to")
    supports_mm = Column(
        "mm",
        minimum=-1000,
        maximum=100_000,
        most=400,
        title="Places of the supports along, ascending",
        about="Left out: the bearers of lay, or the bays of floor.",
    )
    lines_mm = Column(
        "mm",
        minimum=-1000,
        maximum=100_000,
        most=10,
        title="Places of the supports across, ascending",
        about="Left out: both sides of the floor.",
    )
    low_edge_min_mm = Num(
        "mm", required=True, minimum=0, maximum=10_000, title="Low corner of the floor, at least"
    )
    low_edge_max_mm = Num(
        "mm",
        minimum=0,
        maximum=10_000,
        title="Low corner of the floor, at most",
        about="Left out: exactly low_edge_min_mm.",
    )
    base_mm = Num(
        "mm",
        load_default=0.0,
        minimum=0,
        maximum=10_000,
        title="Height of a support without any module step or piece",
    )
    module_mm = Num(
        "mm",
        minimum=5,
        maximum=2000,
        title="Module step of the supports",
        about="Left out: supports stand at base height, on pieces alone.",
    )
    pieces = ListOf(
        PieceSchema, load_default=list, most=6, distinct="item", title="Pieces to make up heights"
    )
    most_pieces_per_support_count = Whole(
        load_default=4, minimum=0, maximum=6, title="At most so many pieces in one support"
    )
    tolerance_mm = Num(
        "mm", load_default=1.0, minimum=0, maximum=100, title="Error of a support that may stay"
    )
    kink_percent = Num(
        "%",
        load_default=2.0,
        minimum=0.01,
        maximum=50,
        title="Change of fall at a support that may stay",
    )

    @validates_schema
    def _ascending(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        for key, fewest in (("supports_mm", 2), ("lines_mm", 1)):
            places = data.get(key)
            if places is None:
                continue
            if len(places) < fewest:
                faults[key] = _fault("out-of-range", f"Must hold at least {fewest} entries.")
                continue
            low = [k for k in range(1, len(places)) if places[k] - places[k - 1] < 1]
            if low:
                detail = "Each place must lie at least 1 mm beyond the one before."
                faults[key] = {low[0]: _fault("out-of-range", detail)}
        if data.get("low_edge_max_mm", math.inf) < data["low_edge_min_mm"]:
            detail = "Must not be below low_edge_min_mm."
            faults["low_edge_max_mm"] = _fault("out-of-range", detail)
        if not data["pieces"] and "module_mm" not in data:
            faults["pieces"] = _fault("missing", "Give module_mm, or pieces to stack.")
        if faults:
            raise ValidationError(faults)


class NetSchema(InputSchema):
    """One panel of the net."""

    item = Key(load_default="net-panel", title="Kit item", example="net-panel")
    pitch_mm = Num("mm", required=True, minimum=10, maximum=2000, title="Length of one panel")
    height_mm = Num("mm", required=True, minimum=5, maximum=2000, title="Height of one panel")
    give_mm = Num(
        "mm", load_default=0.0, minimum=0, maximum=4, title="What one panel gives each way"
    )
    opening_mm = Num("mm", required=True, minimum=0.1, maximum=1000, title="Opening, width")
    opening_height_mm = Num(
        "mm", minimum=0.1, maximum=1000, title="Opening, height", about="Left out: as wide."
    )
    made_of = Choice("rods", "cord", load_default="rods", title="Stiff rods, or cord that bends")


class SpacerSchema(InputSchema):
    """A rod, washer or sleeve between two net panels."""

    item = Key(required=True, title="Kit item", example="washer-2")
    length_mm = Num("mm", required=True, minimum=0.1, maximum=200, title="Length of one")
    on_hand_count = Whole(minimum=0, maximum=1_000_000, title="On the shelf")


class WallSchema(InputSchema):
    """A straight wall of netting."""

    side = Choice(*SIDES, required=True, title="Side of the floor")
    section = Key(title="Section it stands on")
    bays_count = Whole(required=True, minimum=1, maximum=400, title="Bays long")


class NettingSchema(InputSchema):
    """Walls of net panels on posts at the bays."""

    bay = Key(title="Bay pitch of the posts", about="An id of pitches; left out: the first.")
    net = Part(NetSchema, required=True, title="Net panel")
    spacers = ListOf(
        SpacerSchema, load_default=list, most=6, distinct="item", title="Spacers between panels"
    )
    most_spacers_count = Whole(
        load_default=6, minimum=0, maximum=8, title="At most so many spacers in one repeat"
    )
    most_bays_count = Whole(
        load_default=12, minimum=1, maximum=40, title="Longest repeat looked for, in bays"
    )
    walls = ListOf(
        WallSchema,
        fewest=1,
        most=240,
        title="Walls",
        about="Left out: all round the floor, section by section.",
    )
    rows_count = Whole(
        minimum=1, maximum=100, title="Rows of panels", about="Left out: as many as are needed."
    )
    wall_needed_mm = Num(
        "mm",
        minimum=0,
        maximum=10_000,
        title="Wall needed",
        about="Left out: worked out from drop.",
    )
    bottom_gap_mm = Num(
        "mm", load_default=0.0, minimum=0, maximum=1000, title="Free gap below the net"
    )
    post_item = Key(load_default="post", title="Kit item of a post")
    post_pieces_count = Whole(load_default=1, minimum=1, maximum=100, title="Items in one post")
    post_every_bays_count = Whole(
        load_default=1, minimum=1, maximum=40, title="A post at every so many bays"
    )

    @validates_schema
    def _half_a_panel(self, data: dict[str, Any], **kwargs: Any) -> None:
        net = data["net"]
        if net["opening_mm"] >= net["pitch_mm"]:
            detail = "An opening must be narrower than the panel."
            raise ValidationError({"net": {"opening_mm": _fault("out-of-range", detail)}})
