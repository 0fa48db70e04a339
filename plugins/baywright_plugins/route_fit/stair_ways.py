"""Ways to take a thing up a flight and round its landings."""

import math

from .carried import UP, Carried, ways_to_lead
from .corridor import through_corridors
from .passage import Flight, Landing, RouteClearances, RoutePassage
from .stairs import along_need, bend_room, landing_need, level_need
from .way import Way

Limit = tuple[str, float, float]


def stair_ways(
    carried: Carried, passage: RoutePassage, clearances: RouteClearances
) -> list[list[Way]]:
    """For each obstacle (flight, landings) its ways, upright before lying.

    In each attitude one axis leads on the flight and on every landing: the one with most room over
    all. Outlines count as their box.
    """
    flight = passage.flight
    if flight is None:
        return []
    tried = []
    for attitude in carried.attitudes:
        runs = [
            _run(carried, passage, flight, clearances, attitude, travel, across)
            for travel, across in ways_to_lead(carried, attitude)
        ]
        if runs:
            tried.append(max(runs, key=lambda ways: min(way.spare_mm for way in ways)))
    return [list(column) for column in zip(*tried, strict=True)]


def _run(
    carried: Carried,
    passage: RoutePassage,
    flight: Flight,
    clearances: RouteClearances,
    attitude: str,
    travel: str,
    across: str,
) -> list[Way]:
    length, width = carried.along(travel), carried.along(across)
    height = carried.along(UP[attitude])
    free = clearances.stairs_lifted_mm + clearances.stairs_above_mm
    headroom = flight.headroom_mm - free
    ends = [(passage.ceiling_mm or flight.headroom_mm) - free]
    ends += [landing.headroom_mm - free for landing in flight.landings]
    side = ("width", width, flight.width_mm - 2 * clearances.stairs_each_side_mm)
    level: list[Limit] = [
        ("headroom", level_need(length, height, flight.slope), headroom),
        ("landing headroom", height, min(ends)),
    ]
    bend = min(bend_room(length, height, flight.slope, end, headroom) for end in sorted(set(ends)))
    along: list[Limit] = [
        ("headroom", along_need(height, flight.slope), headroom),
        ("bend at the end of the flight", height, height + bend),
    ]
    manners = [("level", level, 0.0)]
    if not carried.keep_upright:
        manners.append(("along-the-stairs", along, math.degrees(flight.slope)))
    ways = [
        _way("flight", attitude, manner, travel, [side, *limits], (width, height, length), angle)
        for manner, limits, angle in manners
    ]
    best = next((way for way in ways if way.passes), max(ways, key=lambda way: way.spare_mm))
    size = (width, height, length)
    return [
        best,
        *(
            _landing(carried, flight, landing, clearances, attitude, travel, size, k)
            for k, landing in enumerate(flight.landings)
        ),
    ]


def _landing(
    carried: Carried,
    flight: Flight,
    landing: Landing,
    clearances: RouteClearances,
    attitude: str,
    travel: str,
    size: tuple[float, float, float],
    number: int,
) -> Way:
    """The way over a landing: straight on, turned level, or stood on end and turned."""
    width, height, length = size
    name = f"landing-{number + 1}"
    free = clearances.stairs_lifted_mm + clearances.stairs_above_mm
    if landing.turn == "straight":
        side = ("width", width, landing.width_mm - 2 * clearances.stairs_each_side_mm)
        return _way(name, attitude, "straight", travel, [side], size, 0.0)
    broad = min(landing.width_mm, flight.width_mm)
    deep = landing.length_mm if landing.turn == "half" else min(landing.length_mm, flight.width_mm)
    corridors: tuple[float, ...] = (broad, deep)
    legs: tuple[float, ...] = ()
    if landing.turn == "half":
        corridors, legs = ((broad, deep, broad), (landing.width_mm,))
    plan = length + 2 * clearances.carrier_each_end_mm
    turned = through_corridors(plan, width, corridors, legs)
    low = min(landing.headroom_mm, flight.headroom_mm) - free
    need = landing_need(length, width, height, flight.slope, (broad, deep))
    level: list[Limit] = [("turn", width, width + turned.spare_mm), ("landing headroom", need, low)]
    ways = [_way(name, attitude, turned.how, travel, level, (width, height, plan), 0.0)]
    if not carried.keep_upright:
        room = min(landing.length_mm, landing.width_mm)
        on_end: list[Limit] = [
            (
                "tipping up on the landing",
                math.hypot(length, height),
                landing.headroom_mm - clearances.above_mm,
            ),
            ("turn on the landing", math.hypot(width, height), room),
        ]
        ways.append(_way(name, attitude, "on-end", travel, on_end, (width, length, height), 90.0))
    return next((way for way in ways if way.passes), max(ways, key=lambda way: way.spare_mm))


def _way(
    obstacle: str,
    attitude: str,
    how: str,
    travel: str,
    limits: list[Limit],
    size: tuple[float, float, float],
    angle_deg: float,
) -> Way:
    tight, needed, allowed = min(limits, key=lambda limit: limit[2] - limit[1])
    return Way(
        obstacle, attitude, how, travel, allowed - needed, tight, needed, allowed, *size,
        angle_deg=angle_deg, exactness="conservative",
    )  # fmt: skip
