"""What separation-joints gives."""

from typing import Any

from baywright_service.contract import (
    Anything,
    Column,
    Flag,
    ListOf,
    Names,
    Num,
    Part,
    ResultSchema,
    Text,
    Whole,
)


def _mm(title: str, **options: Any) -> Num:
    return Num("mm", title=title, **options)


class XyzOut(ResultSchema):
    x = _mm("Along x")
    y = _mm("Along y")
    z = _mm("Along z (up)")


class BaysOut(ResultSchema):
    x = Whole(title="Along x")
    y = Whole(title="Along y")
    z = Whole(title="Along z (up)")


class RodCountOut(ResultSchema):
    rod = Text(title="Rod")
    count = Whole(title="Pieces")


class FoldOut(ResultSchema):
    """One way a section folds, and the rod that stops it."""

    words = Text(title="How it moves")
    face = Text(title="Face whose missing diagonal stretches most")
    diagonal = ListOf(Column(whole=True), title="Where a rod would hold it, grid places")
    rod = Text(title="Rod that closes there")
    face_is_bare = Flag(title="The face has no diagonal yet")


class PlaneOut(ResultSchema):
    """An outer plane of a section, by itself."""

    side = Text(title="Side")
    faces_count = Whole(title="Faces")
    braced_count = Whole(title="Faces with a diagonal")
    racks_count = Whole(title="Ways it racks within its plane, by itself")
    square = Flag(title="Keeps its shape by itself")
    at_joints = ListOf(Whole(), title="Joints that it faces")


class StationsOut(ResultSchema):
    """Where braced cross faces and end faces hold the cross-section across one axis square."""

    axis = Text(title="Axis along which they follow one another")
    stations = Column(whole=True, title="Planes with braced faces, counted from 0")
    from_start_mm = _mm("From the first end to the nearest of them")
    from_end_mm = _mm("From the last end to the nearest of them")
    near_both_ends = Flag(title="Two or more, one within a bay of each end")


class SectionOut(ResultSchema):
    id = Text(title="Section")
    title = Text(title="Title")
    cut_from = Text(title="Section it was cut from")
    like = Text(title="First section that is built alike")
    bays = Part(BaysOut, title="Bays")
    at_mm = Part(XyzOut, title="Lowest corner over the hub ends, in the machine")
    outside_mm = Part(XyzOut, title="Size over the hub ends")
    mass_kg = Num("kg", title="Mass, coupling rods packed apart")
    weight_n = Num("N", title="Weight")
    hubs_count = Whole(title="Hubs")
    rods_count = Whole(title="Rods")
    rigid = Flag(title="Rigid by itself")
    mechanisms_count = Whole(title="Ways it folds by itself")
    self_stress_states_count = Whole(title="Rods it could miss at most, one by one")
    standing_mechanisms_count = Whole(title="Ways it folds with its feet held by the floor")
    folds = ListOf(FoldOut, title="How it folds and what stops it")
    planes = ListOf(PlaneOut, title="Its outer planes")
    stations = ListOf(StationsOut, title="Planes that hold its cross-sections square")
    bare_faces_count = Whole(title="Outer faces without a diagonal")
    diagonals_sought = Flag(title="Missing diagonals were looked for, where it folds")
    no_rod_faces_count = Whole(title="Faces that no rod of the kit closes across")


class TiltOut(ResultSchema):
    """How far play lets the sections turn against each other about the joint's other axis."""

    across = Text(title="Axis the coupling rods spread along")
    rods_apart_mm = _mm("Outermost coupling rods apart")
    tilt_deg = Num("deg", title="Tilt each way")
    opens_at_edge_mm = _mm("What the gap changes at the far edge of the larger section")
    drifts_at_end_mm = _mm("What the far end of the longer section moves sideways")


class DiagonalOptionOut(ResultSchema):
    """A coupling rod with which rods across the gap close."""

    coupling_rod = Text(title="Coupling rod")
    diagonal_rod = Text(title="Rod across the gap")
    grid_mm = _mm("Hubs apart along the gap")
    needed_mm = _mm("Length it must close on")
    misfit_mm = _mm("Its pitch less that length")


