"""What play in the seats of the coupling rods does to the two sections that they couple."""

import math

#: Gap in which a closing frame does not crush a finger. ISO 13854:2017 (EN 349), Table 1.
FINGER_GAP_MM = 25.0


def rod_play_mm(seat_play_mm: float) -> float:
    """How far a rod with a seat at each end can lengthen or shorten: 2 e, each way.

    Args: seat_play_mm: e, of one seat, each way.
    Source: common practice, no source.

    >>> rod_play_mm(0.15)
    0.3
    """
    return 2.0 * seat_play_mm


def tilt_rad(play_mm: float, rods_apart_mm: float) -> float:
    """Tilt of one section against the other, each way, about the axis across the rods' spread.

        tan t = 2 p / h

    One outermost row of rods is drawn out by p, the opposite one pushed in by p.

    Args:
        play_mm: p, of one rod, each way.
        rods_apart_mm: h, between the two outermost rows, > 0.

    Leaves out: give of the seats under load, which adds to it.
    Source: geometry of two parallel planes on links; right triangle, derived here.

    >>> round(math.degrees(tilt_rad(0.3, 1440.0)), 4)
    0.0239
    """
    return math.atan(2.0 * play_mm / rods_apart_mm)


def gap_change_mm(play_mm: float, rods_apart_mm: float, beyond_mm: float) -> float:
    """What play opens or closes the gap, each way, at a place along the rods' spread.

        between the outermost rods p;  a distance d beyond them  p (1 + 2 d / h)

    Args:
        play_mm: p, of one rod, each way.
        rods_apart_mm: h, > 0.
        beyond_mm: d, how far the place lies beyond the outermost rods; 0 between them.

    Leaves out: as `tilt_rad`.
    Source: similar triangles; derived here.

    >>> round(gap_change_mm(0.3, 1440.0, 360.0), 3)
    0.45
    """
    return play_mm * (1.0 + 2.0 * beyond_mm / rods_apart_mm)


def sideways_mm(gap_mm: float, play_mm: float) -> float:
    """How far coupling rods let the sections slide sideways before their play is used up.

        s = sqrt((g + p)^2 - g^2)

    Args:
        gap_mm: g, the rods' length between hub centres, > 0.
        play_mm: p, of one rod.

    Leaves out: how stiffly the seats turn, which brakes it; further sliding draws the sections
    together and meets no other stop.
    Source: Pythagoras: a link that leans; derived here.

    >>> round(sideways_mm(60.0, 0.3), 2)
    6.01
    """
    return math.sqrt(play_mm * (2.0 * gap_mm + play_mm))


def seat_depth_mm(overhang_mm: float, inset_mm: float) -> float:
    """How deep a rod's end sits in its hub: from the hub's end to the rod's end, at least 0.

    Leaves out: hubs whose seat ends short of the hub's end.
    Source: common practice, no source.

    >>> seat_depth_mm(17.0, 10.0)
    7.0
    """
    return max(0.0, overhang_mm - inset_mm)
