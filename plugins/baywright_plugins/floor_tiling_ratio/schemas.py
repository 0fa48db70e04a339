"""What goes in and what comes out, with units and bounds."""

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
    ResultSchema,
    Text,
    Whole,
)

from ..kit import KitSchema
from .laid import result_schemas as laid_out
from .laid.schemas import LaySchema, NettingSchema, SlopeSchema
from .layout import WISHES


def _fault(code: str, detail: str) -> list[Any]:
    return [Fault(code, detail)]


class PartOfPitch(InputSchema):
    item = Key(required=True, title="Kit item", example="R60")
    pitch_mm = Num("mm", required=True, minimum=1e-6, maximum=5000, title="Pitch of the item")
    count = Whole(
        required=True, minimum=-1000, maximum=1000, title="How many", about="Negative: taken off."
    )
    divided_by = Whole(
        load_default=1, minimum=1, maximum=1000, title="Divided by", about="5/6: count 5, here 6."
    )


class Pitch(InputSchema):
    id = Key(required=True, title="Name of the pitch", example="bay")
    pitch_mm = Num(
        "mm", minimum=0.1, maximum=5000, title="Pitch", about="Or give parts; one of the two."
    )
    parts = ListOf(
        PartOfPitch, fewest=1, most=12, title="Kit items that make up one pitch, in line"
    )
    play_per_seat_mm = Num(
        "mm", load_default=0.0, minimum=0, maximum=5, title="Axial play of a seat, each way"
    )
    seats_count = Whole(
        load_default=2, minimum=0, maximum=100, title="Seats in one pitch", about="Two for one rod."
    )
    tolerance_mm = Num(
        "mm",
        load_default=0.0,
        minimum=0,
        maximum=50,
        title="What one pitch can give each way beside the play of its seats",
    )
    nodes_count = Whole(
        minimum=1,
        maximum=12,
        title="Equal steps with a node in one pitch",
        about="Where a panel may meet the frame inside a bay. Left out: n where the pitch is n of "
        "one item in line, else 1.",
    )

    @validates_schema
    def _one_length(self, data: dict[str, Any], **kwargs: Any) -> None:
        if ("pitch_mm" in data) == ("parts" in data):
            code = "not-unique" if "parts" in data else "missing"
            raise ValidationError(
                {"pitch_mm": _fault(code, "Give pitch_mm or parts, one of them.")}
            )


class KeepClear(InputSchema):
    name = Text(required=True, longest=80, shortest=1, title="Landing or lane mouth")
    along_from_mm = Num("mm", required=True, minimum=0, maximum=100_000, title="From, along")
    along_to_mm = Num("mm", required=True, minimum=0, maximum=100_000, title="To, along")
    across_from_mm = Num("mm", required=True, minimum=0, maximum=100_000, title="From, across")
    across_to_mm = Num("mm", required=True, minimum=0, maximum=100_000, title="To, across")

    @validates_schema
    def _forward(self, data: dict[str, Any], **kwargs: Any) -> None:
        for way in ("along", "across"):
            if data[f"{way}_to_mm"] <= data[f"{way}_from_mm"]:
                detail = f"Must be above {way}_from_mm."
                raise ValidationError({f"{way}_to_mm": _fault("out-of-range", detail)})


class Floor(InputSchema):
    along_mm = Num("mm", required=True, minimum=10, maximum=100_000, title="Floor length, along")
    across_mm = Num("mm", required=True, minimum=10, maximum=100_000, title="Floor width, across")
    bay_along = Key(title="Frame pitch along", about="An id of pitches; left out: the first.")
    bay_across = Key(title="Frame pitch across", about="An id of pitches; left out: the first.")
    panel = Key(title="Floor panel", about="An id of pitches; left out: the last.")
    joint_play_mm = Num(
        "mm",
        minimum=0,
        maximum=50,
        title="How far a panel joint may lie off the middle of its bearer",
        about="Left out: the play of one repeat.",
    )
    left_over = Choice(*WISHES, load_default="choose", title="Where the left-over goes")
    least_strip_mm = Num(
        "mm", load_default=10.0, minimum=0.5, maximum=500, title="Narrowest strip worth cutting"
    )
    keep_clear = ListOf(
        KeepClear, load_default=list, most=50, title="Landings and lane mouths: no strip under them"
    )
    panels_on_hand_count = Whole(minimum=0, maximum=1_000_000, title="Panels on the shelf")