class LooseOut(ResultSchema):
    item = Text(title="Part")
    count = Whole(title="Pieces")
    mass_kg = Num("kg", title="Mass of all of them")


class FaceOut(ResultSchema):
    """Places in the plane of the joint: along its first and its second axis."""

    axes = Names(title="Axes to the right and up")
    coupled_mm = Column("mm", width=2, title="Hubs coupled by rods")
    facing_mm = Column("mm", width=2, title="Hubs that face each other, not coupled")
    alone_first_mm = Column("mm", width=2, title="Hubs of the first section alone")
    alone_second_mm = Column("mm", width=2, title="Hubs of the second section alone")
    lines_first_mm = Column("mm", width=4, title="Rods of the first section in the face")
    lines_second_mm = Column("mm", width=4, title="Rods of the second section in the face")


class JointOut(ResultSchema):
    between = Names(title="The two sections, in order")
    axis = Text(title="Axis across the gap")
    from_cut = Whole(title="Cut that makes it")
    rod = Text(title="Coupling rod")
    rods_count = Whole(title="Coupling rods")
    possible_count = Whole(title="Coupling rods of a full match of the smaller face")
    matches = Flag(title="Every corner hub of the smaller face has a partner")
    facing_pairs_count = Whole(title="Hubs that face each other")
    alone_first_count = Whole(title="Hubs of the first face without a partner")
    alone_second_count = Whole(title="Hubs of the second face without a partner")
    alone_first = ListOf(Column(whole=True), title="Their grid places, the first ones")
    alone_second = ListOf(Column(whole=True), title="Their grid places, the first ones")
    gap_mm = _mm("Gap between the planes of hub centres")
    rod_misfit_mm = _mm("Gap less the rod's pitch")
    clear_gap_mm = _mm("Clear gap between hub ends")
    play_mm = _mm("What play opens or closes the gap, each way")
    clear_gap_least_mm = _mm("Clear gap, play closed")
    sideways_mm = _mm("How far the rods let it slide sideways before their play is used up")
    tilts = ListOf(TiltOut, title="Tilt within the play")
    mechanisms_count = Whole(title="Ways two rigid sections move at this joint")
    rods_only_mechanisms_count = Whole(title="Ways with the coupling rods alone")
    braced_mechanisms_count = Whole(title="Ways with the rods across the gap that it needs")
    moves = Names(title="Those ways in words")
    diagonals_count = Whole(title="Rods across the gap, and fastened pieces")
    diagonal_needed_mm = _mm("Shortest rod across the gap")
    diagonal_closes = Flag(title="The kit has that rod, and the hub a seat in its direction")
    diagonals_needed = ListOf(
        ListOf(Column(whole=True)), title="Where rods across the gap would brace it"
    )
    diagonal_options = ListOf(DiagonalOptionOut, title="Coupling rods with which they close")
    unseat_force_n = Num("N", title="Design pull-out of all coupling rods together")
    unseat_slide_mm = _mm("Slide that frees one end of every rod")
    rod_sticks_out_mm = _mm("A freed rod reaches beyond the hub ends")
    loose_parts = ListOf(LooseOut, title="Parts packed apart")
    loose_mass_kg = Num("kg", title="Their mass")
    face = Part(FaceOut, title="The joint's face, for the drawing")


class BridgeOut(ResultSchema):
    """A bridging piece at one joint."""

    id = Text(title="Piece")
    title = Text(title="Title")
    kind = Text(title="Kind")
    how = Text(title="Over, in or loose")
    joint = Whole(title="Joint")
    count = Whole(title="Pieces")
    piece_kg = Num("kg", title="Mass of a piece")
    length_mm = _mm("Length")
    width_mm = _mm("Width")
    span_mm = _mm("What it spans")
    needed_mm = _mm("Length it needs at least")
    most_mm = _mm("Length it may have at most")
    bearing_mm = _mm("Bearing on each side, centred")
    bearing_least_mm = _mm("Bearing on each side, gap opened by play")
    slit_mm = _mm("Slit left beside it")
    slit_least_mm = _mm("Slit, gap closed by play, piece grown")
    slit_most_mm = _mm("Slit, gap opened by play")
    slack_mm = _mm("Slack, gap opened by play")
    moves_mm = _mm("How much gap and piece change against each other")
    tolerance_mm = _mm("What it bears")
    long_enough = Flag(title="Long enough")
    fits = Flag(title="Long enough, not too long, and within what it bears")
    height_mm = _mm("Height above the lowest hubs of the machine")


