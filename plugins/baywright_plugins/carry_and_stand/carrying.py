"""How many people each way of carrying a section takes, and what each end bears."""

from collections.abc import Sequence
from dataclasses import dataclass

from .bodies import Body
from .lifting_equation import Hands, Limit, recommended_limit
from .shares import low_end_share
from .team import Ends, at_the_ends, capability_kg, reduced_by, team_kg, zone_of

WAYS = ("level", "tilted", "stairs")
#: Zones of the hands on stairs: the lower carrier pushes up, the upper one bends down.
STAIRS_ZONES = ("elbow to shoulder", "lower leg to knuckle")


@dataclass(frozen=True)
class Lifting:
    """How it is lifted: hands ahead of the ankles, how high it is raised, pace, grip."""

    reach_mm: float = 400.0
    lifted_mm: float = 100.0
    twist_deg: float = 0.0
    per_min: float = 0.2
    duration: str = "up-to-1-h"
    grip: str = "fair"


@dataclass(frozen=True)
class Way:
    """One way to carry: pose upright or lying; span and place of the grips; which end is low and
    what both ends bear; `team` and who stands where, None where the crew at hand is too weak."""

    way: str
    pose: str
    tilt_deg: float
    span_mm: float
    hands_mm: float
    above_mm: float
    low_end: str
    low_kg: float
    high_kg: float
    bears_kg: float | None
    people: int | None
    team: Ends | None


@dataclass(frozen=True)
class Index:
    """The lifting equation for one end of the lift: limit, and load of the fullest hands over it;
    index None where the limit is 0."""

    limit: Limit
    load_kg: float
    index: float | None


def level_people(
    body: Body, crew_kg: Sequence[float], lifting: Lifting, least: int
) -> tuple[Way, int | None]:
    """The upright section carried level: the way, and how few people by mass alone.

    `least` people are asked for by size. Source: HSE L23 and INDG143 Figure 1.
    """
    way = _way(body, "level", 0.0, crew_kg, lifting, least)
    by_mass = way.people if least == 1 else _way(body, "level", 0.0, crew_kg, lifting, 1).people
    return way, by_mass


def tilted_people(
    body: Body, crew_kg: Sequence[float], lifting: Lifting, least: int, tilt_deg: float
) -> Way:
    """The upright section with one end lower: ramps, carriers of unequal height."""
    return _way(body, "tilted", tilt_deg, crew_kg, lifting, max(least, 2))


def stairs_people(
    body: Body, crew_kg: Sequence[float], lifting: Lifting, least: int, slope_deg: float
) -> Way:
    """The section with its longest side along a flight of stairs."""
    return _way(body, "stairs", slope_deg, crew_kg, lifting, max(least, 2))


def _way(
    body: Body,
    way: str,
    tilt_deg: float,
    crew_kg: Sequence[float],
    lifting: Lifting,
    least: int,
) -> Way:
    lying = way == "stairs" and body.size[2] > max(body.size[:2])
    options = [_held(body, lying, flipped, tilt_deg) for flipped in (False, True)]
    if way == "level":
        options = options[:1]
    span, above = options[0][0], options[0][1]
    hands = body.grip_mm + lifting.lifted_mm
    low_zone, high_zone = STAIRS_ZONES if way == "stairs" else (zone_of(hands), zone_of(hands))
    kept = 1.0 - reduced_by(lifting.twist_deg, lifting.per_min)
    low_caps = [kept * capability_kg(best, low_zone) for best in crew_kg]
    high_caps = [kept * capability_kg(best, high_zone) for best in crew_kg]
    found: tuple[int, Ends | None, tuple[float, float, float, str]] | None = None
    for people in range(least, min(len(crew_kg), 3) + 1):
        tries = [
            (ends, option)
            for option in options
            for ends in [_fits(body, people, option, low_caps, high_caps, way)]
            if ends is not None and ends.used_ratio <= 1 + 1e-9
        ]
        if tries:
            ends, option = min(tries, key=lambda each: each[0].used_ratio)
            found = people, ends, option
            break
    chosen = found[2] if found else min(options, key=lambda o: max(o[2], 1 - o[2]))
    count = None if found is None else found[0]
    caps = [min(a, b) for a, b in zip(low_caps, high_caps, strict=True)]
    return Way(
        way,
        "lying" if lying else "upright",
        tilt_deg,
        span,
        hands,
        above,
        chosen[3],
        chosen[2] * body.mass_kg,
        (1 - chosen[2]) * body.mass_kg,
        team_kg(caps[:count] if count else caps[:3]),
        count,
        found[1] if found else None,
    )


def _held(
    body: Body, lying: bool, flipped: bool, tilt_deg: float
) -> tuple[float, float, float, str]:
    """Span of the grips, centre above them, share of the low end, and the name of that end."""
    if lying:
        first, second = body.lying_mm
        centre = body.height_of_centre
        above = body.low[1] + body.size[1] - body.hub_mm - body.centre[1]
        names = ("its foot", "its head")
    else:
        axis = 0 if body.size[0] >= body.size[1] else 1
        first = body.low[axis] + body.hub_mm
        second = body.low[axis] + body.size[axis] - body.hub_mm
        centre = body.centre[axis]
        above = body.height_of_centre - body.grip_mm
        names = ("the left end", "the right end") if axis == 0 else ("the front", "the back")
    span = max(second - first, 1.0)
    from_low = second - centre if flipped else centre - first
    share = low_end_share(from_low, span, above, tilt_deg)
    return span, above, share, names[1] if flipped else names[0]


def _fits(
    body: Body,
    people: int,
    option: tuple[float, float, float, str],
    low_caps: Sequence[float],
    high_caps: Sequence[float],
    way: str,
) -> Ends | None:
    if people == 1:
        return Ends((0,), (), body.mass_kg / max(low_caps[0], 1e-9))
    low = option[2] * body.mass_kg
    if low < 0 or low > body.mass_kg:
        return None
    return at_the_ends(
        low,
        body.mass_kg - low,
        low_caps[:people],
        high_caps[:people],
        share_at_ends=way == "stairs",
    )


def lifting_indices(body: Body, way: Way, people: int, lifting: Lifting) -> tuple[Index, Index]:
    """The lifting equation at the start of the lift and where it ends, for the fullest hands.

    The fuller end is borne by the larger half of the people. The equation is written for one
    person: here each one's share is held against it.
    Source: NIOSH 94-110, section 1; for teams common practice, no source.
    """
    load = (
        body.mass_kg
        if people == 1
        else max(way.low_kg / (people - people // 2), way.high_kg / (people // 2))
        if way.low_kg >= way.high_kg
        else max(way.high_kg / (people - people // 2), way.low_kg / (people // 2))
    )
    found = []
    for height in (body.grip_mm, body.grip_mm + lifting.lifted_mm):
        limit = recommended_limit(
            Hands(lifting.reach_mm / 10, height / 10, lifting.twist_deg),
            lifting.lifted_mm / 10,
            per_min=lifting.per_min,
            duration=lifting.duration,
            grip=lifting.grip,
        )
        index = load / limit.limit_kg if limit.limit_kg > 1e-6 else None
        found.append(Index(limit, load, index))
    return found[0], found[1]
