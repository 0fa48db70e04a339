"""What goes in and what comes out, with units and bounds."""

from typing import Any

from marshmallow import ValidationError, validates_schema

from baywright_service.contract import (
    Choice,
    Fault,
    Flag,
    InputSchema,
    Key,
    ListOf,
    Num,
    Part,
    Text,
)

from .ramp_result import RampResult
from .resistance import TABLE

_LONGEST_MM = 200_000
_PAIRS = tuple(known.pair for known in TABLE)


def _fault(code: str, detail: str) -> list[Any]:
    return [Fault(code, detail)]


def _in_order(data: dict[str, Any], low: str, high: str) -> dict[str, Any]:
    if low in data and high in data and data[high] < data[low]:
        return {high: _fault("out-of-range", f"Must not be below {low}.")}
    return {}


def _ratio(title: str, most: float, **options: Any) -> Num:
    return Num("1", minimum=0, maximum=most, title=title, **options)


class BounceTest(InputSchema):
    """A ball dropped onto the landing, both heights below the ball."""

    drop_mm = Num("mm", required=True, minimum=1, maximum=10_000, title="Dropped from")
    rebound_mm = Num("mm", required=True, minimum=0, maximum=10_000, title="Bounced to")

    @validates_schema
    def _lower(self, data: dict[str, Any], **kwargs: Any) -> None:
        if data["rebound_mm"] > 0.98 * data["drop_mm"]:
            detail = "Must be at most 98 % of drop_mm."
            raise ValidationError({"rebound_mm": _fault("out-of-range", detail)})


