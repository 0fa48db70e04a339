"""An endless lift chain on two sprockets: links, hooks, speed, torque and what it excites."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


def pitch_diameter(pitch_mm: float, teeth: int) -> float:
    """Diameter of the circle that the chain's pins run on, in mm.

        D = p / sin(180 deg / z)

    Source: ANSI B29.1 / ISO 606, sprocket dimensions (from memory; checked against printed
    tables of pitch diameters in the tests).

    >>> round(pitch_diameter(25.4, 17), 2)
    138.23
    """
    return pitch_mm / math.sin(math.pi / teeth)


def outside_diameter(pitch_mm: float, teeth: int) -> float:
    """Diameter over the tips of the teeth, in mm: p (0.6 + cot(180 deg / z)).

    Source: ANSI B29.1, sprocket dimensions (from memory; checked against catalogue rows).

    >>> round(outside_diameter(1.0, 36), 2)
    12.03
    """
    return pitch_mm * (0.6 + 1.0 / math.tan(math.pi / teeth))


def length_in_pitches(teeth: tuple[int, int], centre_pitches: float) -> float:
    """Length of the chain around two sprockets, in pitches (not yet a whole number).

        L = 2 C + (z1 + z2) / 2 + ((z2 - z1) / (2 pi))^2 / C

    Args:
        teeth: of the two sprockets, in either order.
        centre_pitches: distance between the shafts divided by the pitch, > 0.

    Leaves out: sag, and that the chain lies on a polygon (well under one link).
    Source: ISO 606 / ANSI B29.1, length of chain, as makers' selection procedures print it.

    >>> round(length_in_pitches((17, 51), 40.0), 3)
    114.732
    """
    first, second = teeth
    spread = (second - first) / (2.0 * math.pi)
    return 2.0 * centre_pitches + (first + second) / 2.0 + spread * spread / centre_pitches


def centre_in_pitches(teeth: tuple[int, int], links: int) -> float:
    """Distance between the shafts that a chain of `links` asks for, in pitches.

        C = (k + sqrt(k^2 - 8 ((z2 - z1) / (2 pi))^2)) / 4    with k = L - (z1 + z2) / 2

    Raises:
        ValueError: the chain is too short to go around both sprockets.

    Source: `length_in_pitches` solved for C.

    >>> round(centre_in_pitches((17, 51), 116), 4)
    40.6397
    """
    first, second = teeth
    straight = links - (first + second) / 2.0
    root = straight * straight - 8.0 * ((second - first) / (2.0 * math.pi)) ** 2
    if straight <= 0.0 or root < 0.0:
        raise ValueError("too short")
    return (straight + math.sqrt(root)) / 4.0


def even_links(length_pitches: float) -> int:
    """The smallest even number of links not below a length in pitches.

    An odd number needs an offset link. A length within a millionth of an even number is that
    number, so that rounding noise never adds two links.

    >>> even_links(279.57), even_links(132.0)
    (280, 132)
    """
    return 2 * math.ceil((length_pitches - 1e-6) / 2.0)


def wrap_deg(teeth: tuple[int, int], centre_pitches: float) -> float:
    """Angle over which the chain lies on the smaller sprocket, in degrees.

        180 - 2 asin((D2 - D1) / (2 C))

    Raises:
        ValueError: the sprockets overlap so far that no straight run is left.

    Source: belt and chain geometry, any handbook of machine elements.

    >>> round(wrap_deg((17, 51), 40.0), 2)
    164.48
    """
    small, large = (pitch_diameter(1.0, z) for z in sorted(teeth))
    return 180.0 - 2.0 * math.degrees(math.asin((large - small) / (2.0 * centre_pitches)))


def chordal_variation(teeth: int) -> float:
    """Share by which the chain's speed rises and falls as teeth pass: 1 - cos(180 deg / z).

    Source: chordal (polygon) action, makers' sprocket guides.

    >>> round(chordal_variation(9), 3)
    0.06
    """
    return 1.0 - math.cos(math.pi / teeth)


def even_spacings(links: int) -> list[int]:
    """Hook spacings, in links, that leave no odd gap: the divisors of the number of links.

    Between 2 links and half the chain (two hooks).

    >>> even_spacings(28)
    [2, 4, 7, 14]
    """
    low = [s for s in range(1, math.isqrt(links) + 1) if links % s == 0]
    divisors = sorted({*low, *(links // s for s in low)})
    return [s for s in divisors if 2 <= s <= links // 2]


def links_for_spacing(at_least: int, spacing: int) -> int:
    """The smallest even number of links >= `at_least` that `spacing` divides.

    >>> links_for_spacing(280, 24)
    288
    """
    step = math.lcm(2, spacing)
    return step * math.ceil(at_least / step)


@dataclass(frozen=True)
class Motion:
    """How fast a chain runs: chain in mm/s, shaft in turns a minute, rates in Hz."""

    chain_mm_per_s: float
    shaft_turns_per_min: float
    tooth_passing_hz: float


def motion_of(pitch_mm: float, teeth: int, links_per_s: float) -> Motion:
    """Motion of a chain of which `links_per_s` pass a point.

        v = n p,  turns per minute = 60 n / z,  teeth pass at n

    Source: chain speed = teeth x pitch x turns, any handbook of machine elements.

    >>> motion_of(12.7, 17, 17 * 300 / 60).chain_mm_per_s
    1079.5
    """
    return Motion(
        chain_mm_per_s=links_per_s * pitch_mm,
        shaft_turns_per_min=60.0 * links_per_s / teeth,
        tooth_passing_hz=links_per_s,
    )


def lifting_power(mass_kg: float, height_m: float, per_s: float, gravity: float) -> float:
    """Work done on the balls each second, in W, before any loss: m g h q.

    >>> round(lifting_power(0.057, 1.8, 1.0, 9.80665) / 0.6, 6)
    1.676937
    """
    return mass_kg * gravity * height_m * per_s


def head_torque(
    loaded_hooks: float, hook_load_n: float, diameter_mm: float, *, efficiency: float
) -> float:
    """Torque at the head shaft, in N m, with every hook of the rising run full.

        M = hooks on the run x weight on a hook x D / 2 / efficiency

    Leaves out: starting torque and a jam; put them into a service factor.
    Source: statics.
    """
    return loaded_hooks * hook_load_n * diameter_mm / 2000.0 / efficiency


@dataclass(frozen=True)
class Apart:
    """A driving frequency and the frame's nearest own frequency; `ratio` = |f - f0| / f0."""

    frequency_hz: float
    nearest_hz: float
    ratio: float


def distance_from(frequency_hz: float, frame_hz: Sequence[float]) -> Apart:
    """How far a driving frequency stays from the frame's own, relative to the frame's.

    Args:
        frame_hz: own frequencies, at least one, all > 0.

    >>> distance_from(14 / 3, [3.93, 4.3, 5.57]).nearest_hz
    4.3
    """
    own = np.asarray(frame_hz, dtype=float)
    ratios = np.abs(frequency_hz - own) / own
    nearest = int(np.argmin(ratios))
    return Apart(frequency_hz, float(own[nearest]), float(ratios[nearest]))