class StepOut(ResultSchema):
    """One pull when the machine is taken apart."""

    joints = ListOf(Whole(), title="Joints that come apart")
    sections = Names(title="Sections that are moved")
    left = Names(title="Sections that stay with them at these joints")
    direction = Text(title="Direction, such as +x")
    words = Text(title="Direction in words")
    rods_count = Whole(title="Rods that leave their seats")
    slide_mm = _mm("Slide until they are out")
    unseat_force_n = Num("N", title="Design pull-out of these rods")
    friction_n = Num(
        "N", title="Friction on the floor of what is moved; its weight where it is lifted"
    )
    force_n = Num("N", title="Together, at least")
    people_count = Whole(title="People it takes, pulling together")
    moved_mass_kg = Num("kg", title="Mass moved")


class ApartOut(ResultSchema):
    steps = ListOf(StepOut, title="In this order; assemble in the reverse order")
    locked_joints = ListOf(Whole(), title="Joints that no straight pull opens")


class MachineOut(ResultSchema):
    sections_count = Whole(title="Sections")
    joints_count = Whole(title="Joints")
    groups_count = Whole(title="Groups of sections that hang together")
    outside_mm = Part(XyzOut, title="Size over the hub ends, assembled")
    mass_kg = Num("kg", title="Mass, coupling rods and bridging pieces included")
    heaviest_section_kg = Num("kg", title="Heaviest section")
    mechanisms_count = Whole(title="Ways the assembled machine folds by itself")
    rods_only_mechanisms_count = Whole(title="Ways with the coupling rods alone")
    standing_mechanisms_count = Whole(title="Ways it folds with all feet held by the floor")
    coupling_rods = ListOf(RodCountOut, title="Coupling rods of all joints")
    loose_mass_kg = Num("kg", title="Mass of the parts packed apart")
    all_sections_rigid = Flag(title="Every section is rigid by itself")


class PieceOut(ResultSchema):
    bays = Part(BaysOut, title="Bays")
    outside_mm = Part(XyzOut, title="Size over the hub ends")
    mass_kg = Num("kg", title="Mass")
    mechanisms_count = Whole(title="Ways it folds by itself")


class PlaceOut(ResultSchema):
    """A cut, as if made."""

    after_bay = Whole(title="Bays before the cut")
    rank = Whole(title="1: the best")
    pieces = ListOf(PieceOut, title="The two pieces")
    heaviest_kg = Num("kg", title="Mass of the heavier piece")
    rigid = Flag(title="Both pieces are rigid by themselves")
    alike = Flag(title="Both pieces are built alike")
    extra_hubs_count = Whole(title="Hubs more than before")
    extra_rods = ListOf(RodCountOut, title="Rods more than before, coupling rods included")
    coupling_rods_count = Whole(title="Coupling rods")
    light_enough = Flag(title="Neither piece is over the heaviest wanted mass")


class CutPlacesOut(ResultSchema):
    section = Text(title="Section")
    axis = Text(title="Axis")
    rod = Text(title="Coupling rod")
    ends = Text(title="New ends")
    tried_count = Whole(title="Planes tried, the middle ones first")
    left_out_count = Whole(title="Planes not tried")
    best_after_bay = Whole(title="The best plane")
    places = ListOf(PlaceOut, title="Every plane tried, in order")


class SeparationJointsResult(ResultSchema):
    sections = ListOf(SectionOut, title="Sections, cuts made")
    joints = ListOf(JointOut, title="Joints, those of cuts included")
    machine = Part(MachineOut, title="The assembled machine")
    bridges = ListOf(BridgeOut, title="Bridging pieces, joint by joint")
    taking_apart = Part(ApartOut, title="How it comes apart")
    cut_places = ListOf(CutPlacesOut, title="Where sections could be cut")
    frame = Anything(objects=True, title="The frame with its cuts made, for other calculators")