class Ball(InputSchema):
    diameter_mm = Num("mm", required=True, minimum=3, maximum=300, title="Ball diameter")
    mass_kg = Num("kg", required=True, minimum=0.0001, maximum=20, title="Ball mass")
    body = Choice("solid", "hollow", "custom", load_default="solid", title="What it is inside")
    inertia_ratio = Num(
        "1",
        minimum=0.05,
        maximum=1,
        title="Moment of inertia over mass times radius squared",
        about="With body custom; 0.4 solid, 0.667 a thin shell.",
    )
    bounce_tests = ListOf(
        BounceTest, fewest=1, most=200, title="Bounces measured, in place of restitution"
    )
    restitution_min_ratio = _ratio("Share of speed kept in a bounce, at least", 0.99)
    restitution_max_ratio = _ratio(
        "Share of speed kept in a bounce, at most",
        0.99,
        about="Left out: as at least.",
    )

    @validates_schema
    def _hangs_together(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults = _in_order(data, "restitution_min_ratio", "restitution_max_ratio")
        numbers = [name for name in ("min", "max") if f"restitution_{name}_ratio" in data]
        if "bounce_tests" in data and numbers:
            detail = "Give bounce_tests or restitution, one of them."
            faults["bounce_tests"] = _fault("not-unique", detail)
        elif "bounce_tests" not in data and "min" not in numbers:
            detail = "Give restitution_min_ratio or bounce_tests."
            faults["restitution_min_ratio"] = _fault("missing", detail)
        if (data["body"] == "custom") != ("inertia_ratio" in data):
            custom = data["body"] == "custom"
            code = "missing" if custom else "unknown-field"
            detail = "Needed with body custom." if custom else "Only with body custom."
            faults["inertia_ratio"] = _fault(code, detail)
        if faults:
            raise ValidationError(faults)


class RollingTest(InputSchema):
    """A ball let go on a slope that runs out level, and where it stopped."""

    fall_mm = Num("mm", required=True, minimum=0.1, maximum=5000, title="How far it came down")
    run_mm = Num(
        "mm", required=True, minimum=1, maximum=100_000, title="Level distance while coming down"
    )
    level_mm = Num(
        "mm",
        required=True,
        minimum=0,
        maximum=100_000,
        title="Distance on the level until it stood",
    )


class Resistance(InputSchema):
    """Rolling resistance over load, as a range, from one of three origins."""

    min_ratio = _ratio("At least", 0.5)
    max_ratio = _ratio("At most", 0.5)
    pair = Choice(*_PAIRS, title="Pair of materials from the table")
    tests = ListOf(RollingTest, fewest=1, most=200, title="Rolling tests")
    measured_on = Choice(
        "plane",
        "this-track",
        load_default="plane",
        title="What the value was found on",
        about="On this-track it already holds what two rails or a channel add.",
    )

    @validates_schema
    def _one_origin(self, data: dict[str, Any], **kwargs: Any) -> None:
        numbers = [name for name in ("min_ratio", "max_ratio") if name in data]
        given = [name for name in ("pair", "tests") if name in data] + numbers[:1]
        if len(given) > 1:
            detail = f"Give one origin only: {given[0]} is there."
            raise ValidationError({given[1]: _fault("not-unique", detail)})
        if not given or len(numbers) == 1:
            absent = "max_ratio" if "min_ratio" in data else "min_ratio"
            detail = "Give min_ratio and max_ratio, or pair, or tests."
            raise ValidationError({absent: _fault("missing", detail)})
        faults = _in_order(data, "min_ratio", "max_ratio")
        if faults:
            raise ValidationError(faults)


class Air(InputSchema):
    density_kg_per_m3 = Num(
        "kg/m3", load_default=1.2, minimum=0, maximum=2, title="Density of the air"
    )
    drag_min_ratio = _ratio("Drag coefficient, at least", 2, load_default=0.4)
    drag_max_ratio = _ratio("Drag coefficient, at most", 2, load_default=0.5)

    @validates_schema
    def _ordered(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults = _in_order(data, "drag_min_ratio", "drag_max_ratio")
        if faults:
            raise ValidationError(faults)


#: What each kind of support needs, and may have besides.
SUPPORTS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "plane": ((), ()),
    "rails": (("gauge_mm",), ("rod_diameter_mm", "gauge_play_mm")),
    "ribs-along": (("gap_mm", "depth_mm"), ()),
    "v-channel": (("included_deg", "depth_mm"), ()),
    "u-channel": (("radius_mm", "depth_mm"), ()),
    "square-channel": (("width_mm", "depth_mm"), ()),
}


class Support(InputSchema):
    """What the ball rolls on, cut across."""

    id = Key(required=True, title="Name of the support", example="rails")
    kind = Choice(*SUPPORTS, required=True, title="Kind of support")
    gauge_mm = Num("mm", minimum=0.1, maximum=1000, title="Rails, centre to centre")
    rod_diameter_mm = Num(
        "mm", minimum=0, maximum=200, title="Rail diameter", about="Left out: sharp edges, 0."
    )
    gauge_play_mm = Num(
        "mm", minimum=0, maximum=100, title="How much wider the gauge may get", about="Left out: 0."
    )
    gap_mm = Num("mm", minimum=0.1, maximum=1000, title="Clear gap between two ribs along")
    included_deg = Num("deg", minimum=10, maximum=175, title="Angle between the walls of the V")
    radius_mm = Num("mm", minimum=1, maximum=2000, title="Radius of the round channel")
    width_mm = Num("mm", minimum=0.1, maximum=2000, title="Clear width of the square channel")
    depth_mm = Num("mm", minimum=0.1, maximum=1000, title="Depth of channel, or height of ribs")
    rolling_resistance = Part(Resistance, title="Its own rolling resistance; else the ramp's")
    friction_min_ratio = _ratio("Its own friction, at least; else the ramp's", 2)
    friction_max_ratio = _ratio("Its own friction, at most; else the ramp's", 2)

    @validates_schema
    def _fields_of_its_kind(self, data: dict[str, Any], **kwargs: Any) -> None:
        common = {"id", "kind", "rolling_resistance", "friction_min_ratio", "friction_max_ratio"}
        faults = _kind_faults(data, data["kind"], SUPPORTS, common)
        faults |= _in_order(data, "friction_min_ratio", "friction_max_ratio")
        for name, other in (("min", "max"), ("max", "min")):
            given, absent = f"friction_{name}_ratio", f"friction_{other}_ratio"
            if given in data and absent not in data:
                faults[absent] = _fault("missing", f"Goes with {given}.")
        if faults:
            raise ValidationError(faults)


def _kind_faults(
    data: dict[str, Any],
    kind: str,
    kinds: dict[str, tuple[tuple[str, ...], tuple[str, ...]]],
    common: set[str],
) -> dict[str, Any]:
    needed, allowed = kinds[kind]
    faults = {
        name: _fault("missing", f"Needed with kind {kind}.") for name in needed if name not in data
    }
    strangers = set(data) - common - set(needed) - set(allowed)
    faults |= {
        name: _fault("unknown-field", f"Not used with kind {kind}.") for name in sorted(strangers)
    }
    return faults


#: What each kind of segment needs, and may have besides. Straights take one of two lengths.
SEGMENTS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "straight": (("slope_percent",), ("length_mm", "run_mm")),
    "level": ((), ("length_mm", "run_mm")),
    "ribs": (
        ("slope_percent", "pitch_mm", "gap_mm"),
        ("length_mm", "run_mm", "rib_height_mm"),
    ),
    "curve": (("radius_mm", "turn_deg"), ("slope_percent", "bank_deg", "guard_mm")),
    "crest": (("radius_mm", "turn_deg"), ()),
    "dip": (("radius_mm", "turn_deg"), ()),
    "loop": (("radius_mm",), ()),
    "joint": (("gap_mm",), ("step_mm",)),
    "drop": (
        ("drop_mm",),
        ("caught", "wall_distance_mm", "wall_mm", "catch_from_mm", "catch_to_mm"),
    ),
}
_WITH_LENGTH = ("straight", "level", "ribs")


