"""Straight through an opening: upright or on a face, past hardware, weaving, into a lift car."""

from collections.abc import Iterator

import numpy as np

from ..grid_fit.passages import AXES
from ..grid_fit.route import Clearances
from .allowed import room as room
from .carried import UP, Carried, ways_to_lead
from .hardware import past_hardware
from .passage import Doorway, Inside
from .way import Way


def straight_ways(
    carried: Carried, doorway: Doorway, inside: Inside | None, clearances: Clearances
) -> Iterator[Way]:
    """The best way straight through in each attitude, upright first."""
    for attitude in carried.attitudes:
        ways = [
            _led(carried, doorway, inside, clearances, attitude, travel, across)
            for travel, across in ways_to_lead(carried, attitude)
        ]
        if ways:
            yield max(ways, key=lambda way: round(way.spare_mm, 9))


def _led(
    carried: Carried,
    doorway: Doorway,
    inside: Inside | None,
    clearances: Clearances,
    attitude: str,
    travel: str,
    across: str,
) -> Way:
    up = UP[attitude]
    width, height, length = (carried.along(axis) for axis in (across, up, travel))
    allowed_width, allowed_height = room(doorway, clearances)
    sides = [
        ("width", across, width, allowed_width),
        ("height", up, height, allowed_height),
        *inside_limits(inside, clearances, (across, width), (up, height), (travel, length)),
    ]
    how, exactness, face = "straight", "exact", carried.face_down(up)
    if doorway.hardware:
        past = past_hardware(carried, doorway, clearances, across, up)
        size, axis = (width, across) if past.tight == "width" else (height, up)
        sides = [(past.tight, axis, size, size + past.room_mm), *sides[2:]]
        if face and not carried.is_box:
            face = f"{up}-plus" if past.flipped else f"{up}-minus"
        exactness = "exact" if carried.is_box else "conservative"
    elif doorway.reveal_mm is not None and not carried.is_box:
        woven = [weaving_size(carried, doorway.reveal_mm, travel, axis) for axis in (across, up)]
        plain = min(allowed_width - width, allowed_height - height)
        if plain < 0 and min(allowed_width - woven[0], allowed_height - woven[1]) > plain:
            how = "weaving"
            sides[0] = ("width", across, woven[0], allowed_width)
            sides[1] = ("height", up, woven[1], allowed_height)
    tight, axis, needed, allowed = min(sides, key=lambda side: side[3] - side[2])
    return Way(
        "opening", attitude, how, travel, allowed - needed, tight, needed, allowed,
        width, height, length, tight_axis=axis, exactness=exactness, face_down=face,
    )  # fmt: skip


def inside_limits(
    inside: Inside | None,
    clearances: Clearances,
    width: tuple[str, float],
    height: tuple[str, float],
    length: tuple[str, float],
) -> list[tuple[str, str, float, float]]:
    """(what, axis, needed, allowed) of each size of a lift car or bay that is known.

    Hands at the sides and ends, room above; it stands on the floor inside.
    """
    if inside is None:
        return []
    hands = 2 * clearances.each_side_mm
    rows = []
    if inside.depth_mm is not None:
        rows.append(("depth", length[0], length[1], inside.depth_mm - hands))
    if inside.width_mm is not None:
        rows.append(("inside width", width[0], width[1], inside.width_mm - hands))
    if inside.height_mm is not None:
        rows.append(("inside height", height[0], height[1], inside.height_mm - clearances.above_mm))
    return rows


def weaving_size(carried: Carried, reveal_mm: float, travel: str, across: str) -> float:
    """Width that counts where the thing is shifted sideways while it is led through.

    Only what stands in the depth of the wall at one time must fit at one time: the greatest
    extent over all stretches of that length along the way.

    Source: derived here; held against a search over positions in the tests.
    """
    t, a = AXES.index(travel), AXES.index(across)
    low = np.array([block.low_mm for block in carried.blocks()])
    high = np.array([block.high_mm for block in carried.blocks()])
    together = (low[:, None, t] >= low[None, :, t]) & (
        high[None, :, t] >= low[:, None, t] - reveal_mm
    )
    first = np.where(together, low[None, :, a], np.inf).min(axis=1)
    last = np.where(together, high[None, :, a], -np.inf).max(axis=1)
    return float((last - first).max())
