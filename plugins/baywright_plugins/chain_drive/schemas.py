"""What chain-drive takes."""

from collections.abc import Mapping
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
    Whole,
)

from ..cautions import OPENINGS
from .chain_sizes import SIZES


def _tolerance(title: str) -> Num:
    return Num("mm", minimum=0, maximum=100, load_default=0.0, title=f"{title}, plus-minus")


class ChainSchema(InputSchema):
    pitch_mm = Num("mm", minimum=1, maximum=200, required=True, title="Chain pitch")
    size = Choice(*SIZES, title="Chain size", about="Gives the smallest breaking load")
    teeth_count = Whole(minimum=5, maximum=300, required=True, title="Teeth of the head sprocket")
    tail_teeth_count = Whole(
        minimum=5, maximum=300, title="Teeth of the tail sprocket", about="As the head when absent"
    )
    centre_distance_mm = Num(
        "mm", minimum=10, maximum=100_000, required=True, title="Head to tail, shaft to shaft"
    )
    links_count = Whole(minimum=6, maximum=100_000, title="Links, where the chain is there already")
    breaking_load_n = Num(
        "N", above=0, maximum=1e7, title="Smallest breaking load, in place of the size's"
    )
    load_factor = Num(
        "1", minimum=1, maximum=50, load_default=8.0, title="Breaking load over the pull allowed"
    )
    mass_kg_per_m = Num("kg/m", minimum=0, maximum=500, load_default=0.0, title="Mass of the chain")
    preload_n = Num(
        "N", minimum=0, maximum=1e5, load_default=0.0, title="Pull in each run at rest, tightened"
    )
    wear_reserve_percent = Num(
        "%", minimum=0, maximum=5, load_default=2.0, title="Wear the chain is to be used up to"
    )
    sag_percent = Num(
        "%",
        minimum=0,
        maximum=10,
        load_default=2.0,
        title="Sag allowed in the slack run, of the distance of the shafts",
    )

    @validates_schema
    def _size_has_this_pitch(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        if "size" not in data or "pitch_mm" not in data:
            return
        pitch = SIZES[data["size"]].pitch_mm
        if abs(pitch - data["pitch_mm"]) > 0.005 * pitch:
            words = f"A chain of size {data['size']} has a pitch of {pitch:g} mm."
            raise ValidationError({"pitch_mm": [Fault("out-of-range", words)]})


class AdjusterSchema(InputSchema):
    apart_mm = Num(
        "mm", minimum=0, maximum=10_000, required=True, title="Shafts can be moved apart by"
    )
    together_mm = Num(
        "mm", minimum=0, maximum=10_000, required=True, title="Shafts can be moved together by"
    )


class HooksSchema(InputSchema):
    spacing_links_count = Whole(
        minimum=1, maximum=10_000, required=True, title="Links from hook to hook"
    )
    hooks_per_min = Num(
        "/min", minimum=0.001, maximum=10_000, required=True, title="Hooks a minute"
    )
    balls_per_hook_count = Whole(minimum=1, maximum=100, load_default=1, title="Balls on a hook")
    fill_ratio = Num(
        "1", minimum=0.001, maximum=1, load_default=1.0, title="Share of hooks with a ball"
    )
    hook_mass_kg = Num("kg", minimum=0, maximum=50, load_default=0.0, title="Mass of a hook")


class BallSchema(InputSchema):
    diameter_mm = Num("mm", minimum=1, maximum=1000, required=True, title="Diameter")
    mass_kg = Num("kg", minimum=1e-6, maximum=50, required=True, title="Mass")


class LiftSchema(InputSchema):
    loaded_height_mm = Num(
        "mm", minimum=1, maximum=100_000, required=True, title="Height over which hooks are loaded"
    )
    efficiency_ratio = Num(
        "1", minimum=0.01, maximum=1, load_default=0.5, title="Efficiency of chain and bearings"
    )
    service_factor = Num(
        "1", minimum=1, maximum=20, load_default=2.0, title="Margin on torque for starts and jams"
    )
    drag_n = Num(
        "N",
        minimum=0,
        maximum=1e5,
        load_default=0.0,
        title="Friction of chain and hooks in their guides, along the chain",
    )


class FrameSchema(InputSchema):
    own_frequencies_hz = Column(
        "Hz",
        minimum=0.001,
        maximum=10_000,
        fewest=1,
        most=50,
        required=True,
        title="The frame's own frequencies",
    )
    keep_apart_ratio = Num(
        "1", minimum=0, maximum=1, load_default=0.2, title="Distance asked for, as a share of each"
    )


class CombSchema(InputSchema):
    ribs_count = Whole(minimum=2, maximum=200, required=True, title="Ribs of the loading tongue")
    rib_pitch_mm = Num("mm", minimum=0.01, maximum=1000, required=True, title="Rib to rib")
    rib_width_mm = Num("mm", minimum=0.01, maximum=1000, required=True, title="Width of a rib")
    teeth_count = Whole(
        minimum=1, maximum=199, title="Teeth of the hook", about="One in every gap when absent"
    )
    tooth_pitch_mm = Num(
        "mm", minimum=0.01, maximum=1000, title="Tooth to tooth", about="As the ribs when absent"
    )
    tooth_width_mm = Num("mm", minimum=0.01, maximum=1000, required=True, title="Width of a tooth")
    first_gap = Whole(
        minimum=0, maximum=198, load_default=0, title="Gap of the first tooth, from 0 on the left"
    )
    datum_rib = Whole(
        minimum=0, maximum=199, load_default=0, title="Rib that the others are placed from"
    )
    offset_mm = Num(
        "mm", minimum=-1000, maximum=1000, load_default=0.0, title="Hook stands off to the right by"
    )
    rib_pitch_tolerance_mm = _tolerance("Each rib-to-rib distance")
    rib_width_tolerance_mm = _tolerance("Width of a rib")
    tooth_pitch_tolerance_mm = _tolerance("Each tooth-to-tooth distance")
    tooth_width_tolerance_mm = _tolerance("Width of a tooth")
    hook_place_tolerance_mm = _tolerance("Hook on its chain link, sideways")
    chain_wander_mm = _tolerance("Chain sideways between its guides")
    sprocket_run_out_mm = _tolerance("Sprocket, sideways run-out")
    clearance_wanted_mm = Num(
        "mm", minimum=0, maximum=100, load_default=0.5, title="Clearance to be left"
    )

    @validates_schema
    def _teeth_have_gaps(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        faults: dict[str, Any] = {}
        ribs = data.get("ribs_count")
        if ribs is None:
            return
        teeth = data.get("teeth_count")
        room = ribs - 1 - data.get("first_gap", 0)
        if room < 1:
            words = f"{ribs} ribs have gaps 0 to {ribs - 2}."
            faults["first_gap"] = [Fault("unknown-reference", words)]
        elif teeth is not None and teeth > room:
            words = f"From that gap on there are {room} gaps between {ribs} ribs."
            faults["teeth_count"] = [Fault("out-of-range", words)]
        if data.get("datum_rib", 0) >= ribs:
            words = f"{ribs} ribs count from 0 to {ribs - 1}."
            faults["datum_rib"] = [Fault("unknown-reference", words)]
        if data.get("rib_width_mm", 0) >= data.get("rib_pitch_mm", 1e9):
            faults["rib_width_mm"] = [Fault("out-of-range", "Ribs this wide leave no gap.")]
        if faults:
            raise ValidationError(faults)


class LoadingSchema(InputSchema):
    slope_deg = Num("deg", minimum=0, maximum=60, required=True, title="Slope of the tongue")
    roll_mm = Num(
        "mm", minimum=0.1, maximum=10_000, required=True, title="Way of the next ball onto the hook"
    )
    hook_height_mm = Num(
        "mm", minimum=0, maximum=1000, load_default=5.0, title="Height of a hook along the chain"
    )
    rolling_resistance_ratio = Num(
        "1", minimum=0, maximum=1, load_default=0.01, title="Rolling resistance, as share of load"
    )
    waiting_balls_count = Whole(
        minimum=0, maximum=1000, load_default=0, title="Balls waiting in a row behind the next"
    )
    rubbing_ratio = Num(
        "1", minimum=0, maximum=2, load_default=0.3, title="Friction of ball on ball and hook"
    )
    time_margin = Num(
        "1", minimum=1, maximum=10, load_default=1.5, title="Free time over rolling time"
    )


class MotorSchema(InputSchema):
    id = Key(required=True, title="Motor")
    torque_n_m = Num("N.m", above=0, maximum=1e5, required=True, title="Torque it keeps up")
    turns_per_min = Num("/min", above=0, maximum=1e5, required=True, title="Turns a minute at that")
    stall_torque_n_m = Num("N.m", above=0, maximum=1e6, title="Torque when held still")
    gear_ratio = Num(
        "1", minimum=0.001, maximum=10_000, load_default=1.0, title="Its turns over the shaft's"
    )
    gear_efficiency_ratio = Num(
        "1", minimum=0.01, maximum=1, load_default=1.0, title="Efficiency of that gear"
    )
    duty_ratio = Num(
        "1", above=0, maximum=1, load_default=1.0, title="Share of time it may run at that torque"
    )


class WeakPointSchema(InputSchema):
    id = Key(required=True, title="What breaks, slips or lets go")
    kind = Choice(
        "chain",
        "shaft",
        "bearing",
        "lever",
        required=True,
        title="How the load reaches it",
        about=(
            "chain: pull along the chain (hook, tongue). shaft: torque at the head shaft "
            "(sprocket seat). bearing: pull on the seats of the head shaft by both runs. "
            "lever: the motor's torque held at lever_mm (frame seat)"
        ),
    )
    breaks_at_n = Num("N", above=0, maximum=1e7, title="Force at which one lets go")
    breaks_at_n_m = Num("N.m", above=0, maximum=1e6, title="Torque at which it lets go (shaft)")
    sharing_count = Whole(minimum=1, maximum=100, load_default=1, title="How many share the load")
    lever_mm = Num("mm", above=0, maximum=10_000, title="Lever of the force (lever)")

    @validates_schema
    def _has_its_numbers(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        if "kind" not in data:
            return
        needs = {"shaft": ("breaks_at_n_m",), "lever": ("breaks_at_n", "lever_mm")}
        missing = [k for k in needs.get(data["kind"], ("breaks_at_n",)) if k not in data]
        if missing:
            words = f"Needed where kind is {data['kind']}."
            raise ValidationError({key: [Fault("missing", words)] for key in missing})


class FuseSchema(InputSchema):
    break_margin = Num(
        "1", minimum=1, maximum=10, load_default=1.5, title="Weakest point over the fuse's highest"
    )
    setting_n_m = Num("N.m", above=0, maximum=1e5, title="Torque at which it slips, head shaft")
    tolerance_percent = Num(
        "%", minimum=0, maximum=95, load_default=15.0, title="Scatter of that torque, plus-minus"
    )


class BackstopSchema(InputSchema):
    holding_torque_n_m = Num(
        "N.m", minimum=0, maximum=1e5, required=True, title="Torque it holds, at the head shaft"
    )
    margin = Num("1", minimum=1, maximum=10, load_default=1.5, title="Margin asked for")


class HingeSchema(InputSchema):
    hinge_spread_mm = Num(
        "mm", minimum=1, maximum=10_000, required=True, title="From one hinge to the other"
    )
    tongue_above_mm = Num(
        "mm",
        minimum=-10_000,
        maximum=10_000,
        load_default=0.0,
        title="Tongue above the middle of the hinges",
    )
    tongue_reach_mm = Num(
        "mm", minimum=0, maximum=10_000, required=True, title="Tongue from the hinge axis"
    )
    latch_reach_mm = Num(
        "mm", minimum=1, maximum=10_000, required=True, title="Latch from the hinge axis"
    )
    play_mm = Num("mm", minimum=0, maximum=100, required=True, title="Play in a hinge, plus-minus")
    latch_play_mm = Num(
        "mm", minimum=0, maximum=100, load_default=0.0, title="Play at the latch, plus-minus"
    )
    cone_repeats_mm = Num(
        "mm",
        minimum=0,
        maximum=100,
        title="Sideways repeat of a locating cone at the tongue, plus-minus",
        about="Takes the place of the hinges' play across the ribs",
    )
    depth_clearance_mm = Num(
        "mm", minimum=0, maximum=1000, title="Room of the hook towards the tongue's root"
    )


class ClosingGapSchema(InputSchema):
    id = Key(required=True, title="Gap that opens and closes as it runs")
    gap_mm = Num("mm", minimum=0, maximum=10_000, required=True, title="Its smallest width")


class GuardSchema(InputSchema):
    height_mm = Num(
        "mm", minimum=0, maximum=100_000, required=True, title="Lowest part over the floor"
    )
    shape = Choice(*OPENINGS, title="Shape of the openings in the guard")
    opening_mm = Num("mm", above=0, maximum=1000, title="Size of an opening")
    slot_length_mm = Num("mm", above=0, maximum=10_000, title="Length of a slot")
    behind_mm = Num("mm", minimum=0, maximum=10_000, title="Danger behind the opening")
    children_present = Flag(load_default=True, title="Children from 3 years on come near")
    closing_gaps = ListOf(
        ClosingGapSchema, most=20, distinct="id", load_default=list, title="Gaps that close"
    )


class ChainDriveInputs(InputSchema):
    chain = Part(ChainSchema, required=True, title="Chain and sprockets")
    adjuster = Part(AdjusterSchema, title="Travel of the adjuster from the distance wanted")
    hooks = Part(HooksSchema, title="Hooks")
    ball = Part(BallSchema, title="Ball")
    lift = Part(LiftSchema, title="What the drive works against")
    frame = Part(FrameSchema, title="Frame")
    comb = Part(CombSchema, title="Hook and ribs of the loading tongue, seen from above")
    loading = Part(LoadingSchema, title="How the next ball comes onto a hook")
    motors = ListOf(MotorSchema, most=50, distinct="id", load_default=list, title="Motors at hand")
    weak_points = ListOf(
        WeakPointSchema, most=50, distinct="id", load_default=list, title="What may break"
    )
    fuse = Part(FuseSchema, title="Fuse or slipping clutch between motor and chain")
    backstop = Part(BackstopSchema, title="What holds the lift when power fails")
    hinge = Part(HingeSchema, title="Lift cage that swings open for service")
    guard = Part(GuardSchema, title="What covers the drive")
    gravity_m_s2 = Num("m/s2", minimum=0.1, maximum=30, load_default=9.80665, title="Gravity")

    @validates_schema
    def _fits_together(self, data: Mapping[str, Any], **kwargs: Any) -> None:
        needs = {
            "lift": ("hooks", "ball"),
            "loading": ("hooks", "ball"),
            "motors": ("lift",),
            "weak_points": ("lift",),
            "fuse": ("lift", "weak_points"),
            "backstop": ("lift",),
        }
        faults: dict[str, Any] = {}
        for key, others in needs.items():
            missing = [other for other in others if not data.get(other)] if data.get(key) else []
            for other in missing:
                faults[other] = [Fault("missing", f"Needed with {key}.")]
        gap = _gap(data)
        ball = data.get("ball")
        if data.get("loading") and gap is not None and ball and gap >= ball["diameter_mm"]:
            words = f"A ball of {ball['diameter_mm']:g} mm falls through gaps of {gap:g} mm."
            faults["comb"] = {"rib_width_mm": [Fault("out-of-range", words)]}
        if faults:
            raise ValidationError(faults)


def _gap(data: Mapping[str, Any]) -> float | None:
    comb = data.get("comb")
    if not comb or "rib_pitch_mm" not in comb or "rib_width_mm" not in comb:
        return None
    return float(comb["rib_pitch_mm"] - comb["rib_width_mm"])