class Segment(InputSchema):
    """One piece of the ramp, in the order in which the ball meets them."""

    kind = Choice(*SEGMENTS, required=True, title="Kind of segment")
    name = Text(longest=60, shortest=1, title="What the builder calls it")
    support = Key(
        title="Id of its support",
        about="Left out: the first; a joint or drop stays on the segment before it.",
    )
    length_mm = Num("mm", minimum=1, maximum=_LONGEST_MM, title="Length along the track")
    run_mm = Num("mm", minimum=1, maximum=_LONGEST_MM, title="Length seen from above")
    slope_percent = Num(
        "%", minimum=-300, maximum=1000, title="Slope, falling positive; rise over run"
    )
    pitch_mm = Num("mm", minimum=1, maximum=5000, title="Ribs or joints, middle to middle")
    gap_mm = Num("mm", minimum=0, maximum=1000, title="Gap the ball crosses")
    rib_height_mm = Num(
        "mm",
        minimum=0.1,
        maximum=500,
        title="Height of ribs over the ground",
        about="Left out: nothing below that the ball could touch.",
    )
    radius_mm = Num(
        "mm",
        minimum=5,
        maximum=100_000,
        title="Radius",
        about="Of the ball's centre line in a curve, of the track in crest, dip and loop.",
    )
    turn_deg = Num("deg", minimum=0.1, maximum=3600, title="How far it turns")
    bank_deg = Num("deg", minimum=-45, maximum=85, title="Bank, leaning inward")
    guard_mm = Num(
        "mm", minimum=0, maximum=1000, title="Guards at both sides, above the line of rolling"
    )
    step_mm = Num("mm", minimum=-100, maximum=100, title="Step after the gap, up positive")
    drop_mm = Num("mm", minimum=1, maximum=10_000, title="Landing below the end of the track")
    caught = Flag(title="A basket or funnel stops the ball", about="Left out: false.")
    wall_distance_mm = Num("mm", minimum=0, maximum=_LONGEST_MM, title="Wall, from the end")
    wall_mm = Num("mm", minimum=0, maximum=10_000, title="Height of that wall over the landing")
    catch_from_mm = Num("mm", minimum=0, maximum=_LONGEST_MM, title="Landing begins, from the end")
    catch_to_mm = Num("mm", minimum=0, maximum=_LONGEST_MM, title="Landing ends, from the end")

    @validates_schema
    def _fields_of_its_kind(self, data: dict[str, Any], **kwargs: Any) -> None:
        kind = data["kind"]
        faults = _kind_faults(data, kind, SEGMENTS, {"kind", "name", "support"})
        if kind in _WITH_LENGTH and ("length_mm" in data) == ("run_mm" in data):
            code = "not-unique" if "run_mm" in data else "missing"
            faults["length_mm"] = _fault(code, "Give length_mm or run_mm, one of them.")
        if kind == "ribs" and data.get("gap_mm", 0) >= data.get("pitch_mm", 1e9):
            faults["gap_mm"] = _fault("out-of-range", "Must be below pitch_mm.")
        if kind in ("crest", "dip") and data.get("turn_deg", 0) > 170:
            detail = "Must be at most 170; a whole loop has its own kind."
            faults["turn_deg"] = _fault("out-of-range", detail)
        faults |= _in_order(data, "catch_from_mm", "catch_to_mm")
        if ("catch_from_mm" in data) != ("catch_to_mm" in data) and kind == "drop":
            absent = "catch_to_mm" if "catch_from_mm" in data else "catch_from_mm"
            faults[absent] = _fault("missing", "A landing has a beginning and an end.")
        if faults:
            raise ValidationError(faults)


