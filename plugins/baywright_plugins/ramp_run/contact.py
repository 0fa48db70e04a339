"""Where a ball touches what it rolls on: plane, two rails, ribs, channels. Metres, radians."""

import math
from dataclasses import dataclass

UPRIGHT = math.pi / 2


@dataclass(frozen=True)
class Contact:
    """How a ball sits.

    `effective_radius_m`: from the axis of turning to the line through the contacts.
    `angle_rad`: each contact lies so far beside the lowest point of the ball; 0 for one contact.
    `sink_m`: how far the lowest point lies below the tops of what bears it.
    `holds_rad`: a push may lean so far from straight down before the ball leaves sideways.
    `climbs`: a round channel, in which the ball rolls up the side instead of leaning on an edge.
    """

    effective_radius_m: float
    angle_rad: float = 0.0
    sink_m: float = 0.0
    holds_rad: float = 0.0
    climbs: bool = False


class FallsThrough(Exception):
    """The gap is as wide as the ball or wider."""


def plane(diameter_m: float) -> Contact:
    """One contact under the ball, nothing at the sides."""
    return Contact(diameter_m / 2)


def rails(diameter_m: float, gauge_m: float, rod_diameter_m: float = 0.0) -> Contact:
    """On two rails whose centre lines are `gauge_m` apart; rods of no thickness are sharp edges.

        sin b = gauge/(d + rod),  r = R cos b,  sink = (R + rod/2)(1 - cos b)

    Raises:
        FallsThrough: the clear gap is as wide as the ball.

    Leaves out: rails that spread under the load.
    Source: geometry; r as in KoMaL (Mathematical and Physical Journal for High Schools), P.4699.

    >>> round(rails(0.020, 0.016).effective_radius_m, 6)
    0.006
    """
    sine = gauge_m / (diameter_m + rod_diameter_m)
    if sine >= 1:
        raise FallsThrough
    angle = math.asin(sine)
    sink = (diameter_m + rod_diameter_m) / 2 * (1 - math.cos(angle))
    return Contact(diameter_m / 2 * math.cos(angle), angle, sink, angle)


def ribs_along(diameter_m: float, gap_m: float, height_m: float) -> Contact:
    """Between two ribs that run along the track: on their edges, or on the ground between them.

    Source: geometry.
    """
    return _over_ground(diameter_m, gap_m, height_m)


def square_channel(diameter_m: float, width_m: float, depth_m: float) -> Contact:
    """In a channel with upright walls: on its rims where it is narrower than the ball and deep
    enough, else on its floor between the walls.

    Source: geometry.
    """
    return _over_ground(diameter_m, width_m, depth_m)


def _over_ground(diameter_m: float, gap_m: float, depth_m: float) -> Contact:
    if gap_m < diameter_m:
        on_edges = rails(diameter_m, gap_m)
        if on_edges.sink_m < depth_m:
            return on_edges
    return Contact(diameter_m / 2, 0.0, depth_m, wall_angle(diameter_m, depth_m))


def v_channel(diameter_m: float, included_rad: float, depth_m: float) -> Contact:
    """In a V whose walls enclose `included_rad`; on its rims where it is too shallow.

        b = 90 deg - half the angle,  r = R sin(half the angle)

    Raises:
        FallsThrough: the rims of a shallow V are as far apart as the ball is thick.

    Source: geometry.
    """
    half = included_rad / 2
    radius = diameter_m / 2
    touches_at = radius * math.cos(half) ** 2 / math.sin(half)
    if depth_m < touches_at:
        return rails(diameter_m, 2 * depth_m * math.tan(half))
    centre = radius / math.sin(half)
    sink, angle = depth_m - centre + radius, UPRIGHT - half
    # A push past the steepness of a flat wall rolls the ball out, however long the wall.
    return Contact(radius * math.sin(half), angle, sink, angle)


def u_channel(diameter_m: float, radius_m: float, depth_m: float) -> Contact:
    """In a round channel: at its bottom, free to climb the side up to the rim; on its rims where
    the ball is the rounder of the two.

    Raises:
        FallsThrough: the channel is as narrow as the ball and deep: the ball jams in it.

    Source: geometry.
    """
    deep = min(depth_m, radius_m)
    if radius_m <= diameter_m / 2:
        return rails(diameter_m, 2 * math.sqrt(radius_m**2 - (radius_m - deep) ** 2))
    rim = math.acos((radius_m - deep) / radius_m)
    return Contact(diameter_m / 2, 0.0, depth_m, rim, climbs=True)


def wall_angle(
    diameter_m: float, height_m: float, effective_radius_m: float | None = None
) -> float:
    """Where the top of a wall beside the ball touches it, as an angle from straight down.

    Upright (90 deg) from the height of the ball's centre on: no push sideways lifts it over.

        cos a = (r - h)/R,  h above the line the ball rolls on

    Source: geometry.
    """
    radius = diameter_m / 2
    below = (radius if effective_radius_m is None else effective_radius_m) - height_m
    return UPRIGHT if below <= 0 else math.acos(min(1.0, below / radius))


def wedges(contact: Contact, friction: float) -> bool:
    """A ball between two walls so steep that friction holds it against being lifted out:
    cot b <= mu. Source: the angle of friction, any statics text."""
    return contact.angle_rad > 0 and math.cos(contact.angle_rad) <= friction * math.sin(
        contact.angle_rad
    )