class Ball(InputSchema):
    diameter_mm = Num("mm", required=True, minimum=1, maximum=500, title="Ball diameter")
    mass_kg = Num("kg", required=True, minimum=0.0001, maximum=20, title="Ball mass")
    restitution_ratio = Num(
        "1", load_default=0.5, minimum=0, maximum=0.99, title="Restitution on the floor"
    )


class Sag(InputSchema):
    load_n_per_mm = Num("N/mm", required=True, minimum=0, maximum=100, title="Load on one panel")
    span_mm = Num("mm", required=True, minimum=1, maximum=10_000, title="Span between bearers")
    bending_stiffness_n_mm2 = Num(
        "N.mm2", required=True, minimum=1e-6, maximum=1e15, title="E I of one panel"
    )


class Rolling(InputSchema):
    slope_percent = Num("%", required=True, minimum=0, maximum=50, title="Slope of the floor")
    groove_mm = Num("mm", required=True, minimum=0, maximum=400, title="Gap between ribs or panels")
    groove_pitch_mm = Num(
        "mm",
        minimum=1e-6,
        maximum=5000,
        title="Distance of grooves",
        about="Left out: the panel pitch.",
    )
    ridge_mm = Num(
        "mm", load_default=0.0, minimum=0, maximum=100, title="Step up from panel to panel"
    )
    arrival_speed_m_per_s = Num(
        "m/s", minimum=0, maximum=20, title="Speed with which balls reach the first groove"
    )
    sag = Part(Sag, title="Sag of a panel")


class Drop(InputSchema):
    height_mm = Num("mm", required=True, minimum=0, maximum=10_000, title="Fall onto the floor")
    wall_mm = Num("mm", minimum=0, maximum=10_000, title="Wall around the floor")
    balls_per_min = Num("/min", load_default=0.0, minimum=0, maximum=10_000, title="Balls a minute")
    share_ratio = Num(
        "1", load_default=1.0, minimum=0, maximum=1, title="Share that falls on one spot"
    )
    hours_per_day = Num("h", load_default=6.0, minimum=0, maximum=24, title="Hours a day")
    panel_mass_kg = Num("kg", minimum=0, maximum=100, title="Mass of the panel hit")
    stiffness_min_n_per_mm = Num(
        "N/mm", minimum=1e-6, maximum=1e6, title="Stiffness where the ball lands, at least"
    )
    stiffness_max_n_per_mm = Num(
        "N/mm", minimum=1e-6, maximum=1e6, title="Stiffness where the ball lands, at most"
    )
    seat_design_n = Num("N", minimum=1e-6, maximum=1e5, title="Design strength of one seat")
    seats_sharing_count = Whole(
        load_default=1, minimum=1, maximum=100, title="Seats that share one hit equally"
    )
    reserve_ratio = Num(
        "1",
        load_default=1.65,
        minimum=1,
        maximum=10,
        title="Reserve against slip for repeated hits",
    )

    @validates_schema
    def _whole_range(self, data: dict[str, Any], **kwargs: Any) -> None:
        needed = ("stiffness_min_n_per_mm", "stiffness_max_n_per_mm", "panel_mass_kg")
        given = [name for name in needed if name in data]
        absent = [name for name in needed if name not in data]
        if given and absent:
            detail = f"Goes with {given[0]}: the force is worked out as a range."
            raise ValidationError({name: _fault("missing", detail) for name in absent})
        if given and data[needed[0]] > data[needed[1]]:
            raise ValidationError(
                {needed[1]: _fault("out-of-range", "Must not be below stiffness_min_n_per_mm.")}
            )


