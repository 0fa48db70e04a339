"""From the builder's words and millimetres to pieces in SI units."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..floor_tiling_ratio.drop_impact import restitution_from_bounce
from . import contact as contacts
from .ball import INERTIA, Ball
from .contact import Contact, FallsThrough
from .corners import Pair, Unknowns
from .edges import Joint
from .pieces import Drop, Piece, Shape, Straight, Surface, Turn, Vertical
from .resistance import by_pair, range_of_tests

Given = Mapping[str, Any]


def read_ball(given: Given) -> Ball:
    """Ball in SI units."""
    body = given["body"]
    inertia = INERTIA[body] if body in INERTIA else given["inertia_ratio"]
    return Ball(given["diameter_mm"] / 1000, given["mass_kg"], inertia)


@dataclass(frozen=True)
class Found:
    """Rolling resistance as a range, where it is from, and whether on this very track."""

    pair: Pair
    origin: str
    here: bool


def read_resistance(given: Given) -> Found:
    """A range, from numbers, the table, or tests."""
    here = given["measured_on"] == "this-track"
    if "pair" in given:
        known = by_pair(given["pair"])
        return Found((known.low, known.high), f"{known.pair}: {known.source}", here)
    if "tests" in given:
        tests = [
            (test["fall_mm"] / 1000, test["run_mm"] / 1000, test["level_mm"] / 1000)
            for test in given["tests"]
        ]
        return Found(range_of_tests(tests), f"{len(tests)} rolling tests of the builder", here)
    return Found((given["min_ratio"], given["max_ratio"]), "given by the builder", here)


def read_restitution(given: Given) -> Pair:
    """Restitution as a range, from numbers or from bounces."""
    if "bounce_tests" in given:
        found = [
            restitution_from_bounce(test["drop_mm"], test["rebound_mm"])
            for test in given["bounce_tests"]
        ]
        return min(found), max(found)
    low = given["restitution_min_ratio"]
    return low, given.get("restitution_max_ratio", low)


def read_contact(ball: Ball, support: Given, play_mm: float = 0.0) -> Contact:
    """How the ball sits on a support; `play_mm` wider where it is two rails.

    Raises:
        FallsThrough: it does not.
    """
    size = ball.diameter_m
    match support["kind"]:
        case "plane":
            return contacts.plane(size)
        case "rails":
            gauge = (support["gauge_mm"] + play_mm) / 1000
            return contacts.rails(size, gauge, support.get("rod_diameter_mm", 0.0) / 1000)
        case "ribs-along":
            return contacts.ribs_along(size, support["gap_mm"] / 1000, support["depth_mm"] / 1000)
        case "v-channel":
            angle = math.radians(support["included_deg"])
            return contacts.v_channel(size, angle, support["depth_mm"] / 1000)
        case "u-channel":
            radius = support["radius_mm"] / 1000
            return contacts.u_channel(size, radius, support["depth_mm"] / 1000)
        case _:
            width = support["width_mm"] / 1000
            return contacts.square_channel(size, width, support["depth_mm"] / 1000)


def read_surface(ball: Ball, support: Given, inputs: Given) -> Surface:
    """A support with its own coefficients, or the ramp's."""
    found = read_resistance(support.get("rolling_resistance", inputs["rolling_resistance"]))
    friction = (
        support.get("friction_min_ratio", inputs["friction_min_ratio"]),
        support.get("friction_max_ratio", inputs["friction_max_ratio"]),
    )
    try:
        return Surface(read_contact(ball, support), found.pair, friction, found.here)
    except FallsThrough:
        return Surface(contacts.plane(ball.diameter_m), found.pair, friction, found.here, False)


def read_surfaces(ball: Ball, inputs: Given) -> dict[str, Surface]:
    """Every support by its id."""
    return {support["id"]: read_surface(ball, support, inputs) for support in inputs["supports"]}


def support_ids(inputs: Given) -> list[str]:
    """The support of each segment; a joint or a drop stays on that of the segment before."""
    found: list[str] = []
    for segment in inputs["segments"]:
        first = inputs["supports"][0]["id"]
        stays = segment["kind"] in ("joint", "drop") and found
        found.append(segment.get("support", found[-1] if stays else first))
    return found


def read_pieces(surfaces: Mapping[str, Surface], inputs: Given) -> list[Piece]:
    """The ramp in SI units."""
    ids = support_ids(inputs)
    return [
        Piece(_shape(segment), surfaces[name])
        for segment, name in zip(inputs["segments"], ids, strict=True)
    ]


def _shape(segment: Given) -> Shape:
    slope = math.atan(segment.get("slope_percent", 0.0) / 100)
    match segment["kind"]:
        case "straight" | "level" | "ribs":
            length = segment.get("length_mm", 0.0)
            if "run_mm" in segment:
                length = segment["run_mm"] / math.cos(slope)
            return Straight(length / 1000, slope, _row(segment))
        case "curve":
            return Turn(
                segment["radius_mm"] / 1000,
                math.radians(segment["turn_deg"]),
                slope,
                math.radians(segment.get("bank_deg", 0.0)),
                segment.get("guard_mm", 0.0) / 1000,
            )
        case "crest" | "dip":
            bends = 1 if segment["kind"] == "crest" else -1
            turn = math.radians(segment["turn_deg"])
            return Vertical(segment["radius_mm"] / 1000, turn, bends)
        case "loop":
            return Vertical(segment["radius_mm"] / 1000, 2 * math.pi, -1, full_loop=True)
        case "joint":
            return Joint(segment["gap_mm"] / 1000, segment.get("step_mm", 0.0) / 1000)
        case _:
            return Drop(segment["drop_mm"] / 1000, segment.get("caught", False))


def _row(segment: Given) -> tuple[float, float, float | None] | None:
    if segment["kind"] != "ribs" or segment["gap_mm"] == 0:
        return None
    height = segment.get("rib_height_mm")
    return (
        segment["pitch_mm"] / 1000,
        segment["gap_mm"] / 1000,
        None if height is None else height / 1000,
    )


def read_unknowns(inputs: Given) -> Unknowns:
    """What is known only as a range."""
    ball, air = inputs["ball"], inputs["air"]
    least = inputs["start_speed_min_m_per_s"]
    return Unknowns(
        (least, inputs.get("start_speed_max_m_per_s", least)),
        (air["drag_min_ratio"], air["drag_max_ratio"]),
        read_restitution(ball),
        math.atan(inputs["slope_error_percent"] / 100),
        air["density_kg_per_m3"],
        inputs["gravity_m_s2"],
    )


def names(inputs: Given) -> Sequence[str]:
    """What each segment is called in messages: the builder's name, or its kind and number."""
    return [
        segment.get("name", f"{segment['kind']} {k + 1}")
        for k, segment in enumerate(inputs["segments"])
    ]
