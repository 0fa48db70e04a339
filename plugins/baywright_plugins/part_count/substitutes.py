"""Where rods are short: how far pairs of shorter rods in line reach, and where they may stand."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..frame import Frame
from ..kit import Hub, Kit
from .shortage import Limits, Way, most_pairs, ways_to_make


@dataclass(frozen=True)
class Plan:
    """`pairs[w]` of each way; `short` and `light` by place of the rod in the kit.

    `light` is empty for rods whose light positions are not known. `members` are those chosen,
    lightest first, where compressions are known.
    """

    mid: Hub | None
    ways: tuple[Way, ...]
    pairs: tuple[int, ...]
    short: Mapping[int, int]
    light: Mapping[int, int]
    members: tuple[tuple[int, float], ...]

    def covered(self, rod: int) -> int:
        """How many of the missing rods pairs can replace."""
        return sum(n for way, n in zip(self.ways, self.pairs, strict=True) if way.rod == rod)

    def spent(self, rod: int) -> int:
        """How many of `rod` go into pairs."""
        return sum(
            n * ((way.first == rod) + (way.second == rod))
            for way, n in zip(self.ways, self.pairs, strict=True)
        )


def plan_substitutes(
    frame: Frame, kit: Kit, needed: Mapping[str, int], free: Mapping[str, int], options: Any
) -> Plan:
    """The most pairs that the shelf and the light positions allow.

    Args:
        needed, free: by item id. options: the calculator's inputs (light positions,
        compressions, factors).
    """
    short = {
        place: needed[rod.id] - free.get(rod.id, 0)
        for place, rod in enumerate(kit.rods)
        if needed[rod.id] > free.get(rod.id, 0)
    }
    mid = kit.middle_hub
    if mid is None or not short:
        return Plan(mid, (), (), short, {}, ())
    ways = ways_to_make(
        list(short),
        kit,
        mid,
        turning_stiffness_n_mm_per_rad=_turning_stiffness(options["kit"], mid),
        margin=options["fold_margin"],
    )
    standing = np.bincount(frame.rod[frame.section >= 0], minlength=len(kit.rods)).tolist()
    places = {rod: int(standing[rod]) for rod in short}
    light, pool = _stated_positions(options.get("light_positions"), short, kit)
    limited = {rod: min(count, places[rod]) for rod, count in light.items()}
    lightest: dict[int, NDArray[np.int64]] = {}
    compression = options.get("member_compression_n")
    if compression is not None:
        for rod in short:
            allowed = allowed_compression_n(
                [way for way in ways if way.rod == rod], options["required_slip_factor"]
            )
            pressed_lightly = light_members(frame, rod, compression, allowed)
            lightest[rod] = uncrossed(frame, pressed_lightly)
            light[rod], limited[rod] = len(pressed_lightly), len(lightest[rod])
        pool = None
    places |= limited
    left = [max(free.get(rod.id, 0) - needed[rod.id], 0) for rod in kit.rods]
    mid_free = max(free.get(mid.id, 0) - needed[mid.id], 0)
    pairs = most_pairs(ways, Limits(short, left, mid_free, places, pool))
    plan = Plan(mid, tuple(ways), tuple(pairs), short, light, ())
    chosen = tuple(
        (int(member), float(compression[member]))
        for rod, members in lightest.items()
        for member in members[: plan.covered(rod)]
    )
    known = {rod: count + (pool or 0) for rod, count in light.items()}
    return Plan(mid, plan.ways, plan.pairs, short, known, chosen)


def _stated_positions(
    stated: Sequence[Mapping[str, Any]] | None, short: Mapping[int, int], kit: Kit
) -> tuple[dict[int, int], int | None]:
    """Positions stated for each rod that is short, and those stated for any rod."""
    if stated is None:
        return {}, None
    own = {
        rod: sum(
            row["light_positions_count"] for row in stated if row.get("rod") == kit.rods[rod].id
        )
        for rod in short
    }
    return own, sum(row["light_positions_count"] for row in stated if "rod" not in row)


def allowed_compression_n(ways: Sequence[Way], factor: float) -> float:
    """The least compression limit of any of the ways over `factor`; 0 where one is not known."""
    limits = [way.compression_limit_n for way in ways]
    return min((0.0 if limit is None else limit / factor for limit in limits), default=0.0)


def light_members(
    frame: Frame, rod: int, compression_n: NDArray[np.float64], allowed_n: float
) -> NDArray[np.int64]:
    """Members of `rod` within a section pressed with at most `allowed_n`, lightest first."""
    mine = np.flatnonzero((frame.rod == rod) & (frame.section >= 0) & (compression_n <= allowed_n))
    return mine[np.argsort(compression_n[mine], kind="stable")]


def uncrossed(frame: Frame, members: NDArray[np.int64]) -> NDArray[np.int64]:
    """Those of `members` that cross no other diagonal on their face, in the same order.

    The mid-hub of a pair would stand where the other one passes.
    """
    crossed = {
        pair
        for face in frame.faces
        if face.diagonals > 1
        for pair in (
            frozenset((face.corners[0], face.corners[3])),
            frozenset((face.corners[1], face.corners[2])),
        )
    }
    alone = [
        member for member in members.tolist()
        if frozenset((int(frame.start[member]), int(frame.end[member]))) not in crossed
    ]  # fmt: skip
    return np.array(alone, dtype=np.int64)


def _turning_stiffness(kit: Mapping[str, Any], mid: Hub) -> float | None:
    for hub in kit["hubs"]:
        if hub["id"] == mid.id:
            value = hub.get("rotational_stiffness_n_mm_per_rad")
            return None if value is None else float(value)
    return None