class PanelTruss(InputSchema):
    """A panel of rods and hubs between two bearers, as a truss."""

    bays_count = Whole(required=True, minimum=2, maximum=60, title="Bays of the panel's truss")
    bay_mm = Num("mm", required=True, minimum=5, maximum=2000, title="Rod pitch of its chords")
    depth_mm = Num("mm", required=True, minimum=5, maximum=2000, title="Rod pitch of its posts")
    mass_kg = Num("kg", required=True, minimum=0, maximum=100, title="Mass of the panel")
    rod_diameter_mm = Num("mm", required=True, minimum=1, maximum=60, title="Rod diameter")
    elastic_modulus_n_per_mm2 = Num(
        "N/mm2", required=True, minimum=100, maximum=250_000, title="Elastic modulus of the rods"
    )
    bending_strength_n_per_mm2 = Num(
        "N/mm2", load_default=40.0, minimum=1, maximum=2000, title="Bending strength of the rods"
    )
    seat_inset_mm = Num(
        "mm", required=True, minimum=0, maximum=100, title="Node centre to free length of the rod"
    )
    seat_pull_out_n = Num("N", required=True, minimum=1e-6, maximum=1e5, title="Design pull-out")
    seat_bearing_n = Num("N", required=True, minimum=1e-6, maximum=1e5, title="Bearing of a seat")
    seat_stiffness_n_per_mm = Num(
        "N/mm", required=True, minimum=1e-6, maximum=1e6, title="Axial stiffness of a seat"
    )
    seat_moment_n_mm = Num(
        "N.mm",
        minimum=1e-6,
        maximum=1e7,
        title="Bending moment a seat holds",
        about="Left out: pull-out times half the rod's diameter, a guess to be tested.",
    )
    seat_turning_n_mm_per_rad = Num(
        "N.mm/rad", required=True, minimum=1e-6, maximum=1e9, title="Turning stiffness of a seat"
    )


