"""Ways to take a thing round corners, and out of a passage into a door."""

from collections.abc import Iterator

from ..grid_fit.passages import AXES
from .allowed import room
from .carried import UP, Carried, hull
from .corridor import through_corridors
from .doorway_turn import passages_both_sides
from .outline_corner import outline_round_corner
from .passage import USUAL_REVEAL_MM, Doorway, RouteClearances, RoutePassage
from .way import Way

CARRIED = ("by-hand", "on-skid")


def corner_ways(
    carried: Carried, passage: RoutePassage, clearances: RouteClearances
) -> Iterator[Way]:
    """Through all corridors of a passage: by hand before on a skid, upright before lying.

    Carriers take their room at both ends of the longer side, as in grid-fit; no hands at the
    sides.
    """
    for how in CARRIED:
        ends = 2 * clearances.carrier_each_end_mm if how == "by-hand" else 0.0
        for attitude in carried.attitudes:
            way = _round(carried, passage, attitude, how, ends)
            yield under_ceiling(way, carried, passage, clearances)


def _round(carried: Carried, passage: RoutePassage, attitude: str, how: str, ends: float) -> Way:
    long_axis, short_axis = plan_axes(carried, attitude)
    length, width = carried.along(long_axis) + ends, carried.along(short_axis)
    found = through_corridors(length, width, passage.corridors_mm, passage.legs_mm)
    spare, manner, exactness = found.spare_mm, found.how, "exact"
    if len(passage.corridors_mm) > 2:
        exactness = "conservative"
    if not carried.is_box:
        exactness = "conservative"
        if spare < 0 and len(passage.corridors_mm) == 2:
            better = _outline_room(carried, attitude, ends, passage, spare)
            if better > spare:
                spare, manner = better, "turning"
    leg = found.tight == "leg"
    needed = length if leg else width
    return Way(
        f"corner-{found.corner + 1}", attitude, manner, long_axis, spare,
        "leg" if leg else "corner", needed, needed + spare, width, carried.along(UP[attitude]),
        length, carried=how, angle_deg=found.angle_deg, exactness=exactness,
    )  # fmt: skip


def _outline_room(
    carried: Carried, attitude: str, ends: float, passage: RoutePassage, at_least: float
) -> float:
    """The convex plan outline, with carriers as broad as its largest block at both ends."""
    long_axis, short_axis = plan_axes(carried, attitude)
    rows = carried.rectangles(long_axis, short_axis).tolist()
    body = max(rows, key=lambda row: (row[1] - row[0]) * (row[3] - row[2]))
    if ends:
        size = carried.along(long_axis)
        rows.append([-ends / 2, size + ends / 2, body[2], body[3]])
    outline = hull([(x, y) for x0, x1, y0, y1 in rows for x in (x0, x1) for y in (y0, y1)])
    a, b = passage.corridors_mm
    return outline_round_corner(outline, (a, b), at_least)


def turn_ways(
    carried: Carried, passage: RoutePassage, clearances: RouteClearances
) -> Iterator[Way]:
    """Into a door from a passage along its wall, or out of it into one behind."""
    doorway = passage.doorway
    if doorway is None or (doorway.before_mm is None and doorway.behind_mm is None):
        return
    for how in CARRIED:
        ends = 2 * clearances.carrier_each_end_mm if how == "by-hand" else 0.0
        for attitude in carried.attitudes:
            way = _into_door(carried, doorway, attitude, how, ends, clearances)
            yield under_ceiling(way, carried, passage, clearances)


def _into_door(
    carried: Carried,
    doorway: Doorway,
    attitude: str,
    how: str,
    ends: float,
    clearances: RouteClearances,
) -> Way:
    long_axis, short_axis = plan_axes(carried, attitude)
    body, width = carried.along(long_axis), carried.along(short_axis)
    length, height = body + ends, carried.along(UP[attitude])
    clear, clear_height = room(doorway, clearances)
    clear -= sum(
        max((h.projects_mm for h in doorway.hardware if h.side == side), default=0.0)
        for side in ("left", "right")
    )
    reveal = USUAL_REVEAL_MM if doorway.reveal_mm is None else doorway.reveal_mm
    passages = [w for w in (doorway.before_mm, doorway.behind_mm) if w is not None]
    both = len(passages) == 2
    turning = [("width", width, clear), ("height", height, clear_height)]
    side, angle = "before" if doorway.before_mm is not None else "behind", 0.0
    if width <= clear and clear > 0:
        spare, side, angle = passages_both_sides(
            length, width, clear, reveal, doorway.before_mm, doorway.behind_mm
        )
        has = doorway.before_mm if side == "before" else doorway.behind_mm
        turning.append(("passage", (has or 0.0) - spare, has or 0.0))
    sliding = [
        ("width", body, clear),
        ("height", height, clear_height),
        ("passage", width, min(passages)),
    ]
    led = {"turning": (turning, long_axis), "sliding": (sliding, short_axis)}
    best: Way | None = None
    for manner, (limits, travel) in led.items():
        if carried.led_along not in (None, travel):
            continue
        tight, needed, allowed = min(limits, key=lambda limit: limit[2] - limit[1])
        way = Way(
            "turn-behind" if side == "behind" else "turn-before", attitude, manner, travel,
            allowed - needed, tight, needed, allowed, width, height, length, carried=how,
            angle_deg=angle if manner == "turning" else 0.0,
            exactness="exact" if carried.is_box and not both and not doorway.hardware
            else "conservative",
        )  # fmt: skip
        if best is None or way.spare_mm > best.spare_mm:
            best = way
    if best is None:
        return _led_upwards(f"turn-{side}", attitude, how, long_axis, width, height, length)
    return best


def _led_upwards(
    obstacle: str,
    attitude: str,
    how: str,
    travel: str,
    width: float,
    height: float,
    length: float,
) -> Way:
    """The axis that must lead points up in this attitude: no way at all."""
    over = max(length, 1.0)
    return Way(
        obstacle, attitude, "turning", travel, -over, "passage", over, 0.0, width, height, length,
        carried=how,
    )  # fmt: skip


def under_ceiling(
    way: Way, carried: Carried, passage: RoutePassage, clearances: RouteClearances
) -> Way:
    """The same way where a ceiling leaves less room than what decides now."""
    if passage.ceiling_mm is None:
        return way
    allowed = passage.ceiling_mm - clearances.above_mm - clearances.lifted_mm
    if allowed - way.height_mm >= way.spare_mm:
        return way
    return Way(
        way.obstacle, way.attitude, way.how, way.travel, allowed - way.height_mm, "ceiling",
        way.height_mm, allowed, way.width_mm, way.height_mm, way.length_mm,
        tight_axis=UP[way.attitude], carried=way.carried, angle_deg=way.angle_deg,
        exactness=way.exactness,
    )  # fmt: skip


def plan_axes(carried: Carried, attitude: str) -> tuple[str, str]:
    """The axes of the longer and the shorter side in plan."""
    one, two = (axis for axis in AXES if axis != UP[attitude])
    return (one, two) if carried.along(one) >= carried.along(two) else (two, one)