class Inputs(InputSchema):
    gravity_m_s2 = Num("m/s2", load_default=9.80665, minimum=1, maximum=30, title="Gravity")
    ball = Part(Ball, required=True, title="Ball")
    rolling_resistance = Part(Resistance, required=True, title="Rolling resistance")
    friction_min_ratio = _ratio(
        "Sliding friction, at least", 2, load_default=0.2, about="Common practice, no source."
    )
    friction_max_ratio = _ratio(
        "Sliding friction, at most", 2, load_default=0.5, about="Common practice, no source."
    )
    air = Part(Air, load_default=lambda: Air().load({}), title="Air")
    supports = ListOf(
        Support, required=True, fewest=1, most=20, distinct="id", title="What it rolls on"
    )
    start_speed_min_m_per_s = Num(
        "m/s", load_default=0.0, minimum=0, maximum=20, title="Speed at the start, at least"
    )
    start_speed_max_m_per_s = Num(
        "m/s",
        minimum=0,
        maximum=20,
        title="Speed at the start, at most",
        about="Left out: as at least.",
    )
    slope_error_percent = Num(
        "%",
        load_default=0.0,
        minimum=0,
        maximum=10,
        title="Floor of the hall and build out of level, either way",
    )
    end_height_mm = Num(
        "mm", load_default=0.0, minimum=-10_000, maximum=100_000, title="Height of the end"
    )
    segments = ListOf(Segment, required=True, fewest=1, most=60, title="The ramp, in order")
    balls_per_min = Num("/min", minimum=0, maximum=10_000, title="Balls a minute on the ramp")
    speed_least_m_per_s = Num(
        "m/s",
        load_default=0.1,
        minimum=0,
        maximum=20,
        title="Slower than this at the end of a segment is too slow",
        about="Common practice, no source: slower balls stop at the next grain of dust.",
    )
    speed_most_m_per_s = Num(
        "m/s", minimum=0.01, maximum=50, title="Faster than this anywhere is too fast"
    )
    transit_most_s = Num("s", minimum=0.01, maximum=100_000, title="Longest time to the end")

    @validates_schema
    def _hang_together(self, data: dict[str, Any], **kwargs: Any) -> None:
        faults = _in_order(data, "friction_min_ratio", "friction_max_ratio")
        faults |= _in_order(data, "start_speed_min_m_per_s", "start_speed_max_m_per_s")
        known = [support["id"] for support in data["supports"]]
        strangers = {
            k: {"support": _fault("unknown-reference", f"No support has this id; {known} do.")}
            for k, segment in enumerate(data["segments"])
            if segment.get("support", known[0]) not in known
        }
        if strangers:
            faults["segments"] = strangers
        if faults:
            raise ValidationError(faults)


__all__ = ["Inputs", "RampResult"]