class Inputs(InputSchema):
    pitches = ListOf(
        Pitch,
        required=True,
        fewest=2,
        most=8,
        distinct="id",
        title="Pitches that must meet: frame first, floor panel last",
    )
    most_repeats_count = Whole(
        load_default=12, minimum=1, maximum=10_000, title="Most repeats of the first of two pitches"
    )
    most_ratios_count = Whole(load_default=6, minimum=1, maximum=50, title="Ratios listed at most")
    floor = Part(Floor, title="A whole floor to lay out")
    ball = Part(Ball, title="Ball")
    rolling = Part(Rolling, title="Slope and grooves; needs ball")
    drop = Part(Drop, title="Balls falling on the floor; needs ball")
    panel_truss = Part(PanelTruss, title="Panel built of rods; needs drop")
    lay = Part(LaySchema, title="Panels over several sections and the joints between them")
    slope_steps = Part(SlopeSchema, title="A slope built from module steps and pieces")
    netting = Part(NettingSchema, title="Walls of netting around the floor")
    kit = Document("kit", KitSchema, title="Kit; needed by lay.frame")
    gravity_m_s2 = Num("m/s2", load_default=9.80665, minimum=1, maximum=30, title="Gravity")

    @validates_schema
    def _hang_together(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        for part, needs in (("rolling", "ball"), ("drop", "ball"), ("panel_truss", "drop")):
            if part in data and needs not in data:
                faults[needs] = _fault("missing", f"Needed by {part}.")
        if "frame" in data.get("lay", {}) and "kit" not in data:
            faults["kit"] = _fault("missing", "Needed by lay.frame.")
        if "ball" not in data and any("wall_mm" in e for e in data.get("lay", {}).get("edges", ())):
            faults["ball"] = _fault("missing", "Needed by the walls of lay.edges.")
        known = {pitch["id"] for pitch in data["pitches"]}
        named = {
            key: _fault("unknown-reference", f"No pitch has this id; there are {sorted(known)}.")
            for key in ("bay_along", "bay_across", "panel")
            if data.get("floor", {}).get(key, data["pitches"][0]["id"]) not in known
        }
        if named:
            faults["floor"] = named
        strangers = _strange_pitches(data, known)
        faults |= strangers
        if faults:
            raise ValidationError(faults)


def _strange_pitches(data: dict[str, Any], known: set[str]) -> dict[str, Any]:
    """Faults of `lay` and `netting` that name no pitch."""
    fault = _fault("unknown-reference", f"No pitch has this id; there are {sorted(known)}.")
    lay: dict[str, Any] = {
        key: fault
        for key in ("panel", "panel_across")
        if data.get("lay", {}).get(key, data["pitches"][0]["id"]) not in known
    }
    for way in ("along", "across"):
        stretches = data.get("lay", {}).get(way, {}).get("stretches", ())
        wrong = {
            k: {"bays": {n: {"pitch": fault}}}
            for k, stretch in enumerate(stretches)
            for n, row in enumerate(stretch.get("bays", ()))
            if row["pitch"] not in known
        }
        if wrong:
            lay[way] = {"stretches": wrong}
    faults: dict[str, Any] = {"lay": lay} if lay else {}
    if data.get("netting", {}).get("bay", data["pitches"][0]["id"]) not in known:
        faults["netting"] = {"bay": fault}
    return faults


class PitchOut(ResultSchema):
    id = Key(title="Name")
    pitch_mm = Num("mm", title="Pitch")
    exact_mm = Text(title="Pitch as a fraction")
    play_mm = Num("mm", title="What one pitch gives each way")
    made_of = Text(title="Kit items of one pitch")
    nodes_count = Whole(title="Equal steps with a node in one pitch")


class RatioOut(ResultSchema):
    first_count = Num("1", title="Repeats of the first pitch")
    second_count = Whole(title="Repeats of the second pitch")
    length_mm = Num("mm", title="Length of the first pitch's run")
    misfit_mm = Num("mm", title="First run less second run")
    misfit_ppm = Num("[ppm]", title="Ratio above the exact one")
    play_mm = Num("mm", title="Play of one repeat")
    share_of_play_ratio = Num("1", title="Misfit as a share of the play; absent without play")
    fits = Flag(title="The play takes the misfit")
    why = Text(title="Why it holds, or what is missing")
    path = Text(title="Way down the Stern-Brocot tree to second/first")


class Pair(ResultSchema):
    first = Key(title="First pitch")
    second = Key(title="Second pitch")
    exact_ratio = Text(title="First pitch / second pitch, as a fraction")
    quotients = Column("1", whole=True, title="Continued fraction of that, first 20 quotients")
    convergents = Column(
        "1",
        width=2,
        whole=True,
        title="Convergents, [second count, first count], up to the most repeats",
    )
    best_approximations = Column(
        "1", width=2, whole=True, title="Best approximations of the first kind, likewise"
    )
    searched_count = Whole(title="Different ratios in lowest terms looked at")
    ratio = Part(RatioOut, title="Smallest ratio that fits; absent where there is none")
    ratio_inside = Part(
        RatioOut, title="A shorter one that meets at a node inside the first pitch's repeat"
    )
    ratios = ListOf(RatioOut, title="Ratios that fit, smallest first")
    nearest = Part(RatioOut, title="Nearest ratio, fitting or not")
    beyond = Part(RatioOut, title="Smallest ratio that fits if more repeats were allowed")
    steps = Text(title="Common step of the two, and how they count in it")


class RepeatOut(ResultSchema):
    counts = Column("1", whole=True, title="Repeats of each pitch, in the order of pitches")
    length_mm = Num("mm", title="Length of the first pitch's run")
    spread_mm = Num("mm", title="Longest run less shortest run")


class Common(ResultSchema):
    repeats = ListOf(RepeatOut, title="Every set of counts that meets, smallest first")
    nearest = Part(RepeatOut, title="The set of counts with least relative spread")
    exact_length_mm = Num("mm", title="Length at which all meet exactly")


class StretchOut(ResultSchema):
    start_mm = Num("mm", title="From")
    end_mm = Num("mm", title="To")


class RowOut(ResultSchema):
    length_mm = Num("mm", title="Length")
    bay_mm = Num("mm", title="Frame pitch")
    bays_count = Whole(title="Whole bays")
    panel_mm = Num("mm", title="Panel pitch")
    panels_count = Whole(title="Whole panels")
    left_over_mm = Num("mm", title="Left over")
    action = Text(title="Where it goes: none, spread, back, front, two-halves or blocked")
    gap_per_joint_mm = Num("mm", title="What spreading adds to each joint")
    strips = ListOf(StretchOut, title="Adjuster strips for the left-over")
    adjusters = ListOf(StretchOut, title="Adjusters between repeats")
    repeats_count = Whole(title="Repeats of the ratio in this length")
    repeats_per_adjuster_count = Whole(title="Repeats before an adjuster; absent: none ever")
    misfit_accumulated_mm = Num("mm", title="Misfit accumulated at the end")
    joint_play_mm = Num("mm", title="Joint play")
    joints_mm = Column("mm", title="Panel edges")
    meetings_mm = Column("mm", title="Bearers under a panel joint")
    extra_bearers_mm = Column("mm", title="Where to add bearers if no ratio holds")


class FloorPartOut(ResultSchema):
    item = Text(title="Item")
    count = Whole(title="Count")
    along_mm = Num("mm", title="Size along")
    across_mm = Num("mm", title="Size across")
    use = Text(title="What for")


class FloorOut(ResultSchema):
    along = Part(RowOut, title="Along")
    across = Part(RowOut, title="Across")
    parts = ListOf(FloorPartOut, title="Parts of the floor")
    panels_needed_count = Whole(title="Panels in all, those to be cut too")


class RollingOut(ResultSchema):
    groove_mm = Num("mm", title="Groove, with what spreading adds")
    sink_mm = Num("mm", title="How deep the ball sits in a groove")
    groove_angle_deg = Num("deg", title="Groove angle")
    slope_percent = Num("%", title="Slope of the floor")
    slope_to_leave_percent = Num("%", title="Slope that lets a ball at rest out of a groove")
    slope_to_keep_rolling_percent = Num("%", title="Slope that keeps a rolling ball rolling")
    speed_kept_ratio = Num("1", title="Share of its speed a ball keeps at each groove")
    critical_speed_m_per_s = Num("m/s", title="Least speed to cross a groove")
    ridge_speed_m_per_s = Num("m/s", title="Least speed over the ridge")
    steady_speed_m_per_s = Num("m/s", title="Speed the ball settles to, as it leaves a groove")
    steady_arrival_speed_m_per_s = Num("m/s", title="The same, as it reaches a groove")
    lift_off_speed_m_per_s = Num("m/s", title="Above this the ball flies over part of the groove")
    sag_slope_percent = Num("%", title="Slope at the end of a sagging panel")


class ImpactOut(ResultSchema):
    panel_energy_j = Num("J", title="Energy the panel takes")
    deflection_mm = Num("mm", title="Deflection")
    force_n = Num("N", title="Equivalent force")
    factor_ratio = Num("1", title="Times the ball's weight")


class DropOut(ResultSchema):
    impact_energy_j = Num("J", title="Energy of the fall")
    fall_speed_m_per_s = Num("m/s", title="Speed on landing")
    rebound_mm = Num("mm", title="Rebound")
    bouncing_s = Num("s", title="Time until bouncing ends")
    wall_needed_mm = Num("mm", title="Wall that keeps a bouncing ball in")
    hits_per_day_count = Num("1", title="Hits on one spot in a day")
    low = Part(ImpactOut, title="Soft panel, half its mass moving")
    high = Part(ImpactOut, title="Stiff panel, none of its mass moving")
    seat_force_low_n = Num("N", title="Force of one seat, at least")
    seat_force_high_n = Num("N", title="Force of one seat, at most")
    seat_limit_n = Num("N", title="Force one seat may take again and again")


class HitOut(ResultSchema):
    at_mm = Num("mm", title="Where it lands")
    stiffness_n_per_mm = Num("N/mm", title="Stiffness there")
    first_slip_n = Num("N", title="Force at which the first seat gives")
    governed_by = Text(title="What gives first")
    force_low_n = Num("N", title="Equivalent force, at least")
    force_high_n = Num("N", title="Equivalent force, at most")
    utilisation_low_ratio = Num("1", title="Share of what may be repeated, at least")
    utilisation_high_ratio = Num("1", title="Share of what may be repeated, at most")


class OrientationOut(ResultSchema):
    orientation = Text(title="on-edge or flat")
    hits = ListOf(HitOut, title="Landing places")
    worst = Part(HitOut, title="The landing place that sets it")
    passes = Flag(title="Bears the hardest hit with the reserve")


class StrengthOut(ResultSchema):
    on_edge = Part(OrientationOut, title="Standing on edge, as a flat truss")
    flat = Part(OrientationOut, title="Lying flat, as a grid")
    better = Text(title="Orientation that wins")
    advantage_ratio = Num("1", title="By how much the better one carries more before slip")
    why = Text(title="Why")


class FloorResult(ResultSchema):
    pitches = ListOf(PitchOut, title="Pitches, exactly")
    pairs = ListOf(Pair, title="Every two pitches")
    common = Part(Common, title="All pitches at once")
    floor = Part(FloorOut, title="The floor laid out")
    rolling = Part(RollingOut, title="Slope and grooves")
    drop = Part(DropOut, title="Falling balls")
    panel_strength = Part(StrengthOut, title="The panel in two orientations")
    laid = Part(laid_out.LaidOut, title="Panels over sections and joints")
    slope_steps = Part(laid_out.SlopeOut, title="Slope built from steps")
    netting = Part(laid_out.NettingOut, title="Walls of netting")
    parts_for_count = ListOf(
        laid_out.ForCountOut, title="Parts in the shape part-count takes accessories in"
    )
    parts_not_in_kit = ListOf(laid_out.ForCountOut, title="Parts that the kit given does not know")
